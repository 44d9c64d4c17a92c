r"""The righting arms a criterion looks at, and what goes under along them. Layer: engine.stability.

At every heel the ship floats at her own displacement, free to trim. Raising the centre of gravity by δ along the
upright changes each arm by −δ sin φ; since the position minimises the potential over sinkage and trim, the change of
position that follows moves the arm only in second order of δ × trim. That is what cross curves are used for,
:math:`GZ = KN - KG\,\sin\varphi`; ``Arms.raised`` is that step. ``Arms.loaded`` is the whole first order in any
mass or moment added, position and all; ``Ship.arms`` is exact.
"""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from engine.checks import Floats
from engine.flotation.arm_curve import Side
from engine.geometry.plane import Planes, normals_at
from engine.stability.going_under import first_under_rad
from engine.stability.heel_curve import HeelCurve
from engine.stability.sweep import turning_of

SIDES: tuple[Side, ...] = ("starboard", "port")

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
    def heel_deg(self) -> Floats:
        """(k,) heels of the curve. [deg]"""
        return self.planes.heel_deg

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
        row = self.upright_row
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

    @cached_property
    def upright_row(self) -> int:
        """Where in the columns she is upright."""
        return int(np.argmin(np.abs(self.heel_rad)))

    def curve(self, side: Side) -> HeelCurve:
        """Return the arms seen from a side: heel and arm are + towards it."""
        if side == "starboard":
            return HeelCurve(self.heel_rad, self.arm_m, self.slope_m_per_rad)
        return HeelCurve(-self.heel_rad[::-1], -self.arm_m[::-1], self.slope_m_per_rad[::-1])

    def heights(self, points_m: Floats, side: Side) -> tuple[Floats, Floats, Floats]:
        """Return (m,) heels from upright to a side, (p, m) heights of points above the water there and their slopes.

        Points are (p, 3); heels and slopes are + towards the side. [rad, m, m/rad]
        """
        out = slice(self.upright_row, None) if side == "starboard" else slice(self.upright_row, None, -1)
        sign = 1.0 if side == "starboard" else -1.0
        height = points_m @ self.planes.normals[out].T - self.planes.offsets_m[out]
        slope = points_m @ self.turning_per_rad[out].T - self.sinking_m_per_rad[out]
        return sign * self.heel_rad[out], height, sign * slope

    def immersion_rad(self, points_m: Floats, side: Side) -> float:
        """Return the least heel to a side at which one of the points is immersed, infinite if none is. [rad]"""
        return first_under_rad(*self.heights(points_m, side))


def _direct(heel_rad: Floats, arm_m: Floats) -> Floats:
    """Return (k, 4) the change of moment, over the displacement that of the arm, by mass and moment, the plane held."""
    zero = np.zeros(len(heel_rad))
    return np.stack([-arm_m, zero, np.cos(heel_rad), -np.sin(heel_rad)], axis=-1)
