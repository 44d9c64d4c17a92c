"""POST /v1/stability-tests/waterline: freeboards and marks to a floating ship. Layer: service.resources."""

from typing import Any

from fastapi import APIRouter

from engine.diagnosis.survey import diagnose_survey
from engine.record.noticed import of_ship, of_survey
from engine.record.solve import survey
from service.demo import demo_record
from service.edge.axes import from_ship_frame
from service.edge.model import Model
from service.edge.operation import operation
from service.edge.provenance import Provenance
from service.schemas.common import CAUTIONS, Finding, findings
from service.schemas.diagnosis import survey_diagnoses
from service.schemas.record import SurveyedShip
from service.schemas.waterline import WaterlineAnswer, waterline

router = APIRouter()


class WaterlineStepAnswer(Model):
    """The floating plane as the heights were read."""

    waterline: WaterlineAnswer
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...] = CAUTIONS
    provenance: Provenance = Provenance()


def example() -> dict[str, Any]:
    """Return the demo's survey."""
    record = demo_record()
    return {name: record[name] for name in ("vessel", "hull", "water", "freeboards")}


@operation(
    router,
    "/v1/stability-tests/waterline",
    request=SurveyedShip,
    response=WaterlineStepAnswer,
    operation_id="compute_waterline",
    summary="Freeboards and draft marks: floating plane, hog or sag, displacement",
    example=example,
    tag="stability tests",
)
def compute(request: SurveyedShip) -> WaterlineStepAnswer:
    """Return the floating plane by weighted least squares, every reading's residual, and the ship's hydrostatics."""
    record, found = request.record()
    surveyed = survey(record)
    named = diagnose_survey(heights=record.heights, length_bp_m=record.length_bp_m)
    answer = WaterlineStepAnswer(
        waterline=waterline(surveyed, record, survey_diagnoses(named)),
        findings=findings((*found, *of_survey(surveyed), *of_ship(record, surveyed))),
    )
    return from_ship_frame(answer, request.axes, length_bp_m=request.hull.length_bp_m)
