r"""How straight the plot is: its worst reading as a deviate of the normal distribution. Layer: engine.uncertainty.

The largest of many deleted-studentised residuals passes any fixed limit sooner or later, and the fewer readings there
are, the heavier are Student's tails. So the largest is turned into a probability: how often the largest of so many
would be as large, were every reading good. That probability is told as the normal deviate exceeded (on either side) as
often, so that 3 means 0.27 % for two readings as for fifty.
"""

from typing import NamedTuple

import numpy as np

from engine.checks import Floats
from engine.errors import NotDeterminedError
from engine.uncertainty.repeated import plateaus_of, slope_scatter
from engine.uncertainty.studentised import pooled_leverage, pooled_residual, studentised

LEAST_DEGREES_OF_FREEDOM = 3
"""With fewer, a reading would have to lie some 40 standard uncertainties or more off the line to show (our choice)."""
LEAST_VARIANCE_SHARE_RATIO = 1e-6
"""A reading stated to be exact, or nearly so, counts as a thousand times as precise as the coarsest at most."""

LEAST_SCATTER_RATIO = 0.1
"""The scatter of the others counts as at least this share of a reading's own uncertainty: what is off by less than can
be read is on the line, however exactly the others happen to lie on it (our choice)."""


class Straightness(NamedTuple):
    """The worst reading of a plot.

    Attributes
    ----------
    deviate_ratio : float
        Equivalent normal deviate of the largest deleted-studentised residual. Infinite where the others fit exactly.
    studentised_ratio : (p, n) float64
        The residuals themselves, NaN where there is no reading or it alone fixes its instrument's zero.
    degrees_of_freedom : int
        Of Student's t.
    """

    deviate_ratio: float
    studentised_ratio: Floats
    degrees_of_freedom: int


def straightness(*, residual_ratio: Floats, moment_tm: Floats, reading_ratio: Floats) -> Straightness:
    r"""Judge the plot by its worst reading.

    Parameters
    ----------
    residual_ratio : (p, n) float64
        Residual tangents of any fit of one slope and a zero for each instrument, NaN where missed.
    moment_tm : (n,) float64
        Heeling moment at each reading. [t·m]
    reading_ratio : (p, n) float64
        Standard uncertainty of each tangent, stated or assumed; 0 for exact.

    Raises
    ------
    NotDeterminedError
        ``moments-equal``; ``too-few-readings`` where they leave fewer than ``LEAST_DEGREES_OF_FREEDOM``.

    Notes
    -----
    The line is fitted again with weights :math:`1/(u^2 + \sigma_c^2)`: a short pendulum, a coarse scale or a reading
    taken once is not off the line for scattering more than the others. :math:`\sigma_c`, the gusts common to a move,
    is that of ``slope_scatter``. With N readings tested, t the largest residual and :math:`\nu` its degrees of
    freedom, :math:`P = 1 - (1 - 2 F_\nu(-|t|))^N` and the deviate is :math:`-\Phi^{-1}(P/2)`. Šidák's inequality
    makes P an upper bound for the dependent residuals; it is close for a small P.

    References
    ----------
    .. [1] R. D. Cook, S. Weisberg, Residuals and Influence in Regression, 1982, 2.2.2, the outlier test (from memory).
    .. [2] Z. Šidák, Journal of the American Statistical Association 62 (1967) 626–633 (from memory).
    """
    known = np.isfinite(residual_ratio)
    weight = _weights(residual_ratio, moment_tm, np.where(known, reading_ratio, 0.0))
    residual = pooled_residual(values=residual_ratio, moment_tm=moment_tm, weight=weight)
    fitted = 1 + int(known.any(axis=1).sum())
    freedom = int(known.sum()) - fitted - 1
    if freedom < LEAST_DEGREES_OF_FREEDOM:
        raise NotDeterminedError(
            f"{int(known.sum())} readings leave {max(freedom, 0)} over to judge one by, {LEAST_DEGREES_OF_FREEDOM} are "
            "needed",
            code="too-few-readings",
            field="instruments",
            value=float(freedom),
            limit=float(LEAST_DEGREES_OF_FREEDOM),
        )
    leverage = pooled_leverage(moment_tm=moment_tm, known=known, weight=weight)
    found = studentised(residual=residual * np.sqrt(weight), leverage=leverage, parameter_count=fitted)
    tested = ~np.isnan(found)
    least = LEAST_SCATTER_RATIO * np.where(tested, reading_ratio * np.sqrt(np.maximum(1.0 - leverage, 0.0)), 0.0)
    most = np.full(found.shape, np.inf)
    np.divide(np.abs(residual), least, out=most, where=least > 0)
    found = np.where(np.abs(found) > most, np.copysign(most, residual), found)
    return Straightness(
        equivalent_normal_deviate(
            largest=float(np.abs(found[tested]).max()), degrees_of_freedom=freedom, count=int(tested.sum())
        ),
        found,
        freedom,
    )


def equivalent_normal_deviate(*, largest: float, degrees_of_freedom: float, count: int) -> float:
    """Return the two-sided normal deviate passed as often as the largest of so many Student deviates passes this one.

    Parameters
    ----------
    largest : float
        Size of the largest, >= 0; infinite allowed.
    degrees_of_freedom : float
        Of Student's t, > 0.
    count : int
        How many it is the largest of, >= 1.

    Returns
    -------
    float
        0 or more.

    Examples
    --------
    >>> print(f"{equivalent_normal_deviate(largest=3.0, degrees_of_freedom=1e9, count=1):.4f}")
    3.0000
    >>> print(f"{equivalent_normal_deviate(largest=3.0, degrees_of_freedom=6, count=9):.4f}")
    1.2883
    """
    from scipy.special import ndtri, stdtr

    tail = 2.0 * float(stdtr(degrees_of_freedom, -abs(largest)))
    passed = 1.0 if tail >= 1.0 else -float(np.expm1(count * np.log1p(-tail)))
    return abs(float(ndtri(0.5 * passed)))


def _weights(residual: Floats, moment: Floats, reading: Floats) -> Floats:
    """Return the inverse variances, of the coarsest reading 1."""
    plain = pooled_residual(values=residual, moment_tm=moment, weight=np.ones_like(reading))
    try:
        found = slope_scatter(residual_ratio=plain, moment_tm=moment, plateau=plateaus_of(moment))
        common = found.common_standard_deviation_ratio or 0.0
    except NotDeterminedError:
        common = 0.0
    variance = reading**2 + common**2
    largest = float(variance.max(initial=0.0))
    if largest == 0.0:
        return np.ones_like(variance)
    return np.asarray(1.0 / np.maximum(variance / largest, LEAST_VARIANCE_SHARE_RATIO))
