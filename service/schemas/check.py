"""Rules held against what was observed. Layer: service.schemas."""

from typing import Literal

from engine.rules import Check
from service.edge.model import Model
from service.schemas.terms import in_terms


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
        reason=in_terms(check.reason) or None,
        note=check.note or None,
    )
