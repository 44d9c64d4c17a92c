"""Water the heeled hull needs under her. Layer: engine.planning.

The depth is that of the hull's deepest point below the water, plumb, at the largest heel either side, with the trim she
then has; a point outside the moulded hull (keel plate, thruster, dome) counts where it is given.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from engine.checks import Floats, points
from engine.deadline import checkpoint
from engine.geometry.cut import Solid
from engine.geometry.level import HasFillingRange, level
from engine.geometry.plane import Planes

MARGIN_M = 0.5
"""Clear water below the deepest point where none is stated: our choice."""
_PER_STEP = 33
_VOLUME_RATIO = 1e-12


@dataclass(frozen=True)
class WaterDepth:
    """Depths. [m]

    Attributes
    ----------
    upright_m : float
        Deepest point below the water at the first plane.
    deepest_m : float
        The same at the plane where it is deepest.
    row : int
        Number of that plane.
    margin_m, needed_m : float
        Clear water kept; deepest point and margin.
    """

    upright_m: float
    deepest_m: float
    row: int
    margin_m: float
    needed_m: float


def water_depth(
    *, hull: Solid, planes: Planes, margin_m: float = MARGIN_M, projections_m: Sequence[Sequence[float]] = ()
) -> WaterDepth:
    """Return the depth of water needed at the planes given, reading 0 first.

    Parameters
    ----------
    projections_m : (n, 3) array_like
        Points below the moulded hull. [m]
    """
    lowest = lowest_offset_m(hull, planes.normals)
    if projections_m:
        out = points(projections_m, columns=3, field="projections_m")
        lowest = np.minimum(lowest, (planes.normals @ out.T).min(axis=1))
    depth = planes.offsets_m - lowest
    row = int(np.argmax(depth))
    return WaterDepth(float(depth[0]), float(depth[row]), row, margin_m, float(depth[row]) + margin_m)


def lowest_offset_m(hull: Solid, normals: Floats) -> Floats:
    """Return (k,) the least n·x over the hull: exact where it knows its own, else to a millimetre. [m]"""
    if isinstance(hull, HasFillingRange):
        return level(hull, normals=normals, volumes_m3=0.0)
    low, high = hull.bounds_m
    corners = np.array([[x, y, z] for x in (low[0], high[0]) for y in (low[1], high[1]) for z in (low[2], high[2])])
    heights = normals @ corners.T
    near, far = heights.min(axis=1), heights.max(axis=1)
    least = _VOLUME_RATIO * float(np.prod(high - low))
    while (far - near).max() > 1e-4:
        checkpoint()
        share = np.linspace(0.0, 1.0, _PER_STEP)
        offsets = near[:, None] + (far - near)[:, None] * share
        flat = Planes(np.repeat(normals, _PER_STEP, axis=0), offsets.ravel())
        wet = hull.cut(flat).volume_m3.reshape(offsets.shape) > least
        first = np.maximum(np.argmax(wet, axis=1), 1)
        rows = np.arange(len(normals))
        near, far = offsets[rows, first - 1], offsets[rows, first]
    return np.asarray(near, dtype=np.float64)
