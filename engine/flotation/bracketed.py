"""Roots of many functions at once, each between two places where it has opposite signs. Layer: engine.flotation.

T. R. Chandrupatla's method (Advances in Engineering Software 28, 1997): inverse quadratic interpolation where it is
safe, halving where not, so a bracket always closes.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from engine.checks import Floats
from engine.deadline import checkpoint
from engine.errors import NotDeterminedError

ITERATION_LIMIT = 100


def bracketed_roots(
    function: Callable[[NDArray[np.intp], Floats], Floats],
    *,
    low: Floats,
    high: Floats,
    at_low: Floats,
    at_high: Floats,
    tolerance: float,
) -> Floats:
    """Return (k,) roots.

    Parameters
    ----------
    function : callable
        Values of the functions numbered by its first argument at the places of its second; both (m,), m <= k.
    low, high : (k,)
        Ends of each bracket.
    at_low, at_high : (k,)
        Values there, of opposite signs or 0.
    tolerance : float
        Width at which a bracket is closed.

    Returns
    -------
    (k,) float64
        NaN where a value inside a bracket does not exist.

    Raises
    ------
    NotDeterminedError
        "root-not-converged".
    """
    roots = np.full(len(low), np.nan)
    rows = np.arange(len(low))
    x1, x2, f1, f2 = (np.array(one, dtype=np.float64) for one in (low, high, at_low, at_high))
    share = np.clip(np.divide(f1, f1 - f2, out=np.full(len(f1), 0.5), where=f1 != f2), 0.0, 1.0)
    for _ in range(ITERATION_LIMIT):
        if not len(rows):
            return roots
        checkpoint()
        x = x1 + share * (x2 - x1)
        f = function(rows, x)
        same = np.sign(f) == np.sign(f1)
        x3, f3 = np.where(same, x1, x2), np.where(same, f1, f2)
        x2, f2 = np.where(same, x2, x1), np.where(same, f2, f1)
        x1, f1 = x, f
        nearer = np.abs(f1) < np.abs(f2)
        best, value = np.where(nearer, x1, x2), np.where(nearer, f1, f2)
        width = np.abs(x2 - x1)
        with np.errstate(divide="ignore", invalid="ignore"):
            least = (2.0 * np.finfo(np.float64).eps * np.abs(best) + 0.5 * tolerance) / width
            xi, phi = (x1 - x2) / (x3 - x2), (f1 - f2) / (f3 - f2)
            inner = f1 / (f2 - f1) * f3 / (f2 - f3) + (x3 - x1) / (x2 - x1) * f1 / (f3 - f1) * f2 / (f3 - f2)
            share = np.where((phi**2 < xi) & ((1.0 - phi) ** 2 < 1.0 - xi), inner, 0.5)
        lost = np.isnan(f1)
        done = lost | (value == 0.0) | (least > 0.5) | (width == 0.0)
        roots[rows[done & ~lost]] = best[done & ~lost]
        go = ~done
        share = np.clip(share[go], least[go], 1.0 - least[go])
        rows, x1, x2, f1, f2 = rows[go], x1[go], x2[go], f1[go], f2[go]
    raise NotDeterminedError(
        f"{len(rows)} brackets did not close in {ITERATION_LIMIT} steps",
        code="root-not-converged",
        value=float(len(rows)),
        limit=float(ITERATION_LIMIT),
    )
