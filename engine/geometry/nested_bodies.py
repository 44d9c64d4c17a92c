"""Bodies that lie wholly within another and are counted twice. Layer: engine.geometry."""

from typing import NamedTuple

import numpy as np

from engine.checks import Floats
from engine.deadline import checkpoint
from engine.geometry import skin as _skin
from engine.geometry.blocks import Ints
from engine.geometry.box_pairs import overlapping_pairs

ANGLE_LIMIT = 20_000_000
"""Triangles looked at from a point; then the search ends."""
_PAIR_COST = 500  # what a pair of bodies costs besides its triangles
_BOXES_A_TRIANGLE = 4  # boxes held against one another in the time of a triangle
_DEPTH = 20.0  # of the tolerance: how far below its skin a body is looked at
_CHUNK = 65_536


class Nested(NamedTuple):
    """Rows of a triangle of each body within others, and whether all bodies were looked at."""

    triangles: Ints
    complete: bool


def nested_bodies(
    vertices: Floats, faces: Ints, *, apart: Ints, tolerance: float, angle_limit: int = ANGLE_LIMIT
) -> Nested:
    """Return the closed bodies that face outwards at a place enclosed by others already.

    Parameters
    ----------
    vertices : (n, 3) float64
        Vertices. [m]
    faces : (m, 3) intp
        Triangles, outward normals.
    apart : (p, 2) intp
        Pairs of triangles whose bodies are known to pass through one another: not within one another.
    tolerance : float
        What counts as touching. [m]
    angle_limit : int
        Triangles that may be looked at from a point.

    Notes
    -----
    How often others enclose a point of the body is the sum of the solid angles of their triangles there, over 4π. The
    point lies a little below the largest triangle, so that a body that touches another from without is not within it.
    """
    body = _skin.bodies(faces, vertex_count=len(vertices))
    count = int(body.max()) + 1
    none = np.empty(0, dtype=np.intp)
    if count == 1:
        return Nested(none, True)
    order = np.argsort(body, kind="stable")
    begin = np.searchsorted(body[order], np.arange(count + 1))
    corners = vertices[faces[order]]
    low = np.minimum.reduceat(corners.min(axis=1), begin[:-1], axis=0)
    high = np.maximum.reduceat(corners.max(axis=1), begin[:-1], axis=0)
    volumes = _skin.volume_about(vertices, faces, point=0.5 * (low.min(axis=0) + high.max(axis=0)))
    volume = np.bincount(body, weights=volumes, minlength=count)
    closed = np.ones(count, dtype=np.bool_)
    rim = np.unique(_skin.unbalanced_edges(faces, vertex_count=len(vertices)))
    closed[body[np.isin(faces, rim).any(axis=1)]] = False

    names = body[apart]
    known = np.unique(np.concatenate([names, names[:, ::-1]]) @ np.array([count, 1]))
    times = np.zeros(count)
    cost = 0
    by_place = np.flatnonzero(closed)
    if len(by_place) < 2:
        return Nested(none, True)
    by_place = by_place[np.argsort(low[by_place, 0], kind="stable")]
    for first, second, tested in overlapping_pairs(low[by_place], high[by_place]):
        cost += tested // _BOXES_A_TRIANGLE
        one, other = by_place[first], by_place[second]
        inner, outer = np.concatenate([one, other]), np.concatenate([other, one])
        within = (low[outer] <= low[inner]).all(axis=1) & (high[inner] <= high[outer]).all(axis=1)
        within &= (volume[inner] > 0) & ~np.isin(inner * count + outer, known)
        for i, o in zip(inner[within], outer[within], strict=True):
            cost += int(begin[o + 1] - begin[o]) + _PAIR_COST
            if cost > angle_limit:
                return Nested(_of(times, order, begin), False)
            inside = _just_inside(corners[begin[i] : begin[i + 1]], depth=_DEPTH * tolerance)
            times[i] += _turns_about(corners[begin[o] : begin[o + 1]], inside)
        if cost > angle_limit:
            return Nested(_of(times, order, begin), False)
    return Nested(_of(times, order, begin), True)


def _just_inside(corners: Floats, *, depth: float) -> Floats:
    """Return a point so deep below the middle of the largest of (m, 3, 3) triangles."""
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    area = np.linalg.norm(normals, axis=1)
    largest = int(area.argmax())
    return np.asarray(corners[largest].mean(axis=0) - depth * normals[largest] / area[largest])


def _of(times: Floats, order: Ints, begin: Ints) -> Ints:
    return np.asarray(order[begin[:-1][times > 0.75]], dtype=np.intp)


def _turns_about(corners: Floats, point: Floats) -> float:
    """Return how often a skin of (m, 3, 3) corners encloses a point."""
    total = 0.0
    for start in range(0, len(corners), _CHUNK):
        checkpoint()
        a, b, c = np.moveaxis(corners[start : start + _CHUNK] - point, 1, 0)
        la, lb, lc = (np.sqrt(np.einsum("ij,ij->i", v, v)) for v in (a, b, c))
        over = np.einsum("ij,ij->i", a, np.cross(b, c))
        under = la * lb * lc
        for v, w, length in ((a, b, lc), (b, c, la), (c, a, lb)):
            under += np.einsum("ij,ij->i", v, w) * length
        total += float(np.arctan2(over, under).sum())
    return total / (2.0 * np.pi)
