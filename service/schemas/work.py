"""What a request is sure to cost, told from its sizes before anything is computed. Layer: service.schemas.

Lower bounds, about a third of what was measured (docs/decisions/workers.md): what is refused by them would have been
stopped by the clock, only later.
"""

from service.schemas.hull import HullModel, MeshFileHull, MeshHull, OffsetsHull
from service.schemas.table_hull import TablesHull

SECONDS_PER_EDGE = 0.05e-6
"""Processor time of one plane and one edge of a section. [s]"""
SECONDS_PER_ROOT_FACE = 0.4e-6
"""Processor time of one plane over the square root of the triangles. [s]"""
BYTES_PER_FACE = 200
"""Base64 of a triangle in a mesh file at most, in the wordiest of the formats but for text STL."""


def cutting_s(hull: HullModel | TablesHull, planes_count: int) -> float:
    """Return the least processor time of cutting a hull by so many planes."""
    if isinstance(hull, OffsetsHull):
        points = sum(len(s.points_m) * 2 + sum(map(len, s.loops_m)) for s in hull.stations)
        return planes_count * points * SECONDS_PER_EDGE
    if isinstance(hull, MeshHull):
        faces = float(len(hull.faces))
    elif isinstance(hull, MeshFileHull):
        faces = len(hull.data_base64) / BYTES_PER_FACE
    else:
        return 0.0
    return float(planes_count * faces**0.5 * SECONDS_PER_ROOT_FACE)
