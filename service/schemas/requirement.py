"""What rule sets ask for, and the clauses and triggers behind it. Layer: service.schemas."""

from typing import Literal

from engine.lightship.requirement import RequiredTest
from engine.lightship.triggers import Decision
from service.edge.model import Model
from service.schemas.comparison import TriggerAnswer, trigger_answer


class ClauseAnswer(Model):
    """A clause without a deviation: what it asks for, and whether it applies."""

    rule_set: str
    rule: str
    title: str
    clause: str
    source: str
    source_status: str
    decision: Decision
    outcome: Literal["applies", "does_not_apply", "not_due", "not_assessed", "authority_may_allow"]
    reason: str | None = None
    note: str | None = None


class StagedTrigger(Model):
    """A trigger by the weight calculation, by the survey, or one that waits for a survey."""

    stage: Literal["anticipated", "found", "awaited"]
    trigger: TriggerAnswer


class SetAnswer(Model):
    """What one rule set asks for; no decision where what it depends on is not given."""

    rule_set: str
    decision: Decision | None = None
    amended_information: bool
    reasons: tuple[str, ...]


class ChangeAnswer(Model):
    """What would change a set's decision, and to what."""

    rule_set: str
    rule: str
    clause: str
    decision: Decision
    condition: str
    allowance_t: float | None = None
    """Mass still to be changed before it."""


class RuleSetsAnswer(Model):
    """The strictest of the sets that speak of the case, each set by itself, and every row behind it."""

    requirement: Decision
    reason: str
    by_rule_set: tuple[SetAnswer, ...]
    clauses: tuple[ClauseAnswer, ...]
    triggers: tuple[StagedTrigger, ...]
    would_change: tuple[ChangeAnswer, ...]


def by_rule_sets(found: RequiredTest) -> RuleSetsAnswer:
    """Return the sets, clauses, triggers and changes of a decision as the answer has them."""
    return RuleSetsAnswer(
        requirement=found.decision,
        reason=found.reason,
        by_rule_set=tuple(SetAnswer(**vars(one)) for one in found.by_rule_set),
        clauses=tuple(
            ClauseAnswer(**{**vars(one), "reason": one.reason or None, "note": one.note or None})
            for one in found.clauses
        ),
        triggers=tuple(StagedTrigger(stage=one.stage, trigger=trigger_answer(one.row)) for one in found.rows),
        would_change=tuple(ChangeAnswer(**vars(one)) for one in found.would_change),
    )
