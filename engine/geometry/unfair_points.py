"""Points that break the run of their neighbours. Layer: engine.geometry.

A point is foretold by the straight line and by the parabola through the points before it, by those through the points
after it, and by the cubic through its two neighbours on either side. A corner agrees with the run on one side of it,
and the neighbour of a bad point with the run on its other side; a bad point misses every one. Its least miss is the
robust second difference. It is unfair where that is over 2 % of the section's size, over 8 times the median least
miss of the table and, along a station, over 0.3 of the distance between its neighbours; within two points of one that
misses its cubic by more, in the same run, it is not named. These numbers are an engineering choice. The first and
last two points of a run are not judged along that run.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from engine.checks import Floats

SIZE_RATIO = 0.02
MEDIAN_RATIO = 8.0
GAP_RATIO = 0.3
_NEAR = 2
_CUBIC = (-2, -1, 1, 2)
_RUNS = ((-2, -1), (-3, -2, -1), (1, 2), (1, 2, 3), _CUBIC)


class UnfairPoint(NamedTuple):
    """A point, by its station and number, and its miss of the cubic. [m]"""

    station: int
    point: int
    miss_m: float


def unfair_points(lines_m: Sequence[Floats], *, x_m: Floats, knuckles: Sequence[Sequence[int]]) -> list[UnfairPoint]:
    """Search along each station's line of points, and along x where neighbouring stations have as many points.

    Parameters
    ----------
    lines_m : sequence of (m, 2) float64
        Points of each station. [m]
    x_m : (n,) float64
        Stations, all rising or all falling; a run along x ends at a repeated one. [m]
    knuckles : sequence of sequences of int
        Points of each station that are not judged.
    """
    size = max(float(np.hypot(*np.ptp(line, axis=0))) for line in lines_m)
    along, across = [], []
    for count in sorted({len(line) for line in lines_m if len(line) >= 5}):
        stations = np.array([i for i, line in enumerate(lines_m) if len(line) == count])
        lines = np.stack([lines_m[i] for i in stations], axis=1)
        steps = np.hypot(*np.moveaxis(np.diff(lines, axis=0), 2, 0))
        arc = np.concatenate([np.zeros((1, len(stations))), np.cumsum(steps, axis=0)])
        gaps = np.hypot(*np.moveaxis(lines[2:] - lines[:-2], 2, 0))
        inner = np.arange(2, count - 2)[:, None]
        along.append(_rows(stations, inner, *(miss[2:-2] for miss in _misses(lines, arc)), gaps[1:-1]))
    for low, high in _runs(lines_m, x_m):
        lines = np.stack(lines_m[low : high + 1])
        inner = np.arange(low + 2, high - 1)[:, None]
        misses = _misses(lines, x_m[low : high + 1, None])
        across.append(_rows(inner, np.arange(lines.shape[1]), *(miss[2:-2] for miss in misses), 0.0))
    found: dict[tuple[int, int], float] = {}
    for judged in (np.concatenate(some) for some in (along, across) if some):
        least, gaps = judged[:, 2], judged[:, 4]
        limit = np.maximum(GAP_RATIO * gaps, max(SIZE_RATIO * size, MEDIAN_RATIO * float(np.median(least))))
        for i, j, _, strength, _ in judged[least > limit].tolist():
            if int(j) not in knuckles[int(i)]:
                found[int(i), int(j)] = max(strength, found.get((int(i), int(j)), 0.0))
    named: list[UnfairPoint] = []
    for (i, j), miss in sorted(found.items(), key=lambda item: -item[1]):
        along_near = any(i == other.station and abs(j - other.point) <= _NEAR for other in named)
        across_near = any(j == other.point and abs(i - other.station) <= _NEAR for other in named)
        if not (along_near or across_near):
            named.append(UnfairPoint(i, j, miss))
    return sorted(named)


def _rows(*columns: ArrayLike) -> Floats:
    """Return a table of columns broadcast together: station, point, least miss, miss of the cubic, gap."""
    return np.stack([column.ravel() for column in np.broadcast_arrays(*columns)], axis=1)


def _runs(lines_m: Sequence[Floats], x_m: Floats) -> list[tuple[int, int]]:
    """First and last station of each run of five or more without a break whose stations have as many points."""
    found, low = [], 0
    for i in range(1, len(lines_m) + 1):
        if i == len(lines_m) or len(lines_m[i]) != len(lines_m[low]) or x_m[i] == x_m[i - 1]:
            if i - low >= 5:
                found.append((low, i - 1))
            low = i
    return found


def _misses(runs_m: Floats, at: Floats) -> tuple[Floats, Floats]:
    """Least miss and miss of the cubic, each (n, m), of m runs of n points (n, m, 2).

    ``at`` are the parameters of the points, (n, m), or (n, 1) where every run has the same. Where two of a point's
    neighbours have one parameter no curve passes through both: that run does not foretell it.
    """
    least, cubic = np.full(runs_m.shape[:2], np.inf), np.full(runs_m.shape[:2], np.inf)
    for offsets in _RUNS:
        here = np.arange(max(0, -offsets[0]), len(at) - max(0, offsets[-1]))
        near = [here + offset for offset in offsets]
        nodes = [at[rows] - at[here] for rows in near]
        sound = np.all([step != 0 for step in np.diff(nodes, axis=0)], axis=0)
        foretold = np.zeros((len(here), *runs_m.shape[1:]))
        with np.errstate(divide="ignore", invalid="ignore"):
            for k, rows in enumerate(near):
                weight = np.prod([other / (other - nodes[k]) for j, other in enumerate(nodes) if j != k], axis=0)
                foretold += weight[..., None] * runs_m[rows]
            miss = np.hypot(*np.moveaxis(runs_m[here] - foretold, 2, 0))
        miss = np.where(sound, miss, np.inf)
        least[here] = np.minimum(least[here], miss)
        if offsets == _CUBIC:
            cubic[here] = miss
    return np.where(np.isfinite(cubic), least, 0.0), np.where(np.isfinite(cubic), cubic, 0.0)
