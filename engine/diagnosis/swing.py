r"""Repeated readings of a swinging instrument: where it would rest, how well that is known, and the roll period.

A swing is not noise: successive readings are anything but independent, so the standard deviation over √n is wrong
either way. *Extremes*, read alternately to each side, are combined as :math:`(e_k + 2e_{k+1} + e_{k+2})/4`, which
takes out the swing and, to the first order, its decay. An evenly spaced *series* is averaged over whole roll
periods; each period has a mean, and the scatter of those, with the correlation of neighbours, gives

.. math:: u^2 = \frac{s^2}{m}\,\frac{1 + r_1}{1 - r_1}

for m period means with lag-1 correlation :math:`r_1` (0 where negative). The effective number of readings is
:math:`s_x^2/u^2`. Layer: engine.diagnosis.

References
----------
.. [1] JCGM 100:2008 (GUM), 4.2.7 (correlated repeated observations).
.. [2] IMO 2008 IS Code (MSC.267(85)), Part B, rolling period test: GM = (f B / T)²; ships up to 70 m; f from a
   national copy of that text.
"""

from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from engine.checks import Floats, finite, positive
from engine.errors import InputError, NotDeterminedError

ROLL_COEFFICIENTS = {
    "empty-or-ballast": 0.88,
    "liquids-20-percent": 0.78,
    "liquids-10-percent": 0.75,
    "liquids-5-percent": 0.73,
}
"""f of GM = (f B / T)²: by the share of liquids in the total load."""

ROLL_LENGTH_LIMIT_M = 70.0
COEFFICIENT_UNCERTAINTY_RATIO = 0.05
"""u(f)/f: our choice, no published source."""
FEWEST_PERIODS = 3
_HYSTERESIS = 0.3
_OF_MEDIAN = 1.4826 * 1.2533
"""Standard deviation over the median deviation, and that of a median over that of a mean, both of normal errors."""


class Rest(NamedTuple):
    """Where a swinging instrument would rest.

    Attributes
    ----------
    value : float
        In the unit of the readings.
    standard_uncertainty : float
        Of it.
    degrees_of_freedom : float
        Of that.
    effective_count : float
        Independent readings the mean is worth; 1 or more.
    period_s, period_standard_uncertainty_s : float or None
        Roll period, where times are known.
    """

    value: float
    standard_uncertainty: float
    degrees_of_freedom: float
    effective_count: float
    period_s: float | None = None
    period_standard_uncertainty_s: float | None = None


class RollCheck(NamedTuple):
    """GM by the roll period beside GM by the incline.

    Attributes
    ----------
    gm_m, standard_uncertainty_m : float
        (f B / T)². [m]
    deviation_ratio : float
        GM by roll over GM by incline, less 1.
    agrees : bool
        Within two standard uncertainties of the difference.
    applies : bool
        The length is at most 70 m.
    """

    gm_m: float
    standard_uncertainty_m: float
    deviation_ratio: float
    agrees: bool
    applies: bool


def rest_from_extremes(*, extremes: ArrayLike) -> Rest:
    """Return the rest of a swing from its extremes, read alternately to each side.

    Parameters
    ----------
    extremes : (n,) array_like
        n ≥ 3, in the order read.

    Raises
    ------
    NotDeterminedError
        ``too-few-extremes``.
    InputError
        ``extremes-not-alternate``: they do not lie alternately to each side.

    Examples
    --------
    >>> rest = rest_from_extremes(extremes=[110, 90, 109, 91, 108])  # decays evenly about 100
    >>> round(rest.value, 6)
    99.75
    """
    read = finite(extremes, field="extremes")
    if read.ndim != 1 or len(read) < 3:
        raise NotDeterminedError(
            f"{read.size} extremes do not show a rest: three are needed", code="too-few-extremes", field="extremes"
        )
    turns = np.diff(read)
    if (turns[1:] * turns[:-1] > 0).any():
        raise InputError("extremes lie alternately to each side", code="extremes-not-alternate", field="extremes")
    triples = (read[:-2] + 2 * read[1:-1] + read[2:]) / 4
    n = len(triples)
    if n < 3:
        spread = float(np.ptp(np.abs(turns))) / 4  # no scatter yet: what the swing itself changed by
        return Rest(float(triples.mean()), spread, 1.0, 1.0)
    # neighbours share readings: of independent errors, lag 1 correlates by 4/6 and lag 2 by 1/6 (weights 1 2 1)
    inflation = 1 + 2 * ((1 - 1 / n) * 4 / 6 + (1 - 2 / n) / 6)
    bias = 1 - (inflation - 1) / (n - 1)  # expectation of the sample variance over the true one
    variance = float(triples.var(ddof=1)) / max(bias, 1 / n)
    return Rest(
        float(triples.mean()), float(np.sqrt(variance * inflation / n)), max((n - 1) / inflation, 1.0), n / inflation
    )


def rest_from_series(*, values: ArrayLike, step_s: float) -> Rest:
    """Return the rest of a swing and the roll period from an evenly spaced series.

    Parameters
    ----------
    values : (n,) array_like
        What a logger wrote, at equal steps; any unit.
    step_s : float
        Step of time. [s]

    Raises
    ------
    NotDeterminedError
        ``roll-period-not-determined``: fewer than three whole periods.
    """
    read = finite(values, field="values")
    step = positive(step_s, field="step_s", unit="s")
    if read.ndim != 1:
        raise InputError("must be one series", code="wrong-shape", field="values")
    crossings = _upward_crossings(read) if len(read) > 1 else np.zeros(0)
    if len(crossings) < FEWEST_PERIODS + 1:
        raise NotDeterminedError(
            f"{max(len(crossings) - 1, 0)} whole swings in the series, {FEWEST_PERIODS} are needed",
            code="roll-period-not-determined",
            field="values",
            value=float(max(len(crossings) - 1, 0)),
            limit=float(FEWEST_PERIODS),
        )
    periods = np.diff(crossings) * step
    m = len(periods)
    middle = float(np.median(periods))  # a swing too small to be counted doubles a period: the median bears that
    cumulative = np.concatenate([[0.0], np.cumsum((read[1:] + read[:-1]) / 2)])
    at = np.interp(crossings, np.arange(len(read)), cumulative)
    means = np.diff(at) / np.diff(crossings)
    value = float((at[-1] - at[0]) / (crossings[-1] - crossings[0]))
    variance = float(means.var(ddof=1))
    off = means - means.mean()
    lag = float(off[1:] @ off[:-1] / max(off @ off, 1e-300)) + 1 / m  # its bias in a short series, about −1/m
    lag = min(max(lag, 0.0), 0.9)
    worth = (1 - lag) / (1 + lag)
    uncertainty = float(np.sqrt(variance / m / worth))
    whole = float(read[int(crossings[0]) : int(crossings[-1]) + 1].var(ddof=1))
    return Rest(
        value=value,
        standard_uncertainty=uncertainty,
        degrees_of_freedom=max((m - 1) * worth, 1.0),
        effective_count=min(max(whole / max(uncertainty**2, 1e-300), 1.0), float(len(read))),
        period_s=middle,
        period_standard_uncertainty_s=float(_OF_MEDIAN * np.median(np.abs(periods - middle)) / np.sqrt(m)),
    )


def check_roll_period(
    *,
    period_s: float,
    period_standard_uncertainty_s: float,
    breadth_m: float,
    length_bp_m: float,
    coefficient: float,
    gm_fluid_m: float,
    gm_standard_uncertainty_m: float = 0.0,
) -> RollCheck:
    """Return GM by the roll period, (f B / T)², beside GM by the incline.

    Parameters
    ----------
    period_s, period_standard_uncertainty_s : float
        Of one whole roll, to and fro. [s]
    breadth_m, length_bp_m : float
        [m]
    coefficient : float
        f, one of ``ROLL_COEFFICIENTS`` or the ship's own. [s/√m]
    gm_fluid_m, gm_standard_uncertainty_m : float
        By the incline. [m]

    Examples
    --------
    >>> roll = check_roll_period(period_s=8.8, period_standard_uncertainty_s=0.0, breadth_m=10.0, length_bp_m=50.0,
    ...                          coefficient=0.88, gm_fluid_m=1.0)
    >>> round(roll.gm_m, 12)
    1.0
    """
    period = positive(period_s, field="period_s", unit="s")
    gm = (positive(coefficient, field="coefficient") * positive(breadth_m, field="breadth_m", unit="m") / period) ** 2
    spread = 2 * gm * np.hypot(period_standard_uncertainty_s / period, COEFFICIENT_UNCERTAINTY_RATIO)
    apart = gm - gm_fluid_m
    return RollCheck(
        gm_m=float(gm),
        standard_uncertainty_m=float(spread),
        deviation_ratio=float(gm / positive(gm_fluid_m, field="gm_fluid_m", unit="m") - 1),
        agrees=bool(abs(apart) <= 2 * np.hypot(spread, gm_standard_uncertainty_m)),
        applies=bool(length_bp_m <= ROLL_LENGTH_LIMIT_M),
    )


def _upward_crossings(read: Floats) -> Floats:
    """Places (in steps) where the series rises through its mean, once for each swing that clears a band about it."""
    off = read - read.mean()
    band = _HYSTERESIS * off.std()
    if band == 0:
        return np.array([])
    state = np.where(off > band, 1, np.where(off < -band, -1, 0))
    clear = np.flatnonzero(state)
    found = []
    for before, after in pairwise(clear):
        if state[before] < 0 < state[after]:
            part = off[before : after + 1]
            k = before + int(np.flatnonzero((part[:-1] <= 0) & (part[1:] > 0))[0])
            found.append(k - off[k] / (off[k + 1] - off[k]))
    return np.array(found)
