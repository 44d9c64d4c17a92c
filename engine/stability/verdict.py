r"""Margins in standard uncertainties of the lightship, and what may be said of them. Layer: engine.stability.

A margin f of a condition is a function of the lightship's mass and centre. Its standard uncertainty is that of GUM 5.2
with the changes of f over one standard uncertainty each, taken on both sides (GUM 5.1.3, note 2):

.. math:: Z_i = \tfrac12 [f(x_i + u_i) - f(x_i - u_i)], \qquad u^2(f) = Z^T R\,Z

with R the correlations of mass, x, y and z. The arms are computed anew at each of the eight places. A margin is
followed on the side on which it was judged, where it is smooth; across the upright the worse of two sides has a corner.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from engine.checks import Floats, points
from engine.errors import InputError
from engine.flotation.arm_curve import Side
from engine.lightship.derivation import Mass
from engine.rules import RuleSet
from engine.rules.rule import Outcome
from engine.stability.arms import Arms, Ship
from engine.stability.criteria import Criterion, all_margins, needed
from engine.stability.data import StabilityData
from engine.stability.observe import Immersion
from engine.stability.vcg_limit import VcgLimit

COVERAGE = 2.0
"""A margin of fewer standard uncertainties than this is within the test's uncertainty: our choice."""

SLOPE_STEP_M = 1e-4
"""Rise over which the slope of the governing margin is taken. [m]"""

Key = tuple[str, str]


@dataclass(frozen=True)
class Certainty:
    """How well margins are known.

    Attributes
    ----------
    by_rule : dict
        Standard uncertainty of each finite margin by (set, rule), in the unit of its check.
    vcg_margin_m : float or None
        Of the limit less VCG; None where there is no limit. [m]
    """

    by_rule: dict[Key, float]
    vcg_margin_m: float | None


def certainty(
    ship_of: Callable[[Mass], Ship],
    *,
    lightship: Mass,
    covariance: ArrayLike,
    rule_sets: Sequence[RuleSet],
    data: StabilityData,
    arms: Arms,
    criteria: Sequence[Criterion],
    limit: VcgLimit | None,
) -> Certainty:
    """Return the standard uncertainties of a condition's margins.

    Parameters
    ----------
    ship_of : callable
        Gives the ship in the condition for a lightship.
    lightship : Mass
        As found. [t, m]
    covariance : (4, 4)
        Of its mass [t], x, y and z [m].
    rule_sets, data, criteria, limit
        As judged.
    arms : Arms
        As found: the first guess.

    Raises
    ------
    InputError
        "wrong-shape"; "covariance-not-valid": not symmetric, or a correlation beyond 1.
    """
    step, correlation = _split(covariance)
    names = needed(rule_sets)
    sides: dict[Side, list[Key]] = {}
    for one in criteria:
        sides.setdefault(one.side, []).append((one.check.rule_set, one.check.rule))

    def margins_of(other: Arms) -> dict[Key, float]:
        found: dict[Key, float] = {}
        for side, keys in sides.items():
            every = all_margins(other, rule_sets, data, names=names, sides=[(side, Immersion(other, side, data))])
            found |= {key: every[key] for key in keys if key in every}
        return found

    changes: list[dict[Key, float]] = []
    for axis in range(4):
        if step[axis] == 0.0:
            changes.append({})
            continue
        above, below = (
            margins_of(ship_of(_moved(lightship, axis, sign * step[axis])).arms(start=arms)) for sign in (1.0, -1.0)
        )
        changes.append({key: 0.5 * (above[key] - below[key]) for key in above if key in below})
    base = margins_of(arms)
    by_rule = {
        key: _combined(np.array([change.get(key, 0.0) for change in changes]), correlation)
        for key, margin in base.items()
        if np.isfinite(margin) and all(np.isfinite(change.get(key, 0.0)) for change in changes)
    }
    of_limit = None
    if limit is not None:
        of_limit = _vcg_margin_changes(ship_of, lightship, step, limit, rule_sets, data)
    return Certainty(by_rule, None if of_limit is None else _combined(of_limit, correlation))


def statement(
    outcome: Outcome, *, margin: float | None, unit: str, standard_uncertainty: float | None, coverage: float = COVERAGE
) -> str:
    """Say in plain words whether a criterion is met and how surely.

    Examples
    --------
    >>> statement("met", margin=0.12, unit="m", standard_uncertainty=0.0133)
    'met, 0.12 m, 9 standard uncertainties'
    >>> statement("met", margin=0.02, unit="m", standard_uncertainty=0.0133)
    "met, but within the test's uncertainty"
    """
    if outcome == "not_assessed":
        return "not assessed"
    if outcome == "not_met":
        return "not met"
    if margin is None:
        return "met"
    words = f"met, {margin:#.2g}".rstrip(".") + (f" {unit}" if unit != "1" else "")
    if not standard_uncertainty:
        return words
    if margin < coverage * standard_uncertainty:
        return "met, but within the test's uncertainty"
    return f"{words}, {_count(margin / standard_uncertainty)} standard uncertainties"


def _count(ratio: float) -> str:
    return f"{ratio:.0f}" if ratio >= 3 else f"{ratio:.1f}"


def _split(covariance: ArrayLike) -> tuple[Floats, Floats]:
    matrix = points(covariance, columns=4, field="covariance")
    if matrix.shape != (4, 4):
        raise InputError("must be a table of 4 rows and 4 columns", code="wrong-shape", field="covariance")
    variance = np.diag(matrix)
    step = np.sqrt(np.maximum(variance, 0.0))
    scale = np.where(step > 0, step, 1.0)
    correlation = matrix / np.outer(scale, scale)
    least = float(np.linalg.eigvalsh(0.5 * (correlation + correlation.T))[0])
    if (variance < 0).any() or np.abs(correlation - correlation.T).max() > 1e-9 or least < -1e-9:
        raise InputError("is not a covariance", code="covariance-not-valid", field="covariance")
    return step, np.asarray(correlation)


def _moved(lightship: Mass, axis: int, change: float) -> Mass:
    if axis == 0:
        return Mass(lightship.mass_t + change, lightship.centre_m)
    return Mass(lightship.mass_t, lightship.centre_m + change * np.eye(3)[axis - 1])


def _vcg_margin_changes(
    ship_of: Callable[[Mass], Ship],
    lightship: Mass,
    step: Floats,
    limit: VcgLimit,
    rule_sets: Sequence[RuleSet],
    data: StabilityData,
) -> Floats | None:
    """Return the (4,) changes of limit less VCG; None where the governing margin does not change smoothly there.

    At the limit the governing margin g is 0 whatever else changes, so the limit moves by −Δg over dg/dVCG.
    """
    side, key = limit.governing.side, (limit.governing.check.rule_set, limit.governing.check.rule)
    names = needed(rule_sets)

    def governing(arms: Arms) -> float:
        every = all_margins(arms, rule_sets, data, names=names, sides=[(side, Immersion(arms, side, data))])
        return every.get(key, float("nan"))

    by_height = (governing(limit.arms.raised(SLOPE_STEP_M)) - governing(limit.arms.raised(-SLOPE_STEP_M))) / (
        2 * SLOPE_STEP_M
    )
    if not np.isfinite(by_height) or by_height == 0.0:
        return None
    changes = np.zeros(4)
    for axis in np.flatnonzero(step):
        ends = []
        for sign in (1.0, -1.0):
            moved = ship_of(_moved(lightship, int(axis), sign * step[axis]))
            height = _vcg(moved)
            at_limit = moved.raised(limit.vcg_m - height).arms(start=limit.arms)
            ends.append(limit.vcg_m - governing(at_limit) / by_height - height)
        changes[axis] = 0.5 * (ends[0] - ends[1])
    return changes if np.isfinite(changes).all() else None


def _vcg(ship: Ship) -> float:
    """Height of everything aboard, liquids as they lie upright. [m]"""
    up = np.array([[0.0, 0.0, 1.0]])
    moment = ship.mass_t * ship.centre_m[2]
    moment += sum(liquid.mass_t * liquid.at(up).centroid_m[0, 2] for liquid in ship.liquids)
    return float(moment / ship.displacement_t)


def _combined(changes: Floats, correlation: Floats) -> float:
    return float(np.sqrt(max(0.0, float(changes @ correlation @ changes))))
