"""Polygons cut into triangles. Layer: engine.geometry."""

import numpy as np
from numpy.typing import NDArray

from engine.checks import Floats
from engine.errors import InputError


def triangulate(polygon_m: Floats) -> NDArray[np.intp]:
    """Return the n − 2 triangles of a simple polygon by cutting off ears, each anticlockwise.

    Parameters
    ----------
    polygon_m : (n, 2) float64
        Anticlockwise; points on a straight line with their neighbours are allowed and give triangles of no area. [m]

    Raises
    ------
    InputError
        "section-self-intersecting": no ear is left.
    """
    left = list(range(len(polygon_m)))
    if _strictly_convex(polygon_m):  # every corner is an ear
        return np.array([[left[-1], k, k + 1] for k in left[:-3]] + [left[-3:]], dtype=np.intp)
    triangles = []
    while len(left) > 3:
        at = _ear(polygon_m[left])
        triangles.append([left[at - 1], left[at], left[(at + 1) % len(left)]])
        del left[at]
    triangles.append(left)
    return np.array(triangles, dtype=np.intp)


def _strictly_convex(polygon: Floats) -> bool:
    """Tell whether a simple polygon turns left at every corner."""
    edges = polygon[np.arange(1, len(polygon) + 1) % len(polygon)] - polygon
    return bool((_cross(edges[np.arange(-1, len(polygon) - 1)], edges) > _flat(polygon)).all())


def _flat(polygon: Floats) -> float:
    """Return the turn below which a corner is none. [m²]"""
    return 1e-14 * float(np.ptp(polygon, axis=0).max()) ** 2


def _ear(polygon: Floats) -> int:
    """Return the corner to cut off: the first with an empty triangle, else one on a straight line."""
    before, after = np.roll(polygon, 1, axis=0), np.roll(polygon, -1, axis=0)
    turn = _cross(polygon - before, after - polygon)
    flat = _flat(polygon)
    for corner in np.flatnonzero(turn > flat):
        a, b, c = before[corner], polygon[corner], after[corner]
        inside = np.minimum.reduce([_cross(q - p, polygon - p) for p, q in ((a, b), (b, c), (c, a))]) >= 0
        at_corner = (polygon == a).all(axis=1) | (polygon == b).all(axis=1) | (polygon == c).all(axis=1)
        if not (inside & ~at_corner).any():
            return int(corner)
    straight = np.flatnonzero(np.abs(turn) <= flat)
    if len(straight):
        return int(straight[0])
    raise InputError("the section crosses itself", code="section-self-intersecting", field="points_m")


def _cross(a: Floats, b: Floats) -> Floats:
    return np.asarray(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0])
