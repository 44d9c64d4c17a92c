"""POST /v1/stability-tests/readiness. Layer: service.resources."""

from datetime import date
from typing import Annotated, Any

from fastapi import APIRouter
from pydantic import Field

from engine.errors import EngineError
from engine.planning.berth import Berth
from engine.planning.readiness import Facts, readiness
from engine.planning.who_brings import who_brings
from service.edge.operation import operation
from service.edge.rule_folder import rule_sets
from service.schemas.common import Label
from service.schemas.readiness import (
    Afloat,
    BerthAsked,
    CertificateAsked,
    Deadweight,
    DeviationAsked,
    ExtraNeed,
    LimitedAsked,
    NeedChangeAsked,
    PlannedCounts,
    Statement,
    unique,
)
from service.schemas.readiness_answer import ReadinessAnswer, answer_of
from service.schemas.schedule import WorkingDays

router = APIRouter()


class ReadinessRequest(WorkingDays):
    """What is known so far; whatever is left out is not yet known."""

    today: date
    test_date: date
    rules: Annotated[tuple[Label, ...], Field(max_length=50)] | None = None
    """Rule sets whose numbers are held against; all built-in ones about a test unless given."""
    statements: Annotated[tuple[Statement, ...], Field(max_length=500)] = ()
    afloat: Afloat | None = None
    deadweight: Deadweight | None = None
    berth: BerthAsked | None = None
    wind: LimitedAsked = LimitedAsked()
    current: LimitedAsked = LimitedAsked()
    certificates: Annotated[tuple[CertificateAsked, ...], Field(max_length=500)] = ()
    planned: PlannedCounts | None = None
    """Instruments, weights and cranes; without them only what every test needs is asked for."""
    who_brings_changes: Annotated[tuple[NeedChangeAsked, ...], Field(max_length=500)] = ()
    extra_needs: Annotated[tuple[ExtraNeed, ...], Field(max_length=200)] = ()
    procedure_lodged: date | None = None
    deviations: Annotated[tuple[DeviationAsked, ...], Field(max_length=200)] = ()


EXAMPLE: dict[str, Any] = {
    "today": "2026-06-08",
    "test_date": "2026-06-17",
    "procedure_lodged": "2026-05-29",
    "statements": [
        {"precondition": "procedure-accepted", "met": True},
        {"precondition": "tanks-empty-dry", "met": False},
        {"precondition": "drawing-profiles", "met": False},
    ],
    "afloat": {"list_deg": 0.2, "trim_m": 0.4, "length_bp_m": 60.0},
    "deadweight": {"lightship_t": 1500.0, "surplus_t": 21.0, "missing_t": 3.0, "liquids_t": 6.0},
    "berth": {
        "soundings_m": [4.2, 3.9, 4.4],
        "hull": {"draft_m": 3.2, "trim_m": 0.4, "heel_deg": 3.0, "half_breadth_m": 5.5},
        "tide": {"time_min": [300, 660, 1030], "height_m": [0.2, 1.8, 0.1]},
        "start_min": 540,
        "duration_min": 240,
    },
    "wind": {"forecast_m_per_s": 4.0, "limit_m_per_s": 6.0},
    "certificates": [{"kind": "weight", "name": "W1", "issued": "2026-05-20", "valid_until": "2027-05-20"}],
    "planned": {"pendulums_count": 3, "weights_count": 4, "ship_crane": True},
    "who_brings_changes": [{"need": "weights", "party": "yard", "confirmed": True}],
    "deviations": [{"precondition": "drawing-profiles", "state": "accepted"}],
}


@operation(
    router,
    "/v1/stability-tests/readiness",
    request=ReadinessRequest,
    response=ReadinessAnswer,
    operation_id="assess_readiness",
    summary="Whether everything is ready for the test, and what blocks it",
    example=EXAMPLE,
    tag="stability tests",
)
def assess(request: ReadinessRequest) -> ReadinessAnswer:
    """Return every precondition met, not met or not yet known, with its clause, and by when it must be mended.

    Nothing left out is assumed. Who brings what is computed from the planned instruments and weights, and can be
    changed.
    """
    needs = who_brings(
        request.planned.planned() if request.planned else PlannedCounts().planned(),
        changes=[one.change() for one in request.who_brings_changes],
        extra=[one.need() for one in request.extra_needs],
    )
    sets = rule_sets().named(request.rules, subject="test")
    made = readiness(
        today=request.today,
        test_date=request.test_date,
        days=request.calendar(),
        facts=Facts(
            statements=unique(request.statements),
            observed=_observed(request),
            berth=_berth(request.berth),
            wind=request.wind.limited(),
            current=request.current.limited(),
            certificates=[one.certificate() for one in request.certificates],
            needs=needs,
            procedure_lodged=request.procedure_lodged,
            deviations=[one.deviation() for one in request.deviations],
        ),
        rule_sets=sets,
    )
    return answer_of(
        made,
        today=request.today,
        test_date=request.test_date,
        needs=needs,
        rule_sets=tuple(f"{one.name} {one.version}" for one in sets),
    )


def _observed(request: ReadinessRequest) -> dict[str, float]:
    parts = (request.afloat, request.deadweight, request.planned)
    return {name: value for part in parts if part is not None for name, value in part.observed().items()}


def _berth(asked: BerthAsked | None) -> Berth:
    if asked is None:
        return Berth()
    try:
        return asked.berth()
    except EngineError as error:
        raise error.at("berth") from error
