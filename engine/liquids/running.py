"""Liquids of fixed volume that run to their level in tanks. Layer: engine.liquids."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from engine.checks import Floats
from engine.geometry.cut import Cuts
from engine.geometry.level import box_range, cuts_of_volume
from engine.geometry.plane import Planes
from engine.geometry.surface_solid import SurfaceSolid, cut_together
from engine.liquids.tank import Lying, Tank, is_slack, liquid_in, lying_in


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
    def about_m(self) -> Floats:
        """(3,) where the surface of the upright tank would be if the tank were a box; NaN without a shape. [m]"""
        if self.tank.solid is None:
            return np.full(3, np.nan)
        low, high = self.tank.solid.bounds_m
        part = np.array([0.5, 0.5, min(self.volume_m3 / self.tank.capacity_m3, 1.0)])
        return np.asarray(low + part * (high - low))

    def at(self, normals: Floats) -> Lying:
        """Return how it lies under each of (k, 3) unit normals; the answer is kept, for what is asked again."""
        key = _key(normals)
        if key not in self._found:
            keep_together([self], normals)
        return self._found[key]


def keep_together(liquids: Sequence[Liquid], normals: Floats) -> None:
    """Find how several liquids lie under (k, 3) unit normals, so that ``Liquid.at`` knows it of each."""
    new = [one for one in liquids if _key(normals) not in one._found]
    nowhere = np.full((len(normals), len(new), 3), np.nan)
    for one, lying in zip(new, lying_together(new, normals, near_m=nowhere), strict=True):
        one._found[_key(normals)] = lying


def _key(normals: Floats) -> bytes:
    return np.ascontiguousarray(normals, dtype=np.float64).tobytes()


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
    Slack tanks that are bodies of triangles are cut together, the others one by one.
    """
    if not liquids:
        return []
    about = np.where(np.isfinite(near_m), near_m, [one.about_m for one in liquids])
    starts = np.einsum("kn,kln->lk", normals, about)
    bodies = {
        i: one.tank.solid
        for i, one in enumerate(liquids)
        if isinstance(one.tank.solid, SurfaceSolid) and is_slack(one.tank, one.volume_m3)
    }
    found = dict(zip(bodies, _in_bodies(liquids, bodies, normals, starts), strict=True)) if bodies else {}
    for i, one in enumerate(liquids):
        if i not in found:
            start = starts[i] if np.isfinite(starts[i]).all() else None
            found[i] = liquid_in(one.tank, volume_m3=one.volume_m3, normals=normals, start_m=start)
    return [found[i] for i in range(len(liquids))]


def _in_bodies(
    liquids: Sequence[Liquid], bodies: Mapping[int, SurfaceSolid], normals: Floats, starts: Floats
) -> list[Lying]:
    """Return those of the liquids that ``bodies`` names, all searched for in one pass."""
    places, solids, count = list(bodies), list(bodies.values()), len(normals)
    net = np.repeat([liquids[i].volume_m3 for i in places], count)
    ratio = np.repeat([liquids[i].tank.permeability_ratio for i in places], count)
    every = np.tile(normals, (len(places), 1))
    low, high = box_range(np.repeat([solid.bounds_m for solid in solids], count, axis=0), every)
    start = starts[places].ravel()

    def cut(rows: NDArray[np.intp], planes: Planes) -> Cuts:
        counts = np.bincount(rows // count, minlength=len(places)).tolist()
        return cut_together(solids, planes, counts=counts)

    cuts = cuts_of_volume(
        cut,
        normals=every,
        volumes_m3=net / ratio,
        start_m=np.where((start > low) & (start < high), start, 0.5 * (low + high)),
        low_m=low,
        high_m=high,
    )
    return [
        lying_in(cuts.take(slice(j * count, (j + 1) * count)), net[j * count : (j + 1) * count], ratio[j * count])
        for j in range(len(places))
    ]
