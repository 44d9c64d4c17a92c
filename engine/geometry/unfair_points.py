"""Points that break the run of their neighbours. Layer: engine.geometry.

A point is foretold three ways: by the straight line through the two points before it, by that through the two
after it, and between its two neighbours. The least of the three misses is its second difference made robust: a
corner agrees with the run on one side of it and a neighbour of a bad point with the run on its other side, so only
the bad point itself misses all three. It is unfair where the least miss is over 2 % of the section's size, over
8 times the median miss of the table, and (along a station) over half the distance between its neighbours. These
numbers are an engineering choice. The first and last two points of a run are not judged along that run.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from engine.checks import Floats

SIZE_RATIO = 0.02
MEDIAN_RATIO = 8.0
GAP_RATIO = 0.5


class UnfairPoint(NamedTuple):
    """A point, by its station and number, and its least miss. [m]"""

    station: int
    point: int
    miss_m: float


def unfair_points(lines_m: Sequence[Floats], *, x_m: Floats, knuckles: Sequence[Sequence[int]]) -> list[UnfairPoint]:
    """Search along each station's line of points, and along x where five stations have as many points.

    Parameters
    ----------
    lines_m : sequence of (m, 2) float64
        Points of each station. [m]
    x_m : (n,) float64
        Stations; a run along x ends at a repeated one. [m]
    knuckles : sequence of sequences of int
        Points of each station that are not judged.
    """
    size = max(float(np.hypot(*np.ptp(line, axis=0))) for line in lines_m)
    worst: dict[tuple[int, int], float] = {}
    along = [
        (i, *_misses(line, np.append(0.0, np.cumsum(np.hypot(*np.diff(line, axis=0).T)))))
        for i, line in enumerate(lines_m)
    ]
    usual = np.median(np.concatenate([miss for _, miss, _ in along]) if along else [0.0])
    for i, miss, gap in along:
        limit = np.maximum(max(SIZE_RATIO * size, MEDIAN_RATIO * float(np.nan_to_num(usual))), GAP_RATIO * gap)
        for j in np.flatnonzero(miss > limit):
            worst[i, int(j) + 2] = float(miss[j])
    across = []
    for i in range(2, len(lines_m) - 2):
        rows = lines_m[i - 2 : i + 3]
        if len({len(row) for row in rows}) == 1 and (np.diff(x_m[i - 2 : i + 3]) > 0).all():
            misses = [_misses(column, x_m[i - 2 : i + 3])[0][0] for column in np.stack(rows, axis=1)]
            across.append((i, np.array(misses)))
    usual = np.median(np.concatenate([miss for _, miss in across])) if across else 0.0
    for i, miss in across:
        for j in np.flatnonzero(miss > max(SIZE_RATIO * size, MEDIAN_RATIO * float(usual))):
            worst[i, int(j)] = max(worst.get((i, int(j)), 0.0), float(miss[j]))
    return [UnfairPoint(i, j, miss) for (i, j), miss in sorted(worst.items()) if j not in set(knuckles[i])]


def _misses(points_m: Floats, at: Floats) -> tuple[Floats, Floats]:
    """Least miss of each point but the first and last two, and the distance between its neighbours."""
    if len(points_m) < 5 or (np.diff(at) <= 0).any():
        return np.zeros(0), np.zeros(0)
    a, b, here, c, d = (points_m[i : len(points_m) - 4 + i] for i in range(5))
    ta, tb, t, tc, td = (at[i : len(at) - 4 + i, None] for i in range(5))
    foretold = [
        b + (b - a) / (tb - ta) * (t - tb),
        c + (d - c) / (td - tc) * (t - tc),
        b + (c - b) / (tc - tb) * (t - tb),
    ]
    misses = np.min([np.hypot(*(here - guess).T) for guess in foretold], axis=0)
    return misses, np.hypot(*(c - b).T)
