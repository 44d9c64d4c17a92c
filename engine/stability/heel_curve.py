"""A quantity along heel, known with its slope: piecewise cubic, exact roots and areas. Layer: engine.stability."""

from bisect import bisect_right
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from engine.checks import Floats
from engine.errors import InputError
from engine.stability.cubic_piece import CubicPiece


@dataclass(frozen=True, eq=False)
class HeelCurve:
    """Cubic Hermite interpolation between (k,) rising heels; value and slope as given at each.

    Attributes
    ----------
    heel_rad : (k,) float64
        Rising, k >= 2. [rad]
    value : (k,) float64
        In the quantity's unit.
    slope_per_rad : (k,) float64
        Its change with heel, per radian.
    """

    heel_rad: Floats
    value: Floats
    slope_per_rad: Floats

    @classmethod
    def from_points(cls, *, heel_deg: Floats, value: Floats) -> "HeelCurve":
        """Build from values alone: slopes of the cubic spline through them.

        Raises
        ------
        InputError
            "not-increasing"; "wrong-shape": fewer than four points, or heels and values of different number.
        """
        from scipy.interpolate import CubicSpline

        heel, values = np.radians(np.asarray(heel_deg, dtype=np.float64)), np.asarray(value, dtype=np.float64)
        if heel.ndim != 1 or heel.shape != values.shape or len(heel) < 4:
            raise InputError("four heels or more and as many values are needed", code="wrong-shape", field="heel_deg")
        if (np.diff(heel) <= 0).any():
            raise InputError("heels must rise", code="not-increasing", field="heel_deg")
        return cls(heel, values, np.asarray(CubicSpline(heel, values)(heel, 1), dtype=np.float64))

    @property
    def first_rad(self) -> float:
        """Least heel. [rad]"""
        return float(self.heel_rad[0])

    @property
    def last_rad(self) -> float:
        """Greatest heel. [rad]"""
        return float(self.heel_rad[-1])

    @cached_property
    def _cubics(self) -> Floats:
        """(4, k − 1) coefficients, constant first, of the heel from the interval's beginning."""
        step = np.diff(self.heel_rad)
        secant = np.diff(self.value) / step
        low, high = self.slope_per_rad[:-1], self.slope_per_rad[1:]
        return np.stack(
            [self.value[:-1], low, (3 * secant - 2 * low - high) / step, (low + high - 2 * secant) / step**2]
        )

    @cached_property
    def _heels(self) -> list[float]:
        heels: list[float] = self.heel_rad.tolist()
        return heels

    @cached_property
    def _columns(self) -> tuple[list[float], list[float]]:
        """Values and slopes as plain floats."""
        return self.value.tolist(), self.slope_per_rad.tolist()

    @cached_property
    def _areas(self) -> list[float]:
        """Area from the first heel to each."""
        step = np.diff(self.heel_rad)
        values, slopes = self.value, self.slope_per_rad
        gaps = step * (0.5 * (values[:-1] + values[1:]) + step / 12.0 * (slopes[:-1] - slopes[1:]))
        return [0.0, *np.cumsum(gaps).tolist()]

    @cached_property
    def _controls(self) -> tuple[Floats, Floats]:
        """The inner two control points of each cubic; between the least and the greatest of all four it stays."""
        third = np.diff(self.heel_rad) / 3
        return self.value[:-1] + third * self.slope_per_rad[:-1], self.value[1:] - third * self.slope_per_rad[1:]

    @cached_property
    def _least(self) -> list[float]:
        bounds: list[float] = np.minimum(
            np.minimum(self.value[:-1], self.value[1:]), np.minimum(*self._controls)
        ).tolist()
        return bounds

    @cached_property
    def _greatest(self) -> list[float]:
        bounds: list[float] = np.maximum(
            np.maximum(self.value[:-1], self.value[1:]), np.maximum(*self._controls)
        ).tolist()
        return bounds

    def _piece(self, i: int) -> CubicPiece:
        """Return the cubic after a point, of the heel from there."""
        (low, high), slopes = self._columns[0][i : i + 2], self._columns[1]
        return CubicPiece.through(low, high, slopes[i], slopes[i + 1], self._heels[i + 1] - self._heels[i])

    def _place(self, heel_rad: float) -> tuple[int, float]:
        i = min(max(bisect_right(self._heels, heel_rad) - 1, 0), len(self._heels) - 2)
        return i, heel_rad - self._heels[i]

    def values(self, heel_rad: Floats) -> Floats:
        """Return the values at heels within the curve."""
        i = np.clip(np.searchsorted(self.heel_rad, heel_rad, side="right") - 1, 0, len(self.heel_rad) - 2)
        t = heel_rad - self.heel_rad[i]
        a, b, c, d = self._cubics[:, i]
        return np.asarray(a + t * (b + t * (c + t * d)))

    def at(self, heel_rad: float) -> float:
        """Return the value at a heel within the curve."""
        i, t = self._place(heel_rad)
        return self._piece(i).at(t)

    def area(self, low_rad: float, high_rad: float) -> float:
        """Return the signed area between two heels within the curve, in the unit times radians."""
        return self._area_to(high_rad) - self._area_to(low_rad)

    def _area_to(self, heel_rad: float) -> float:
        i, t = self._place(heel_rad)
        return self._areas[i] + self._piece(i).integral(t)

    def maximum(self, low_rad: float, high_rad: float) -> tuple[float, float]:
        """Return (heel [rad], value) of the largest value from ``low_rad`` to ``high_rad``, the first if several."""
        (first, from_t), (last, to_t) = self._place(low_rad), self._place(high_rad)
        found = [(low_rad, self._piece(first).at(from_t)), (high_rad, self._piece(last).at(to_t))]
        points = self._columns[0][first + 1 : last + 1]
        if points:
            most = max(points)
            found.insert(1, (self._heels[first + 1 + points.index(most)], most))
        known = max(value for _, value in found)
        for i in range(first, last + 1):
            if self._greatest[i] > known:  # only there can it be larger between the points
                piece, begin = self._piece(i), self._heels[i]
                ends = from_t if i == first else 0.0, to_t if i == last else self._heels[i + 1] - begin
                found += [(begin + t, piece.at(t)) for t in piece.extremes(*ends)]
        return max(found, key=lambda one: (one[1], -one[0]))

    def first_rise(self, level: float, low_rad: float, high_rad: float) -> float | None:
        """Return the first heel from ``low_rad`` on with a value of ``level`` or above, None if there is none. [rad]"""
        return self._first(level, low_rad, high_rad, rising=True)

    def first_fall(self, level: float, low_rad: float, high_rad: float) -> float | None:
        """Return the first heel from ``low_rad`` on with a value of ``level`` or below, None if there is none. [rad]"""
        return self._first(level, low_rad, high_rad, rising=False)

    def _first(self, level: float, low_rad: float, high_rad: float, *, rising: bool) -> float | None:
        (first, from_t), (last, to_t) = self._place(low_rad), self._place(high_rad)
        bounds = self._greatest if rising else self._least
        for i in range(first, last + 1):
            if (bounds[i] < level) if rising else (bounds[i] > level):
                continue
            begin, above = self._heels[i], self._piece(i).less(level)
            low = from_t if i == first else 0.0
            high, at_high = self._heels[i + 1] - begin, self._columns[0][i + 1] - level
            if i == last:
                high, at_high = to_t, above.at(to_t) if to_t < high else at_high
            if rising:
                above, at_high = above.negative(), -at_high
            found = above.first_fall(low, high, at_high=at_high)
            if found is not None:
                return low_rad if i == first and found == low else begin + found
        return None
