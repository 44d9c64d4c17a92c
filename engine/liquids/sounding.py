"""The pipe a tank is sounded through. Layer: engine.liquids.

A sounding is the length of pipe from its foot, where the rod strikes, up to the liquid; an ullage that from its top
down. The liquid's plane passes through the pipe at that point, whatever the heel and trim.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from engine.checks import Floats, points, within
from engine.errors import InputError, NotDeterminedError


@dataclass(frozen=True, eq=False)
class SoundingPipe:
    """A polyline from the striking point up. Build it with ``through`` or ``vertical``.

    Attributes
    ----------
    points_m : (m, 3) float64
        From the foot to the top. [m]
    """

    points_m: Floats

    @classmethod
    def through(cls, points_m: ArrayLike) -> "SoundingPipe":
        """Build from two points or more, each above the one before.

        Raises
        ------
        InputError
            "too-few-points", "pipe-not-rising", "wrong-shape", "not-finite".
        """
        line = points(points_m, columns=3, field="points_m")
        if len(line) < 2:
            raise InputError(
                "a sounding pipe needs two points",
                code="too-few-points",
                field="points_m",
                value=float(len(line)),
                limit=2.0,
            )
        for row in np.flatnonzero(np.diff(line[:, 2]) <= 0)[:1]:
            raise InputError(
                f"must be above the point before it, z {line[row, 2]:.6g} m, is at {line[row + 1, 2]:.6g} m",
                code="pipe-not-rising",
                field=f"points_m/{row + 1}",
                value=float(line[row + 1, 2]),
                limit=float(line[row, 2]),
            )
        return cls(line)

    @classmethod
    def vertical(cls, *, x_m: float, y_m: float, z_min_m: float, z_max_m: float) -> "SoundingPipe":
        """Build a plumb pipe at (x, y). [m]"""
        return cls.through([[x_m, y_m, z_min_m], [x_m, y_m, z_max_m]])

    @property
    def _along(self) -> Floats:
        return np.append(0.0, np.cumsum(np.linalg.norm(np.diff(self.points_m, axis=0), axis=1)))

    @property
    def length_m(self) -> float:
        """Length along the pipe. [m]"""
        return float(self._along[-1])

    def point_m(self, sounding_m: ArrayLike) -> Floats:
        """Return (k, 3) the points at soundings. [m]

        Raises
        ------
        InputError
            "out-of-range": a sounding below 0 or beyond the pipe.
        """
        sounding = np.atleast_1d(within(sounding_m, low=0.0, high=self.length_m, field="sounding_m", unit="m"))
        along = self._along
        return np.stack([np.interp(sounding, along, self.points_m[:, axis]) for axis in range(3)], axis=-1)

    def sounding_from_ullage_m(self, ullage_m: ArrayLike) -> Floats:
        """Return pipe length − ullage. [m]

        Raises
        ------
        InputError
            "out-of-range": an ullage below 0 or beyond the pipe.
        """
        length = self.length_m
        return length - within(ullage_m, low=0.0, high=length, field="ullage_m", unit="m")

    def outside(self, bounds_m: Floats) -> tuple[float, Floats]:
        """Return how far the foot, or the pipe up to the top of a (2, 3) box, lies outside it, and where most. [m]

        What stands above the box is free: a pipe goes on to the deck. 0 or below where all of it is inside.
        """
        low, high = bounds_m
        z = self.points_m[:, 2]
        below = self.points_m[z <= high[2]]
        if z[0] < high[2] < z[-1]:
            at_top = [np.interp(high[2], z, self.points_m[:, axis]) for axis in range(3)]
            below = np.vstack([below, at_top])
        looked_at = np.vstack([self.points_m[:1], below])
        off = np.maximum(low - looked_at, looked_at - high).max(axis=1)
        worst = int(np.argmax(off))
        return float(off[worst]), looked_at[worst]

    def rising(self, normals: Floats) -> Floats:
        """Return (k, m) the heights of the pipe's points along (k, 3) normals, each above the one before. [m]

        Raises
        ------
        NotDeterminedError
            "pipe-not-rising": at that heel and trim a part of the pipe falls, so a level may cross it twice.
        """
        heights = normals @ self.points_m.T
        if (np.diff(heights, axis=1) <= 0).any():
            raise NotDeterminedError("at that heel and trim the sounding pipe does not rise", code="pipe-not-rising")
        return np.asarray(heights)

    def sounding_m(self, *, normals: Floats, offsets_m: Floats) -> Floats:
        """Return (k,) the soundings where planes cross the pipe; NaN where one passes below its foot or above its top.

        Raises
        ------
        NotDeterminedError
            "pipe-not-rising": as ``rising``.
        """
        heights = self.rising(normals)
        along, slack = self._along, 1e-12 * max(1.0, self.length_m, float(np.abs(self.points_m).max()))
        found = np.empty(len(offsets_m))
        for row, (line, offset) in enumerate(zip(heights, offsets_m, strict=True)):
            crosses = line[0] - slack <= offset <= line[-1] + slack
            found[row] = np.interp(offset, line, along) if crosses else np.nan
        return found
