r"""The righting arms a criterion looks at, and what goes under along them. Layer: engine.stability.

At every heel the ship floats at her own displacement, free to trim. Raising the centre of gravity by δ along the
upright changes each arm by −δ sin φ; since the position minimises the potential over sinkage and trim, the change of
position that follows moves the arm only in second order of δ × trim. That is what cross curves are used for,
:math:`GZ = KN - KG\,\sin\varphi`; ``Arms.raised`` is that step. ``Arms.loaded`` is the whole first order in any
mass or moment added, position and all; ``Ship.arms`` is exact.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, partial

import numpy as np
from numpy.typing import ArrayLike

from engine.checks import Floats, finite
from engine.errors import NotDeterminedError
from engine.flotation.arm_curve import Side
from engine.flotation.held_heel import HeldHeel, held_heel
from engine.flotation.hydrostatics import waterplane_axes, waterplane_inertias
from engine.geometry.cut import Solid
from engine.geometry.plane import Planes, normals_at
from engine.liquids.running import Liquid
from engine.stability.heel_curve import HeelCurve
from engine.stability.sweep import HEELS_DEG, Guess, swept, swept_from, turning_of

SIDES: tuple[Side, ...] = ("starboard", "port")

_UP = np.array([0.0, 0.0, 1.0])
_STEP_M = 1e-3
"""Of sinkage, and of trim over the length, for what changes with the upright plane. [m]"""


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
    by_load : (k, 3, 4) float64
        Change of offset [m], n_x and arm [m] with mass [t] and first moment [t·m] added, at each heel.
    upright_by_plane : (4, 2) float64
        Change of I/V + n·B [m], the free surface [t·m], length and breadth of the waterline [m] with offset and n_x.
    surfaces_m : (k, liquids, 3) float64
        Centres of the running liquids' surfaces. [m]
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
    by_load: Floats
    upright_by_plane: Floats
    surfaces_m: Floats

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

    @cached_property
    def _slopes_by_load(self) -> Floats:
        """(k, 3, 4) change of ``by_load`` with heel."""
        from scipy.interpolate import CubicSpline

        direct = _direct(self.heel_rad, self.arm_m) / self.displacement_t  # its slope is known in closed form
        along = _direct(self.heel_rad + 0.5 * np.pi, self.slope_m_per_rad) / self.displacement_t
        followed = self.by_load - np.stack([0.0 * direct, 0.0 * direct, direct], axis=1)
        slopes = np.asarray(CubicSpline(self.heel_rad, followed)(self.heel_rad, 1))
        slopes[:, 2] += along
        return slopes

    def loaded(self, *, mass_t: float = 0.0, moment_tm: ArrayLike) -> "Arms":
        """Return the arms with a little mass and first moment added, right to the first order of them.

        Parameters
        ----------
        mass_t : float
            [t]
        moment_tm : (3,)
            [t·m]
        """
        moment = np.asarray(moment_tm, dtype=np.float64)
        load = np.append(mass_t, moment)
        moved, slopes = self.by_load @ load, self._slopes_by_load @ load
        slope_ratio = self.planes.normals[:, 0] + moved[:, 1]
        planes = Planes(
            normals=normals_at(heel_rad=self.heel_rad, slope_ratio=slope_ratio),
            offsets_m=self.planes.offsets_m + moved[:, 0],
        )
        row = int(np.argmin(np.abs(self.heel_rad)))
        mass = self.displacement_t + mass_t
        centre = (self.displacement_t * self.centre_m + moment) / mass
        height, surface, length, breadth = self.upright_by_plane @ moved[row, :2]
        normal = self.planes.normals[row]
        gravity = normal @ (centre - self.centre_m) + (planes.normals[row] - normal) @ self.centre_m
        correction = (self.free_surface_tm + surface) / mass - self.free_surface_tm / self.displacement_t
        upright = planes.take(np.array([row]))
        return replace(
            self,
            planes=planes,
            arm_m=self.arm_m + moved[:, 2],
            slope_m_per_rad=self.slope_m_per_rad + slopes[:, 2],
            turning_per_rad=turning_of(planes.normals, self.turning_per_rad[:, 0] + slopes[:, 1]),
            sinking_m_per_rad=self.sinking_m_per_rad + slopes[:, 0],
            displacement_t=mass,
            draft_m=float(upright.draft_m(length_bp_m=self.length_bp_m)[0]),
            trim_m=float(upright.trim_m(length_bp_m=self.length_bp_m)[0]),
            length_waterline_m=self.length_waterline_m + float(length),
            breadth_waterline_m=self.breadth_waterline_m + float(breadth),
            centre_m=centre,
            gm_fluid_m=self.gm_fluid_m + float(height - gravity - correction),
            free_surface_tm=self.free_surface_tm + float(surface),
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
            sides = swept(self._held)
        else:
            sides = swept_from(self._held, heel_rad=start.heel_rad, planes=start.planes, surfaces_m=start.surfaces_m)
        upright = sides.starboard.planes.take(np.zeros(1, dtype=np.intp))
        arms = partial(self._arms, upright_by_plane=self._upright_by_plane(upright))
        half = arms(sides.starboard, HEELS_DEG)
        if sides.port is None:
            return _mirrored(half)
        return _joined(arms(sides.port, -HEELS_DEG), half)

    def _held(self, heel_deg: Floats, guess: Guess) -> HeldHeel:
        count = len(heel_deg)
        return held_heel(
            solid=self.solid,
            density_t_per_m3=self.density_t_per_m3,
            mass_t=np.full(count, self.mass_t),
            centre_m=np.tile(self.centre_m, (count, 1)),
            liquids=self.liquids,
            heel_deg=heel_deg,
            slope_ratio=guess.slope_ratio,
            trim="free",
            offsets_m=guess.offsets_m,
            surfaces_m=guess.surfaces_m,
        )

    def _arms(self, at: HeldHeel, heel_deg: Floats, *, upright_by_plane: Floats) -> Arms:
        """Return the arms at the first heels of ``at``, from upright outwards, as far as there are positions."""
        count = _run([code == "" for code in at.codes[: len(heel_deg)]])
        if count < 2:
            code = next(code for code in at.codes if code)
            raise NotDeterminedError("she has no position at small heels", code=code, field="mass_t")
        kept = slice(0, count)
        heel, normals = np.radians(heel_deg[kept]), at.planes.normals[kept]
        planes = Planes(normals=normals, offsets_m=at.planes.offsets_m[kept])
        turning = turning_of(normals, at.trimming_per_rad[kept])
        rise = self.free_surface_tm / self.displacement_t
        extent = at.cuts.waterplane_extent_m[0]
        by_load = at.by_load[kept].copy()
        by_load[:, 2, 0] += rise / self.displacement_t * np.sin(heel)
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
            by_load=by_load,
            surfaces_m=at.surfaces_m[kept],
            upright_by_plane=upright_by_plane,
        )

    def _upright_by_plane(self, upright: Planes) -> Floats:
        """Return ``Arms.upright_by_plane`` by central differences: one cut of four planes."""
        steps = np.array([_STEP_M, -_STEP_M, 0.0, 0.0]), np.array([0.0, 0.0, 1.0, -1.0]) * _STEP_M / self.length_bp_m
        normals = normals_at(
            heel_rad=np.repeat(np.radians(upright.heel_deg), 4), slope_ratio=upright.normals[0, 0] + steps[1]
        )
        cuts = self.solid.cut(Planes(normals=normals, offsets_m=upright.offsets_m + steps[0]))
        transverse, _ = waterplane_inertias(cuts)
        _, across = waterplane_axes(cuts.planes)
        surface = np.zeros(4)
        for liquid in self.liquids:
            tensor = liquid.at(normals).surface_tensor_m4
            surface += liquid.density_t_per_m3 * np.einsum("ki,kij,kj->k", across, tensor, across)
        length, breadth = (cuts.waterplane_extent_m[:, 1] - cuts.waterplane_extent_m[:, 0]).T[:2]
        height = transverse / cuts.volume_m3 + np.einsum("kn,kn->k", normals, cuts.centroid_m)
        every = np.stack([height, surface, length, breadth])
        return np.stack(
            [(every[:, 0] - every[:, 1]) / (2 * _STEP_M), (every[:, 2] - every[:, 3]) / (2 * steps[1][2])], axis=-1
        )


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
        surfaces_m=half.surfaces_m * other_side,
        by_load=half.by_load * np.array([1.0, 1.0, -1.0])[:, None] * np.array([1.0, 1.0, -1.0, 1.0]),
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
        by_load=both(port.by_load, starboard.by_load),
        surfaces_m=both(port.surfaces_m, starboard.surfaces_m),
    )


def _run(there: list[bool]) -> int:
    """Return how many are there from the first on."""
    return there.index(False) if False in there else len(there)


def _direct(heel_rad: Floats, arm_m: Floats) -> Floats:
    """Return (k, 4) the change of moment, over the displacement that of the arm, by mass and moment, the plane held."""
    zero = np.zeros(len(heel_rad))
    return np.stack([-arm_m, zero, np.cos(heel_rad), -np.sin(heel_rad)], axis=-1)


def _seen_from(side: Side, heel_rad: Floats, value: Floats, slope: Floats, *, odd: bool) -> HeelCurve:
    """Return a quantity along heel to a side; one that changes sign with the side is ``odd``."""
    if side == "starboard":
        return HeelCurve(heel_rad, value, slope)
    sign = -1.0 if odd else 1.0
    return HeelCurve(-heel_rad[::-1], sign * value[::-1], -sign * slope[::-1])
