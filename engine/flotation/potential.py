r"""The potential whose minimum is a floating position, with its slopes and curvature. Layer: engine.flotation.

Over the plane (n, d), with n given by heel and n_x:

.. math:: \Phi = \rho\int_{below}(d - n\cdot x)\,dV - M d + n\cdot\sum m G
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from engine.checks import Floats
from engine.geometry.cut import CUT_COLUMNS, Cuts, Solid
from engine.geometry.plane import Planes, normals_at
from engine.liquids.running import Liquid, lying_together


@dataclass(frozen=True, eq=False)
class State:
    """Everything known at one set of planes: energy, gradient and curvature over (d, heel, n_x)."""

    planes: Planes
    cuts: Cuts
    first_moment: Floats  # (k, 3) Σ m G, liquids where they lie
    liquid_tensor: Floats  # (k, 3, 3) Σ ρ T
    energy: Floats
    gradient: Floats  # (k, 3)
    hessian: Floats  # (k, 3, 3)
    turning: Floats  # (k, 2, 3)

    def take(self, rows: NDArray[np.bool_]) -> "State":
        """Return the given rows."""
        if rows.all():
            return self
        cuts = self.cuts.take(rows)
        return State(cuts.planes, cuts, *(getattr(self, name)[rows] for name in _STATE_COLUMNS))

    def with_rows(self, rows: NDArray[np.intp], part: "State") -> "State":
        """Return this with some rows replaced."""

        def put(into: Floats, values: Floats) -> Floats:
            copy = into.copy()
            copy[rows] = values
            return copy

        planes = Planes(
            put(self.planes.normals, part.planes.normals), put(self.planes.offsets_m, part.planes.offsets_m)
        )
        cuts = Cuts(planes, *(put(getattr(self.cuts, name), getattr(part.cuts, name)) for name in CUT_COLUMNS))
        return State(planes, cuts, *(put(getattr(self, name), getattr(part, name)) for name in _STATE_COLUMNS))


_STATE_COLUMNS = [one.name for one in fields(State) if one.name not in ("planes", "cuts")]


@dataclass(frozen=True, eq=False)
class Potential:
    """What floats, row by row.

    Attributes
    ----------
    solid, density, liquids
        As ``engine.flotation.equilibrium`` takes them.
    masses, centres, total : (k,), (k, 3) and (k,) float64
        Of all but the liquids; mass of the whole. [t, m]
    surfaces : (k, liquids, 3) float64
        Centres of the liquids' surfaces as last found, NaN where none is: about them they turn. [m]
    """

    solid: Solid
    density: float
    masses: Floats
    centres: Floats
    total: Floats
    liquids: Sequence[Liquid]
    surfaces: Floats

    @cached_property
    def size_m(self) -> float:
        """Greatest extent of the hull. [m]"""
        return float(np.ptp(self.solid.bounds_m, axis=0).max())

    def state(self, rows: NDArray[np.intp], d: Floats, heel: Floats, slope: Floats) -> State:
        """Return the state of some rows at their planes."""
        normals = normals_at(heel_rad=heel, slope_ratio=slope)
        planes = Planes(normals=normals, offsets_m=d)
        cuts = self.solid.cut(planes)
        first_moment = self.masses[rows, None] * self.centres[rows]
        liquid_tensor = np.zeros((len(d), 3, 3))
        lying = lying_together(self.liquids, normals, near_m=self.surfaces[rows])
        for place, (liquid, at) in enumerate(zip(self.liquids, lying, strict=True)):
            self.surfaces[rows, place] = at.surface_centroid_m
            first_moment = first_moment + liquid.mass_t * at.centroid_m
            liquid_tensor = liquid_tensor + liquid.density_t_per_m3 * at.surface_tensor_m4
        volume, area = cuts.volume_m3, cuts.waterplane_area_m2
        buoyant = self.density * np.where(volume[:, None] > 0, volume[:, None] * cuts.centroid_m, 0.0)
        centre = np.where(area[:, None] > 0, cuts.waterplane_centroid_m, 0.0)
        couple = first_moment - buoyant
        by_heel = np.stack([np.zeros_like(heel), normals[:, 2], -normals[:, 1]], axis=-1)
        root = np.sqrt(1.0 - slope**2)
        tangent = -slope / root
        across = np.stack([np.zeros_like(heel), np.sin(heel), np.cos(heel)], axis=-1)
        by_slope = tangent[:, None] * across + np.array([1.0, 0.0, 0.0])
        by_both = tangent[:, None] * np.stack([np.zeros_like(heel), np.cos(heel), -np.sin(heel)], axis=-1)
        by_heel_twice = -root[:, None] * across
        by_slope_twice = (-1.0 / root**3)[:, None] * across
        first = np.stack([by_heel, by_slope], axis=1)  # (k, 2, 3) ∂n/∂(heel, n_x)
        second = np.stack([np.stack([by_heel_twice, by_both], 1), np.stack([by_both, by_slope_twice], 1)], 1)
        inner = self.density * (
            cuts.waterplane_tensor_m4 + area[:, None, None] * centre[:, :, None] * centre[:, None, :]
        )
        gradient = np.empty((len(d), 3))
        gradient[:, 0] = self.density * volume - self.total[rows]
        gradient[:, 1:] = np.einsum("kin,kn->ki", first, couple)
        hessian = np.empty((len(d), 3, 3))
        hessian[:, 0, 0] = self.density * area
        hessian[:, 0, 1:] = hessian[:, 1:, 0] = -self.density * area[:, None] * np.einsum("kin,kn->ki", first, centre)
        hessian[:, 1:, 1:] = np.einsum("kijn,kn->kij", second, couple) + np.einsum(
            "kin,knm,kjm->kij", first, inner - liquid_tensor, first
        )
        energy = d * gradient[:, 0] + np.einsum("kn,kn->k", normals, couple)
        return State(planes, cuts, first_moment, liquid_tensor, energy, gradient, hessian, first)
