r"""Deleted-studentised residuals of the pooled fit. Layer: engine.uncertainty.

A residual is judged against the scatter of the *other* readings. Judged against a standard deviation s that holds
the bad reading itself, it hides: with n points and q fitted parameters :math:`|r|/s \le \sqrt{(n-q)(1-h)}`, on nine
points with a slope and an intercept at most :math:`\sqrt{7 \cdot 8/9} = 2.494`, so a test against 3 s never trips.
"""

import numpy as np
from numpy.typing import ArrayLike

from engine.checks import Floats, finite
from engine.errors import InputError, NotDeterminedError


def pooled_leverage(*, moment_tm: ArrayLike, known: ArrayLike, weight: ArrayLike | None = None) -> Floats:
    """Return the leverage of each reading in the fit of one slope and an intercept for each instrument.

    Parameters
    ----------
    moment_tm : (n,) array_like
        Heeling moment at each reading. [t·m]
    known : (p, n) array_like of bool
        Which readings were taken.
    weight : (p, n) array_like, optional
        Of each reading, > 0; all alike where left out.

    Returns
    -------
    (p, n) float64
        w (1/W_i + (M − M̄_i)²/Sxx), NaN where not taken; with W_i, M̄_i and Sxx by the weights. Unweighted:
        1/n_i + (M − M̄_i)²/Sxx.

    Raises
    ------
    NotDeterminedError
        ``moments-equal``.
    """
    moment = finite(moment_tm, field="moment_tm")
    taken = np.asarray(known, dtype=bool)
    if taken.ndim != 2 or moment.shape != taken.shape[1:]:
        raise InputError("must have a column for each moment", code="wrong-shape", field="known")
    share = np.where(taken, 1.0 if weight is None else np.asarray(weight, dtype=np.float64), 0.0)
    offset, total = _offsets(np.broadcast_to(moment, taken.shape), share)
    spread = float(np.sum(share * offset**2))
    if spread <= 1e-12 * max(float(np.sum(share * moment**2)), 1e-300):
        raise NotDeterminedError("all moments are equal", code="moments-equal", field="moment_tm")
    return np.where(taken, share / total + share * offset**2 / spread, np.nan)


def pooled_residual(*, values: Floats, moment_tm: Floats, weight: Floats) -> Floats:
    """Return what one slope and an intercept for each instrument leave of the values, fitted with weights.

    Parameters
    ----------
    values : (p, n) float64
        NaN where not taken. Residuals of another fit of the same kind give what the values themselves would.
    moment_tm : (n,) float64
        Heeling moment at each reading. [t·m]
    weight : (p, n) float64
        Of each reading, > 0.

    Raises
    ------
    NotDeterminedError
        ``moments-equal``.
    """
    taken = np.isfinite(values)
    share = np.where(taken, weight, 0.0)
    offset, _ = _offsets(np.broadcast_to(moment_tm, taken.shape), share)
    spread = float(np.sum(share * offset**2))
    if spread <= 1e-12 * max(float(np.sum(share * moment_tm**2)), 1e-300):
        raise NotDeterminedError("all moments are equal", code="moments-equal", field="moment_tm")
    apart, _ = _offsets(np.where(taken, values, 0.0), share)
    return np.where(taken, apart - float(np.sum(share * offset * apart)) / spread * offset, np.nan)


def _offsets(values: Floats, share: Floats) -> tuple[Floats, Floats]:
    """Return each value less its row's mean by the weights, 0 where of no weight, and the rows' weights."""
    total = share.sum(axis=1, keepdims=True)
    total = np.where(total > 0, total, 1.0)
    mean = np.sum(share * values, axis=1, keepdims=True) / total
    return np.where(share > 0, values - mean, 0.0), total


def studentised(*, residual: ArrayLike, leverage: ArrayLike, parameter_count: int) -> Floats:
    r"""Return externally (deleted-) studentised residuals.

    Parameters
    ----------
    residual : (...) array_like
        Residuals of a least-squares fit, NaN where there is no reading.
    leverage : (...) array_like
        Of each reading, same shape.
    parameter_count : int
        Parameters fitted: 1 + the number of instruments for the pooled fit.

    Returns
    -------
    (...) float64
        :math:`t = r\,/\,(s_{(i)}\sqrt{1-h})`, :math:`s_{(i)}` without reading i; |t| above 3 is the deviation from
        the line of the other readings above 3 of its standard uncertainties. Student's t with n − q − 1 degrees
        of freedom. Infinite where the others fit exactly; NaN where there is no reading or it alone fixes a
        parameter (h = 1).

    Raises
    ------
    NotDeterminedError
        ``too-few-readings``: fewer than q + 2.

    References
    ----------
    .. [1] R. D. Cook, S. Weisberg, Residuals and Influence in Regression, 1982, 2.2.1 (from memory).
    """
    values = np.asarray(residual, dtype=np.float64)
    free = 1.0 - np.asarray(leverage, dtype=np.float64)
    if free.shape != values.shape:
        raise InputError("must have a leverage for each residual", code="wrong-shape", field="leverage")
    count = int(np.isfinite(values).sum())
    freedom = count - parameter_count - 1
    if freedom < 1:
        raise NotDeterminedError(
            f"{count} readings leave none over to judge one by",
            code="too-few-readings",
            field="residual",
            value=float(count),
            limit=float(parameter_count + 2),
        )
    usable = np.isfinite(values) & (free > 1e-12)
    r, f = np.where(usable, values, 0.0), np.where(usable, free, 1.0)
    total = float(np.nansum(values**2))
    others = total - r**2 / f
    others = np.where(others > 1e-12 * total, others, 0.0)  # below: rounding of an exact fit
    size = np.sqrt(others * f / freedom)
    result = np.where(r == 0, 0.0, np.copysign(np.inf, r))
    np.divide(r, size, out=result, where=size > 0)
    return np.where(usable, result, np.nan)
