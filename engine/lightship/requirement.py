"""Is a full test needed, a survey enough, or neither? Layer: engine.lightship.

Each rule set is asked on its own: what it asks for in the situation (new ship, sister of an inclined ship, ship in
service with an approved lightship), and what its triggers add. The answer is the strictest of the sets that speak.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from engine.errors import InputError, NotDeterminedError
from engine.lightship.aggregate import WeightHistory, weight_history
from engine.lightship.assumed_vcg import AssumedVcg, TankVessel, assumed_vcg
from engine.lightship.deviation import Lengths
from engine.lightship.particulars import Lightship
from engine.lightship.set_decision import RANK, Change, ClauseOutcome, ClauseRow, SetDecision, Staged, changes, decide
from engine.lightship.trigger_rows import Compared, TriggerRow, trigger_rows
from engine.lightship.triggers import Baseline, Decision, ShipKind, Situation, TriggerSet
from engine.survey.ledger import Item


@dataclass(frozen=True)
class RequiredTest:
    """The answer, and what it stands on."""

    situation: Situation
    decision: Decision
    reason: str
    by_rule_set: tuple[SetDecision, ...]
    clauses: tuple[ClauseRow, ...]
    rows: tuple[Staged, ...]
    would_change: tuple[Change, ...]
    history: WeightHistory | None
    assumed: AssumedVcg | None


@dataclass(frozen=True)
class Case:
    """The case put to the rule sets.

    Attributes
    ----------
    lengths : Lengths
        Of the ship; for a sister the lead ship's length between perpendiculars.
    ship_kind : {"passenger", "cargo"}
        A cargo ship is any that is not a passenger ship.
    approved, sister : Lightship or None
        Her own approved lightship (a ship in service) or that of an inclined sister; neither for a new ship.
    history : sequence of Item
        Changes since the approved lightship, or documented differences from the sister.
    survey : Lightship or None
        What a lightweight survey found, if there was one.
    since_last_survey_days : float or None
        [d]
    tank_vessel : TankVessel or None
        For 46 CFR 170.200.
    """

    lengths: Lengths
    ship_kind: ShipKind
    approved: Lightship | None = None
    sister: Lightship | None = None
    history: Sequence[Item] = ()
    survey: Lightship | None = None
    since_last_survey_days: float | None = None
    tank_vessel: TankVessel | None = None

    @property
    def situation(self) -> Situation:
        """In service, a sister, or new."""
        return "in_service" if self.approved is not None else "sister" if self.sister is not None else "new"

    @property
    def reference(self) -> Lightship | None:
        """What the history starts from."""
        return self.approved if self.approved is not None else self.sister


def required_test(sets: Sequence[TriggerSet], case: Case) -> RequiredTest:
    """Decide between full test, survey only and neither.

    Parameters
    ----------
    sets : sequence of TriggerSet
        The rule sets to ask.
    case : Case
        The ship.

    Raises
    ------
    InputError
        ``approved-or-sister``: both are given. ``no-reference``: a history or a survey, and nothing it starts from.
    NotDeterminedError
        ``requirement-not-determined``: no set decides. ``lightship-not-positive``: of the history.
    """
    _check(case)
    case.lengths.checked()
    reference = case.reference
    history = None if reference is None else weight_history(start=reference, items=case.history)
    assumed = None if case.tank_vessel is None else assumed_vcg(case.tank_vessel)
    clauses, rows, by_set, would_change = [], [], [], []
    for one in sets:
        ours = [_clause(one.name, baseline, case) for baseline in one.baselines if _concerns(baseline, case)]
        if not ours:
            continue
        if assumed is not None and one.vcg is not None and one.vcg.kind == "tank_vessel":
            ours.append(_assumed_row(one, assumed))
        staged = [] if history is None else _rows(one, case, history)
        decided = decide(one.name, ours, staged)
        clauses += ours
        rows += staged
        by_set.append(decided)
        would_change += changes(decided, ours, staged)
    known = [one for one in by_set if one.decision is not None]
    if not known:
        raise NotDeterminedError(
            "none of the rule sets chosen decides this case with what is given",
            code="requirement-not-determined",
            field="rules",
        )
    strictest = max(known, key=lambda one: RANK[one.decision or "neither"])
    return RequiredTest(
        situation=case.situation,
        decision=strictest.decision or "neither",
        reason="; ".join(strictest.reasons),
        by_rule_set=tuple(by_set),
        clauses=tuple(clauses),
        rows=tuple(rows),
        would_change=tuple(would_change),
        history=history,
        assumed=assumed,
    )


def _check(case: Case) -> None:
    if case.approved is not None and case.sister is not None:
        raise InputError("either the approved lightship or a sister's", code="approved-or-sister", field="sister")
    for field in ("history", "survey"):
        if getattr(case, field) and case.reference is None:
            name = {"history": "weight_history"}.get(field, field)
            raise InputError("needs the lightship it is held against", code="no-reference", field=name)
    if case.survey is not None:
        case.survey.checked()


def _concerns(baseline: Baseline, case: Case) -> bool:
    return case.situation in baseline.situations and (not baseline.ship_kinds or case.ship_kind in baseline.ship_kinds)


def _clause(rule_set: str, baseline: Baseline, case: Case) -> ClauseRow:
    outcome: ClauseOutcome = "applies"
    reason, length, age = "", case.lengths.load_line_length_m, case.since_last_survey_days
    if baseline.permissive:
        outcome = "authority_may_allow"
    elif baseline.least_load_line_length_m and length is None:
        outcome, reason = "not_assessed", "the load-line length is not given"
    elif baseline.least_load_line_length_m and length is not None and length < baseline.least_load_line_length_m:
        outcome, reason = "does_not_apply", f"L is {length:.6g} m, below {baseline.least_load_line_length_m:.6g} m"
    elif baseline.interval_days is not None and age is None:
        outcome, reason = "not_assessed", "the time since the last survey is not given"
    elif baseline.interval_days is not None and age is not None and age <= baseline.interval_days:
        outcome, reason = "not_due", f"{age:.6g} d since the last survey, due after {baseline.interval_days:.6g} d"
    return ClauseRow(
        rule_set=rule_set,
        rule=baseline.id,
        title=baseline.title,
        clause=baseline.clause,
        source=baseline.source,
        source_status=baseline.source_status,
        decision=baseline.decision,
        outcome=outcome,
        reason=reason,
        note=baseline.note,
    )


def _assumed_row(one: TriggerSet, assumed: AssumedVcg) -> ClauseRow:
    if one.vcg is None:
        raise ValueError("the set gives no VCG")
    words = ", ".join(assumed.failed or assumed.not_stated)
    reason = f"{'does not meet' if assumed.failed else 'not stated'}: {words}" if words else ""
    return ClauseRow(
        rule_set=one.name,
        rule=one.vcg.id,
        title=one.vcg.title,
        clause=one.vcg.clause,
        source=one.vcg.source,
        source_status=one.vcg.source_status,
        decision="survey_only",
        outcome=assumed.outcome,
        reason=reason,
        note=one.vcg.note,
    )


def _rows(one: TriggerSet, case: Case, history: WeightHistory) -> list[Staged]:
    """Triggers by the calculated lightship, and by the survey, or those that wait for one."""
    calculated = history.calculated
    start = case.reference or calculated
    against: Literal["approved", "sister"] = "approved" if case.situation == "in_service" else "sister"

    def compare(derived: Lightship) -> tuple[TriggerRow, ...]:
        compared = Compared(against, derived, start, case.lengths, history.aggregate_t, calculated)
        return trigger_rows((one,), compared, ship_kind=case.ship_kind)

    found = case.survey
    agreeing = Compared("predicted", found or calculated, calculated, case.lengths)
    by_survey = () if against == "sister" else trigger_rows((one,), agreeing, ship_kind=case.ship_kind)
    staged = [Staged("anticipated", row) for row in compare(calculated)]
    if found is None:
        return staged + [Staged("awaited", _awaited(row)) for row in by_survey]
    again = [row for row in compare(found) if row.quantity != "aggregate_percent"]
    return staged + [Staged("found", row) for row in (*again, *by_survey)]


def _awaited(row: TriggerRow) -> TriggerRow:
    """Return the row of a survey that is still to be made: its limit, no value."""
    return replace(
        row,
        value=None,
        value_t=None,
        value_m=None,
        allowance_t=None,
        standard_uncertainty=None,
        exceedance_ratio=None,
        certainty=None,
        outcome="not_assessed",
        reason="there is no survey yet",
    )
