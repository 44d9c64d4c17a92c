"""Hold a ship's arms against criteria, on the side where each fares worse. Layer: engine.stability."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from engine.findings import Finding
from engine.flotation.arm_curve import Side
from engine.rules import OBSERVED_DECIMALS, Check, RuleSet, assess
from engine.stability.arms import SIDES, Arms
from engine.stability.data import StabilityData
from engine.stability.margins import needed
from engine.stability.observe import Observation
from engine.stability.table_observe import observation
from engine.stability.table_ship import ArmsByTables

_WORST_FIRST = ("not_met", "not_assessed", "met")


@dataclass(frozen=True)
class Criterion:
    """What came of one rule, and on which side she fares worse."""

    check: Check
    side: Side


def judge(
    arms: Arms | ArmsByTables, rule_sets: Sequence[RuleSet], data: StabilityData
) -> tuple[tuple[Criterion, ...], tuple[Finding, ...]]:
    """Return what came of every rule, in the order of the sets and rules, and what was noticed.

    Parameters
    ----------
    arms : Arms or ArmsByTables
        To both sides.
    rule_sets : sequence of RuleSet
        Of the subject "stability".
    data : StabilityData
        Openings, deck edge, wind.

    Raises
    ------
    InputError
        "rule-set-subject": a set that judges tests; "rule-set-duplicate".
    """
    names = needed(rule_sets)
    by_side: list[tuple[Side, tuple[Check, ...]]] = []
    found: dict[Finding, None] = {}
    for side in sides_of(arms, data):
        seen = observation(arms, side, data)
        values = {name: _rounded(seen[name]) for name in names}
        checks = tuple(_explained(check, seen) for check in assess(rule_sets, values))
        if seen.open_upwards:
            checks = tuple(_closed(checks, assess(rule_sets, {**values, **seen.open_upwards}), arms.reach_deg))
        by_side.append((side, checks))
        found |= dict.fromkeys(seen.findings)
    worst: dict[tuple[str, str], Criterion] = {}
    for side, checks in by_side:
        for check in checks:
            key = check.rule_set, check.rule
            if key not in worst or _badness(check) < _badness(worst[key].check):
                worst[key] = Criterion(check, side)
    order = [(rule_set.name, rule.id) for rule_set in rule_sets for rule in rule_set.rules]
    return tuple(worst[key] for key in order if key in worst), tuple(found)


def sides_of(arms: Arms | ArmsByTables, data: StabilityData) -> tuple[Side, ...]:
    """Return the sides to be looked at: starboard alone where ship, loading and points are alike on both."""
    scale = 1e-9 * max(1.0, float(np.abs(arms.arm_m).max(initial=0.0)))
    alike = np.abs(arms.arm_m + arms.arm_m[::-1]).max(initial=0.0) <= scale and data.same_on_both_sides
    return SIDES[:1] if alike else SIDES


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, OBSERVED_DECIMALS)


def _badness(check: Check) -> tuple[int, float]:
    unknown = -math.inf if check.outcome == "not_met" else math.inf
    return _WORST_FIRST.index(check.outcome), unknown if check.margin is None else check.margin


def _explained(check: Check, seen: Observation) -> Check:
    """Say in plain words which data a rule that is not assessed wants."""
    if check.outcome != "not_assessed":
        return check
    return replace(check, reason=f"{check.reason}: {', '.join(seen.wanted(check.reason))}")


def _closed(lowest: Sequence[Check], highest: Sequence[Check], end_deg: float) -> Iterator[Check]:
    """Yield the checks, not assessed where what may lie beyond the curve's end would change what comes of them."""
    lower, higher = ({(one.rule_set, one.rule): one for one in checks} for checks in (lowest, highest))
    words = f"the cross curves end at {end_deg:.6g}°: what lies beyond would decide"
    for key in dict.fromkeys((*lower, *higher)):
        check = lower.get(key) or higher[key]
        if key in lower and key in higher and lower[key].outcome == higher[key].outcome:
            yield check
        else:
            yield replace(check, outcome="not_assessed", reason=words, margin=None)
