r"""The righting arms a criterion looks at, and what goes under along them. Layer: engine.stability.

At every heel the ship floats at her own displacement, free to trim. Raising the centre of gravity by δ along the
upright changes each arm by −δ sin φ; since the position minimises the potential over sinkage and trim, the change of
position that follows moves the arm only in second order of δ × trim. That is what cross curves are used for,
:math:`GZ = KN - KG\,\sin\varphi`; ``Arms.raised`` is that step, ``Ship.arms`` the exact one.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from engine.checks import Floats, finite
from engine.errors import NotDeterminedError
from engine.flotation.arm_curve import Side
from engine.flotation.held_heel import HeldHeel, held_heel
from engine.geometry.cut import Solid
from engine.geometry.plane import Planes
from engine.liquids.running import Liquid
from engine.stability.heel_curve import HeelCurve

SIDES: tuple[Side, ...] = ("starboard", "port")

HEELS_DEG = np.concatenate([np.arange(0.0, 60.0, 2.5), np.arange(60.0, 91.0, 5.0)])
"""Heels to either side. [deg]"""

_CHECKED_DEG = np.array([20.0, 50.0, 80.0])
_CHECKED_ROWS = np.flatnonzero(np.isin(HEELS_DEG, _CHECKED_DEG))
_SAME_ARM_M = 1e-9
"""Where the arms at these heels are the same to both sides within this, one side is computed and mirrored."""

_UP = np.array([0.0, 0.0, 1.0])


@dataclass(frozen=True, eq=False)
class Arms:
    """Arms at k heels to both sides.

    Attributes
    ----------
    planes : Planes
        The water planes, heel rising from port to starboard.
    heel_rad, arm_m, slope_m_per_rad : (k,) float64
        The curve; the arm is + where it turns her back to port, free surfaces allowed for. [rad, m, m/rad]
    turning_per_rad : (k, 3) float64
        Change of the plane's normal with heel, trim following.
    sinking_m_per_rad : (k,) float64
        Change of the plane's offset with heel. [m/rad]
    displacement_t : float
        [t]
    density_t_per_m3 : float
        Of the water. [t/m³]
    length_bp_m : float
        [m]
    draft_m, trim_m : float
        Upright. [m]
    length_waterline_m, breadth_waterline_m : float
        Of the upright waterplane. [m]
    centre_m : (3,) float64
        Of everything aboard, liquids as they lie upright. [m]
    gm_fluid_m : float
        Upright, free surfaces included. [m]
    free_surface_tm : float
        Upright: of the running liquids, or the correction in use. [t·m]
    """

    planes: Planes
    heel_rad: Floats
    arm_m: Floats
    slope_m_per_rad: Floats
    turning_per_rad: Floats
    sinking_m_per_rad: Floats
    displacement_t: float
    density_t_per_m3: float
    length_bp_m: float
    draft_m: float
    trim_m: float
    length_waterline_m: float
    breadth_waterline_m: float
    centre_m: Floats
    gm_fluid_m: float
    free_surface_tm: float

    @property
    def vcg_m(self) -> float:
        """Height of the centre of gravity, solid. [m]"""
        return float(self.centre_m[2])

    @property
    def reach_deg(self) -> float:
        """Greatest heel computed. [deg]"""
        return float(np.degrees(self.heel_rad[-1]))

    def raised(self, rise_m: float) -> "Arms":
        """Return the arms with the centre of gravity higher, the planes as they are."""
        return replace(
            self,
            arm_m=self.arm_m - rise_m * np.sin(self.heel_rad),
            slope_m_per_rad=self.slope_m_per_rad - rise_m * np.cos(self.heel_rad),
            centre_m=self.centre_m + rise_m * _UP,
            gm_fluid_m=self.gm_fluid_m - rise_m,
        )

    def curve(self, side: Side) -> HeelCurve:
        """Return the arms seen from a side: heel and arm are + towards it."""
        return _seen_from(side, self.heel_rad, self.arm_m, self.slope_m_per_rad, odd=True)

    def heights(self, points_m: Floats, side: Side) -> tuple[HeelCurve, ...]:
        """Return how high each of (p, 3) points is above the water along heel to a side. [m]"""
        height = points_m @ self.planes.normals.T - self.planes.offsets_m
        slope = points_m @ self.turning_per_rad.T - self.sinking_m_per_rad
        return tuple(
            _seen_from(side, self.heel_rad, one, change, odd=False) for one, change in zip(height, slope, strict=True)
        )

    def immersion_rad(self, points_m: Floats, side: Side) -> float:
        """Return the least heel to a side at which one of the points is immersed, infinite if none is. [rad]"""
        found = [curve.first_fall(0.0, 0.0, curve.last_rad) for curve in self.heights(points_m, side)]
        return min((heel for heel in found if heel is not None), default=float("inf"))


@dataclass(frozen=True, eq=False)
class Ship:
    """A hull and all that is aboard.

    Attributes
    ----------
    solid : Solid
        The hull.
    density_t_per_m3 : float
        Of the water. [t/m³]
    length_bp_m : float
        [m]
    mass_t : float
        All but ``liquids``. [t]
    centre_m : (3,) float64
        Its centre. [m]
    liquids : sequence of Liquid
        Those that run to their level at every heel.
    free_surface_tm : float
        Correction for free surfaces that are not run: G is taken higher by this over the displacement. [t·m]
    rise_direction : (3,) float64
        Where the centre goes for each metre its height is raised: (0, 0, 1) at constant LCG.
    """

    solid: Solid
    density_t_per_m3: float
    length_bp_m: float
    mass_t: float
    centre_m: Floats
    liquids: Sequence[Liquid] = ()
    free_surface_tm: float = 0.0
    rise_direction: Floats = field(default_factory=_UP.copy)

    @property
    def displacement_t(self) -> float:
        """All aboard. [t]"""
        return self.mass_t + sum(liquid.mass_t for liquid in self.liquids)

    def raised(self, rise_m: float) -> "Ship":
        """Return the ship with the centre of gravity of everything aboard higher by ``rise_m``."""
        shift = rise_m * self.displacement_t / self.mass_t * self.rise_direction
        return replace(self, centre_m=self.centre_m + shift)

    def arms(self, *, start: Arms | None = None) -> Arms:
        """Compute the righting arms.

        Parameters
        ----------
        start : Arms, optional
            Those of a ship nearly the same: a first guess.

        Raises
        ------
        InputError, NotDeterminedError
            As ``equilibrium``.
        """
        finite(self.centre_m, field="centre_m")
        if start is None:
            slope = np.full(HEELS_DEG.shape, self._held(np.zeros(1), np.zeros(1)).planes.normals[0, 0])
        else:
            slope = np.interp(np.radians(HEELS_DEG), start.heel_rad, start.planes.normals[:, 0])
        starboard = self._held(np.append(HEELS_DEG, -_CHECKED_DEG), np.append(slope, slope[_CHECKED_ROWS]))
        half = self._arms(starboard, HEELS_DEG)
        if _alike(starboard):
            return _mirrored(half)
        if start is not None:
            slope = np.interp(-np.radians(HEELS_DEG), start.heel_rad, start.planes.normals[:, 0])
        port = self._arms(self._held(-HEELS_DEG, slope), -HEELS_DEG)
        return _joined(port, half)

    def _held(self, heel_deg: Floats, slope_ratio: Floats) -> HeldHeel:
        count = len(heel_deg)
        return held_heel(
            solid=self.solid,
            density_t_per_m3=self.density_t_per_m3,
            mass_t=np.full(count, self.mass_t),
            centre_m=np.tile(self.centre_m, (count, 1)),
            liquids=self.liquids,
            heel_deg=heel_deg,
            slope_ratio=slope_ratio,
            trim="free",
        )

    def _arms(self, at: HeldHeel, heel_deg: Floats) -> Arms:
        """Return the arms at the first heels of ``at``, from upright outwards, as far as there are positions."""
        count = _run([code == "" for code in at.codes[: len(heel_deg)]])
        if count < 2:
            code = next(code for code in at.codes if code)
            raise NotDeterminedError("she has no position at small heels", code=code, field="mass_t")
        kept = slice(0, count)
        heel, normals = np.radians(heel_deg[kept]), at.planes.normals[kept]
        planes = Planes(normals=normals, offsets_m=at.planes.offsets_m[kept])
        turning = _turning(normals, at.trimming_per_rad[kept])
        rise = self.free_surface_tm / self.displacement_t
        extent = at.cuts.waterplane_extent_m[0]
        return Arms(
            planes=planes,
            heel_rad=heel,
            arm_m=at.arm_m[kept] - rise * np.sin(heel),
            slope_m_per_rad=at.slope_m_per_rad[kept] - rise * np.cos(heel),
            turning_per_rad=turning,
            sinking_m_per_rad=np.einsum("kn,kn->k", turning, at.cuts.waterplane_centroid_m[kept]),
            displacement_t=self.displacement_t,
            density_t_per_m3=self.density_t_per_m3,
            length_bp_m=self.length_bp_m,
            draft_m=float(planes.draft_m(length_bp_m=self.length_bp_m)[0]),
            trim_m=float(planes.trim_m(length_bp_m=self.length_bp_m)[0]),
            length_waterline_m=float(extent[1, 0] - extent[0, 0]),
            breadth_waterline_m=float(extent[1, 1] - extent[0, 1]),
            centre_m=at.centre_m[0],
            gm_fluid_m=float(at.gm_fluid_m[0]) - rise,
            free_surface_tm=float(at.free_surface_tm[0]) + self.free_surface_tm,
        )


def _alike(at: HeldHeel) -> bool:
    """Return whether the heels looked at to port, the last rows, give what the same give to starboard."""
    starboard, port = at.arm_m[_CHECKED_ROWS], at.arm_m[-len(_CHECKED_ROWS) :]
    codes = [at.codes[row] for row in _CHECKED_ROWS] == list(at.codes[-len(_CHECKED_ROWS) :])
    upright = abs(at.arm_m[0]) <= _SAME_ARM_M
    return bool(codes and upright and np.nanmax(np.abs(starboard + port), initial=0.0) <= _SAME_ARM_M)


def _mirrored(half: Arms) -> Arms:
    """Return the arms to both sides of a ship that is the same on both."""
    other_side = np.array([1.0, -1.0, 1.0])
    port = replace(
        half,
        planes=Planes(normals=half.planes.normals * other_side, offsets_m=half.planes.offsets_m),
        heel_rad=-half.heel_rad,
        arm_m=-half.arm_m,
        turning_per_rad=-half.turning_per_rad * other_side,
        sinking_m_per_rad=-half.sinking_m_per_rad,
    )
    return _joined(port, half)


def _joined(port: Arms, starboard: Arms) -> Arms:
    """Return the arms to both sides, each from upright outwards, as far as both reach."""
    count = min(len(port.heel_rad), len(starboard.heel_rad))

    def both(of_port: Floats, of_starboard: Floats) -> Floats:
        return np.concatenate([of_port[count - 1 : 0 : -1], of_starboard[:count]])

    return replace(
        starboard,
        planes=Planes(
            normals=both(port.planes.normals, starboard.planes.normals),
            offsets_m=both(port.planes.offsets_m, starboard.planes.offsets_m),
        ),
        heel_rad=both(port.heel_rad, starboard.heel_rad),
        arm_m=both(port.arm_m, starboard.arm_m),
        slope_m_per_rad=both(port.slope_m_per_rad, starboard.slope_m_per_rad),
        turning_per_rad=both(port.turning_per_rad, starboard.turning_per_rad),
        sinking_m_per_rad=both(port.sinking_m_per_rad, starboard.sinking_m_per_rad),
    )


def _run(there: list[bool]) -> int:
    """Return how many are there from the first on."""
    return there.index(False) if False in there else len(there)


def _turning(normals: Floats, trimming_per_rad: Floats) -> Floats:
    """Return the (k, 3) change of normals with heel; at constant volume the plane turns about its own centroid."""
    cosine = np.hypot(normals[:, 1], normals[:, 2])
    by_heel = np.stack([np.zeros_like(cosine), normals[:, 2], -normals[:, 1]], axis=-1)
    tangent = -normals[:, 0] / cosine**2
    by_slope = np.stack([np.ones_like(cosine), tangent * normals[:, 1], tangent * normals[:, 2]], axis=-1)
    return np.asarray(by_heel + trimming_per_rad[:, None] * by_slope)


def _seen_from(side: Side, heel_rad: Floats, value: Floats, slope: Floats, *, odd: bool) -> HeelCurve:
    """Return a quantity along heel to a side; one that changes sign with the side is ``odd``."""
    if side == "starboard":
        return HeelCurve(heel_rad, value, slope)
    sign = -1.0 if odd else 1.0
    return HeelCurve(-heel_rad[::-1], sign * value[::-1], -sign * slope[::-1])
