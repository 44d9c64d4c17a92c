"""Effective degrees of freedom and coverage factors. Layer: engine.uncertainty."""

import math

import numpy as np
from numpy.typing import ArrayLike

from engine.checks import Floats, finite
from engine.errors import InputError


def effective_degrees_of_freedom(contribution: ArrayLike, degrees_of_freedom: ArrayLike) -> Floats:
    r"""Return the Welch–Satterthwaite degrees of freedom of a combined standard uncertainty.

    Parameters
    ----------
    contribution : (..., n) array_like
        Contributions c u of independent entries, in the unit of the result; signs do not matter.
    degrees_of_freedom : (n,) array_like
        Of each entry, above 0, may be infinite.

    Returns
    -------
    (...) float64
        Not rounded down; infinite where no contribution has finite degrees of freedom or all are 0.

    Notes
    -----
    :math:`1/\nu = \sum_i w_i^2/\nu_i` with :math:`w_i` the share of the variance: the form of [1]_ that neither
    overflows nor underflows.

    References
    ----------
    .. [1] JCGM 100:2008 (GUM), G.4.1, equation (G.2b).

    Examples
    --------
    >>> nu = effective_degrees_of_freedom([0.004, 0.003, 0.002], [7, 4, float("inf")])
    >>> print(f"{nu:.8f}")
    14.80075424
    """
    part = finite(contribution, field="contribution")
    freedom = np.asarray(degrees_of_freedom, dtype=np.float64)
    scale = np.abs(part).max(axis=-1, keepdims=True, initial=0.0)
    square = (part / np.where(scale > 0, scale, 1.0)) ** 2
    total = square.sum(axis=-1, keepdims=True)
    share = square / np.where(total > 0, total, 1.0)
    inverse = np.asarray((share**2 / freedom).sum(axis=-1))
    result = np.full(inverse.shape, np.inf)
    np.divide(1.0, inverse, out=result, where=inverse > 0)
    return result


def coverage_factor(degrees_of_freedom: float, *, coverage_percent: float = 95.0) -> float:
    """Return the two-sided Student factor k of an expanded uncertainty U = k u.

    Parameters
    ----------
    degrees_of_freedom : float
        Above 0, need not be whole; infinite gives the normal factor.
    coverage_percent : float
        Between 0 and 100, both excluded.

    Raises
    ------
    InputError
        ``out-of-range`` (coverage) or ``not-positive`` (degrees of freedom).

    References
    ----------
    .. [1] JCGM 100:2008 (GUM), G.3 and table G.2.

    Examples
    --------
    >>> print(f"{coverage_factor(7):.4f} {coverage_factor(float('inf')):.4f}")
    2.3646 1.9600
    """
    from scipy.special import ndtri, stdtrit

    if not 0 < coverage_percent < 100:
        raise InputError(
            f"must lie between 0 and 100 %, is {coverage_percent:.6g}",
            code="out-of-range",
            field="coverage_percent",
            value=float(coverage_percent),
        )
    if not degrees_of_freedom > 0:
        raise InputError(
            f"degrees of freedom must be above 0, are {degrees_of_freedom:.6g}",
            code="not-positive",
            field="degrees_of_freedom",
            value=float(degrees_of_freedom),
            limit=0.0,
        )
    upper = 0.5 + coverage_percent / 200.0
    if math.isinf(degrees_of_freedom):
        return float(ndtri(upper))
    return float(stdtrit(degrees_of_freedom, upper))
