r"""Margins in standard uncertainties of the lightship, and what may be said of them. Layer: engine.stability.

A margin f of a condition is a function of the lightship's mass and centre. Its standard uncertainty is that of GUM 5.2
with the changes of f over one standard uncertainty each, taken on both sides (GUM 5.1.3, note 2):

.. math:: Z_i = \tfrac12 [f(x_i + u_i) - f(x_i - u_i)], \qquad u^2(f) = Z^T R\,Z

with R the correlations of mass, x, y and z. The arms at each of the eight places are those of ``Arms.loaded``: right to
the first order, which is all that Z keeps of them. A margin is followed on the side on which it was judged, where it is
smooth; across the upright the worse of two sides has a corner.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from engine.checks import Floats, points
from engine.errors import InputError
from engine.flotation.arm_curve import Side
from engine.lightship.derivation import Mass
from engine.rules import Rule, RuleSet
from engine.rules.rule import Outcome
from engine.stability.arms import Arms
from engine.stability.criteria import Criterion
from engine.stability.data import StabilityData
from engine.stability.margins import Key, Margins, rules_of
from engine.stability.table_observe import observation
from engine.stability.table_ship import ArmsByTables
from engine.stability.vcg_limit import VcgLimit

COVERAGE = 2.0
"""A margin of fewer standard uncertainties than this is within the test's uncertainty: our choice."""

SLOPE_STEP_M = 1e-4
"""Rise over which the slope of the governing margin is taken. [m]"""

_UP = np.array([0.0, 0.0, 1.0])


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
    *,
    lightship: Mass,
    covariance: ArrayLike,
    rule_sets: Sequence[RuleSet],
    data: StabilityData,
    arms: Arms | ArmsByTables,
    criteria: Sequence[Criterion],
    limit: VcgLimit | None,
) -> Certainty:
    """Return the standard uncertainties of a condition's margins.

    Parameters
    ----------
    lightship : Mass
        As found. [t, m]
    covariance : (4, 4)
        Of its mass [t], x, y and z [m].
    rule_sets, data, criteria, limit
        As judged.
    arms : Arms or ArmsByTables
        As found.

    Raises
    ------
    InputError
        "wrong-shape"; "covariance-not-valid": not symmetric, or a correlation beyond 1.
    NotDeterminedError
        ``beyond-tables``: a standard uncertainty away she is beyond the tables that stand for the hull.
    """
    step, correlation = _split(covariance)
    rules = rules_of(rule_sets)
    sides: dict[Side, dict[Key, Rule]] = {}
    for one in criteria:
        key = one.check.rule_set, one.check.rule
        sides.setdefault(one.side, {})[key] = rules[key]

    def margins_of(other: Arms | ArmsByTables) -> dict[Key, float]:
        found: dict[Key, float] = {}
        for side, judged in sides.items():
            found |= Margins([observation(other, side, data)], judged).every()
        return found

    changes: list[dict[Key, float]] = []
    for axis in range(4):
        if step[axis] == 0.0:
            changes.append({})
            continue
        mass, moment = _added(lightship, axis, float(step[axis]))
        above, below = (margins_of(arms.loaded(mass_t=sign * mass, moment_tm=sign * moment)) for sign in (1.0, -1.0))
        changes.append({key: 0.5 * (above[key] - below[key]) for key in above if key in below})
    base = margins_of(arms)
    by_rule = {
        key: _combined(np.array([change.get(key, 0.0) for change in changes]), correlation)
        for key, margin in base.items()
        if np.isfinite(margin) and all(np.isfinite(change.get(key, 0.0)) for change in changes)
    }
    of_limit = None
    if limit is not None:
        of_limit = _vcg_margin_changes(arms, lightship, step, limit, rule_sets, data)
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


def _added(lightship: Mass, axis: int, change: float) -> tuple[float, Floats]:
    """Return the mass and first moment that a change of the lightship's mass or of one place of its centre adds."""
    if axis == 0:
        return change, change * lightship.centre_m
    return 0.0, lightship.mass_t * change * np.eye(3)[axis - 1]


def _vcg_margin_changes(
    arms: Arms | ArmsByTables,
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
    rules = {key: rules_of(rule_sets)[key]}

    def governing(at: Arms | ArmsByTables) -> float:
        margin = Margins([observation(at, side, data)], rules).of(key)
        return float("nan") if margin is None else margin

    whole = limit.arms.displacement_t
    higher, lower = (limit.arms.loaded(moment_tm=sign * SLOPE_STEP_M * whole * _UP) for sign in (1.0, -1.0))
    by_height = (governing(higher) - governing(lower)) / (2 * SLOPE_STEP_M)
    if not np.isfinite(by_height) or by_height == 0.0:
        return None
    changes = np.zeros(4)
    for axis in np.flatnonzero(step):
        added, moment = _added(lightship, int(axis), float(step[axis]))
        ends = []
        for sign in (1.0, -1.0):
            mass, up = sign * added, sign * moment[2]
            height = (whole * arms.vcg_m + up) / (whole + mass)
            kept = sign * moment + (mass * limit.vcg_m - up) * _UP  # the centre as high as at the limit
            ends.append(-governing(limit.arms.loaded(mass_t=mass, moment_tm=kept)) / by_height - height)
        changes[axis] = 0.5 * (ends[0] - ends[1])
    return changes if np.isfinite(changes).all() else None


def _combined(changes: Floats, correlation: Floats) -> float:
    return float(np.sqrt(max(0.0, float(changes @ correlation @ changes))))
