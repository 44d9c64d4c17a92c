r"""One side of a curve of righting arms: zeros, extremes, areas. Layer: engine.flotation.

On a side, θ ≥ 0 is the heel towards it and the arm is + where it rights her: θ = σφ and arm = σ GZ(σθ), with σ = 1
to starboard and −1 to port. Nodes are laid at most 5° apart, the extremes between them are found by the true slope,
then the zeros by the true arm; every such place is solved anew, nothing is interpolated. Two extremes, or a dip
through zero and back with no extreme between, must lie in one gap of the nodes to be missed.

Areas: see ``arm_area``.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from engine.checks import Floats, positive, within
from engine.flotation.arm_area import Area, Strip, area_along, area_by_gauss, is_skin
from engine.flotation.bracketed import bracketed_roots
from engine.flotation.righting_arms import RightingArms

Side = Literal["starboard", "port"]

STEP_DEG = 5.0
ROOT_TOLERANCE_RAD = 1e-12
ZERO_ARM_M = 1e-9
ZERO_SLOPE_M_PER_RAD = 1e-9


class Intercept(NamedTuple):
    """A heel at which the arm is zero; stable where it turns from overturning to righting. [deg]"""

    heel_deg: float
    stable: bool


class Maximum(NamedTuple):
    """The largest righting arm. ``at_end``: the curve ends there, still rising. [deg, m]"""

    heel_deg: float
    arm_m: float
    at_end: bool


@dataclass(frozen=True, eq=False)
class SideCurve:
    """The righting arms to one side.

    Attributes
    ----------
    side : {"starboard", "port"}
        Which.
    nodes : RightingArms
        From upright outwards, nodes and extremes; every one has a position.
    end_code : str
        Why the curve ends before the range asked for; "" where it does not.
    """

    side: Side
    nodes: RightingArms
    end_code: str

    @property
    def sign(self) -> float:
        """1 to starboard, −1 to port."""
        return 1.0 if self.side == "starboard" else -1.0

    @cached_property
    def theta_deg(self) -> Floats:
        """(k,) heels of the nodes towards the side, rising from 0. [deg]"""
        return self.sign * self.nodes.heel_deg + 0.0

    @cached_property
    def arm_m(self) -> Floats:
        """(k,) arms of the nodes, + righting. [m]"""
        return self.sign * self.nodes.gz_m + 0.0

    @property
    def end_deg(self) -> float:
        """Where the curve ends. [deg]"""
        return float(self.theta_deg[-1])

    def at(self, theta_deg: ArrayLike) -> tuple[Floats, RightingArms]:
        """Return the true arms, + righting, and all else at heels towards the side."""
        arms = self.nodes.at(self.sign * np.atleast_1d(np.asarray(theta_deg, dtype=np.float64)))
        return self.sign * arms.gz_m, arms

    @cached_property
    def intercepts(self) -> tuple[Intercept, ...]:
        """Every heel at which the arm is zero, from upright outwards; the end of the curve is none."""
        sign = _carried_back(np.where(np.abs(self.arm_m) <= ZERO_ARM_M, 0.0, np.sign(self.arm_m)))
        gaps = np.flatnonzero(sign[:-1] * sign[1:] < 0)
        roots = self.roots(gaps, self.arm_m[gaps], self.arm_m[gaps + 1], lambda _, arms: self.sign * arms.gz_m)
        found = [Intercept(float(root), bool(sign[gap] < 0)) for gap, root in zip(gaps, roots, strict=True)]
        if abs(self.arm_m[0]) <= ZERO_ARM_M and sign[0] != 0:
            found.insert(0, Intercept(0.0, bool(sign[0] > 0)))
        return tuple(found)

    @cached_property
    def start_deg(self) -> float | None:
        """Where righting arms begin: the stable position to this side, or 0 if she lies to the other. [deg]

        None where there is no righting arm to this side.
        """
        if self.arm_m[0] > ZERO_ARM_M:
            return 0.0
        return next((one.heel_deg for one in self.intercepts if one.stable), None)

    @cached_property
    def vanishing_deg(self) -> float | None:
        """Where righting arms end; None where they last to the end of the curve, or never begin. [deg]"""
        start = self.start_deg
        if start is None:
            return None
        return next((one.heel_deg for one in self.intercepts if not one.stable and one.heel_deg > start), None)

    @cached_property
    def maximum(self) -> Maximum | None:
        """The largest arm from the start to the vanishing angle; None where there is no righting arm."""
        start, vanishing = self.start_deg, self.vanishing_deg
        if start is None:
            return None
        inside = (self.theta_deg >= start) & (self.theta_deg <= (self.end_deg if vanishing is None else vanishing))
        rows = np.flatnonzero(inside)
        if not len(rows):
            return None
        row = int(rows[np.argmax(self.arm_m[rows])])
        at_end = row == len(self.arm_m) - 1 and self.end_deg < 180.0
        return Maximum(float(self.theta_deg[row]), float(self.arm_m[row]), at_end)

    def areas(self, spans_deg: ArrayLike) -> tuple[Area, ...]:
        """Return the areas under the curve between pairs of heels towards the side.

        Parameters
        ----------
        spans_deg : (m, 2) array_like
            From, to; from 0 to the end of the curve. Negative arms count negative. [deg]

        Raises
        ------
        InputError
            "out-of-range": beyond the curve.
        """
        spans = within(np.reshape(spans_deg, (-1, 2)), low=0.0, high=self.end_deg, field="spans_deg", unit="deg")
        if not len(spans):
            return ()
        ends = self.at(spans.ravel())[1]
        found = tuple(self._by_work(ends, 2 * i) for i in range(len(spans)))
        return found if is_skin(self.nodes) else self._by_arms(found)

    def area_m_rad(self, from_deg: float, to_deg: float) -> float:
        """Return one area. [m·rad]"""
        return self.areas([[from_deg, to_deg]])[0].area_m_rad

    def _by_work(self, ends: RightingArms, row: int) -> Area:
        theta = self.sign * ends.heel_deg[row : row + 2]
        low, high = sorted(theta.tolist())
        between = np.flatnonzero((self.theta_deg > low + 1e-9) & (self.theta_deg < high - 1e-9))
        way = 1.0 if theta[0] <= theta[1] else -1.0
        order = np.array([row, row + 1] if way > 0 else [row + 1, row])
        outer, inner = Strip.of(ends).take(order), Strip.of(self.nodes).take(between)
        strip = outer.take(np.array([0])).then(inner).then(outer.take(np.array([1])))
        area, error, by_arms = area_along(strip, fixed_trim=self.nodes.afloat.trim == "fixed")
        corrected = self.nodes.afloat.correction_m * float(np.diff(np.cos(outer.heel_rad))[0])
        return Area(float(theta[0]), float(theta[1]), way * (area + corrected), error, way * (by_arms + corrected))

    def _by_arms(self, by_work: tuple[Area, ...]) -> tuple[Area, ...]:
        """Return the areas from upright by Gauss's rule on every gap and part of a gap, the work's as the other way."""
        ends = np.array([[area.from_deg, area.to_deg] for area in by_work]).ravel()
        gap = np.clip(np.searchsorted(self.theta_deg, ends, side="right") - 1, 0, len(self.theta_deg) - 1)
        before = self.theta_deg[gap]
        rest = np.flatnonzero(ends > before)
        upto = np.append(0.0, np.cumsum(self._gaps_by_gauss))[gap]
        upto[rest] += area_by_gauss(self.nodes, from_deg=self.sign * before[rest], to_deg=self.sign * ends[rest])
        upto += self.nodes.afloat.correction_m * (np.cos(np.radians(ends)) - 1.0)
        areas = upto[1::2] - upto[::2]
        return tuple(
            one._replace(
                area_m_rad=float(area),
                error_m_rad=one.error_m_rad + abs(one.area_m_rad - float(area)),
                other_way_m_rad=one.area_m_rad,
            )
            for one, area in zip(by_work, areas, strict=True)
        )

    @cached_property
    def _gaps_by_gauss(self) -> Floats:
        heel = self.nodes.heel_deg
        return area_by_gauss(self.nodes, from_deg=heel[:-1], to_deg=heel[1:])

    def roots(
        self,
        gaps: NDArray[np.intp],
        at_low: Floats,
        at_high: Floats,
        read: Callable[[NDArray[np.intp], RightingArms], Floats],
    ) -> Floats:
        """Return (m,) heels at which quantities of the true curve are zero.

        Parameters
        ----------
        gaps : (m,) int
            Number of the node before each; the next is behind it.
        at_low, at_high : (m,)
            The quantities at these nodes, of opposite signs or 0.
        read : callable
            Gives the quantities numbered by its first argument at the heels of its second, entry by entry.
        """
        theta = np.radians(self.theta_deg)
        found = bracketed_roots(
            lambda rows, x: read(rows, self.nodes.at(self.sign * np.degrees(x))),
            low=theta[gaps],
            high=theta[gaps + 1],
            at_low=at_low,
            at_high=at_high,
            tolerance=ROOT_TOLERANCE_RAD,
        )
        return np.degrees(found)


def side_curve(arms: RightingArms, *, side: Side, range_deg: float) -> SideCurve:
    """Return the curve to one side, from upright to ``range_deg``.

    Parameters
    ----------
    arms : RightingArms
        The ship; heels it already knows are used as first guesses.
    side : {"starboard", "port"}
        Which side.
    range_deg : float
        Above 0, to 180. [deg]

    Raises
    ------
    InputError
        "not-positive", "out-of-range".
    NotDeterminedError
        As ``righting_arms``, where no node has a position.
    """
    reach = positive(float(within(range_deg, low=0.0, high=180.0, field="range_deg", unit="deg")), field="range_deg")
    sign = 1.0 if side == "starboard" else -1.0
    count = int(np.ceil(reach / STEP_DEG))
    theta = np.unique(np.append(np.minimum(STEP_DEG * np.arange(count + 1), reach), reach))
    nodes = arms.at(sign * theta)
    missing = [row for row, code in enumerate(nodes.codes) if code]
    end_code = ""
    if missing:
        end_code = nodes.codes[missing[0]]
        theta = theta[: max(missing[0], 1)]
        nodes = arms.at(sign * theta)
    curve = SideCurve(side=side, nodes=nodes, end_code=end_code)
    slope = nodes.slope_m_per_rad
    sign_of = _carried_back(np.where(np.abs(slope) <= ZERO_SLOPE_M_PER_RAD, 0.0, np.sign(slope)))
    gaps = np.flatnonzero(sign_of[:-1] * sign_of[1:] < 0)
    extremes = curve.roots(gaps, slope[gaps], slope[gaps + 1], lambda _, found: found.slope_m_per_rad)
    extremes = extremes[np.isfinite(extremes)]
    if not len(extremes):
        return curve
    return SideCurve(side=side, nodes=nodes.at(sign * np.unique(np.append(theta, extremes))), end_code=end_code)


def _carried_back(signs: Floats) -> Floats:
    """Give every 0 the sign of the next entry that has one, or else of the last before it."""
    carried = signs.copy()
    for row in range(len(carried) - 2, -1, -1):
        carried[row] = carried[row] or carried[row + 1]
    for row in range(1, len(carried)):
        carried[row] = carried[row] or carried[row - 1]
    return carried
