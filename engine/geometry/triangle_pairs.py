"""Whether two triangles pass through one another, lie on one another, or touch. Layer: engine.geometry.

Each triangle is held against the plane of the other. Where both reach through by more than the tolerance, each covers a
stretch of the line in which the planes meet; the triangles pass through one another if the stretches have more in
common than the tolerance (the interval-overlap method). A corner that the two share lies in both planes exactly, so
triangles that meet in a corner alone have nothing in common beyond it.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from engine.checks import Floats
from engine.geometry.blocks import Ints

Flags = NDArray[np.bool_]

PARALLEL_COSINE = 0.9
"""Of the angle between two triangles that may lie on one another."""
FOLDED_COSINE = 1.0 - 5e-7
"""Of the angle by which neighbours folded flat may miss one another: a thousandth of a radian."""


class Skin(NamedTuple):
    """Triangles about the middle of their box, and what is asked of each again and again.

    Attributes
    ----------
    vertices : (n, 3) float64
        Vertices. [m]
    faces : (m, 3) intp
        Triangles.
    normals : (m, 3) float64
        Unit normals; NaN for a triangle without area.
    offsets : (m,) float64
        Distance of its plane from the middle, along the normal. [m]
    tolerance : float
        What counts as touching. [m]
    """

    vertices: Floats
    faces: Ints
    normals: Floats
    offsets: Floats
    tolerance: float


class Told(NamedTuple):
    """What was found of some pairs of triangles.

    Attributes
    ----------
    crossing : (c, 2) intp
        Triangles that pass through one another.
    ends_m : (c, 2, 3) float64
        Ends of the stretch each of these pairs has in common.
    lying : (l, 2) intp
        Triangles that lie on one another and face the same way.
    folded : (f, 2) intp
        Neighbours that lie on one another and face opposite ways.
    touching : (t, 3) intp
        Triangle, the number (0 to 2) of its edge, and the triangle in whose plane that edge lies.
    """

    crossing: Ints
    ends_m: Floats
    lying: Ints
    folded: Ints
    touching: Ints


def skin_of(vertices: Floats, faces: Ints, *, tolerance: float) -> Skin:
    """Return the skin of triangles; ``vertices`` about the middle of their box."""
    a, b, c = (vertices[faces[:, k]] for k in range(3))
    normals = np.cross(b - a, c - a)
    length = np.linalg.norm(normals, axis=1)
    longest = np.maximum.reduce([np.einsum("ij,ij->i", e, e) for e in (b - a, c - b, a - c)])
    length[length <= 1e-14 * longest] = np.nan
    normals /= length[:, None]
    return Skin(vertices, faces, normals, np.einsum("ij,ij->i", normals, a), tolerance)


def hold_against(skin: Skin, first: Ints, second: Ints) -> Told:
    """Return what is found of the pairs of triangles ``first`` and ``second``, (p,) each."""
    shared_a, shared_b, alike = _common_corners(skin, first, second)
    shared = shared_a.sum(axis=0, dtype=np.int8)
    doubled, folded = _with_a_common_edge(skin, first, second, shared, alike)
    rest = (shared < 2) | ((shared == 2) & alike)
    first, second, shared_a, shared_b = first[rest], second[rest], shared_a[:, rest], shared_b[:, rest]
    heights_b = _heights(skin, first, second, shared_b)
    kept = _may_meet(heights_b, skin.tolerance)
    first, second, shared_a, heights_b = first[kept], second[kept], shared_a[:, kept], heights_b[:, kept]
    heights_a = _heights(skin, second, first, shared_a)
    kept = _may_meet(heights_a, skin.tolerance)
    first, second, heights_a, heights_b = first[kept], second[kept], heights_a[:, kept], heights_b[:, kept]

    in_plane = _lies(heights_a, skin.tolerance) | _lies(heights_b, skin.tolerance)
    cosine = _dot(skin.normals[first].T, skin.normals[second].T)
    flat = in_plane & (np.abs(cosine) > PARALLEL_COSINE)
    facing = np.flatnonzero(flat & (cosine > 0))
    lies = facing[_overlap_in_plane(skin, first[facing], second[facing])]

    through = _reaches_through(heights_a, skin.tolerance) & _reaches_through(heights_b, skin.tolerance) & ~flat
    rows = np.flatnonzero(through)
    ends, common = _common_stretch(skin, first[rows], second[rows], heights_a[:, rows].T, heights_b[:, rows].T)
    deep = common > skin.tolerance
    crossed = rows[deep]

    still = ~through & ~flat
    touching = [
        _edges_in_plane(one[still], heights[:, still].T, other[still], skin.tolerance)
        for one, heights, other in ((first, heights_a, second), (second, heights_b, first))
    ]
    return Told(
        crossing=np.column_stack([first[crossed], second[crossed]]),
        ends_m=ends[deep],
        lying=np.concatenate([doubled, np.column_stack([first[lies], second[lies]])]),
        folded=folded,
        touching=np.concatenate(touching),
    )


def _common_corners(skin: Skin, first: Ints, second: Ints) -> tuple[Flags, Flags, Flags]:
    """Return which corners of each triangle the other has too, (3, p), and if they run alike along a common edge."""
    of_a, of_b = ([np.take(skin.faces[:, k], rows) for k in range(3)] for rows in (first, second))
    same = [[one == other for other in of_b] for one in of_a]
    alike = np.zeros(len(first), dtype=np.bool_)
    for k in range(3):
        for other in range(3):
            alike |= same[k][other] & same[(k + 1) % 3][(other + 1) % 3]
    shared_a = np.stack([row[0] | row[1] | row[2] for row in same])
    shared_b = np.stack([same[0][k] | same[1][k] | same[2][k] for k in range(3)])
    return shared_a, shared_b, alike


def _with_a_common_edge(
    skin: Skin, first: Ints, second: Ints, shared: NDArray[np.int8], alike: Flags
) -> tuple[Ints, Ints]:
    """Return the pairs of the same three corners that face the same way, and the neighbours folded flat."""
    twice = (shared == 3) & alike
    rows = np.flatnonzero((shared == 2) & ~alike)
    a, b = first[rows], second[rows]
    back = _dot(skin.normals[a].T, skin.normals[b].T) < -FOLDED_COSINE
    a, b = a[back], b[back]
    wide = _wide(skin, a) & _wide(skin, b)
    return np.column_stack([first[twice], second[twice]]), np.column_stack([a[wide], b[wide]])


def _wide(skin: Skin, rows: Ints) -> Flags:
    """Say which triangles are more than the tolerance wide."""
    corners = skin.vertices[skin.faces[rows]]
    edges = np.roll(corners, -1, axis=1) - corners
    twice = np.linalg.norm(np.cross(edges[:, 0], edges[:, 1]), axis=1)
    longest = np.linalg.norm(edges, axis=2).max(axis=1)
    return np.asarray(twice > skin.tolerance * longest)


def _heights(skin: Skin, planes: Ints, triangles: Ints, shared: Flags) -> Floats:
    """Return the (3, p) distances of corners from the planes of other triangles, 0 for shared corners."""
    normals, offsets = np.take(skin.normals, planes, axis=0), np.take(skin.offsets, planes)
    heights = np.empty((3, len(planes)))
    for k in range(3):
        corner = np.take(skin.vertices, np.take(skin.faces[:, k], triangles), axis=0)
        heights[k] = _dot(corner.T, normals.T) - offsets
    heights[shared] = 0.0
    return heights


def _reaches_through(heights: Floats, tolerance: float) -> Flags:
    """Say of (3, p) heights which reach beyond the plane on both sides."""
    above, below = heights > tolerance, heights < -tolerance
    return np.asarray((above[0] | above[1] | above[2]) & (below[0] | below[1] | below[2]))


def _lies(heights: Floats, tolerance: float) -> Flags:
    """Say of (3, p) heights which triangles lie in the plane."""
    near = np.abs(heights) <= tolerance
    return np.asarray(near[0] & near[1] & near[2])


def _may_meet(heights: Floats, tolerance: float) -> Flags:
    """Say of (3, p) heights which triangles do more than touch the plane in a corner."""
    near = np.abs(heights) <= tolerance
    edge = (near[0] & near[1]) | (near[1] & near[2]) | (near[2] & near[0])
    return np.asarray(_reaches_through(heights, tolerance) | edge)


def _common_stretch(
    skin: Skin, first: Ints, second: Ints, heights_a: Floats, heights_b: Floats
) -> tuple[Floats, Floats]:
    """Return the (p, 2, 3) ends and (p,) lengths of what triangles have in common on the line of their planes."""
    along = np.cross(skin.normals[first], skin.normals[second])
    along /= np.linalg.norm(along, axis=1)[:, None]
    low, high, start = _stretch(skin, first, heights_a, along)
    other_low, other_high, _ = _stretch(skin, second, heights_b, along)
    begin, end = np.maximum(low, other_low), np.minimum(high, other_high)
    ends = start[:, None, :] + along[:, None, :] * (np.stack([begin, end], axis=1) - low[:, None])[:, :, None]
    return ends, end - begin


def _stretch(skin: Skin, triangles: Ints, heights: Floats, along: Floats) -> tuple[Floats, Floats, Floats]:
    """Return where each triangle begins and ends on the line, and the (p, 3) point where it begins."""
    corners = skin.vertices[skin.faces[triangles]]
    after, heights_after = np.roll(corners, -1, axis=1), np.roll(heights, -1, axis=1)
    fall = heights - heights_after
    across = (heights * heights_after <= 0) & (fall != 0)
    share = np.divide(heights, fall, out=np.zeros_like(heights), where=across)
    points = corners + (after - corners) * share[:, :, None]
    places = np.einsum("pkj,pj->pk", points, along)
    low = np.where(across, places, np.inf)
    begin = low.argmin(axis=1)
    rows = np.arange(len(triangles))
    return low[rows, begin], np.where(across, places, -np.inf).max(axis=1), points[rows, begin]


def _overlap_in_plane(skin: Skin, first: Ints, second: Ints) -> Ints:
    """Return which pairs of triangles in one plane overlap: no edge of either keeps them apart to the tolerance."""
    rows = np.arange(len(first))
    for one, other in ((first, second), (second, first)):
        for k in range(3):
            mine, theirs = skin.faces[one[rows]].T, skin.faces[other[rows]].T
            start = skin.vertices[mine[k]]
            edge = (skin.vertices[mine[(k + 1) % 3]] - start).T
            outward = _cross(edge, skin.normals[one[rows]].T)
            least = np.min([_dot((skin.vertices[corner] - start).T, outward) for corner in theirs], axis=0)
            rows = rows[least < -skin.tolerance * np.sqrt(_dot(edge, edge))]
    return rows


def _dot(a: Floats, b: Floats) -> Floats:
    """Return the (p,) products of (3, p) vectors: columns are several times quicker than rows of three."""
    return np.asarray(a[0] * b[0] + a[1] * b[1] + a[2] * b[2])


def _cross(a: Floats, b: Floats) -> Floats:
    return np.stack([a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]])


def _edges_in_plane(triangles: Ints, heights: Floats, planes: Ints, tolerance: float) -> Ints:
    """Return triangle, edge and other triangle where just one edge lies in the plane of the other."""
    near = np.abs(heights) <= tolerance
    rows = np.flatnonzero(near.sum(axis=1) == 2)
    edge = (np.argmin(near[rows], axis=1) + 1) % 3  # opposite the corner off the plane
    return np.column_stack([triangles[rows], edge, planes[rows]])
