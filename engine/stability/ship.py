"""A hull and all that is aboard, and its righting arms computed anew. Layer: engine.stability."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import partial

import numpy as np

from engine.checks import Floats, finite
from engine.errors import NotDeterminedError
from engine.flotation.equilibrium import Equilibrium
from engine.flotation.held_heel import HeldHeel, held_heel
from engine.flotation.hydrostatics import waterplane_axes, waterplane_inertias
from engine.geometry.cut import Solid
from engine.geometry.plane import Planes, normals_at
from engine.liquids.running import Liquid, lying_together
from engine.stability.arms import Arms
from engine.stability.sweep import HEELS_DEG, Guess, swept, swept_from, turning_of

_UP = np.array([0.0, 0.0, 1.0])
_STEP_M = 1e-3
"""Of sinkage, and of trim over the length, for what changes with the upright plane. [m]"""


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

    @property
    def heights_m(self) -> tuple[float, float]:
        """Bottom and top of the hull. [m]"""
        bottom, top = self.solid.bounds_m[:, 2].tolist()
        return bottom, top

    def raised(self, rise_m: float) -> "Ship":
        """Return the ship with the centre of gravity of everything aboard higher by ``rise_m``."""
        shift = rise_m * self.displacement_t / self.mass_t * self.rise_direction
        return replace(self, centre_m=self.centre_m + shift)

    def arms(self, *, start: Arms | None = None, near: Equilibrium | None = None) -> Arms:
        """Compute the righting arms.

        Parameters
        ----------
        start : Arms, optional
            Those of a ship nearly the same: a first guess.
        near : Equilibrium, optional
            Where she floats, one row: the first guess of the upright position where there is no ``start``.

        Raises
        ------
        InputError, NotDeterminedError
            As ``equilibrium``.
        """
        finite(self.centre_m, field="centre_m")
        if start is None:
            sides = swept(self._held, near=near)
        else:
            sides = swept_from(
                self._held,
                heel_rad=start.heel_rad,
                arm_m=start.arm_m,
                planes=start.planes,
                surfaces_m=start.surfaces_m,
            )
        upright = sides.starboard.take(np.zeros(1, dtype=np.intp))
        arms = partial(self._arms, upright_by_plane=self._upright_by_plane(upright))
        half = arms(sides.starboard, HEELS_DEG)
        if sides.port is None:
            return _mirrored(half)
        return _joined(arms(sides.port, -HEELS_DEG), half)

    def _held(self, heel_deg: Floats, guess: Guess) -> HeldHeel:
        return held_heel(
            solid=self.solid,
            density_t_per_m3=self.density_t_per_m3,
            mass_t=self.mass_t,
            centre_m=self.centre_m,
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

    def _upright_by_plane(self, upright: HeldHeel) -> Floats:
        """Return ``Arms.upright_by_plane`` by central differences: one cut of four planes."""
        steps = np.array([_STEP_M, -_STEP_M, 0.0, 0.0]), np.array([0.0, 0.0, 1.0, -1.0]) * _STEP_M / self.length_bp_m
        normals = normals_at(
            heel_rad=np.repeat(np.radians(upright.planes.heel_deg), 4),
            slope_ratio=upright.planes.normals[0, 0] + steps[1],
        )
        cuts = self.solid.cut(Planes(normals=normals, offsets_m=upright.planes.offsets_m + steps[0]))
        transverse, _ = waterplane_inertias(cuts)
        _, across = waterplane_axes(cuts.planes)
        surface = np.zeros(4)
        lying = lying_together(self.liquids, normals, near_m=np.repeat(upright.surfaces_m, 4, axis=0))
        for liquid, at in zip(self.liquids, lying, strict=True):
            surface += liquid.density_t_per_m3 * np.einsum("ki,kij,kj->k", across, at.surface_tensor_m4, across)
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
