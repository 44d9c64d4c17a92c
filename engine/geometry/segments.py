"""Area enclosed by loose directed segments below a line. Layer: engine.geometry.

The segments close round an area but are in no order. Their ends are taken from a point of the line, so the
line itself adds nothing to Green's ½ ∮ (y dz − z dy), and only the segments are summed, clipped where they
cross it.
"""

import numpy as np

from engine.checks import Floats

_CELLS = 1_000_000


def area_below(segments_m: Floats, *, normals: Floats, offsets_m: Floats) -> Floats:
    """Return (k,) areas below each of k lines n·(y, z) = d.

    Parameters
    ----------
    segments_m : (s, 2, 2) float64
        Ends (y, z) of segments that run anticlockwise, in the axes (y, z), round the area. [m]
    normals, offsets_m : (k, 2) and (k,) float64
        The lines; a normal need not be of unit length and may be zero: then all is below if d > 0. [m]
    """
    out = np.empty(len(offsets_m))
    step = max(1, _CELLS // max(1, len(segments_m)))
    for start in range(0, len(offsets_m), step):
        rows = slice(start, start + step)
        out[rows] = _areas(segments_m, normals[rows], offsets_m[rows])
    return out


def _areas(segments: Floats, normals: Floats, offsets: Floats) -> Floats:
    length = np.einsum("kj,kj->k", normals, normals)[:, None]
    level = length > 1e-24
    origin = np.where(level, normals * offsets[:, None] / np.where(level, length, 1.0), 0.0)
    ends = [segments[None, :, end, :] - origin[:, None, :] for end in (0, 1)]
    heights = [np.einsum("kj,sj->ks", normals, segments[:, end]) - offsets[:, None] for end in (0, 1)]
    wet = [h < 0 for h in heights]
    with np.errstate(divide="ignore", invalid="ignore"):
        part = np.where(wet[0] != wet[1], heights[0] / (heights[0] - heights[1]), 0.0)
    crossing = ends[0] + part[:, :, None] * (ends[1] - ends[0])
    a = np.where(wet[0][:, :, None], ends[0], crossing)
    b = np.where(wet[1][:, :, None], ends[1], crossing)
    twice = np.where(wet[0] | wet[1], a[:, :, 0] * b[:, :, 1] - a[:, :, 1] * b[:, :, 0], 0.0)
    return np.asarray(0.5 * twice.sum(axis=1), dtype=np.float64)
