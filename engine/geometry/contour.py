"""Closed loops of a transverse section, and which point of one matches which of another. Layer: engine.geometry."""

from collections.abc import Sequence
from typing import NamedTuple, Self

import numpy as np

from engine.checks import Floats

ROUND = 4.0
"""Parameter of a loop's end; a mirrored half section has skin 0-1, deck 1-2, other skin 2-3, bottom 3-4."""


class Contour(NamedTuple):
    """One closed loop.

    Attributes
    ----------
    points_m : (m, 2) float64
        y and z; the last point is the first. [m]
    by_index, by_arc : (m,) float64
        Two parameters of the points, from 0 to 4, never falling: by the number of the given point and by the length
        of the line. Loops with the same number of given points are matched by number, others by length.
    given_count : int
        Number of given points.
    """

    points_m: Floats
    by_index: Floats
    by_arc: Floats
    given_count: int

    @classmethod
    def from_points(cls, points_m: Floats, *, by_index: Floats | None = None, given_count: int | None = None) -> Self:
        """Close a loop given without its closing point; ``by_index`` (below 4) where points were put between."""
        count = len(points_m)
        index = ROUND * np.arange(count) / count if by_index is None else by_index
        closed = np.concatenate([points_m, points_m[:1]])
        return cls(closed, np.append(index, ROUND), ROUND * arc_ratio(closed), given_count or count)

    @classmethod
    def from_half(cls, points_m: Floats, *, by_index: Floats, given_count: int) -> Self:
        """Mirror a half section, given from the keel up on the port side; its ends meet straight across."""
        arc = arc_ratio(points_m)
        closed = np.concatenate([points_m, points_m[::-1] * [-1.0, 1.0], points_m[:1]])
        index, length = (np.concatenate([t, 3.0 - t[::-1], [ROUND]]) for t in (by_index, arc))
        return cls(closed, index, length, given_count)

    @property
    def area_m2(self) -> float:
        """Area, positive where the loop runs from y to z (port, up, starboard, down). [m²]"""
        y, z = (self.points_m - self.points_m[0]).T
        return float(0.5 * np.sum(y[:-1] * z[1:] - y[1:] * z[:-1]))

    def reversed(self) -> "Contour":
        """Return the loop run the other way, from the same first point."""
        return Contour(self.points_m[::-1], ROUND - self.by_index[::-1], ROUND - self.by_arc[::-1], self.given_count)

    def crossings(self, z_m: float) -> Floats:
        """Return where the loop crosses a height, ascending in y. [m]"""
        a, b = self.points_m[:-1], self.points_m[1:]
        spans = (a[:, 1] > z_m) != (b[:, 1] > z_m)
        a, b = a[spans], b[spans]
        return np.sort(a[:, 0] + (z_m - a[:, 1]) / (b[:, 1] - a[:, 1]) * (b[:, 0] - a[:, 0]))

    def within(self, other: "Contour") -> bool:
        """Tell whether the loop lies inside a larger one; the two may touch but not cross."""
        if abs(self.area_m2) >= abs(other.area_m2):
            return False
        heights = np.unique(self.points_m[:, 1])
        widest = int(np.argmax(np.diff(heights))) if len(heights) > 1 else 0
        z = float(heights[widest : widest + 2].mean())
        own = self.crossings(z)
        y = own[:2].mean() if len(own) else self.points_m[0, 0]
        return bool((other.crossings(z) > y).sum() % 2 == 1)


def arc_ratio(points_m: Floats) -> Floats:
    """Length of the line up to each point, as a part of the whole; zeros where the line has no length."""
    steps = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points_m, axis=0).T))])
    return np.asarray(steps / steps[-1] if steps[-1] > 0 else steps)


def oriented(contours: Sequence[Contour]) -> tuple[Contour, ...]:
    """Turn outer loops positive and holes (loops inside an odd number of others) negative."""
    turned = []
    for i, contour in enumerate(contours):
        depth = sum(contour.within(other) for j, other in enumerate(contours) if j != i)
        wanted = 1.0 if depth % 2 == 0 else -1.0
        turned.append(contour.reversed() if contour.area_m2 * wanted < 0 else contour)
    return tuple(turned)


def matched(a: Contour, b: Contour) -> tuple[Floats, Floats]:
    """Return two (p, 2) lines of matching points: the points of both loops, each placed on the other too."""
    by_index = a.given_count == b.given_count
    at, bt = (a.by_index, b.by_index) if by_index else (a.by_arc, b.by_arc)
    if np.array_equal(at, bt):
        return a.points_m, b.points_m
    t = np.union1d(at, bt)
    return _along(a.points_m, at, t), _along(b.points_m, bt, t)


def placed(a: Contour, b: Contour) -> Floats:
    """Return the points of ``b`` that match the points of ``a``."""
    by_index = a.given_count == b.given_count
    at, bt = (a.by_index, b.by_index) if by_index else (a.by_arc, b.by_arc)
    return b.points_m if np.array_equal(at, bt) else _along(b.points_m, bt, at)


def _along(points_m: Floats, parameter: Floats, t: Floats) -> Floats:
    return np.stack([np.interp(t, parameter, points_m[:, 0]), np.interp(t, parameter, points_m[:, 1])], axis=1)
