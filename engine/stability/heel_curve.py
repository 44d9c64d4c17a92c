"""A quantity along heel, known with its slope: piecewise cubic, exact roots and areas. Layer: engine.stability."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from engine.checks import Floats
from engine.errors import InputError

_POLISH_STEPS = 60


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
    def _areas(self) -> Floats:
        """(k,) area from the first heel to each."""
        a, b, c, d = self._cubics
        t = np.diff(self.heel_rad)
        return np.concatenate([[0.0], np.cumsum(t * (a + t * (b / 2 + t * (c / 3 + t * d / 4))))])

    @cached_property
    def _turns_rad(self) -> Floats:
        """Heels between which the curve rises or falls throughout: the points and the extremes between them. [rad]"""
        _, b, c, d = self._cubics
        step = np.diff(self.heel_rad)
        with np.errstate(divide="ignore", invalid="ignore"):
            root = np.sqrt(c * c - 3 * b * d)
            q = -(c + np.where(c >= 0, root, -root))
            extremes = np.stack([q / (3 * d), b / q])
        inside = np.isfinite(extremes) & (extremes > 0) & (extremes < step)
        heels = (self.heel_rad[:-1] + np.where(inside, extremes, 0.0))[inside]
        return np.unique(np.concatenate([self.heel_rad, heels]))

    @cached_property
    def _turn_values(self) -> Floats:
        return self.values(self._turns_rad)

    def _place(self, heel_rad: float) -> tuple[int, float]:
        i = int(np.clip(np.searchsorted(self.heel_rad, heel_rad, side="right") - 1, 0, len(self.heel_rad) - 2))
        return i, heel_rad - float(self.heel_rad[i])

    def values(self, heel_rad: Floats) -> Floats:
        """Return the values at heels within the curve."""
        i = np.clip(np.searchsorted(self.heel_rad, heel_rad, side="right") - 1, 0, len(self.heel_rad) - 2)
        t = heel_rad - self.heel_rad[i]
        a, b, c, d = self._cubics[:, i]
        return np.asarray(a + t * (b + t * (c + t * d)))

    def at(self, heel_rad: float) -> float:
        """Return the value at a heel within the curve."""
        i, t = self._place(heel_rad)
        a, b, c, d = self._cubics[:, i]
        return float(a + t * (b + t * (c + t * d)))

    def area(self, low_rad: float, high_rad: float) -> float:
        """Return the signed area between two heels within the curve, in the unit times radians."""
        return self._area_to(high_rad) - self._area_to(low_rad)

    def _area_to(self, heel_rad: float) -> float:
        i, t = self._place(heel_rad)
        a, b, c, d = self._cubics[:, i]
        return float(self._areas[i] + t * (a + t * (b / 2 + t * (c / 3 + t * d / 4))))

    def maximum(self, low_rad: float, high_rad: float) -> tuple[float, float]:
        """Return (heel [rad], value) of the largest value from ``low_rad`` to ``high_rad``, the first if several."""
        inside = (self._turns_rad > low_rad) & (self._turns_rad < high_rad)
        heels = np.concatenate([[low_rad], self._turns_rad[inside], [high_rad]])
        values = np.concatenate([[self.at(low_rad)], self._turn_values[inside], [self.at(high_rad)]])
        best = int(np.argmax(values))
        return float(heels[best]), float(values[best])

    def first_rise(self, level: float, low_rad: float, high_rad: float) -> float | None:
        """Return the first heel from ``low_rad`` on with a value of ``level`` or above, None if there is none. [rad]"""
        return self._first(level, low_rad, high_rad, 1.0)

    def first_fall(self, level: float, low_rad: float, high_rad: float) -> float | None:
        """Return the first heel from ``low_rad`` on with a value of ``level`` or below, None if there is none. [rad]"""
        return self._first(level, low_rad, high_rad, -1.0)

    def _first(self, level: float, low_rad: float, high_rad: float, sense: float) -> float | None:
        inside = (self._turns_rad > low_rad) & (self._turns_rad < high_rad)
        heels = np.concatenate([[low_rad], self._turns_rad[inside], [high_rad]])
        values = np.concatenate([[self.at(low_rad)], self._turn_values[inside], [self.at(high_rad)]])
        reached = np.flatnonzero(sense * (values - level) >= 0)
        if not len(reached):
            return None
        k = int(reached[0])
        if k == 0:
            return low_rad
        low, high = float(heels[k - 1]), float(heels[k])
        below, above = float(values[k - 1]) - level, float(values[k]) - level
        for n in range(_POLISH_STEPS):  # the curve rises or falls throughout: regula falsi, halved every third time
            middle = 0.5 * (low + high) if n % 3 == 2 else low - below * (high - low) / (above - below)
            if not low < middle < high:
                break
            value = self.at(middle) - level
            if value == 0.0:
                return middle
            if sense * value > 0:
                high, above = middle, value
            else:
                low, below = middle, value
            if high - low < 1e-14:
                break
        return low - below * (high - low) / (above - below)
