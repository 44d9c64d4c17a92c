"""POST /v1/stability-tests: a whole record. Layer: service.resources."""

import json
from importlib.resources import files
from typing import Any

from fastapi import APIRouter

from engine.errors import NotDeterminedError
from engine.record.budget import Uncertainty, uncertainty
from engine.record.chain import Chain
from engine.record.noticed import noticed
from engine.record.observed import observed
from engine.record.record import Record
from engine.record.solve import Solution, solve
from engine.rules import assess
from service.edge.axes import from_ship_frame
from service.edge.model import Model
from service.edge.operation import operation
from service.edge.provenance import Provenance
from service.schemas.check import CheckAnswer, check_answer, chosen_sets
from service.schemas.common import CAUTIONS, Finding, NotDetermined, findings, not_determined
from service.schemas.deadweight import UPRIGHT, DeadweightAnswer, deadweight_answer
from service.schemas.incline_answer import InclineAnswer, incline_answer
from service.schemas.lightship import LightshipAnswer, lightship_answer
from service.schemas.record import StabilityTest
from service.schemas.waterline import AsInclined, WaterlineAnswer, as_inclined, waterline

router = APIRouter()


class StabilityTestAnswer(Model):
    """Every step of the test that could be done; each other one says why it could not."""

    waterline: WaterlineAnswer | NotDetermined
    as_inclined: AsInclined | NotDetermined
    incline: InclineAnswer | NotDetermined
    deadweight: DeadweightAnswer | NotDetermined
    lightship: LightshipAnswer | NotDetermined
    checks: tuple[CheckAnswer, ...]
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...] = CAUTIONS
    provenance: Provenance = Provenance()


def demo_record() -> dict[str, Any]:
    """Return the record of the invented demonstration test."""
    record: dict[str, Any] = json.loads(files("service.demo").joinpath("record.json").read_text(encoding="utf-8"))
    return record


@operation(
    router,
    "/v1/stability-tests",
    request=StabilityTest,
    response=StabilityTestAnswer,
    operation_id="compute_stability_test",
    summary="A whole stability test: from hull and readings to the lightship",
    example=demo_record(),
    tag="stability tests",
)
def compute(request: StabilityTest) -> StabilityTestAnswer:
    """Return the floating position, GM both ways, the lightship with its uncertainty, and the rules met and not met."""
    sets = chosen_sets(request.rules)
    record, found = request.record()
    solved = solve(record)
    if solved.surveyed is None and not record.items:
        raise solved.not_done["waterline"]
    spread = _uncertainty(record, solved)
    seen = observed(record, solved, spread)
    answer = StabilityTestAnswer(
        waterline=_waterline(solved, record),
        as_inclined=_as_inclined(solved, record),
        incline=_incline(solved, spread, seen, [one.id for one in record.instruments]),
        deadweight=_deadweight(solved, record, request),
        lightship=_lightship(solved, spread, request),
        checks=tuple(check_answer(one) for one in assess(sets, seen)),
        findings=findings((*found, *noticed(record, solved, spread))),
        provenance=Provenance(rule_sets=tuple(f"{one.name} {one.version}" for one in sets)),
    )
    return from_ship_frame(answer, request.axes, length_bp_m=request.hull.length_bp_m)


def _uncertainty(record: Record, solved: Solution) -> Uncertainty | None:
    try:
        return uncertainty(Chain.of(record, solved))
    except NotDeterminedError:
        return None


def _reason(solved: Solution, *steps: str) -> NotDetermined:
    """Return the first of the steps that could not be done."""
    return not_determined(next(error for step, error in solved.not_done.items() if step in steps))


def _waterline(solved: Solution, record: Record) -> WaterlineAnswer | NotDetermined:
    return _reason(solved, "waterline") if solved.surveyed is None else waterline(solved.surveyed, record)


def _as_inclined(solved: Solution, record: Record) -> AsInclined | NotDetermined:
    if solved.inclined is not None:
        return as_inclined(solved.inclined.at_zero.afloat, solved.inclined.at_zero.centre_m, record)
    if solved.surveyed is None or record.survey_differences:  # where she lay at reading 0 then hangs on her VCG
        return _reason(solved, "waterline", "incline")
    return as_inclined(solved.surveyed.afloat, None, record)


def _incline(
    solved: Solution, spread: Uncertainty | None, seen: dict[str, float], names: list[str]
) -> InclineAnswer | NotDetermined:
    if solved.inclined is None:
        return _reason(solved, "waterline", "incline")
    return incline_answer(
        inclined=solved.inclined,
        moment_tm=solved.plateaus.moment_tm,
        names=names,
        gm_standard_uncertainty_m=None if spread is None else spread.standard_uncertainty["gm_fluid_m"],
        methods_difference_ratio=seen.get("gm_methods_difference_ratio"),
    )


def _deadweight(solved: Solution, record: Record, request: StabilityTest) -> DeadweightAnswer | NotDetermined:
    plane = UPRIGHT if solved.surveyed is None else solved.surveyed.afloat.plane
    if solved.inclined is not None:
        plane = solved.inclined.at_zero.afloat.plane
    try:
        liquids = record.liquids(normals=plane.normals) if solved.surveyed is None else solved.surveyed.liquids
    except NotDeterminedError as error:
        return not_determined(error)
    return deadweight_answer(record, liquids, plane, request, lightship_mass_t=_mass(solved))


def _mass(solved: Solution) -> float | None:
    return None if solved.derivation is None else solved.derivation.lightship.mass_t


def _lightship(solved: Solution, spread: Uncertainty | None, request: StabilityTest) -> LightshipAnswer | NotDetermined:
    if solved.derivation is None:
        return _reason(solved, "waterline", "incline", "lightship")
    return lightship_answer(
        solved,
        None if spread is None else spread.budget,
        items=[one.name for one in request.items],
        weights=[one.id for one in request.weights],
        tanks=[one.name for one in request.tanks],
    )
