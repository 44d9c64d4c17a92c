r"""The next reading of each instrument, and how far it may lie off. Layer: engine.diagnosis.

The mean of the p instruments at a reading scatters about the line by :math:`\sigma_m`
(:math:`s_m^2 = \sum_j \bar r_j^2/(n-2)`, n − 2 degrees of freedom), one instrument about that mean by its own error
:math:`\sigma_i` (from the differences between instruments, (p − 1)(n − 1) degrees of freedom). The next reading of
one instrument at moment M lies from its prediction by

.. math:: V = s_m^2\left(1 + \tfrac1n + \tfrac{(M - \bar M)^2}{S_{xx}}\right) + s_i^2\left(1 + \tfrac1n\right)

and the interval uses Student's t with the Welch–Satterthwaite degrees of freedom. Where the stated uncertainties
differ, :math:`s_i` keeps their ratios, and what an instrument shares with the mean is added. Below three readings no
scatter shows; the stated uncertainties are then used, and said to be.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from engine.checks import Floats
from engine.incline.instruments import Instrument
from engine.incline.regression import Regression
from engine.uncertainty import plateaus_of
from engine.uncertainty.coverage import coverage_factor, effective_degrees_of_freedom

USUAL_UNREST_RATIO = 0.3
"""σ_c where the readings do not show it, in standard uncertainties of a reading: our choice."""


@dataclass(frozen=True, kw_only=True)
class Expected:
    """The next reading of one instrument.

    Attributes
    ----------
    instrument : int
        Its number.
    tangent_ratio, low_ratio, high_ratio : float
        Of heel, and the prediction interval.
    reading, reading_low, reading_high : float or None
        As the instrument shows it, in m or deg (a U-tube: starboard less port level); low is the lower number.
    """

    instrument: int
    tangent_ratio: float
    low_ratio: float
    high_ratio: float
    reading: float | None = None
    reading_low: float | None = None
    reading_high: float | None = None


@dataclass(frozen=True, eq=False)
class Line:
    """Scatter about the pooled line: of the instruments' mean, and of each about it."""

    count: int
    centre_tm: float
    spread: float
    mean_variance: float
    mean_freedom: float
    own_variance: Floats
    own_freedom: float
    cross: Floats
    from_scatter: bool

    @classmethod
    def of(
        cls, fit: Regression, moment: Floats, table: Floats, taken: np.ndarray, stated: Floats | None
    ) -> "Line | None":
        """Return the scatter the fit shows, below three readings the stated one; None where none is stated."""
        read, p = len(taken), int((np.isfinite(table).sum(axis=1) >= 2).sum())
        count = np.bincount(plateaus_of(moment[taken]))  # readings repeated at one moment are of one move
        n, start = len(count), np.cumsum(count) - count
        m = moment[taken][start]
        centre = float(count @ m) / read
        weight = count * (m - centre)
        spread = float(weight @ m) ** 2 / max(float(weight @ weight), 1e-300)
        variance = np.ones(len(table)) if stated is None else stated**2
        residual = fit.residual_ratio[:, taken]
        mean = np.nanmean(residual, axis=0)
        shape = variance * (1 - 2 / p) + variance.sum() / p**2
        cross = variance / p - variance.sum() / p**2
        if n >= 3:
            of_moves = np.add.reduceat(mean, start) / count
            scatter, freedom = float(np.sum(of_moves**2)) / (n - 2), float(n - 2)
            if p > 1:
                own = float(np.nansum((residual - mean) ** 2)) / ((read - 1) * float(shape.sum()))
                return cls(n, centre, spread, scatter, freedom, own * shape, (p - 1.0) * (read - 1), own * cross, True)
            return cls(n, centre, spread, scatter, freedom, 0 * shape, np.inf, 0 * cross, True)
        if stated is None:
            return None
        scatter = float(variance.sum()) / p**2 + USUAL_UNREST_RATIO**2 * float(variance.mean())
        return cls(n, centre, spread, scatter, np.inf, shape, np.inf, cross, False)

    def width(self, instrument: int, moment_tm: float, coverage_percent: float) -> float:
        """Return the half width of the prediction interval of one instrument at a moment."""
        room = 1 + 1 / self.count
        mean = self.mean_variance * (room + (moment_tm - self.centre_tm) ** 2 / self.spread)
        own = max((self.own_variance[instrument] + 2 * self.cross[instrument]) * room, 0.0)
        freedom = effective_degrees_of_freedom(np.sqrt([mean, own]), np.array([self.mean_freedom, self.own_freedom]))
        return coverage_factor(float(freedom), coverage_percent=coverage_percent) * float(np.sqrt(mean + own))


def from_line(
    line: Line,
    fit: Regression,
    table: Floats,
    moment: Floats,
    next_moment: float,
    displacement: float,
    stiffening_m: float,
    instruments: Sequence[Instrument],
    coverage_percent: float,
) -> tuple[Expected, ...]:
    """Return the next readings by the line so far."""
    cubic = 0.5 * stiffening_m * displacement * fit.slope_per_tm
    found = []
    for i, row in enumerate(table):
        known = np.isfinite(row)
        if known.sum() < 2:
            continue
        straight = row[known] + cubic * row[known] ** 3
        linear = float(np.mean(straight - fit.slope_per_tm * moment[known])) + fit.slope_per_tm * next_moment
        tangent = linear - cubic * linear**3 + 3 * cubic**2 * linear**5  # inverse of t + c t³ to the fifth order
        found.append(_shown(i, tangent, line.width(i, next_moment, coverage_percent), row, instruments))
    return tuple(found)


def from_gm(
    table: Floats,
    moment: Floats,
    next_moment: float,
    displacement: float,
    gm: float,
    gm_uncertainty: float,
    stated: Floats,
    instruments: Sequence[Instrument],
    coverage_percent: float,
) -> tuple[Expected, ...]:
    """Return the next readings by a predicted GM, from the last reading of each."""
    k = coverage_factor(np.inf, coverage_percent=coverage_percent)
    found = []
    for i, row in enumerate(table):
        known = np.flatnonzero(np.isfinite(row))
        if len(known) == 0:
            continue
        last = int(known[-1])
        rise = (next_moment - float(moment[last])) / (displacement * gm)
        spread = np.sqrt(2 * (1 + USUAL_UNREST_RATIO**2) * stated[i] ** 2 + (rise * gm_uncertainty / gm) ** 2)
        found.append(_shown(i, float(row[last]) + rise, k * float(spread), row, instruments))
    return tuple(found)


def _shown(i: int, tangent: float, half: float, row: Floats, instruments: Sequence[Instrument]) -> Expected:
    shown: list[float | None] = [None, None, None]
    if i < len(instruments):
        shown = list(_readings(instruments[i], row, np.array([tangent, tangent - half, tangent + half])))
    low, high = shown[1], shown[2]
    if low is not None and high is not None and low > high:
        low, high = high, low
    return Expected(
        instrument=i,
        tangent_ratio=tangent,
        low_ratio=tangent - half,
        high_ratio=tangent + half,
        reading=shown[0],
        reading_low=low,
        reading_high=high,
    )


def _readings(instrument: Instrument, row: Floats, tangents: Floats) -> list[float]:
    """Return what the instrument shows at these tangents, as its observer reads it."""
    first = int(np.flatnonzero(np.isfinite(row))[0])
    start = float(instrument.readings[first])
    if instrument.base_m is None:
        moved = np.degrees(np.arctan(tangents) - np.arctan(row[first]))
    else:
        moved = (tangents - row[first]) * instrument.base_m
    sign = -1.0 if getattr(instrument, "positive", "starboard") == "port" else 1.0
    return [float(value) for value in sign * (start + moved)]
