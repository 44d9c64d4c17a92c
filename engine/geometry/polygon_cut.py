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
    level_m, along_m = np.ascontiguousarray(level_m), np.ascontiguousarray(along_m)  # what follows writes into ravel()
    rows, count = level_m.shape[0], len(layout.starts)
    wet = level_m < 0
    depth = np.minimum(level_m, 0.0)
    depth_a, depth_b = depth[:, :-1], depth[:, 1:]
    along_a, along_b = along_m[:, :-1], along_m[:, 1:]
    both, sides = depth_a + depth_b, along_a + along_b
    step = along_b - along_a
    step[:, layout.joints] = 0.0
    area = step * both
    level = both * both
    level -= depth_a * depth_b
    level *= step
    along = depth_b - depth_a  # l_a (2 f_a + f_b) + l_b (f_a + 2 f_b) = 3/2 (l_a + l_b)(f_a + f_b) + 1/2 Δl Δf
    along *= step
    along *= step
    along += 3.0 * sides * area
    skin = (wet[:, :-1] & wet[:, 1:]) * skin_m
    skin[:, layout.joints] = 0.0
    sides *= skin
    both *= skin
    skin_along, skin_level = sides, both

    crosses = wet[:, :-1] != wet[:, 1:]
    crosses[:, layout.joints] = False
    flat = np.flatnonzero(crosses)
    row = flat // crosses.shape[1]
    start = flat + row  # the edge's first point, in level_m.ravel()
    leaves = wet.ravel()[start]
    inside, outside = start + ~leaves, start + leaves
    f_in, f_out, l_in, l_out = (values.ravel()[at] for values in (level_m, along_m) for at in (inside, outside))
    part = f_in / (f_in - f_out)
    crossing = l_in + part * (l_out - l_in)
    sign = 2.0 * leaves - 1.0
    edge = flat - row * crosses.shape[1]
    length = part * (skin_m[edge] if skin_m.ndim == 1 else skin_m.ravel()[flat])
    run = sign * (crossing - l_in) * f_in
    area.ravel()[flat] = run
    level.ravel()[flat] = run * f_in
    along.ravel()[flat] = run * (4.0 * l_in + 2.0 * crossing)
    skin.ravel()[flat] = length
    skin_along.ravel()[flat] = length * (l_in + crossing)
    skin_level.ravel()[flat] = length * f_in

    cell = row * count + layout.owner[edge]

    def crossings(weights: Floats) -> Floats:
        return np.asarray(np.bincount(cell, weights=weights, minlength=rows * count).reshape(rows, count))

    least, greatest = np.full(rows * count, np.inf), np.full(rows * count, -np.inf)
    np.minimum.at(least, cell, crossing)
    np.maximum.at(greatest, cell, crossing)

    def total(terms: Floats, factor: float) -> Floats:
        return np.asarray(np.add.reduceat(terms, layout.starts, axis=1) * factor)

    return PolygonCut(
        area_m2=total(area, -0.5),
        along_moment_m3=total(along, -1.0 / 12.0),
        level_moment_m3=total(level, -1.0 / 6.0),
        line_m=crossings(sign * crossing),
        line_moment_m2=crossings(sign * crossing**2) / 2.0,
        line_second_m3=crossings(sign * crossing**3) / 3.0,
        skin_m=total(skin, 1.0),
        skin_along_m2=total(skin_along, 0.5),
        skin_level_m2=total(skin_level, 0.5),
        line_least_m=least.reshape(rows, count),
        line_greatest_m=greatest.reshape(rows, count),
        lowest_m=np.minimum.reduceat(level_m, layout.starts, axis=1),
        highest_m=np.maximum.reduceat(level_m, layout.starts, axis=1),
    )
