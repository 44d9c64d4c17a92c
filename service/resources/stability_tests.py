"""POST /v1/stability-tests: a whole record. Layer: service.resources."""

from collections.abc import Mapping
from typing import Any

from fastapi import APIRouter

from engine.diagnosis.survey_causes import SurveyDiagnosis as EngineSurveyDiagnosis
from engine.errors import NotDeterminedError
from engine.findings import Finding as EngineFinding
from engine.flotation.tables import HydrostaticTables
from engine.geometry import Solid
from engine.lightship.deviation import Lengths
from engine.lightship.particulars import Lightship, Spread
from engine.lightship.trigger_rows import Compared, trigger_rows
from engine.lightship.triggers import trigger_sets
from engine.planning.ledger_review import ship_bounds_m
from engine.planning.suspicions import suspicious
from engine.record.budget import Uncertainty
from engine.record.diagnosed import checks_across, diagnosis_left_out, incline_diagnoses, survey_diagnoses
from engine.record.noticed import noticed
from engine.record.observed import not_observed, observed
from engine.record.of_this_ship import of_references
from engine.record.record import Record
from engine.record.solve import Solution, solve
from engine.rules import assess
from engine.stability.table_ship import TablesOfShip
from service.demo import demo_record
from service.edge.axes import from_ship_frame
from service.edge.model import Model
from service.edge.operation import operation
from service.edge.provenance import Provenance
from service.edge.rule_folder import rule_sets
from service.report.renderings import renderings
from service.report.stability_test import stability_test_report
from service.resources.incline import as_inclined_of, incline_of, reason, spread_of
from service.schemas.check import CheckAnswer, check_answer
from service.schemas.common import CAUTIONS, Finding, NotDetermined, findings, not_determined
from service.schemas.comparison import Against, ComparisonAnswerOf, StatedLightship, comparison_of, made
from service.schemas.deadweight import UPRIGHT, DeadweightAnswer, deadweight_answer
from service.schemas.diagnosis import CrossCheck, cross_checks, diagnoses
from service.schemas.diagnosis import survey_diagnoses as surveyed_faults
from service.schemas.incline_answer import InclineAnswer
from service.schemas.lightship import LightshipAnswer, lightship_answer
from service.schemas.loading_answer import ConditionResult, assess_conditions
from service.schemas.record import StabilityTest
from service.schemas.table_hull import TablesHull
from service.schemas.verdict import Verdict, verdict
from service.schemas.verdict_doubt import Doubt, of_prediction
from service.schemas.waterline import AsInclined, WaterlineAnswer, waterline

router = APIRouter()

SUSPECT = frozenset(
    {
        "displacement-out-of-scale",
        "height-inside-hull",
        "length-not-of-hull",
        "lightship-liquid-not-aboard",
        "mass-out-of-scale",
        "move-without-effect",
        "no-centre",
        "outside-ship",
    }
)
"""Findings that put the record itself in question."""
DOUBTFUL = frozenset({"double-entry", "unfair-point"})
"""Findings that put one of its inputs in doubt: it may be as entered."""


class StabilityTestAnswer(Model):
    """Every step of the test that could be done; each other one says why it could not."""

    waterline: WaterlineAnswer | NotDetermined
    as_inclined: AsInclined | NotDetermined
    incline: InclineAnswer | NotDetermined
    deadweight: DeadweightAnswer | NotDetermined
    lightship: LightshipAnswer | NotDetermined
    checks: tuple[CheckAnswer, ...]
    cross_checks: tuple[CrossCheck, ...]
    """One part of the record against another."""
    comparisons: tuple[ComparisonAnswerOf, ...]
    """Against each lightship given: approved, a sister's, predicted."""
    loading_conditions: tuple[ConditionResult, ...]
    verdict: Verdict
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
    renderings=renderings(stability_test_report, editable=True),
)
def compute(request: StabilityTest) -> StabilityTestAnswer:
    """Return the floating position, GM both ways, the lightship with its uncertainty, and the rules met and not met."""
    sets = rule_sets().named(request.rules, subject="test")
    turned = request.in_ship_frame()
    record, found = request.record()
    references = _references(turned)
    solved = solve(record)
    if solved.surveyed is None and not record.items:
        raise solved.not_done["waterline"]
    spread = spread_of(record, solved)
    seen = observed(record, solved, spread)
    named = incline_diagnoses(record, solved)
    on_survey = survey_diagnoses(record, solved, spread, references.get("predicted"))
    steps: dict[str, Any] = {
        "waterline": _waterline(solved, record, on_survey),
        "as_inclined": as_inclined_of(record, solved),
        "incline": incline_of(record, solved, spread, named, seen),
        "deadweight": _deadweight(solved, record, request),
        "lightship": _lightship(solved, spread, request),
    }
    checks = tuple(check_answer(one) for one in assess(sets, seen, not_observed(record, solved)))
    comparisons = _comparisons(turned, solved, spread, references)
    conditions = _conditions(turned, record, solved, spread)
    shown = (*noticed(record, solved, spread), *diagnosis_left_out(record), *_suspicions(record, solved, request))
    doubted = _references_doubted(record, solved, references)
    predicted: dict[Against, Lightship] = {k: v for k, v in references.items() if k == "predicted"}
    wrong_prediction = bool(_references_doubted(record, solved, predicted))
    crossed = cross_checks(checks_across(record, solved, spread, references.get("predicted")), record.instruments)
    answer = StabilityTestAnswer(
        **steps,
        checks=checks,
        cross_checks=crossed,
        comparisons=comparisons,
        loading_conditions=conditions,
        verdict=verdict(
            checks=checks,
            faults=[
                *(one for one in diagnoses(named) if one.is_fault),
                *(one for one in surveyed_faults(on_survey) if one.is_fault),
            ],
            suspicions=[one.message for one in shown if one.code in SUSPECT],
            undone=[(name, one) for name, one in steps.items() if isinstance(one, NotDetermined)],
            comparisons=comparisons,
            conditions=conditions,
            conditions_asked=bool(request.loading_conditions),
            references_doubted=[one.message for one in doubted],
            doubt=Doubt(
                crossed=[one for one in crossed if not one.agrees and not (wrong_prediction and of_prediction(one))],
                inputs=[one.message for one in (*found, *shown) if one.code in DOUBTFUL],
            ),
        ),
        findings=findings((*found, *shown, *doubted)),
        provenance=Provenance(rule_sets=tuple(f"{one.name} {one.version}" for one in sets)),
    )
    return from_ship_frame(answer, request.axes, length_bp_m=request.hull.length_bp_m)


def _suspicions(record: Record, solved: Solution, request: StabilityTest) -> list[EngineFinding]:
    """Return entries of the ledger that look wrong; nothing is repaired."""
    mass = _mass(solved)
    if mass is None:
        return []
    bounds = None if isinstance(record.hull, HydrostaticTables) else ship_bounds_m(record.hull)
    names = [one.name for one in request.items]
    found = suspicious(items=record.items, names=names, lightship_mass_t=mass, bounds_m=bounds)
    return [EngineFinding(one.code, f"items/{one.item}: {one.message}") for one in found]


def _references_doubted(
    record: Record, solved: Solution, references: Mapping[Against, Lightship]
) -> tuple[EngineFinding, ...]:
    if solved.derivation is None:
        return ()
    return tuple(of_references(record, references, solved.derivation.lightship))


def _references(turned: StabilityTest) -> dict[Against, Lightship]:
    stated: tuple[tuple[Against, StatedLightship | None], ...] = (
        ("approved", turned.approved),
        ("sister", turned.sister),
        ("predicted", turned.predicted),
    )
    return {name: one for name, given in stated if (one := made(given, name)) is not None}


def _comparisons(
    turned: StabilityTest, solved: Solution, spread: Uncertainty | None, references: dict[Against, Lightship]
) -> tuple[ComparisonAnswerOf, ...]:
    if solved.derivation is None or not references:
        return ()
    ship = solved.derivation.lightship
    x, y, z = ship.centre_m.tolist()
    known = None
    if spread is not None:
        u = spread.standard_uncertainty
        known = Spread(mass_t=u["mass_t"], x_m=u["x_m"], y_m=u["y_m"], z_m=u["z_m"])
    derived = Lightship(mass_t=ship.mass_t, x_m=x, y_m=y, z_m=z, spread=known)
    lengths = Lengths(turned.hull.length_bp_m, None if turned.load_line_length_m is None else turned.load_line_length_m)
    sets = trigger_sets(None)
    return tuple(
        comparison_of(
            against,
            derived,
            reference,
            lengths,
            trigger_rows(
                sets,
                Compared(against=against, derived=derived, reference=reference, lengths=lengths),
                ship_kind=turned.ship_kind,
            ),
        )
        for against, reference in references.items()
    )


def _conditions(
    turned: StabilityTest, record: Record, solved: Solution, spread: Uncertainty | None
) -> tuple[ConditionResult, ...]:
    if not turned.loading_conditions:
        return ()
    if isinstance(turned.hull, TablesHull):
        hull: Solid | TablesOfShip = turned.hull.whole()
    else:
        assert not isinstance(record.hull, HydrostaticTables)
        hull = record.hull
    return assess_conditions(
        turned.loading_conditions,
        hull=hull,
        length_bp_m=record.length_bp_m,
        lightship=None if solved.derivation is None else solved.derivation.lightship,
        covariance=None if spread is None else spread.budget.covariance[:4, :4],
        basis=turned.stability,
        tanks=turned.tanks,
    )


def _waterline(
    solved: Solution, record: Record, found: tuple[EngineSurveyDiagnosis, ...]
) -> WaterlineAnswer | NotDetermined:
    if solved.surveyed is None:
        return reason(solved, "waterline")
    return waterline(solved.surveyed, record, surveyed_faults(found))


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
