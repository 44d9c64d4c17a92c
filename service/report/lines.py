"""The lines of a hull, for drawings: sections at stations. Layer: service.report."""

from typing import NamedTuple

import numpy as np

from engine.checks import Floats
from engine.geometry import Solid, SurfaceSolid
from engine.geometry.section_solid import SectionSolid
from engine.geometry.sections_of_mesh import sections_of_mesh
from service.edge.shelf import kept
from service.schemas.hull import HullModel, HullOf

SLICES = 20
"""Intervals at which a mesh is sliced."""


class Lines(NamedTuple):
    """Closed loops of y and z at each station, x ascending. [m]"""

    x_m: Floats
    loops_m: tuple[tuple[Floats, ...], ...]

    @property
    def low_m(self) -> Floats:
        """Return (n,) the lowest z of each section."""
        return np.array([min(float(loop[:, 1].min()) for loop in loops) for loops in self.loops_m])

    @property
    def high_m(self) -> Floats:
        """Return (n,) the highest z of each section."""
        return np.array([max(float(loop[:, 1].max()) for loop in loops) for loops in self.loops_m])


def hull_lines(hull: HullModel) -> Lines | None:
    """Return the moulded lines, appendages left out; None for a hull that has none to draw."""
    if not isinstance(hull, HullOf):
        return None
    solid: Solid = kept(hull, "solid", hull.solid)[0]
    if isinstance(solid, SurfaceSolid):
        solid = sections_of_mesh(vertices_m=solid.vertices_m, faces=solid.faces, intervals=SLICES)
    if not isinstance(solid, SectionSolid):
        return None
    return Lines(solid.x_m, tuple(tuple(one.points_m for one in section) for section in solid.contours))


def spread_out(x_m: Floats, most: int) -> list[int]:
    """Return the numbers of at most so many stations, evenly spread along x, ends included."""
    wanted = np.linspace(x_m[0], x_m[-1], most)
    return sorted({int(np.abs(x_m - one).argmin()) for one in wanted})
