r"""One side of a curve of righting arms: zeros, extremes, areas. Layer: engine.flotation.

On a side, θ ≥ 0 is the heel towards it and the arm is + where it rights her: θ = σφ and arm = σ GZ(σθ), with σ = 1
to starboard and −1 to port. Nodes are laid at most 5° apart, the extremes between them are found by the true slope,
then the zeros by the true arm; every such place is solved anew, nothing is interpolated. Two extremes, or a dip
through zero and back with no extreme between, must lie in one gap of the nodes to be missed.

Areas come from the work of heeling (see ``righting_arms``): with W = n·(G − B),

.. math:: \int GZ\,d\varphi = \Delta W + \int (1 - \sqrt{1-n_x^2})\,GZ\,d\varphi

exact but for the last integral, which is nothing without trim and small with it; it is taken by Hermite's rule.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from engine.checks import Floats, positive, within
from engine.flotation.bracketed import bracketed_roots
from engine.flotation.righting_arms import RightingArms

Side = Literal["starboard", "port"]

STEP_DEG = 5.0
ROOT_TOLERANCE_RAD = 1e-12
ZERO_ARM_M = 1e-9
ZERO_SLOPE_M_PER_RAD = 1e-9
AREA_AGREEMENT_RATIO = 0.01
AREA_AGREEMENT_M_RAD = 1e-4


class Intercept(NamedTuple):
    """A heel at which the arm is zero; stable where it turns from overturning to righting. [deg]"""

    heel_deg: float
    stable: bool


class Maximum(NamedTuple):
    """The largest righting arm. ``at_end``: the curve ends there, still rising. [deg, m]"""

    heel_deg: float
    arm_m: float
    at_end: bool


class Area(NamedTuple):
    """An area under the curve, an estimate of its error, and the area by the arms alone, a check. [deg, m·rad]"""

    from_deg: float
    to_deg: float
    area_m_rad: float
    error_m_rad: float
    by_arms_m_rad: float

    @property
    def agrees(self) -> bool:
        """Whether work and arms give the same; if not, the trim jumps from one position to another on the way."""
        room = AREA_AGREEMENT_M_RAD + AREA_AGREEMENT_RATIO * abs(self.area_m_rad)
        return abs(self.by_arms_m_rad - self.area_m_rad) <= room


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
        return tuple(self._area(ends, 2 * i) for i in range(len(spans)))

    def area_m_rad(self, from_deg: float, to_deg: float) -> float:
        """Return one area. [m·rad]"""
        return self.areas([[from_deg, to_deg]])[0].area_m_rad

    def _area(self, ends: RightingArms, row: int) -> Area:
        theta = self.sign * ends.heel_deg[row : row + 2]
        low, high = sorted(theta.tolist())
        between = np.flatnonzero((self.theta_deg > low + 1e-9) & (self.theta_deg < high - 1e-9))
        forward = theta[0] <= theta[1]
        first, last = (row, row + 1) if forward else (row + 1, row)

        def column(name: str) -> Floats:
            of_ends, of_nodes = getattr(ends, name), getattr(self.nodes, name)
            return np.concatenate([[of_ends[first]], of_nodes[between], [of_ends[last]]])

        heel = np.radians(column("heel_deg"))
        correction = self.nodes.afloat.correction_m
        hull_arm = column("gz_m") + correction * np.sin(heel)
        hull_slope = column("slope_m_per_rad") + correction * np.cos(heel)
        work = column("work_m") - correction * np.cos(heel)
        sink = np.concatenate(
            [ends.planes.normals[[first], 0], self.nodes.planes.normals[between, 0], ends.planes.normals[[last], 0]]
        )
        root = np.sqrt(1.0 - sink**2)
        of_correction = correction * (np.cos(heel[-1]) - np.cos(heel[0]))
        if self.nodes.afloat.trim == "fixed":
            area, error = (work[-1] - work[0]) / root[0], 0.0
        else:
            lost = (1.0 - root) * hull_arm
            lost_slope = (1.0 - root) * hull_slope + sink / root * column("trimming_per_rad") * hull_arm
            part = _hermite(heel, lost, lost_slope).sum()
            area, error = work[-1] - work[0] + part, _hermite_error(heel, lost, lost_slope)
        by_arms = _hermite(heel, hull_arm, hull_slope).sum()
        way = 1.0 if forward else -1.0
        return Area(
            float(theta[0]),
            float(theta[1]),
            float(way * (area + of_correction)),
            float(error + 1e-13 * np.abs(work).max()),
            float(way * (by_arms + of_correction)),
        )

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
        Where not even upright has a position.
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


def _hermite(x: Floats, f: Floats, slope: Floats) -> Floats:
    """∫f dx over each gap by the cubic through values and slopes."""
    step = np.diff(x)
    panels: Floats = step / 2 * (f[:-1] + f[1:]) + step**2 / 12 * (slope[:-1] - slope[1:])
    return panels


def _hermite_error(x: Floats, f: Floats, slope: Floats) -> float:
    """Σ |change by leaving out every other node|, over pairs of gaps."""
    kept = np.unique(np.append(np.arange(0, len(x), 2), len(x) - 1))
    fine = np.add.reduceat(_hermite(x, f, slope), kept[:-1])
    return float(np.abs(fine - _hermite(x[kept], f[kept], slope[kept])).sum())
