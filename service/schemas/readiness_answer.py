"""The list of a test's preconditions as it is answered. Layer: service.schemas."""

from datetime import date
from typing import Literal

from engine.planning.practice import Responsible
from engine.planning.precondition import DeviationState, Outcome, Precondition, Topic
from engine.planning.readiness import Readiness
from engine.planning.who_brings import Kind, Need
from engine.rules.rule import Level, SourceStatus
from service.edge.model import Model
from service.edge.provenance import Provenance
from service.schemas.common import CAUTIONS
from service.schemas.terms import in_terms


class PreconditionRow(Model):
    """A precondition: what, whether, by what clause, who mends it and by when."""

    id: str
    topic: Topic
    title: str
    name: str | None = None
    """Of a certificate, as given."""
    outcome: Outcome
    level: Level
    """Only what is required can block the test."""
    clause: str
    source: str
    source_status: SourceStatus
    responsible: Responsible
    due: date
    """The day by which it must hold."""
    begin_by: date
    """The day by which mending must begin."""
    blocks: bool
    too_late: bool
    """Open, and the day to begin is past."""
    value: float | None = None
    limit: float | None = None
    upper_limit: float | None = None
    comparison: str | None = None
    unit: str | None = None
    deviation: DeviationState | None = None
    deviates_from: str | None = None
    reason: str | None = None


class NeedRow(Model):
    """A thing or a person needed, and who brings it."""

    id: str
    kind: Kind
    title: str
    need_count: int
    party: Responsible
    party_set: bool
    """Set by the request; else common practice, no source."""
    confirmed: bool | None = None
    clause: str
    source: str
    source_status: SourceStatus
    """Of the need itself."""


class TideWindow(Model):
    """Hours with enough water."""

    start_min: float
    end_min: float


class ReadinessAnswer(Model):
    """Whether the test can begin, and what is in its way."""

    today: date
    test_date: date
    verdict: Literal["ready", "not_ready", "not_yet_known"]
    blocking: tuple[str, ...]
    """Required and not met, the first to be mended first."""
    unknown: tuple[str, ...]
    """Required and not yet known, the first to be mended first."""
    advised: tuple[str, ...]
    """Advised and not met."""
    preconditions: tuple[PreconditionRow, ...]
    tide_needed_m: float | None = None
    """Height of tide without which there is not enough water; 0 or less: none."""
    tide_windows: tuple[TideWindow, ...]
    who_brings: tuple[NeedRow, ...]
    cautions: tuple[str, ...] = CAUTIONS
    provenance: Provenance = Provenance()


def answer_of(
    made: Readiness, *, today: date, test_date: date, needs: tuple[Need, ...], rule_sets: tuple[str, ...]
) -> ReadinessAnswer:
    """Return a readiness as the answer has it."""
    return ReadinessAnswer(
        today=today,
        test_date=test_date,
        verdict=made.verdict,
        blocking=made.blocking,
        unknown=made.unknown,
        advised=made.advised,
        preconditions=tuple(_row(one) for one in made.preconditions),
        tide_needed_m=made.water.tide_needed_m,
        tide_windows=tuple(TideWindow(start_min=one.start_min, end_min=one.end_min) for one in made.water.windows),
        who_brings=tuple(_need(need) for need in needs),
        provenance=Provenance(rule_sets=rule_sets),
    )


def _row(one: Precondition) -> PreconditionRow:
    if one.due is None:
        raise AssertionError("readiness() dates every precondition")
    held = one.value is not None or one.limit is not None
    return PreconditionRow(
        id=one.id,
        topic=one.topic,
        title=one.title,
        name=one.name,
        outcome=one.outcome,
        level=one.level,
        clause=one.clause,
        source=one.source,
        source_status=one.source_status,
        responsible=one.responsible,
        due=one.due,
        begin_by=one.begin_by,
        blocks=one.blocks,
        too_late=one.too_late,
        value=one.value,
        limit=one.limit,
        upper_limit=one.upper_limit,
        comparison=one.comparison or None,
        unit=one.unit if held else None,
        deviation=one.deviation,
        deviates_from=one.deviates_from,
        reason=in_terms(one.reason) or None,
    )


def _need(need: Need) -> NeedRow:
    return NeedRow(
        id=need.id,
        kind=need.kind,
        title=need.title,
        need_count=need.need_count,
        party=need.party,
        party_set=need.party_set,
        confirmed=need.confirmed,
        clause=need.clause,
        source=need.source,
        source_status=need.source_status,
    )
