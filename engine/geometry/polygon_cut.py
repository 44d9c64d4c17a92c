"""Cutting plane polygons by a straight line, in batches. Layer: engine.geometry.

Every polygon lies in its own plane with two axes: ``along`` the water line and ``level`` square to it,
out of the water, both measured from a point of the line. With the origin on the line the closing segment
has level 0 and adds nothing to

    A = -∮ f dl,    ∫ l dA = -∮ l f dl,    ∫ f dA = -∮ f²/2 dl    (l along, f level; outer loops l → f, holes reversed)

so only the polygon's own edges are summed, each clipped where it passes the line. The water line's own
moments ∫ lᵖ dl are sums of ±lᵖ⁺¹/(p+1) over the crossings, + where the loop leaves the water.
"""

from typing import NamedTuple, Self

import numpy as np
from numpy.typing import NDArray

from engine.checks import Floats

Ints = NDArray[np.intp]

_BLOCK = 8_000


class PolygonLayout(NamedTuple):
    """How a row of points makes polygons: closed loops one after another, each ending with its first point.

    Attributes
    ----------
    starts : (n,) int
        First point of each polygon; a polygon has one loop or more.
    joints : (j,) int
        Edges from one loop's end to the next loop's start, which are no edges.
    owner : (p - 1,) int
        Polygon of each edge.
    """

    starts: Ints
    joints: Ints
    owner: Ints

    @classmethod
    def of(cls, loop_counts: list[list[int]]) -> Self:
        """Build from the number of points, the closing one included, of each loop of each polygon."""
        per_polygon = [sum(counts) for counts in loop_counts]
        ends = np.cumsum([count for counts in loop_counts for count in counts])
        owner = np.repeat(np.arange(len(loop_counts)), per_polygon)[:-1]
        return cls(
            starts=np.concatenate([[0], np.cumsum(per_polygon)[:-1]]).astype(np.intp),
            joints=(ends[:-1] - 1).astype(np.intp),
            owner=owner.astype(np.intp),
        )


class PolygonCut(NamedTuple):
    """What lies below the line, of each polygon and row; every array is (r, n) float64.

    Attributes
    ----------
    area_m2, along_moment_m3, level_moment_m3
        Immersed area, ∫ l dA and ∫ f dA.
    line_m, line_moment_m2, line_second_m3
        ∫ dl, ∫ l dl and ∫ l² dl of the water line.
    skin_m, skin_along_m2, skin_level_m2
        ∫ ds, ∫ l ds and ∫ f ds of the immersed edges, each edge with the length given for it.
    line_least_m, line_greatest_m
        Ends of the water line; +inf and -inf where there is none.
    lowest_m, highest_m
        Least and greatest level of the polygon's points; dry where the first is not below 0, wholly immersed where
        the second is.
    """

    area_m2: Floats
    along_moment_m3: Floats
    level_moment_m3: Floats
    line_m: Floats
    line_moment_m2: Floats
    line_second_m3: Floats
    skin_m: Floats
    skin_along_m2: Floats
    skin_level_m2: Floats
    line_least_m: Floats
    line_greatest_m: Floats
    lowest_m: Floats
    highest_m: Floats


def cut_polygons(*, level_m: Floats, along_m: Floats, skin_m: Floats, layout: PolygonLayout) -> PolygonCut:
    """Cut n polygons, r times.

    Parameters
    ----------
    level_m, along_m : (r, p) float64
        Coordinates of the points in each row; below the line is ``level_m < 0``. [m]
    skin_m : (p - 1,) or (r, p - 1) float64
        Length of each edge for the skin, stretched by the slope of the skin along x where wanted. [m]
    layout : PolygonLayout
        Which points make which polygon.
    """
    rows, count = level_m.shape[0], len(layout.starts)
    wet = level_m < 0
    inside, crosses = wet[:, :-1] & wet[:, 1:], wet[:, :-1] != wet[:, 1:]
    inside[:, layout.joints] = crosses[:, layout.joints] = False

    flat = np.flatnonzero(crosses)
    row = flat // crosses.shape[1]
    start = flat + row  # the edge's first point, in level_m.ravel()
    leaves = wet.ravel()[start]
    ends = start + ~leaves, start + leaves
    (f_in, f_out), (l_in, l_out) = ([values.take(at) for at in ends] for values in (level_m, along_m))
    part = f_in / (f_in - f_out)
    crossing = l_in + part * (l_out - l_in)
    sign = 2.0 * leaves - 1.0
    edge = flat - row * crosses.shape[1]
    length = part * (skin_m[edge] if skin_m.ndim == 1 else skin_m.take(flat))
    run = sign * (crossing - l_in) * f_in
    cell = row * count + layout.owner[edge]

    def crossings(weights: Floats) -> Floats:
        return np.asarray(np.bincount(cell, weights=weights, minlength=rows * count).reshape(rows, count))

    least, greatest = np.full(rows * count, np.inf), np.full(rows * count, -np.inf)
    np.minimum.at(least, cell, crossing)
    np.maximum.at(greatest, cell, crossing)
    area, along, level, skin, skin_along, skin_level = _inside_sums(level_m, along_m, skin_m, inside, layout)
    to_crossing = sign * crossing
    return PolygonCut(
        area_m2=-0.5 * (area + crossings(run)),
        along_moment_m3=(along + crossings(run * (4.0 * l_in + 2.0 * crossing))) / -12.0,
        level_moment_m3=(level + crossings(run * f_in)) / -6.0,
        line_m=crossings(to_crossing),
        line_moment_m2=crossings(to_crossing * crossing) / 2.0,
        line_second_m3=crossings(to_crossing * crossing * crossing) / 3.0,
        skin_m=skin + crossings(length),
        skin_along_m2=0.5 * (skin_along + crossings(length * (l_in + crossing))),
        skin_level_m2=0.5 * (skin_level + crossings(length * f_in)),
        line_least_m=least.reshape(rows, count),
        line_greatest_m=greatest.reshape(rows, count),
        lowest_m=np.minimum.reduceat(level_m, layout.starts, axis=1),
        highest_m=np.maximum.reduceat(level_m, layout.starts, axis=1),
    )


def _inside_sums(
    level_m: Floats, along_m: Floats, skin_m: Floats, inside: NDArray[np.bool_], layout: PolygonLayout
) -> Floats:
    """(6, r, n) sums over the edges that are wholly immersed, some rows at a time in the same memory.

    They are -2 A, -12 ∫ l dA, -6 ∫ f dA, ∫ ds, 2 ∫ l ds and 2 ∫ f ds. New arrays would cost more than the arithmetic.
    """
    rows, edges = inside.shape
    sums = np.empty((6, rows, len(layout.starts)))
    block = min(rows, max(1, _BLOCK // edges))
    memory = np.empty((6, block, edges))
    for first in range(0, rows, block):
        some = slice(first, first + block)
        f_a, f_b, l_a, l_b = level_m[some, :-1], level_m[some, 1:], along_m[some, :-1], along_m[some, 1:]
        both, sides, step, area, one, other = memory[:, : len(f_a)]
        np.add(f_a, f_b, out=both)
        np.add(l_a, l_b, out=sides)
        np.subtract(l_b, l_a, out=step)
        step *= inside[some]

        def add(name: int, terms: Floats, some: slice = some) -> None:
            np.add.reduceat(terms, layout.starts, axis=1, out=sums[name, some])

        add(0, np.multiply(step, both, out=area))
        np.subtract(f_b, f_a, out=one)  # l_a (2 f_a + f_b) + l_b (f_a + 2 f_b) = 3/2 (l_a + l_b)(f_a + f_b) + 1/2 Δl Δf
        one *= step
        one *= step
        area *= sides
        area *= 3.0
        one += area
        add(1, one)
        np.multiply(both, both, out=one)
        one -= np.multiply(f_a, f_b, out=other)
        one *= step
        add(2, one)
        skin = np.multiply(inside[some], skin_m if skin_m.ndim == 1 else skin_m[some], out=step)
        sides *= skin
        both *= skin
        add(3, skin)
        add(4, sides)
        add(5, both)
    return sums
