"""Skins for the tests: vertices (n, 3) and outward triangles (m, 3)."""

from collections.abc import Callable

import numpy as np


def prism_along_x(section, x_from, x_to):
    """Convex polygon (y, z), anticlockwise seen from forward (y to the right, z up), drawn from x_from to x_to."""
    section = np.asarray(section, dtype=float)
    n = len(section)
    aft = np.column_stack([np.full(n, float(x_from)), section])
    fore = np.column_stack([np.full(n, float(x_to)), section])
    i = np.arange(n)
    j = (i + 1) % n
    sides = [np.column_stack([i, j, n + j]), np.column_stack([i, n + j, n + i])]
    fan = np.column_stack([np.zeros(n - 2, dtype=int), i[1:-1], i[2:]])
    return np.concatenate([aft, fore]), np.concatenate([*sides, fan[:, ::-1], fan + n])


def box(length=60.0, breadth=12.0, depth=8.0, x0=0.0):
    b = breadth / 2
    return prism_along_x([(-b, 0), (b, 0), (b, depth), (-b, depth)], x0, x0 + length)


def wedge(length=60.0, breadth=12.0, draft=4.0, depth=6.0):
    """Triangular prism, apex down, ``breadth`` at ``draft``."""
    b = breadth / 2 * depth / draft
    return prism_along_x([(0, 0), (b, depth), (-b, depth)], 0, length)


def trapezoid(length=60.0, bottom=8.0, breadth=12.0, draft=4.0, depth=6.0):
    b = bottom / 2 + (breadth - bottom) / 2 * depth / draft
    return prism_along_x([(-bottom / 2, 0), (bottom / 2, 0), (b, depth), (-b, depth)], 0, length)


def raked_barge(flat=40.0, rake=10.0, breadth=12.0, draft=3.0, depth=4.5):
    """Bottom ``flat`` long; each end rakes out by ``rake`` at ``draft``; midlength at x = flat/2 + rake."""
    r = rake * depth / draft
    profile = [(rake, 0), (rake + flat, 0), (rake + flat + r, depth), (rake - r, depth)]
    vertices, faces = prism_along_x(profile, -breadth / 2, breadth / 2)
    return vertices[:, [1, 0, 2]], faces[:, ::-1]  # (y, x, z) -> (x, y, z) turns the normals


def rings(points, *, bottom, top):
    """Rings (r, n, 3), each anticlockwise from above, lowest first, closed by two fans to points."""
    r, n = points.shape[:2]
    vertices = np.concatenate([points.reshape(-1, 3), [bottom, top]])
    i = np.arange(r - 1)[:, None] * n
    j = np.arange(n)
    k = (j + 1) % n
    a, b, c, d = (q.ravel() for q in (i + j, i + k, i + n + k, i + n + j))
    last = (r - 1) * n
    low, high = len(vertices) - 2, len(vertices) - 1
    return vertices, np.concatenate(
        [
            np.column_stack([a, b, c]),
            np.column_stack([a, c, d]),
            np.column_stack([np.full(n, low), k, j]),
            np.column_stack([np.full(n, high), last + j, last + k]),
        ]
    )


def revolved(n, *, radius: Callable, height: Callable, waterline, end, round_top=False, y_ratio=1.0):
    """Body whose rings stand at parameters 0 to ``waterline`` to ``end``, n/4 steps each; n points a ring."""
    step = n // 4
    v = np.concatenate([np.linspace(0, waterline, step + 1)[1:], np.linspace(waterline, end, step + 1)[1:]])
    v = v[:-1] if round_top else v
    angle = np.linspace(0, 2 * np.pi, n, endpoint=False)
    r = radius(v)[:, None]
    z = np.broadcast_to(height(v)[:, None], (len(v), n))
    points = np.stack([r * np.cos(angle), y_ratio * r * np.sin(angle), z], axis=-1)
    return rings(points, bottom=[0, 0, height(np.array(0.0))], top=[0, 0, height(np.array(end))])


def ellipsoid(n, *, a, b, c, draft):
    """Keel at z = 0, a mesh line at ``draft``."""
    return revolved(
        n,
        radius=lambda t: a * np.sin(t),
        height=lambda t: c * (1 - np.cos(t)),
        waterline=np.arccos(1 - draft / c),
        end=np.pi,
        round_top=True,
        y_ratio=b / a,
    )


def cylinder_along_x(n, *, radius, length, draft):
    """Keel at z = 0; the water line at ``draft`` on a mesh line."""
    a = np.arccos((radius - draft) / radius)
    half = np.concatenate([np.linspace(0, a, n // 4 + 1)[1:], np.linspace(a, np.pi, n // 4 + 1)[1:-1]])
    angle = np.concatenate([[0.0], half, [np.pi], -half[::-1]])
    section = np.column_stack([radius * np.sin(angle), radius * (1 - np.cos(angle))])
    return prism_along_x(section, 0, length)


def wigley(n, *, length=100.0, breadth=10.0, draft=6.25, line=4.0):
    """Keel z = 0, deck z = ``draft``, x from 0; n steps along, n/2 up, one mesh line at z = ``line``."""
    up = n // 4
    z = np.concatenate([np.linspace(0, line, up + 1), np.linspace(line, draft, up + 1)[1:]])
    x = np.linspace(0, length, n + 1)
    zeta, xi = z / draft - 1, 2 * x / length - 1
    y = breadth / 2 * (1 - xi[None, :] ** 2) * (1 - zeta[:, None] ** 2)
    y[:, [0, -1]] = 0.0
    y[0] = 0.0
    grid = np.stack([np.broadcast_to(x, y.shape), y, np.broadcast_to(z[:, None], y.shape)], axis=-1)
    rows, columns = y.shape
    i = np.arange(rows - 1)[:, None] * columns
    j = np.arange(columns - 1)
    a, b, c, d = (q.ravel() for q in (i + j, i + j + 1, i + columns + j + 1, i + columns + j))
    port = np.concatenate([np.column_stack([a, c, b]), np.column_stack([a, d, c])])
    starboard = port[:, ::-1] + rows * columns
    p = (rows - 1) * columns + np.arange(columns)
    s = p + rows * columns
    deck = np.concatenate([np.column_stack([p[:-1], s[:-1], s[1:]]), np.column_stack([p[:-1], s[1:], p[1:]])])
    vertices = np.concatenate([grid.reshape(-1, 3), grid.reshape(-1, 3) * [1, -1, 1]])
    faces = np.concatenate([port, starboard, deck])
    # stem, stern and keel points of the two sides are the same points
    same = vertices[:, 1] == 0
    place = np.arange(len(vertices))
    place[rows * columns :][same[rows * columns :]] = np.flatnonzero(same[: rows * columns])
    faces = place[faces]
    kept = (faces[:, 0] != faces[:, 1]) & (faces[:, 1] != faces[:, 2]) & (faces[:, 2] != faces[:, 0])
    return vertices, faces[kept]
