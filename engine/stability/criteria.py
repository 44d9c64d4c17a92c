"""Hold a ship's arms against criteria, on the side where each fares worse. Layer: engine.stability."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from engine.findings import Finding
from engine.flotation.arm_curve import Side
from engine.rules import OBSERVED_DECIMALS, Check, RuleSet, assess
from engine.stability.arms import SIDES, Arms
from engine.stability.data import StabilityData
from engine.stability.margins import needed
from engine.stability.observe import Observation

_WORST_FIRST = ("not_met", "not_assessed", "met")

_WANTED = {
    "flooding": "openings are not stated, not even that there are none",
    "deck_edge": "the deck edge is not given",
    "wind": "no wind area is given, or none for this draft",
    "reach": "the arms are not computed so far",
}


@dataclass(frozen=True)
class Criterion:
    """What came of one rule, and on which side she fares worse."""

    check: Check
    side: Side


def judge(
    arms: Arms, rule_sets: Sequence[RuleSet], data: StabilityData
) -> tuple[tuple[Criterion, ...], tuple[Finding, ...]]:
    """Return what came of every rule, in the order of the sets and rules, and what was noticed.

    Parameters
    ----------
    arms : Arms
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
        observation = Observation(arms, side, data)
        values = {name: _rounded(observation[name]) for name in names}
        checks = assess(rule_sets, values)
        by_side.append((side, tuple(_explained(check, observation) for check in checks)))
        found |= dict.fromkeys(observation.findings)
    worst: dict[tuple[str, str], Criterion] = {}
    for side, checks in by_side:
        for check in checks:
            key = check.rule_set, check.rule
            if key not in worst or _badness(check) < _badness(worst[key].check):
                worst[key] = Criterion(check, side)
    order = [(rule_set.name, rule.id) for rule_set in rule_sets for rule in rule_set.rules]
    return tuple(worst[key] for key in order if key in worst), tuple(found)


def sides_of(arms: Arms, data: StabilityData) -> tuple[Side, ...]:
    """Return the sides to be looked at: starboard alone where ship, loading and points are alike on both."""
    scale = 1e-9 * max(1.0, float(np.abs(arms.arm_m).max()))
    alike = np.abs(arms.arm_m + arms.arm_m[::-1]).max() <= scale and data.same_on_both_sides
    return SIDES[:1] if alike else SIDES


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, OBSERVED_DECIMALS)


def _badness(check: Check) -> tuple[int, float]:
    unknown = -math.inf if check.outcome == "not_met" else math.inf
    return _WORST_FIRST.index(check.outcome), unknown if check.margin is None else check.margin


def _explained(check: Check, observation: Observation) -> Check:
    """Say in plain words which data a rule that is not assessed wants."""
    if check.outcome != "not_assessed":
        return check
    data, reasons = observation.data, []
    if data.openings is None and ("flooding" in check.reason or "weather_area" in check.reason):
        reasons.append(_WANTED["flooding"])
    if data.deck_edge_m is None and ("deck_edge" in check.reason or "weather_gm" in check.reason):
        reasons.append(_WANTED["deck_edge"])
    if "weather" in check.reason and observation.steady_lever_m is None:
        reasons.append(_WANTED["wind"])
    return replace(check, reason=f"{check.reason}: {', '.join(reasons) or _WANTED['reach']}")
