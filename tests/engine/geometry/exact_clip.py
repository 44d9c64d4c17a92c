"""Volumes and waterplanes of polyhedra in rational numbers, by clipping tetrahedra.

A check of another kind than the engine's sums over the skin: every triangle makes a signed tetrahedron with one
vertex of the body, and each tetrahedron is clipped by the plane into tetrahedra. No number is rounded until
the end.
"""

from fractions import Fraction
from itertools import combinations_with_replacement
from typing import NamedTuple

import numpy as np


class ExactCut(NamedTuple):
    """Volume, its first moment, and area, first and second moments of the section, in the plane itself."""

    volume: float
    moment: np.ndarray
    area: float
    area_moment: np.ndarray
    area_square: np.ndarray


def exact_cut(vertices, faces, *, normal, offset) -> ExactCut:
    """Cut below normal·x = offset; the normal need not be of unit length, its z must not be 0."""
    corners = [tuple(Fraction(float(c)) for c in v) for v in vertices]
    n = [Fraction(float(c)) for c in normal]
    d = Fraction(float(offset))
    apex = corners[faces[0][0]]
    volume, moment = Fraction(0), [Fraction(0)] * 3
    plan, plan_moment, plan_square = Fraction(0), [Fraction(0)] * 3, [[Fraction(0)] * 3 for _ in range(3)]
    for face in faces:
        tetra = [apex, *(corners[i] for i in face)]
        sign = 1 if _six_volumes(tetra) > 0 else -1
        pieces, section = _clip(tetra, [_dot(n, p) - d for p in tetra])
        for piece in pieces:
            v = sign * abs(_six_volumes(piece)) / 6
            volume += v
            for j in range(3):
                moment[j] += v * sum(p[j] for p in piece) / 4
        for triangle in section:
            area = sign * abs(_plan_area(triangle))
            total = [sum(p[j] for p in triangle) for j in range(3)]
            plan += area
            for j in range(3):
                plan_moment[j] += area * total[j] / 3
            for j, k in combinations_with_replacement(range(3), 2):
                plan_square[j][k] += area * (sum(p[j] * p[k] for p in triangle) + total[j] * total[k]) / 12
    tilt = float(np.linalg.norm(normal) / abs(normal[2]))  # of the area to its projection on z = 0
    square = np.array([[float(plan_square[min(j, k)][max(j, k)]) for k in range(3)] for j in range(3)])
    return ExactCut(
        float(volume),
        np.array([float(m) for m in moment]),
        float(plan) * tilt,
        np.array([float(m) for m in plan_moment]) * tilt,
        square * tilt,
    )


def _dot(a, b):
    return sum(x * y for x, y in zip(a, b, strict=True))


def _six_volumes(tetra):
    a, b, c = ([p - q for p, q in zip(corner, tetra[0], strict=True)] for corner in tetra[1:])
    return a[0] * (b[1] * c[2] - b[2] * c[1]) - a[1] * (b[0] * c[2] - b[2] * c[0]) + a[2] * (b[0] * c[1] - b[1] * c[0])


def _plan_area(triangle):
    (x0, y0, _), (x1, y1, _), (x2, y2, _) = triangle
    return ((x1 - x0) * (y2 - y0) - (x2 - x0) * (y1 - y0)) / 2


def _between(p, q, h, g):
    return tuple(a + (b - a) * h / (h - g) for a, b in zip(p, q, strict=True))


def _clip(tetra, heights):
    """Return the tetrahedra below and the triangles of the section."""
    below = [i for i in range(4) if heights[i] < 0]
    above = [i for i in range(4) if heights[i] >= 0]
    if not below:
        return [], []
    if not above:
        return [tetra], []
    cut = {(i, j): _between(tetra[i], tetra[j], heights[i], heights[j]) for i in below for j in above}
    if len(below) == 1:
        tip = [cut[below[0], j] for j in above]
        return [[tetra[below[0]], *tip]], [tip]
    if len(below) == 3:
        p, q, r = (tetra[i] for i in below)
        u, v, w = (cut[i, above[0]] for i in below)
        return [[p, q, r, u], [q, r, u, v], [r, u, v, w]], [[u, v, w]]
    (i, j), (k, m) = below, above
    a, b, c, e = cut[i, k], cut[i, m], cut[j, k], cut[j, m]
    return [[tetra[i], a, b, tetra[j]], [a, b, tetra[j], c], [b, tetra[j], c, e]], [[a, b, c], [b, c, e]]
