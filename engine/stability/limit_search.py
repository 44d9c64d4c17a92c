"""Where, as the centre of gravity rises, a range in which all rules are met ends. Layer: engine.stability."""

import math
from collections.abc import Callable
from functools import partial

import numpy as np

from engine.deadline import checkpoint
from engine.errors import NotDeterminedError
from engine.findings import Finding
from engine.stability.arms import Arms
from engine.stability.margins import Key, Margins
from engine.stability.table_ship import ArmsByTables

At = Callable[[float], Margins]
"""Margins at a rise. [m]"""

_SAMPLES = 41
_HALVINGS = 200
_NO_RISE_M = 1e-13
_NO_MARGIN = 1e-15


def bracket(
    at: At, arms: Arms | ArmsByTables, heights_m: tuple[float, float]
) -> tuple[tuple[float, float], tuple[Finding, ...]]:
    """Return rises of a ship's centre between which the lowest range that meets all ends, and what was noticed.

    Parameters
    ----------
    at : callable
        Margins at a rise.
    arms : Arms or ArmsByTables
        With no rise.
    heights_m : tuple of two floats
        Bottom and top of the hull. [m]

    Raises
    ------
    NotDeterminedError
        "no-criterion-assessed", "no-vcg-meets", "no-upper-vcg-limit".
    """
    bottom, top = heights_m
    metacentre = arms.vcg_m + arms.gm_fluid_m
    low, high = bottom - arms.vcg_m, max(metacentre, top) + 0.25 * (top - bottom) - arms.vcg_m
    rises = np.linspace(low, high, _SAMPLES)
    met = _met(at, rises)
    if all(met) and not any(at(rise).every() for rise in rises.tolist()):
        raise NotDeterminedError("no criterion could be assessed", code="no-criterion-assessed", field="rules")
    if not any(met):  # a range narrower than the samples' distance?
        best = _best(at, rises)
        rises = np.linspace(rises[max(best - 1, 0)], rises[min(best + 1, _SAMPLES - 1)], _SAMPLES)
        met = _met(at, rises)
    if not any(met):
        rise = float(rises[_best(at, rises)])
        margins = at(rise).every()
        failing = sum(margin < 0 for margin in margins.values())
        raise NotDeterminedError(
            f"from the bottom of the hull up, no height of the centre of gravity meets every criterion: "
            f"{failing} of {len(margins)} fail at the best, {arms.vcg_m + rise:.6g} m",
            code="no-vcg-meets",
            field="rules",
        )
    first = met.index(True)
    if False not in met[first:]:
        raise NotDeterminedError(
            f"every criterion is still met with the centre of gravity at {arms.vcg_m + high:.6g} m",
            code="no-upper-vcg-limit",
            field="rules",
            value=arms.vcg_m + high,
        )
    fails = met.index(False, first)
    found = []
    if first > 0:
        words = f"below a VCG of about {arms.vcg_m + rises[first]:.6g} m a criterion fails too: low is not safe here"
        found.append(Finding("vcg-too-low-fails", words))
    if True in met[fails:]:
        again = arms.vcg_m + rises[met.index(True, fails)]
        found.append(Finding("vcg-limit-not-unique", f"above the limit all are met again at about {again:.6g} m"))
    return (float(rises[fails - 1]), float(rises[fails])), tuple(found)


def _met(at: At, rises: np.ndarray) -> list[bool]:
    """Return where all are met; the rule that failed last is looked at first."""
    met, failing = [], None
    for rise in rises.tolist():
        checkpoint()
        key = at(rise).failing(failing)
        failing = key or failing
        met.append(key is None)
    return met


def _best(at: At, rises: np.ndarray) -> int:
    return int(np.argmax([at(rise).worst() for rise in rises.tolist()]))


def around(at: At, width_m: float) -> tuple[float, float]:
    """Return rises about 0, the lower of which meets all and the upper not.

    Raises
    ------
    NotDeterminedError
        "vcg-limit-not-converged".
    """
    low, high = -width_m, width_m
    for _ in range(_HALVINGS):
        if at(low).failing() is not None:
            low, high = 4 * low, low
        elif at(high).failing() is None:
            low, high = high, 4 * high
        else:
            return low, high
        if high - low > 1e4:
            break
    raise NotDeterminedError("the limit is lost between two computations", code="vcg-limit-not-converged")


def last_met(at: At, low: float, high: float) -> float:
    """Return the greatest rise that meets all, between one that does and one that does not.

    The rule that fails by most at the upper end is followed alone to its root. Where another fails there, the root is
    the new upper end.
    """
    for _ in range(_HALVINGS):
        checkpoint()
        margins = at(high).every()
        governing = min(margins, key=lambda key: margins[key])
        root = _root(partial(_margin_of, at, governing), low, high)
        if at(root).failing() is None:
            return root
        high = root
    return low


def _margin_of(at: At, key: Key, rise_m: float) -> float:
    """Return a rule's margin, infinite where it is not assessed: it fails nothing there."""
    margin = at(rise_m).of(key)
    return math.inf if margin is None else margin


def _root(margin_at: Callable[[float], float], low: float, high: float) -> float:
    """Return the greatest rise that meets one: secants, halved every third time and where a margin is infinite."""
    at_low, at_high = margin_at(low), margin_at(high)
    for n in range(_HALVINGS):
        if high - low <= _NO_RISE_M * max(1.0, abs(high)):
            return low
        middle = 0.5 * (low + high)
        if n % 3 < 2 and math.isfinite(at_low) and math.isfinite(at_high):
            secant = low + (high - low) * at_low / (at_low - at_high)
            middle = secant if low < secant < high else middle
        value = margin_at(middle)
        if 0 <= value <= _NO_MARGIN:
            return middle
        if value >= 0:
            low, at_low = middle, value
        else:
            high, at_high = middle, value
    return low
