"""Pairs of triangles whose boxes overlap. Layer: engine.geometry.

Triangles in spatial order are put in leaves of ``LEAF`` and groups of ``GROUP`` leaves, each with its box. Groups are
held against groups; of two that overlap, only the leaves that reach into the other's box are held against each other,
and likewise the triangles of two leaves. Everything is done on arrays, so many pairs at a time.
"""

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from engine.checks import Floats
from engine.deadline import checkpoint
from engine.geometry.blocks import Ints

LEAF = 8
GROUP = 32
_ROWS = 2_000_000  # boxes held against boxes at a time


class _Boxes(NamedTuple):
    """Least and greatest coordinates, (3, n) each."""

    low: NDArray[np.float32]
    high: NDArray[np.float32]

    def of(self, size: int) -> "_Boxes":
        """Return the boxes about each ``size`` of these."""
        return _Boxes(self.low.reshape(3, -1, size).min(axis=2), self.high.reshape(3, -1, size).max(axis=2))

    def meet(self, a: Ints, other: "_Boxes", b: Ints) -> NDArray[np.bool_]:
        """Say which of the boxes ``a`` meet the boxes ``b`` of the other."""
        hit = np.ones(np.broadcast_shapes(a.shape, b.shape), dtype=np.bool_)
        for axis in range(3):
            hit &= self.low[axis][a] <= other.high[axis][b]
            hit &= self.high[axis][a] >= other.low[axis][b]
        return hit


def overlapping_pairs(corners_low: Floats, corners_high: Floats) -> Iterator[tuple[Ints, Ints, int]]:
    """Give the pairs of boxes that overlap, each pair once, some at a time.

    Parameters
    ----------
    corners_low, corners_high : (m, 3) float64
        Least and greatest coordinates of each box, neighbours in space near one another in the order. [m]

    Yields
    ------
    first, second : (p,) intp
        Rows of the two boxes of each pair, the first below the second; possibly none.
    tested_count : int
        Boxes of any size held against one another to find them.
    """
    triangles = _padded(corners_low, corners_high)
    leaves = triangles.of(LEAF)
    groups = leaves.of(GROUP)
    for a, b, count in _all_pairs(groups):
        yield a[:0], b[:0], count
        for p, q, tested in _children(a, b, groups, leaves, GROUP):
            yield p[:0], q[:0], tested
            for i, j, held in _children(p, q, leaves, triangles, LEAF):
                other = i < j
                yield i[other], j[other], held


def _padded(low: Floats, high: Floats) -> _Boxes:
    """Return the boxes outwardly rounded, filled up to whole groups by boxes that meet none."""
    size = -(-len(low) // (LEAF * GROUP)) * LEAF * GROUP
    least = np.full((3, size), np.inf, dtype=np.float32)
    most = np.full((3, size), -np.inf, dtype=np.float32)
    least[:, : len(low)] = np.nextafter(low.T.astype(np.float32), np.float32(-np.inf))
    most[:, : len(high)] = np.nextafter(high.T.astype(np.float32), np.float32(np.inf))
    return _Boxes(least, most)


def _all_pairs(boxes: _Boxes) -> Iterator[tuple[Ints, Ints, int]]:
    count = boxes.low.shape[1]
    every = np.arange(count)
    step = max(1, _ROWS // count)
    for start in range(0, count, step):
        checkpoint()
        rows = every[start : start + step, None]
        a, b = np.nonzero(boxes.meet(rows, boxes, every[None, start:]))
        a, b = a + start, b + start
        ahead = a <= b
        yield a[ahead], b[ahead], len(rows) * (count - start)


def _children(a: Ints, b: Ints, parents: _Boxes, boxes: _Boxes, size: int) -> Iterator[tuple[Ints, Ints, int]]:
    """Give the pairs of children that meet, of pairs of parents that meet."""
    step = max(1, _ROWS // (size * size))
    inside = np.arange(size)
    for start in range(0, len(a), step):
        checkpoint()
        pa, pb = a[start : start + step], b[start : start + step]
        of_a, of_b = pa[:, None] * size + inside, pb[:, None] * size + inside
        in_b, in_a = boxes.meet(of_a, parents, pb[:, None]), boxes.meet(of_b, parents, pa[:, None])
        wide = in_a.sum(axis=1)  # children of b to hold against each child of a
        pair = np.nonzero(in_b)[0]
        repeats = wide[pair]
        first = np.repeat(of_a[in_b], repeats)
        begin = np.concatenate([[0], np.cumsum(wide)[:-1]])
        before = np.cumsum(repeats) - repeats
        second = of_b[in_a][np.arange(len(first)) + np.repeat(begin[pair] - before, repeats)]
        meet = boxes.meet(first, boxes, second)
        meet &= first <= second
        yield first[meet], second[meet], len(first) + 2 * of_a.size
