r"""Scatter of a pooled slope whose readings share each move's gust. Layer: engine.uncertainty.

Instrument i at move j reads :math:`y_{ij} = a_i + b M_j + c_j + e_{ij}`: its zero, the common slope, an effect common
to all instruments of the move (a gust, a taut line: :math:`\sigma_c`) and its own error (:math:`\sigma_r`). Pooling
all readings as independent counts each gust p times. A reading repeated without a move, or after one that leaves the
moment as it was, is of the same move: what held her over may hold her still, so it tells of the readings' own errors
only, and no move is counted for it. The pooled slope is a known weighting of the readings, so

.. math:: u^2(b) = \sigma_r^2 \sum_{ij} w_{ij}^2 + \sigma_c^2 \sum_j \bigl(\sum_i w_{ij}\bigr)^2
          = (\sigma_c^2 + \sigma_r^2/p)/S_{xx} \quad\text{with none missed.}
"""

from typing import NamedTuple

import numpy as np

from engine.checks import Floats, finite
from engine.errors import InputError, NotDeterminedError

SAME_MOMENT_RATIO = 1e-9
"""Of the largest: moments that differ by less are one, as where a weight is logged to go where it stands."""


class SlopeScatter(NamedTuple):
    """What the scatter of the readings says of the pooled slope.

    Attributes
    ----------
    slope_standard_uncertainty_per_tm : float
        [1/(t·m)]
    degrees_of_freedom : float
        From the moves: as many readings at each of n moments give n − 2; missed or repeated ones make it fractional.
    common_standard_deviation_ratio, reading_standard_deviation_ratio : float or None
        σ_c and σ_r as tangents, σ_c 0 where the moves scatter no more than the readings explain; None where no
        two instruments allow the two to be told apart.
    """

    slope_standard_uncertainty_per_tm: float
    degrees_of_freedom: float
    common_standard_deviation_ratio: float | None
    reading_standard_deviation_ratio: float | None


def slope_scatter(*, residual_ratio: Floats, moment_tm: Floats, plateau: np.ndarray | None = None) -> SlopeScatter:
    r"""Estimate the standard uncertainty of the pooled slope from the fit's residuals.

    Parameters
    ----------
    residual_ratio : (p, n) float64
        Residual tangents of the pooled fit with one intercept an instrument, NaN where missed.
    moment_tm : (n,) float64
        Heeling moment at each reading. [t·m]
    plateau : (n,) int, optional
        Of which move each reading is, ``plateaus_of``; without it each is of a move of its own.

    Raises
    ------
    InputError
        ``wrong-shape`` or ``not-finite``.
    NotDeterminedError
        ``too-few-readings`` below three moves with readings, ``moments-equal``.

    Notes
    -----
    Moments: :math:`Q_b = \sum_j n_j \bar r_j^2` and :math:`Q_w = \sum (r_{ij} - \bar r_j)^2` are set equal to their
    exact expectations (Henderson's third method), which are linear in σ_r² and σ_c². The variance of the slope is
    Q_b times the ratio of u²(b) to E(Q_b), taken at the estimated σ_c : σ_r, degrees of freedom
    :math:`2E^2(Q_b)/\mathrm{var}(Q_b)`. With none missed the ratio does not depend on σ_c : σ_r, so neither does
    the truncation of σ_c² at 0 touch it: :math:`u^2(b) = \sum_j \bar r_j^2/((n-2)S_{xx})` and Student's t is exact.

    References
    ----------
    .. [1] S. R. Searle, G. Casella, C. E. McCulloch, Variance Components, 1992, chapter 5 (from memory).
    """
    table = np.asarray(residual_ratio, dtype=np.float64)
    moment = finite(moment_tm, field="moment_tm")
    if table.ndim != 2 or moment.shape != table.shape[1:] or np.isinf(table).any():
        raise InputError(
            "must be a row for each instrument, a column for each moment", code="wrong-shape", field="residual_ratio"
        )
    known = np.isfinite(table)
    known &= known.sum(axis=1, keepdims=True) >= 2  # one reading only fixes its own intercept
    of_move = np.arange(len(moment)) if plateau is None else plateau
    moves = np.unique(of_move[known.any(axis=0)])
    if len(moves) < 3 and (np.ptp(moment) > 0 or len(moment) < 3):
        raise NotDeterminedError(
            f"scatter shows from 3 moves with readings on, there are {len(moves)}",
            code="too-few-readings",
            field="moment_tm",
            value=float(len(moves)),
            limit=3.0,
        )
    instrument, move = np.nonzero(known)
    residual = table[known]
    member = (of_move[move][:, None] == moves).astype(np.float64)  # Z, (N, n)
    centred = _within(moment[move][:, None], instrument)
    spread = float(np.sum(centred**2))
    if spread <= 1e-12 * max(float(np.sum(moment[move] ** 2)), 1e-300):
        raise NotDeterminedError("all moments are equal", code="moments-equal", field="moment_tm")

    # M Z, what the fit leaves of each move's effect
    left = _within(member, instrument) - centred @ (centred.T @ member) / spread
    scaled = left / np.sqrt(member.sum(axis=0))
    own, shared = scaled.T @ scaled, scaled.T @ member  # U Uᵀ and U Z of B = UᵀU
    between = float(np.sum((member.T @ residual) ** 2 / member.sum(axis=0)))
    within = max(float(residual @ residual) - between, 0.0)
    weight = centred[:, 0] / spread
    slope = np.array([np.sum(weight**2), np.sum((weight @ member) ** 2)])
    of_between = np.array([np.trace(own), np.sum(shared**2)])
    freedom = len(residual) - len(np.unique(instrument)) - 1
    of_within = np.array([freedom, np.sum(left**2)]) - of_between

    separable = of_within[0] > 1e-6
    if separable:
        components = _components(np.array([of_between, of_within]), np.array([between, within]))
        trial = components if components.any() else np.array([1.0, 0.0])
    else:
        components = None
        trial = np.eye(2)[int(np.argmax(slope / of_between))]
    mean = float(of_between @ trial)
    spread_of_mean = float(np.sum((own * trial[0] + shared @ shared.T * trial[1]) ** 2))
    return SlopeScatter(
        float(np.sqrt(between * (slope @ trial) / mean)),
        mean**2 / spread_of_mean,
        None if components is None else float(np.sqrt(components[1])),
        None if components is None else float(np.sqrt(components[0])),
    )


def plateaus_of(moment_tm: Floats) -> np.ndarray:
    """Return (n,) the number of the plateau each reading is of: one after the other at one moment are of one."""
    least = SAME_MOMENT_RATIO * float(np.abs(moment_tm).max(initial=0.0))
    return np.cumsum(np.abs(np.diff(moment_tm, prepend=moment_tm[:1])) > least)


def _within(values: Floats, instrument: np.ndarray) -> Floats:
    """Return each column less its mean over the readings of the same instrument."""
    total = np.zeros((int(instrument.max()) + 1, values.shape[1]))
    np.add.at(total, instrument, values)
    count = np.maximum(np.bincount(instrument), 1)[:, None]
    return np.asarray(values - (total / count)[instrument])


def _components(expectation: Floats, observed: Floats) -> Floats:
    """Solve for (σ_r², σ_c²), a negative one set to 0 and the other fitted to both sums together."""
    components = np.linalg.solve(expectation, observed)
    if components[1] < 0:
        return np.array([observed.sum() / expectation[:, 0].sum(), 0.0])
    if components[0] < 0:
        return np.array([0.0, observed.sum() / expectation[:, 1].sum()])
    return np.asarray(components)
