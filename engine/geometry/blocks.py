"""Triangles in spatially sorted blocks whose moment sums are stored once. Layer: engine.geometry.

Leaves of ``LEAF`` triangles, groups of ``GROUP`` leaves. A plane tests the boxes of the groups, then those of
the leaves in the groups it crosses, and looks only into the leaves it crosses: about the square root of the
triangles. A body of one leaf, as most tanks are, is looked into without any test.

The sums of a node, about the body's middle, N being a triangle's area vector and A its area:

    0:4      ΣN (3), ΣA
    4:16     Σ∫x N₀, Σ∫x N₁, Σ∫x N₂, Σ∫x dA    (3 each)
    16:34    Σ∫xx N₀, Σ∫xx N₁, Σ∫xx N₂         (6 each, order of ``PAIRS``)

by ∫x = A c and ∫xxᵀ = A/12 (Σ v vᵀ + 9 c cᵀ), exact for a triangle of corners v and centroid c.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from engine.checks import Floats

Ints = NDArray[np.intp]

LEAF = 32
GROUP = 16
PAIRS = ((0, 0), (1, 1), (2, 2), (0, 1), (0, 2), (1, 2))
SUMS = 34


@dataclass(frozen=True, eq=False)
class Blocks:
    """Corners (9, leaves, LEAF) relative to the middle, and box and sums of each node."""

    corners: Floats
    leaf_middle: Floats
    leaf_half: Floats
    leaf_sums: Floats
    group_middle: Floats
    group_half: Floats
    group_sums: Floats


def spatial_order(vertices: Floats, faces: Ints) -> Ints:
    """Return the (m,) order of the triangles along a Morton curve of cubic cells; as given where they make one leaf."""
    if len(faces) <= LEAF:
        return np.arange(len(faces))
    centres = vertices[faces[:, 0]]
    centres += vertices[faces[:, 1]]
    centres += vertices[faces[:, 2]]
    centres -= centres.min(axis=0)
    size = float(centres.max()) or 1.0
    cells = (centres * ((2**20 - 1) / size)).astype(np.uint64)
    keys = np.zeros(len(faces), dtype=np.uint64)
    for axis in range(3):
        keys |= _spread(cells[:, axis]) << np.uint64(axis)
    return np.argsort(keys)


def _spread(cells: NDArray[np.uint64]) -> NDArray[np.uint64]:
    """Return the bits of 20-bit numbers three apart."""
    bits = cells.copy()
    for shift, mask in (
        (32, 0x1F00000000FFFF),
        (16, 0x1F0000FF0000FF),
        (8, 0x100F00F00F00F00F),
        (4, 0x10C30C30C30C30C3),
        (2, 0x1249249249249249),
    ):
        bits = (bits | (bits << np.uint64(shift))) & np.uint64(mask)
    return bits


def build(vertices: Floats, faces: Ints) -> Blocks:
    """Return the blocks of triangles already in spatial order; ``vertices`` are relative to the middle."""
    count = len(faces)
    group = GROUP if count > LEAF else 1
    leaves = -(-count // (LEAF * group)) * group
    padded = np.full((leaves * LEAF, 3), faces[-1, 0], dtype=np.intp)
    padded[:count] = faces
    corners = np.empty((9, leaves, LEAF))
    flat = corners.reshape(9, -1)
    columns = np.ascontiguousarray(vertices.T)
    for corner in range(3):
        index = np.ascontiguousarray(padded[:, corner])
        for axis in range(3):
            np.take(columns[axis], index, out=flat[3 * corner + axis])
    low = corners.min(axis=2).reshape(3, 3, leaves).min(axis=0).T
    high = corners.max(axis=2).reshape(3, 3, leaves).max(axis=0).T
    sums = np.empty((leaves, SUMS))
    step = max(1, 4096 // LEAF)
    for start in range(0, leaves, step):
        sums[start : start + step] = _leaf_sums(corners[:, start : start + step])
    group_low = low.reshape(-1, group, 3).min(axis=1)
    group_high = high.reshape(-1, group, 3).max(axis=1)
    return Blocks(
        corners=corners,
        leaf_middle=0.5 * (low + high),
        leaf_half=0.5 * (high - low),
        leaf_sums=sums,
        group_middle=0.5 * (group_low + group_high),
        group_half=0.5 * (group_high - group_low),
        group_sums=sums.reshape(-1, group, SUMS).sum(axis=1),
    )


def area_vectors(corners: Floats) -> Floats:
    """Return (4, …) the area vectors and areas of triangles given as (9, …) corners."""
    a = corners[3:6] - corners[0:3]
    b = corners[6:9] - corners[0:3]
    out = np.empty((4, *corners.shape[1:]))
    out[0] = a[1] * b[2] - a[2] * b[1]
    out[1] = a[2] * b[0] - a[0] * b[2]
    out[2] = a[0] * b[1] - a[1] * b[0]
    out[:3] *= 0.5
    out[3] = np.sqrt(out[0] * out[0] + out[1] * out[1] + out[2] * out[2])
    return out


def _leaf_sums(corners: Floats) -> Floats:
    """Return the (leaves, SUMS) sums of (9, leaves, LEAF) corners."""
    areas = area_vectors(corners)
    v0, v1, v2 = corners[0:3], corners[3:6], corners[6:9]
    triple = v0 + v1 + v2
    sums = np.empty((corners.shape[1], SUMS))
    sums[:, 0:4] = areas.sum(axis=2).T
    sums[:, 4:16] = np.einsum("rlb,alb->lra", areas, triple).reshape(-1, 12) / 3.0
    square = np.empty((len(PAIRS), *triple.shape[1:]))
    for place, (j, k) in enumerate(PAIRS):
        square[place] = v0[j] * v0[k] + v1[j] * v1[k] + v2[j] * v2[k] + triple[j] * triple[k]
    sums[:, 16:] = np.einsum("rlb,plb->lrp", areas[:3], square).reshape(-1, 18) / 12.0
    return sums


def below_and_crossed(
    blocks: Blocks, *, normals: Floats, offsets: Floats, tolerance: float
) -> tuple[Floats, Ints, Ints]:
    """Return for k planes the (k, SUMS) sums of the nodes wholly below, and the crossed leaves.

    A point is below if n·x − d < −tolerance. The crossed leaves come as two equally long arrays, plane and
    leaf, ordered by plane.
    """
    if len(blocks.leaf_middle) == 1:
        every = np.arange(len(offsets))
        return np.zeros((len(offsets), SUMS)), every, np.zeros_like(every)
    middle = normals @ blocks.group_middle.T - offsets[:, None]
    reach = np.abs(normals) @ blocks.group_half.T + 4.0 * tolerance
    sums = (middle + reach < 0).astype(np.float64) @ blocks.group_sums
    plane, group = np.nonzero(np.abs(middle) <= reach)
    leaf = (group[:, None] * GROUP + np.arange(GROUP)).ravel()
    plane = np.repeat(plane, GROUP)
    n = normals[plane]
    middle = np.einsum("pj,pj->p", n, blocks.leaf_middle[leaf]) - offsets[plane]
    reach = np.einsum("pj,pj->p", np.abs(n), blocks.leaf_half[leaf]) + 4.0 * tolerance
    below = middle + reach < 0
    crossed = np.abs(middle) <= reach
    edges = np.searchsorted(plane[below], np.arange(len(offsets) + 1))
    inside = leaf[below]
    for row, (start, end) in enumerate(pairwise(edges)):
        if end > start:
            sums[row] += blocks.leaf_sums[inside[start:end]].sum(axis=0)
    return sums, plane[crossed], leaf[crossed]
