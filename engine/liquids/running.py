"""Liquids of fixed volume that run to their level in tanks. Layer: engine.liquids."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from engine.checks import Floats
from engine.deadline import checkpoint
from engine.geometry.plane import Planes
from engine.geometry.surface_solid import SurfaceSolid, cut_together
from engine.liquids.tank import GUESS_STEPS, VOLUME_RATIO, Lying, Tank, is_slack, liquid_in

_UPRIGHT = np.array([[0.0, 0.0, 1.0]])


@dataclass(frozen=True, eq=False)
class Liquid:
    """What a tank holds: ``volume_m3`` of net volume [m³] of ``density_t_per_m3`` [t/m³]."""

    tank: Tank
    volume_m3: float
    density_t_per_m3: float
    _found: dict[bytes, Lying] = field(default_factory=dict, init=False, repr=False)

    @property
    def mass_t(self) -> float:
        """[t]."""
        return self.volume_m3 * self.density_t_per_m3

    @cached_property
    def surface_upright_m(self) -> Floats:
        """(3,) centre of the surface of the upright tank; NaN where it has none. [m]"""
        start = None
        if self.tank.solid is not None:
            low, high = self.tank.solid.bounds_m[:, 2]
            start = low + (high - low) * self.volume_m3 / self.tank.capacity_m3  # a box's own level
        upright = liquid_in(self.tank, volume_m3=self.volume_m3, normals=_UPRIGHT, start_m=start)
        return np.asarray(upright.surface_centroid_m[0])

    def at(self, normals: Floats) -> Lying:
        """Return how it lies under each of (k, 3) unit normals; the answer is kept, for what is asked again."""
        key = np.ascontiguousarray(normals, dtype=np.float64).tobytes()
        if key not in self._found:
            start = normals @ self.surface_upright_m
            self._found[key] = liquid_in(
                self.tank,
                volume_m3=self.volume_m3,
                normals=normals,
                start_m=start if np.isfinite(start).all() else None,
            )
        return self._found[key]


def lying_together(liquids: Sequence[Liquid], normals: Floats, *, near_m: Floats) -> list[Lying]:
    """Return how each of several liquids lies under every normal.

    Parameters
    ----------
    liquids : sequence of Liquid
        The liquids.
    normals : (k, 3) float64
        Unit normals out of the liquids.
    near_m : (k, liquids, 3) float64
        Points near the surfaces, as their centres under normals near these; NaN where none is known. [m]

    Raises
    ------
    InputError, NotDeterminedError
        As ``liquid_in``.

    Notes
    -----
    Slack tanks that are bodies of triangles are sought by Newton's method from the points given, all in one pass;
    other tanks, and those where it misses, one by one.
    """
    if not liquids:
        return []
    about = np.where(np.isfinite(near_m), near_m, [one.surface_upright_m for one in liquids])
    starts = np.einsum("kn,kln->lk", normals, about)
    found = _by_newton(liquids, normals, starts)
    for i, one in enumerate(liquids):
        if i not in found:
            start = starts[i] if np.isfinite(starts[i]).all() else None
            found[i] = liquid_in(one.tank, volume_m3=one.volume_m3, normals=normals, start_m=start)
    return [found[i] for i in range(len(liquids))]


def _by_newton(liquids: Sequence[Liquid], normals: Floats, starts: Floats) -> dict[int, Lying]:
    """Return those of the liquids, by number, that few steps find under every normal."""
    bodies = {
        i: one.tank.solid
        for i, one in enumerate(liquids)
        if isinstance(one.tank.solid, SurfaceSolid)
        and is_slack(one.tank, one.volume_m3)
        and np.isfinite(starts[i]).all()
    }
    if not bodies:
        return {}
    places, count = list(bodies), len(normals)
    every = np.tile(normals, (len(places), 1))
    offsets = starts[places].ravel()
    gross = np.repeat([liquids[i].volume_m3 / liquids[i].tank.permeability_ratio for i in places], count)
    centroid, surface = np.empty((2, len(gross), 3))
    area, tensor = np.empty(len(gross)), np.empty((len(gross), 3, 3))
    left = np.arange(len(gross))
    for _ in range(GUESS_STEPS):
        checkpoint()
        counts = np.bincount(left // count, minlength=len(places)).tolist()
        cuts = cut_together(list(bodies.values()), Planes(every[left], offsets[left]), counts=counts)
        missing = gross[left] - cuts.volume_m3
        there = np.abs(missing) <= VOLUME_RATIO * gross[left]
        rows = left[there]
        centroid[rows], surface[rows] = cuts.centroid_m[there], cuts.waterplane_centroid_m[there]
        area[rows], tensor[rows] = cuts.waterplane_area_m2[there], cuts.waterplane_tensor_m4[there]
        cutting = ~there & (cuts.waterplane_area_m2 > 0)
        offsets[left[cutting]] += missing[cutting] / cuts.waterplane_area_m2[cutting]
        left = left[~there]
        if not len(left):
            break
    found = {}
    for j, i in enumerate(places):
        rows = np.arange(j * count, (j + 1) * count)
        if not np.isin(j, left // count):
            ratio = liquids[i].tank.permeability_ratio
            found[i] = Lying(
                volume_m3=np.full(count, liquids[i].volume_m3),
                centroid_m=centroid[rows],
                offsets_m=offsets[rows],
                surface_centroid_m=surface[rows],
                surface_area_m2=ratio * area[rows],
                surface_tensor_m4=ratio * tensor[rows],
            )
    return found
