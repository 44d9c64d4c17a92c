"""Rules held against what was observed. Layer: service.schemas."""

from collections.abc import Sequence
from functools import lru_cache
from typing import Literal

from engine.errors import InputError
from engine.rules import Check, RuleSet, built_in_sets
from service.edge.model import Model


class CheckAnswer(Model):
    """One rule and what came of it."""

    rule_set: str
    rule: str
    title: str
    clause: str
    source: str
    """Where the number comes from, and how well that is known."""
    level: Literal["required", "advised"]
    quantity: str
    """What was compared."""
    comparison: Literal["at_least", "at_most", "within"]
    value: float | None = None
    limit: float | None = None
    upper_limit: float | None = None
    """Only where the comparison is `within`."""
    margin: float | None = None
    """How far inside the limit, negative outside; in `unit`."""
    unit: str
    outcome: Literal["met", "not_met", "not_assessed"]
    reason: str | None = None
    """Why it was not assessed, or that the clause's alternative is met."""
    note: str | None = None


def check_answer(check: Check) -> CheckAnswer:
    """Return a check as the answer has it."""
    return CheckAnswer(
        rule_set=check.rule_set,
        rule=check.rule,
        title=check.title,
        clause=check.clause,
        source=check.source,
        level=check.level,
        quantity=check.quantity,
        comparison=check.comparison,
        value=check.value,
        limit=check.limit,
        upper_limit=check.upper_limit,
        margin=check.margin,
        unit=check.unit,
        outcome=check.outcome,
        reason=check.reason or None,
        note=check.note or None,
    )


@lru_cache(maxsize=1)
def every_set() -> tuple[RuleSet, ...]:
    """Return the sets about a stability test."""
    return built_in_sets("test")


def chosen_sets(names: Sequence[str] | None) -> tuple[RuleSet, ...]:
    """Return the sets of these names, all where none are named.

    Raises
    ------
    InputError
        ``rule-set-unknown`` at ``rules/i``.
    """
    by_name = {one.name: one for one in every_set()}
    if names is None:
        return tuple(by_name.values())
    for i, name in enumerate(names):
        if name not in by_name:
            raise InputError("no rule set has this name", code="rule-set-unknown", field=f"rules/{i}")
    return tuple(by_name[name] for name in names)
