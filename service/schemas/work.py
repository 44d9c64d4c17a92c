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
SECONDS_PER_FACE_SEARCHED = 1.5e-6
"""Processor time of a triangle in the search for those that pass through one another: docs/methods/geometry.md. [s]"""
BYTES_PER_FACE = 200
"""Base64 of a triangle in a mesh file at most, in the wordiest of the formats but for text STL."""


def cutting_s(hull: HullModel | TablesHull, planes_count: int) -> float:
    """Return the least processor time of cutting a hull by so many planes."""
    if isinstance(hull, OffsetsHull):
        points = sum(len(s.points_m) * 2 + sum(map(len, s.loops_m)) for s in hull.stations)
        return planes_count * points * SECONDS_PER_EDGE
    return float(planes_count * _faces_count(hull) ** 0.5 * SECONDS_PER_ROOT_FACE)


def searching_s(hull: HullModel) -> float:
    """Return the least processor time of searching a hull for triangles that pass through one another."""
    return _faces_count(hull) * SECONDS_PER_FACE_SEARCHED


def _faces_count(hull: HullModel | TablesHull) -> float:
    """Return the least number of triangles a hull may have; 0 where it has none or they are not in the request."""
    if isinstance(hull, MeshHull):
        return float(len(hull.faces))
    if isinstance(hull, MeshFileHull):
        return len(hull.data_base64) / BYTES_PER_FACE
    return 0.0
