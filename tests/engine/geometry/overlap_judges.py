"""Who else says whether skins overlap: exact rational arithmetic, a library of solids, counted cubes."""

from fractions import Fraction
from itertools import combinations

import manifold3d
import numpy as np
from scipy.spatial import ConvexHull

from engine.geometry import skin


def pierced(vertices, faces, near=None):
    """Pairs of triangles of which an edge of one goes through the inside of the other; all, or those at a vertex."""
    points = [tuple(map(Fraction, map(float, p))) for p in vertices]
    rows = range(len(faces)) if near is None else np.flatnonzero((faces == near).any(axis=1))
    pairs = {(min(i, j), max(i, j)) for i in rows for j in range(len(faces)) if i != j}
    low, high = vertices[faces].min(axis=1), vertices[faces].max(axis=1)
    return {
        (int(i), int(j))
        for i, j in pairs
        if (low[i] <= high[j]).all()
        and (low[j] <= high[i]).all()
        and (_through(points, faces[i], faces[j]) or _through(points, faces[j], faces[i]))
    }


def _through(points, one, other):
    a, b, c = (points[k] for k in other)
    for i, j in combinations(one, 2):
        if i in other or j in other:
            continue
        p, q = points[i], points[j]
        if _side(a, b, c, p) * _side(a, b, c, q) >= 0:
            continue
        around = [_side(p, q, *edge) for edge in ((a, b), (b, c), (c, a))]
        if all(s > 0 for s in around) or all(s < 0 for s in around):
            return True
    return False


def _side(a, b, c, d):
    (ax, ay, az), (bx, by, bz), (cx, cy, cz) = (tuple(u - v for u, v in zip(p, d, strict=True)) for p in (a, b, c))
    return ax * (by * cz - bz * cy) - ay * (bx * cz - bz * cx) + az * (bx * cy - by * cx)


def common_volume(one, other):
    solids = [
        manifold3d.Manifold(manifold3d.Mesh64(np.ascontiguousarray(v), np.ascontiguousarray(f, dtype=np.uint64)))
        for v, f in (one, other)
    ]
    assert all(s.status() == manifold3d.Error.NoError for s in solids)
    return (solids[0] ^ solids[1]).volume()


def convex(seed, count):
    points = np.random.default_rng(seed).normal(size=(count, 3))
    hull = ConvexHull(points)
    corners = points[hull.simplices]
    inward = (
        np.einsum(
            "ij,ij->i", np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), hull.equations[:, :3]
        )
        < 0
    )
    faces = hull.simplices.copy()
    faces[inward] = faces[inward][:, ::-1]
    return skin.drop_unused(points, faces.astype(np.intp))


def cubes(cells):
    """Skin of the unit cubes of a (i, j, k) table of flags, two triangles a side, corners on whole numbers."""
    square = np.array([[0, 0, 0], [1, 0, 0], [1, 1, 0], [0, 1, 0]])
    cells = np.pad(cells, 1)
    corners = []
    for axis, columns in enumerate(((2, 0, 1), (1, 2, 0), (0, 1, 2))):
        for side in (1, -1):
            sides = square[:, columns].copy()
            sides[:, axis] = max(side, 0)
            bare = np.argwhere(cells & ~np.roll(cells, -side, axis)) - 1
            corners.append(bare[:, None, :] + sides[::side])
    vertices = np.concatenate(corners).reshape(-1, 3).astype(float)
    first = np.arange(0, len(vertices), 4)[:, None]
    return vertices, np.concatenate([first + np.array(triangle) for triangle in ((0, 1, 2), (0, 2, 3))])
