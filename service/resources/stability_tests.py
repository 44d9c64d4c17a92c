"""POST /v1/stability-tests: a whole record. Layer: service.resources."""

from fastapi import APIRouter

from engine.errors import NotDeterminedError
from engine.record.budget import Uncertainty
from engine.record.noticed import noticed
from engine.record.observed import observed
from engine.record.record import Record
from engine.record.solve import Solution, solve
from engine.rules import assess
from service.demo import demo_record
from service.edge.axes import from_ship_frame
from service.edge.model import Model
from service.edge.operation import operation
from service.edge.provenance import Provenance
from service.edge.rule_folder import rule_sets
from service.resources.incline import as_inclined_of, incline_of, reason, spread_of
from service.schemas.check import CheckAnswer, check_answer
from service.schemas.common import CAUTIONS, Finding, NotDetermined, findings, not_determined
from service.schemas.deadweight import UPRIGHT, DeadweightAnswer, deadweight_answer
from service.schemas.incline_answer import InclineAnswer
from service.schemas.lightship import LightshipAnswer, lightship_answer
from service.schemas.record import StabilityTest
from service.schemas.waterline import AsInclined, WaterlineAnswer, waterline

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


@operation(
    router,
    "/v1/stability-tests",
    request=StabilityTest,
    response=StabilityTestAnswer,
    operation_id="compute_stability_test",
    summary="A whole stability test: from hull and readings to the lightship",
    example=demo_record,
    tag="stability tests",
)
def compute(request: StabilityTest) -> StabilityTestAnswer:
    """Return the floating position, GM both ways, the lightship with its uncertainty, and the rules met and not met."""
    sets = rule_sets().named(request.rules, subject="test")
    record, found = request.record()
    solved = solve(record)
    if solved.surveyed is None and not record.items:
        raise solved.not_done["waterline"]
    spread = spread_of(record, solved)
    seen = observed(record, solved, spread)
    answer = StabilityTestAnswer(
        waterline=_waterline(solved, record),
        as_inclined=as_inclined_of(record, solved),
        incline=incline_of(record, solved, spread),
        deadweight=_deadweight(solved, record, request),
        lightship=_lightship(solved, spread, request),
        checks=tuple(check_answer(one) for one in assess(sets, seen)),
        findings=findings((*found, *noticed(record, solved, spread))),
        provenance=Provenance(rule_sets=tuple(f"{one.name} {one.version}" for one in sets)),
    )
    return from_ship_frame(answer, request.axes, length_bp_m=request.hull.length_bp_m)


def _waterline(solved: Solution, record: Record) -> WaterlineAnswer | NotDetermined:
    return reason(solved, "waterline") if solved.surveyed is None else waterline(solved.surveyed, record)


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
        return reason(solved, "waterline", "incline", "lightship")
    return lightship_answer(
        solved,
        None if spread is None else spread.budget,
        items=[one.name for one in request.items],
        weights=[one.id for one in request.weights],
        tanks=[one.name for one in request.tanks],
    )
