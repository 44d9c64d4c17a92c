"""How the triangles of a skin hang together. Layer: engine.geometry."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from engine.checks import Floats

Ints = NDArray[np.intp]

_CHUNK = 65_536  # triangles looked at a time


def edges_balance(faces: Ints, *, vertex_count: int) -> bool:
    """Say whether every edge is run through as often one way as the other: a closed, oriented skin."""
    ahead, back = _edge_keys(faces, vertex_count)
    return len(ahead) == len(back) and bool((np.sort(ahead) == np.sort(back)).all())


def _edge_keys(faces: Ints, vertex_count: int) -> tuple[Ints, Ints]:
    """Return a number per edge, of those run towards the higher vertex and of those run towards the lower."""
    ahead, back = [], []
    for i, j in ((0, 1), (1, 2), (2, 0)):
        a, b = faces[:, i], faces[:, j]
        up = a < b
        down = a > b
        ahead.append(a[up] * vertex_count + b[up])
        back.append(b[down] * vertex_count + a[down])
    return np.concatenate(ahead), np.concatenate(back)


def unbalanced_edges(faces: Ints, *, vertex_count: int) -> Ints:
    """Return the (e, 2) edges run through more often one way than the other."""
    ahead, back = _edge_keys(faces, vertex_count)
    keys, inverse = np.unique(np.concatenate([ahead, back]), return_inverse=True)
    sense = np.concatenate([np.ones(len(ahead)), -np.ones(len(back))])
    open_keys = keys[np.bincount(inverse, weights=sense, minlength=len(keys)) != 0]
    return np.stack([open_keys // vertex_count, open_keys % vertex_count], axis=1)


def merge_equal(vertices: Floats, faces: Ints) -> tuple[Floats, Ints]:
    """Return the skin with vertices of exactly equal coordinates made one, in the order of first use."""
    order = np.lexsort(vertices.T)  # equal ones in the order given
    differs = np.ones(len(vertices), dtype=np.bool_)
    differs[1:] = False
    for column in vertices.T:
        ranked = column[order]
        differs[1:] |= ranked[1:] != ranked[:-1]
    first = order[differs]
    place = np.empty(len(first), dtype=np.intp)
    by_use = np.argsort(first)
    place[by_use] = np.arange(len(first))
    among = np.empty(len(vertices), dtype=np.intp)
    among[order] = place[np.cumsum(differs) - 1]
    return vertices[first[by_use]], among[faces]


def near_merge(vertices: Floats, faces: Ints, *, among: Ints, within_m: float) -> Ints:
    """Return faces that use one vertex for those of ``among`` no further apart than ``within_m``."""
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components
    from scipy.spatial import cKDTree

    pairs = cKDTree(vertices[among]).query_pairs(within_m, output_type="ndarray")
    links = coo_matrix((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(len(among), len(among)))
    _, label = connected_components(links, directed=False)
    _, first = np.unique(label, return_index=True)
    target = np.arange(len(vertices), dtype=np.intp)
    target[among] = among[first[label]]
    return target[faces]


class EdgeCounts(NamedTuple):
    """Edges of a skin by how triangles share them.

    Attributes
    ----------
    open : (e, 2) intp
        Edges of one triangle only.
    inconsistent : (i, 2) intp
        Edges of two triangles or more, run through more often one way than the other.
    shared : (s, 2) intp
        Edges of more than two triangles, as often one way as the other: bodies that touch along an edge.
    """

    open: Ints
    inconsistent: Ints
    shared: Ints


def count_edges(faces: Ints, *, vertex_count: int) -> EdgeCounts:
    """Return the edges that are not those of exactly two triangles in opposite senses."""
    if edges_balance(faces, vertex_count=vertex_count):
        ahead, _ = _edge_keys(faces, vertex_count)
        keys, up = np.unique(ahead, return_counts=True)  # as often the other way
        many = keys[up > 1]
        none = np.empty((0, 2), dtype=np.intp)
        return EdgeCounts(none, none, np.stack([many // vertex_count, many % vertex_count], axis=1))
    ahead, back = _edge_keys(faces, vertex_count)
    keys, inverse = np.unique(np.concatenate([ahead, back]), return_inverse=True)
    up = np.bincount(inverse[: len(ahead)], minlength=len(keys))
    down = np.bincount(inverse[len(ahead) :], minlength=len(keys))
    ends = np.stack([keys // vertex_count, keys % vertex_count], axis=1)
    total = up + down
    return EdgeCounts(
        open=ends[total == 1],
        inconsistent=ends[(total > 1) & (up != down)],
        shared=ends[(total > 2) & (up == down)],
    )


def degenerate(vertices: Floats, faces: Ints) -> Ints:
    """Return the triangles without area: below 1e-14 of the square of their longest edge."""
    flat = [np.empty(0, dtype=np.intp)]
    for start in range(0, len(faces), _CHUNK):
        a, b, c = (vertices[faces[start : start + _CHUNK, i]] for i in range(3))
        twice = np.linalg.norm(np.cross(b - a, c - a), axis=1)
        longest = np.maximum.reduce([np.einsum("ij,ij->i", e, e) for e in (b - a, c - b, a - c)])
        flat.append(start + np.flatnonzero(twice <= 1e-14 * longest))
    return np.concatenate(flat)


def volume_about(vertices: Floats, faces: Ints, *, point: Floats) -> Floats:
    """Return (m,) the signed volumes of the tetrahedra from a point to each triangle. [m³]"""
    volumes = np.empty(len(faces))
    for start in range(0, len(faces), _CHUNK):
        rows = slice(start, start + _CHUNK)
        a, b, c = (vertices[faces[rows, i]] - point for i in range(3))
        volumes[rows] = np.einsum("ij,ij->i", a, np.cross(b, c)) / 6.0
    return volumes


def bodies(faces: Ints, *, vertex_count: int) -> Ints:
    """Return (m,) the number of the connected body each triangle belongs to."""
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    rows, columns = faces[:, :2].ravel(), faces[:, 1:].ravel()
    links = coo_matrix((np.ones(len(rows), dtype=np.int8), (rows, columns)), shape=(vertex_count, vertex_count))
    return np.asarray(connected_components(links, directed=False)[1][faces[:, 0]], dtype=np.intp)


def drop_unused(vertices: Floats, faces: Ints) -> tuple[Floats, Ints]:
    """Return the skin without the vertices no triangle uses."""
    used = np.zeros(len(vertices), dtype=np.bool_)
    used[faces] = True
    if used.all():
        return vertices, faces
    return vertices[used], (np.cumsum(used) - 1)[faces]
