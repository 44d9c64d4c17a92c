"""Readiness: every precondition of a stability test met, not met or not yet known. Layer: engine.planning.

Three kinds of precondition: a statement somebody makes (data: ``readiness_items.json``), a number held against the rule
sets, and what is computed from dates, soundings, tide and forecast. Each carries its clause and how well that is known,
who mends it, and by when.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Literal

from engine.errors import InputError
from engine.planning.berth import Berth, Water, water_at
from engine.planning.calendar_days import Interval, WorkCalendar, checked_day
from engine.planning.precondition import (
    DeviationState,
    Outcome,
    Precondition,
    computed_row,
    of_check,
    of_need,
    rule_quantities,
    statement_rows,
)
from engine.planning.who_brings import Need
from engine.rules import RuleSet, assess, built_in_sets

CertificateKind = Literal["weight", "scale", "instrument", "gas_free", "crane", "other"]
Verdict = Literal["ready", "not_ready", "not_yet_known"]
_OUTCOME_OF: dict[DeviationState, Outcome] = {"accepted": "met", "requested": "not_yet_known", "refused": "not_met"}


@dataclass(frozen=True)
class Certificate:
    """A certificate or calibration.

    Attributes
    ----------
    kind : str
        Of what.
    name : str
        The caller's name for it.
    issued, valid_until : date or None
        Valid up to and on the last day.
    """

    kind: CertificateKind
    name: str
    issued: date | None = None
    valid_until: date | None = None


@dataclass(frozen=True)
class Limited:
    """A forecast and the limit somebody set for this test; None where not known. [m/s]"""

    forecast_m_per_s: float | None = None
    limit_m_per_s: float | None = None


@dataclass(frozen=True)
class Deviation:
    """A deviation from a precondition: asked for, accepted or refused (46 CFR 170.190)."""

    precondition: str
    state: DeviationState


@dataclass(frozen=True)
class Facts:
    """What is known.

    Attributes
    ----------
    statements : mapping of str to bool
        By the ids of the data; what is left out is not yet known.
    observed : mapping of str to float
        By the names of the rules' observed quantities; what is left out is not yet known.
    procedure_lodged : date or None
        The day the procedure went to the authority.
    needs : sequence of Need
        Equipment and people, as ``who_brings`` returns them.
    """

    statements: Mapping[str, bool] = field(default_factory=dict)
    observed: Mapping[str, float] = field(default_factory=dict)
    berth: Berth = field(default_factory=Berth)
    wind: Limited = field(default_factory=Limited)
    current: Limited = field(default_factory=Limited)
    certificates: Sequence[Certificate] = ()
    needs: Sequence[Need] = ()
    procedure_lodged: date | None = None
    deviations: Sequence[Deviation] = ()


@dataclass(frozen=True)
class Readiness:
    """The whole list and what comes of it.

    Attributes
    ----------
    verdict : {"ready", "not_ready", "not_yet_known"}
        Not ready if anything required is not met and no deviation is accepted; else not yet known if anything required
        is not known; else ready.
    blocking, unknown : tuple of str
        Ids of the required preconditions that are not met, and not yet known; the first to be mended first.
    advised : tuple of str
        Ids of what is advised only and not met.
    water : Water
        Depth and tide.
    """

    verdict: Verdict
    preconditions: tuple[Precondition, ...]
    blocking: tuple[str, ...]
    unknown: tuple[str, ...]
    advised: tuple[str, ...]
    water: Water


def readiness(
    *,
    today: date,
    test_date: date,
    days: WorkCalendar,
    facts: Facts,
    rule_sets: Sequence[RuleSet] | None = None,
) -> Readiness:
    """Hold what is known against every precondition.

    Parameters
    ----------
    today, test_date : date
        The day is not checked against today: a test may be gone through after it.
    days : WorkCalendar
        For the days by which things must be mended.
    facts : Facts
        What is known.
    rule_sets : sequence of RuleSet, optional
        The numbers; the built-in sets unless given.

    Raises
    ------
    InputError
        ``unknown-precondition``, ``duplicate-id``, ``date-out-of-range``, and what the parts raise.

    Notes
    -----
    The clauses are those of 46 CFR part 170 and the 2008 IS Code, Part B, chapter 8 and Annex 1; the days by which a
    thing is due and the time mending takes are our choice (docs/methods/readiness.md).
    """
    checked_day(today, field="today")
    checked_day(test_date, field="test_date")
    water = water_at(facts.berth)
    ours = [
        *_statements(facts.statements),
        *_numbers(facts, test_date, rule_sets),
        *_water(water),
        *_weather(facts),
        *_certificates(facts.certificates, test_date),
    ]
    rows = _with_deviations(ours, [of_need(need) for need in facts.needs], facts.deviations)
    dated = [_dated(row, today=today, test_date=test_date, days=days) for row in rows]
    needed = sorted((row for row in dated if row.level == "required"), key=lambda row: (row.begin_by, row.due))
    blocking = tuple(row.id for row in needed if row.blocks)
    unknown = tuple(row.id for row in needed if row.outcome == "not_yet_known")
    return Readiness(
        verdict="not_ready" if blocking else "not_yet_known" if unknown else "ready",
        preconditions=tuple(sorted(dated, key=lambda row: row.topic_rank)),
        blocking=blocking,
        unknown=unknown,
        advised=tuple(row.id for row in dated if row.level == "advised" and row.outcome == "not_met"),
        water=water,
    )


def _outcome(known: bool | None) -> Outcome:
    return "not_yet_known" if known is None else "met" if known else "not_met"


def _statements(given: Mapping[str, bool]) -> list[Precondition]:
    rows = statement_rows()
    for rank, name in enumerate(given):
        if name not in rows:
            words = f"there is no such statement; there are {', '.join(rows)}"
            raise InputError(words, code="unknown-precondition", field=f"statements/{rank}")
    return [replace(row, outcome=_outcome(given.get(name))) for name, row in rows.items()]


def _numbers(facts: Facts, test_date: date, rule_sets: Sequence[RuleSet] | None) -> list[Precondition]:
    observed = dict(facts.observed)
    if facts.procedure_lodged is not None:
        observed["procedure_notice_days"] = float((test_date - facts.procedure_lodged).days)
    issued = [one.issued for one in facts.certificates if one.kind == "weight"]
    if issued and None not in issued:
        observed["weight_certificate_age_days"] = float(max((test_date - day).days for day in issued if day))
    checks = assess(built_in_sets("test") if rule_sets is None else rule_sets, observed)
    return [of_check(check, test_date) for check in checks if check.quantity in rule_quantities()]


def _water(water: Water) -> list[Precondition]:
    return [
        replace(computed_row("depth"), outcome=_outcome(water.deep_enough), reason=water.reason),
        replace(computed_row("tide-window"), outcome=_outcome(water.in_time), reason=water.reason),
    ]


def _weather(facts: Facts) -> list[Precondition]:
    return [_limited(computed_row("wind"), facts.wind), _limited(computed_row("current"), facts.current)]


def _limited(row: Precondition, one: Limited) -> Precondition:
    value, limit = one.forecast_m_per_s, one.limit_m_per_s
    if limit is None:
        return replace(row, value=value, unit="m/s", reason="no limit is set for this test; no text gives one")
    known = None if value is None else value <= limit
    reason = "no forecast is given" if value is None else ""
    return replace(row, outcome=_outcome(known), value=value, limit=limit, unit="m/s", reason=reason)


def _certificates(given: Sequence[Certificate], test_date: date) -> list[Precondition]:
    rows = [_certificate(one, rank, test_date) for rank, one in enumerate(given)]
    if not any(one.kind == "weight" for one in given):
        rows.append(replace(computed_row("certificate-weight"), reason="no certificate of a weight is given"))
    return rows


def _certificate(one: Certificate, rank: int, test_date: date) -> Precondition:
    for name, day in (("issued", one.issued), ("valid_until", one.valid_until)):
        if day is not None:
            checked_day(day, field=f"certificates/{rank}/{name}")
    row = replace(computed_row(f"certificate-{one.kind}"), id=f"certificate-{rank}", name=one.name)
    if one.issued is not None and one.issued > test_date:
        late = (one.issued - test_date).days
        return replace(row, outcome="not_met", reason=f"issued {late} days after the test")
    if one.valid_until is None:
        return replace(row, reason="the last day of its validity is not given")
    short = (test_date - one.valid_until).days
    if short > 0:
        return replace(row, outcome="not_met", reason=f"runs out {short} days before the test")
    return replace(row, outcome="met", reason=f"valid {-short} days beyond the test")


def _with_deviations(
    ours: list[Precondition], needs: list[Precondition], deviations: Sequence[Deviation]
) -> list[Precondition]:
    """Mark the preconditions deviated from, and add a row for each deviation; the needs' names are the caller's."""
    rows = [*ours, *needs]
    places = {row.id: place for place, row in enumerate(rows)}
    marked, added = list(rows), []
    for rank, one in enumerate(deviations):
        if one.precondition not in places:
            where = f"deviations/{rank}/precondition"
            words = f"there is no such precondition; but for the needs there are {', '.join(row.id for row in ours)}"
            raise InputError(words, code="unknown-precondition", field=where)
        place = places[one.precondition]
        if marked[place].deviation is not None:
            where = f"deviations/{rank}/precondition"
            raise InputError("an earlier deviation is from the same", code="duplicate-id", field=where)
        marked[place] = replace(marked[place], deviation=one.state)
        outcomes: dict[DeviationState, Outcome] = {
            "accepted": "met",
            "requested": "not_yet_known",
            "refused": "not_met",
        }
        row = replace(computed_row("deviation"), id=f"deviation-{rank}", outcome=outcomes[one.state])
        added.append(replace(row, deviates_from=one.precondition))
    return marked + added


def _dated(row: Precondition, *, today: date, test_date: date, days: WorkCalendar) -> Precondition:
    """Return the row with its days, and whether it blocks the test."""
    due = row.due or days.before(test_date, Interval(row.due_working_days, "working_days"))
    begin = days.before(due, Interval(row.mend_working_days, "working_days"))
    open_ = row.outcome != "met" and row.deviation != "accepted"
    return replace(
        row,
        due=due,
        begin_by=begin,
        blocks=row.level == "required" and row.outcome == "not_met" and row.deviation != "accepted",
        too_late=open_ and begin < today,
    )
