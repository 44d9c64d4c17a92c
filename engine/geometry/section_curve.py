"""A fair curve through the points of a section. Layer: engine.geometry.

Parametric cubic splines by chord length, one between two knuckles, with the third derivative continuous at the
first and last inner point ("not a knot"), so that no slope is imposed at the keel or the deck edge. The curve is
then replaced by chords so short that none leaves it by more than 2.5e-6 of the section's size.
"""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from engine.checks import Floats

SAGITTA_RATIO = 2.5e-6
MOST_EDGES = 32


def curve_through(points_m: Floats, *, knuckles: Sequence[int] = ()) -> tuple[Floats, Floats]:
    """Put points on the curve through given points.

    Parameters
    ----------
    points_m : (m, 2) float64
        Given points in order. A point given twice in succession is a knuckle. [m]
    knuckles : sequence of int
        Numbers of points where the curve breaks.

    Returns
    -------
    points_m : (p, 2) float64
        The given points and those between them. [m]
    numbers : (p,) float64
        Number of the given point, with a fraction between.
    """
    from scipy.interpolate import CubicSpline

    last = len(points_m) - 1
    chords = np.hypot(*np.diff(points_m, axis=0).T)
    doubled = np.flatnonzero(chords == 0)
    ends = sorted({0, last, *(int(k) for k in knuckles), *doubled.tolist(), *(doubled + 1).tolist()})
    tolerance = SAGITTA_RATIO * float(np.hypot(*np.ptp(points_m, axis=0)))
    found, numbers = [points_m[:1]], [np.zeros(1)]
    for low, high in pairwise(ends):
        piece = points_m[low : high + 1]
        if high == low + 1:
            found.append(piece[1:])
            numbers.append(np.array([float(high)]))
            continue
        length = np.concatenate([[0.0], np.cumsum(chords[low:high])])
        spline = CubicSpline(length, piece)
        span = np.diff(length)
        bend = np.abs(spline(length[:-1, None] + span[:, None] * [0.0, 0.5, 1.0], 2)).max(axis=1)
        edges = np.ceil(np.sqrt(np.hypot(*bend.T) * span**2 / 8.0 / tolerance)).clip(1, MOST_EDGES).astype(np.intp)
        count = np.repeat(edges, edges)
        start = np.repeat(np.arange(high - low), edges)
        step = np.arange(len(count)) - np.repeat(np.cumsum(edges) - edges, edges) + 1
        inner = spline(length[start] + span[start] * step / count)
        inner[step == count] = piece[1:]
        found.append(inner)
        numbers.append(low + start + step / count)
    return np.concatenate(found), np.concatenate(numbers)
