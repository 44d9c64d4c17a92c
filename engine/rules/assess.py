"""Hold what was observed against rule sets. Layer: engine.rules."""

import math
from collections.abc import Iterable, Mapping, Sequence

from engine.errors import InputError
from engine.rules.observables import OBSERVABLE_BY_NAME
from engine.rules.rule import Check, Observed, Outcome, Requirement, Rule, RuleSet, known


def assess(
    rule_sets: Sequence[RuleSet], observed: Observed, reasons: Mapping[str, str] | None = None
) -> tuple[Check, ...]:
    """Return a check for each rule that applies, in the order of the sets and of the rules in each.

    Parameters
    ----------
    rule_sets : sequence of RuleSet
        Each name once.
    observed : mapping of str to float or None
        Values by the names of ``observables.OBSERVABLES``, in their units; left out, None or NaN where not known.
    reasons : mapping of str to str, optional
        Why a quantity is not known, by its name; told beside the name.

    Returns
    -------
    tuple of Check
        A rule whose condition is known not to hold gives none. Where a condition or the value is not known the
        outcome is ``not_assessed`` and ``reason`` names the quantities wanted.

    Raises
    ------
    InputError
        ``quantity-unknown``: a name that is not in the table. ``rule-set-duplicate``: two sets of one name.

    Notes
    -----
    Comparison is exact, in float64: the limit itself passes, whatever lies beyond it by one bit does not. "This, or
    all of those" is decided in three values: met if either side is known to hold, not met if both are known not to,
    else not assessed.
    """
    for name in observed:
        if name not in OBSERVABLE_BY_NAME:
            raise InputError("is not an observed quantity", code="quantity-unknown", field=name)
    names = [rule_set.name for rule_set in rule_sets]
    for position, name in enumerate(names):
        if name in names[:position]:
            raise InputError("is the name of an earlier set too", code="rule-set-duplicate", field=f"rules/{position}")
    why = reasons or {}
    checks = (_check(rule_set.name, rule, observed, why) for rule_set in rule_sets for rule in rule_set.rules)
    return tuple(check for check in checks if check is not None)


def _check(rule_set: str, rule: Rule, observed: Observed, why: Mapping[str, str]) -> Check | None:
    if _all(rule.applies_when, observed) is False:
        return None
    needs, value = rule.requirement, known(observed, rule.requirement.quantity)
    outcome, reason = _outcome(rule, observed, why)
    limit, margin = needs.limit_at(observed), needs.margin(observed)
    if value is not None and math.isinf(value):
        value, margin, reason = None, None, reason or "the value is infinite"
    if limit is not None and math.isinf(limit):
        limit, margin, reason = None, None, reason or "the limit is infinite"
    return Check(
        rule_set=rule_set,
        rule=rule.id,
        title=rule.title,
        clause=rule.clause,
        source=rule.cited_source,
        source_status=rule.source_status,
        level=rule.level,
        quantity=needs.quantity,
        comparison=needs.comparison,
        limit=limit,
        upper_limit=needs.upper_limit,
        unit=needs.unit,
        value=value,
        outcome=outcome,
        reason=reason,
        note=rule.note,
        margin=margin,
    )


def _outcome(rule: Rule, observed: Observed, why: Mapping[str, str]) -> tuple[Outcome, str]:
    if _all(rule.applies_when, observed) is None:
        return "not_assessed", _wanted("whether the rule applies depends on", rule.applies_when, observed, why)
    itself = rule.requirement.holds(observed)
    if itself:
        return "met", ""
    other = _all(rule.alternative, observed) if rule.alternative else False
    if other:
        return "met", "by the alternative the clause allows"
    if itself is None:
        return "not_assessed", _wanted("not known:", (rule.requirement,), observed, why)
    if other is None:
        return "not_assessed", _wanted("whether the alternative is met depends on", rule.alternative, observed, why)
    return "not_met", ""


def _all(requirements: Iterable[Requirement], observed: Observed) -> bool | None:
    """Return False if one is known not to hold, else None if one is not known, else True."""
    answers = [requirement.holds(observed) for requirement in requirements]
    if False in answers:
        return False
    return None if None in answers else True


def _wanted(words: str, requirements: Iterable[Requirement], observed: Observed, why: Mapping[str, str]) -> str:
    names = [name for needs in requirements for name in needs.quantities if known(observed, name) is None]
    told = (f"{name} ({why[name]})" if name in why else name for name in dict.fromkeys(names))
    return f"{words} {', '.join(told)}"
