"""One cubic on an interval: extremes and the first place where it falls to zero, in plain floats.

Layer: engine.stability. A curve has tens of pieces and a question touches few of them, so these are scalars.
"""

import math
from typing import NamedTuple

_POLISH_STEPS = 60
_NARROW = 1e-14
"""Width at which the place of a root is known."""


class CubicPiece(NamedTuple):
    """a + b t + c t² + d t³."""

    a: float
    b: float
    c: float
    d: float

    @classmethod
    def through(cls, low: float, high: float, slope_low: float, slope_high: float, step: float) -> "CubicPiece":
        """Return the cubic from t = 0 to ``step`` with the given values and slopes at its ends."""
        secant = (high - low) / step
        return cls(
            low,
            slope_low,
            (3 * secant - 2 * slope_low - slope_high) / step,
            (slope_low + slope_high - 2 * secant) / step**2,
        )

    def at(self, t: float) -> float:
        """Return the value."""
        return self.a + t * (self.b + t * (self.c + t * self.d))

    def integral(self, t: float) -> float:
        """Return the integral from 0."""
        return t * (self.a + t * (self.b / 2 + t * (self.c / 3 + t * self.d / 4)))

    def less(self, level: float) -> "CubicPiece":
        """Return how far it is above a level."""
        return CubicPiece(self.a - level, self.b, self.c, self.d)

    def negative(self) -> "CubicPiece":
        """Return it with the sign changed."""
        return CubicPiece(-self.a, -self.b, -self.c, -self.d)

    def extremes(self, low: float, high: float) -> list[float]:
        """Return where it turns between two places, ends left out, in order."""
        _, b, c, d = self
        square = c * c - 3 * b * d
        if square < 0:
            return []
        q = -(c + math.copysign(math.sqrt(square), c))
        found = [share for share in ((q / (3 * d)) if d else None, (b / q) if q else None) if share is not None]
        return sorted(t for t in set(found) if low < t < high)

    def first_fall(self, low: float, high: float, *, at_high: float | None = None) -> float | None:
        """Return the first place from ``low`` to ``high`` with a value of 0 or below, None if there is none.

        Parameters
        ----------
        low, high : float
            Ends of the search, in the piece.
        at_high : float, optional
            The value at ``high``, where it is known without round-off.
        """
        start, value = low, self.at(low)
        if value <= 0:
            return low
        for end in (*self.extremes(low, high), high):
            there = self.at(end) if at_high is None or end < high else at_high
            if there <= 0:
                return self._crossing(start, end, value, there)
            start, value = end, there
        return None

    def _crossing(self, low: float, high: float, above: float, below: float) -> float:
        """Return the root where it falls throughout: secants, halved every third time."""
        for n in range(_POLISH_STEPS):
            middle = 0.5 * (low + high) if n % 3 == 2 else low + above * (high - low) / (above - below)
            if not low < middle < high:
                break
            value = self.at(middle)
            if value == 0.0:
                return middle
            if value > 0:
                low, above = middle, value
            else:
                high, below = middle, value
            if high - low < _NARROW:
                break
        return low + above * (high - low) / (above - below)
