"""Sums over the part of a skin that lies below planes. Layer: engine.geometry.

A triangle with two corners or three below counts whole. One that is cut is turned so that its lone corner
comes first: the small triangle at that corner, area vector t₁t₂N, is added if the lone corner is below and
taken away if it is above.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from engine.checks import Floats
from engine.deadline import checkpoint
from engine.geometry.blocks import LEAF, PAIRS, Blocks, Ints, area_vectors, below_and_crossed

Bools = NDArray[np.bool_]

PARTS = 22
"""ΣN (3), ΣA, Σ∫xN (9), Σ∫x dA (3), Σ∫xx n·N (6)."""
_CHUNK = 48 * 1024 // LEAF  # crossed leaves looked into at a time


class Body(NamedTuple):
    """A skin and the rows of a batch that belong to it."""

    blocks: Blocks
    rows: slice


def immersed_skin(
    bodies: Sequence[Body], *, normals: Floats, offsets: Floats, tolerance: float
) -> tuple[Floats, Floats]:
    """Return (k, PARTS) sums over the immersed skin and (k, 2, 3) extents of the waterline.

    Positions are relative to the body's middle; a point is below if n·x − d < −tolerance. The rows of several bodies
    follow one another; small ones are looked into together.
    """
    parts = np.empty((len(offsets), PARTS))
    extent = np.empty((len(offsets), 2, 3))
    extent[:, 0], extent[:, 1] = np.inf, -np.inf
    corners: list[Floats] = []
    owners: list[Ints] = []
    for blocks, rows in bodies:
        n = normals[rows]
        sums, plane, leaf = below_and_crossed(blocks, normals=n, offsets=offsets[rows], tolerance=tolerance)
        parts[rows, :16] = sums[:, :16]
        parts[rows, 16:] = np.einsum("ki,kip->kp", n, sums[:, 16:].reshape(-1, 3, 6))
        for start in range(0, len(plane), _CHUNK):
            chunk = slice(start, start + _CHUNK)
            corners.append(blocks.corners.take(leaf[chunk], axis=1))
            owners.append(plane[chunk] + rows.start)
            if sum(map(len, owners)) >= _CHUNK:
                _look_into(corners, owners, normals, offsets, tolerance, parts, extent)
                corners, owners = [], []
    if owners:
        _look_into(corners, owners, normals, offsets, tolerance, parts, extent)
    return parts, extent


def _look_into(
    leaves: list[Floats],
    owners: list[Ints],
    normals: Floats,
    offsets: Floats,
    tolerance: float,
    parts: Floats,
    extent: Floats,
) -> None:
    """Add the immersed triangles of crossed leaves, clipping the cut ones."""
    checkpoint()
    corners = leaves[0] if len(leaves) == 1 else np.concatenate(leaves, axis=1)
    plane = owners[0] if len(owners) == 1 else np.concatenate(owners)
    n = normals[plane].T[:, :, None]
    d = offsets[plane][:, None]
    height = np.empty((3, *corners.shape[1:]))
    for which in range(3):
        x, y, z = corners[3 * which : 3 * which + 3]
        np.multiply(x, n[0], out=height[which])
        height[which] += y * n[1]
        height[which] += z * n[2]
        height[which] -= d
    corners, height = corners.reshape(9, -1), height.reshape(3, -1)
    below = height < -tolerance
    wet = below[0].view(np.int8) + below[1].view(np.int8) + below[2].view(np.int8)
    whole = np.flatnonzero(wet >= 2)
    _add(corners.take(whole, axis=1), None, plane[whole // LEAF], normals, parts)
    partly = np.flatnonzero((wet == 1) | (wet == 2))
    if not len(partly):
        return
    corner, one = _lone_corners(corners, height, below, partly, wet[partly] == 1, tolerance)
    owner = plane[partly // LEAF]
    _add(corner, np.where(one, 1.0, -1.0), owner, normals, parts)
    starts = np.flatnonzero(np.diff(owner, prepend=-1))
    rows = owner[starts]
    low = np.minimum.reduceat(np.minimum(corner[3:6], corner[6:9]), starts, axis=1).T
    high = np.maximum.reduceat(np.maximum(corner[3:6], corner[6:9]), starts, axis=1).T
    extent[rows, 0] = np.minimum(extent[rows, 0], low)
    extent[rows, 1] = np.maximum(extent[rows, 1], high)


def _lone_corners(
    corners: Floats, height: Floats, below: Bools, partly: Ints, one: Bools, tolerance: float
) -> tuple[Floats, Bools]:
    """Return (9, m) the triangles cut off at the lone corners; their corners 1 and 2 lie on the plane.

    ``one`` says where the lone corner is the one below.
    """
    lone = np.where(below[1, partly] == one, 1, np.where(below[2, partly] == one, 2, 0))
    count = corners.shape[1]
    out = np.empty((9, len(partly)))
    heights = []
    for turn in range(3):
        which = (lone + turn) % 3
        h = height.take(partly + count * which)
        h[np.abs(h) <= tolerance] = 0.0
        heights.append(h)
        base = partly + 3 * count * which
        for axis in range(3):
            out[3 * turn + axis] = corners.take(base + count * axis)
    first = heights[0] / (heights[0] - heights[1])
    second = heights[0] / (heights[0] - heights[2])
    out[3:6] = out[0:3] + first * (out[3:6] - out[0:3])
    out[6:9] = out[0:3] + second * (out[6:9] - out[0:3])
    return out, one


def _add(corners: Floats, sense: Floats | None, owner: Ints, normals: Floats, parts: Floats) -> None:
    """Add triangles of (9, m) corners, each to the row of its plane, times its ``sense`` (+1, −1)."""
    if not len(owner):
        return
    areas = area_vectors(corners)
    if sense is not None:
        areas *= sense
    n = normals[owner].T if owner[0] != owner[-1] else normals[owner[0]][:, None]
    along = n[0] * areas[0] + n[1] * areas[1] + n[2] * areas[2]
    triple = corners[0:3] + corners[3:6] + corners[6:9]
    ends = (*np.flatnonzero(np.diff(owner)) + 1, len(owner))
    if len(owner) < FEW_TRIANGLES * len(ends):
        _add_together(corners, areas, triple, along, np.array((0, *ends[:-1])), owner, parts)
        return
    start = 0
    for end in ends:
        piece = slice(start, end)
        row = parts[owner[start]]
        row[0:4] += areas[:, piece].sum(axis=1)
        row[4:16] += (areas[:, piece] @ triple[:, piece].T).ravel() / 3.0
        weight = along[piece]
        square = (triple[:, piece] * weight) @ triple[:, piece].T
        for corner in (0, 3, 6):
            spot = corners[corner : corner + 3, piece]
            square += (spot * weight) @ spot.T
        for place, (j, k) in enumerate(PAIRS):
            row[16 + place] += square[j, k] / 12.0
        start = end


FEW_TRIANGLES = 200
"""With fewer a plane the sums of all planes are made at once; with more, plane by plane by matrix products."""


def _add_together(
    corners: Floats, areas: Floats, triple: Floats, along: Floats, starts: Ints, owner: Ints, parts: Floats
) -> None:
    """Add the same sums for all planes at once: quicker where each plane has few triangles."""
    terms = np.empty((16 + len(PAIRS), len(owner)))
    terms[0:4] = areas
    np.multiply(areas[:, None], triple / 3.0, out=terms[4:16].reshape(4, 3, -1))
    for place, (j, k) in enumerate(PAIRS):
        square = triple[j] * triple[k]
        for corner in (0, 3, 6):
            square += corners[corner + j] * corners[corner + k]
        np.multiply(square, along / 12.0, out=terms[16 + place])
    parts[owner[starts], : len(terms)] += np.add.reduceat(terms, starts, axis=1).T


def segments_across(blocks: Blocks, *, x: float, tolerance: float, forward: bool) -> Floats:
    """Return (s, 2, 2) the directed segments, as (y, z), in which the skin passes the transverse plane at x.

    Seen from forward they run anticlockwise round the body in the axes (y, z). A face in the plane is left
    out; its rim comes from the faces abaft it or, if ``forward``, from those forward of it.
    """
    ahead = np.array([[1.0, 0.0, 0.0]])
    _, _, leaf = below_and_crossed(blocks, normals=ahead, offsets=np.array([x]), tolerance=tolerance)
    corners = blocks.corners.take(leaf, axis=1).reshape(9, -1)
    height = corners[0::3] - x
    below = (height <= tolerance) if forward else (height < -tolerance)
    wet = below.sum(axis=0)
    partly = np.flatnonzero((wet == 1) | (wet == 2))
    cut, one = _lone_corners(corners, height, below, partly, wet[partly] == 1, tolerance)
    ends = np.stack([cut[4:6], cut[7:9]]).transpose(2, 0, 1)
    ends[one] = ends[one, ::-1]
    return ends
