"""POST /v1/stability-tests/incline: GM from moves and readings, live or at the desk. Layer: service.resources."""

from collections.abc import Mapping
from typing import Annotated, Any, Literal

from fastapi import APIRouter
from pydantic import Field

from engine.checks import Floats
from engine.diagnosis.result import Diagnosis as EngineDiagnosis
from engine.errors import InputError, NotDeterminedError
from engine.findings import Finding as EngineFinding
from engine.incline.instruments import heel_tangents
from engine.incline.moments import Plateaus
from engine.incline.regression import Regression
from engine.record.as_inclined import free_surface_tm
from engine.record.budget import Uncertainty, chain_of, uncertainty
from engine.record.diagnosed import diagnoses_alone, diagnosis_left_out, incline_diagnoses, live_guidance
from engine.record.noticed import noticed, of_readings, of_weights
from engine.record.observed import observed
from engine.record.record import Parts, Record
from engine.record.regression_only import Number, gm_alone
from engine.record.solve import Solution, solve
from service.demo import demo_record
from service.edge.axes import Axes, from_ship_frame, to_ship_frame
from service.edge.model import Model
from service.edge.operation import operation
from service.edge.provenance import Provenance
from service.edge.quantities import Measured, MeasuredIn
from service.schemas.common import CAUTIONS, Finding, LengthBP, NotDetermined, each, findings, not_determined, unique
from service.schemas.deadweight import UPRIGHT
from service.schemas.diagnosis import LiveGuidance, RollCheck, diagnoses
from service.schemas.diagnosis import live_guidance as guidance_answer
from service.schemas.hull import HullModel
from service.schemas.incline import InstrumentOf, Move, Weight
from service.schemas.incline_answer import InclineAnswer, incline_answer, regression_answer
from service.schemas.record import StabilityTest, Uncertainties, stated_in
from service.schemas.roll_period import RollPeriods, rolled
from service.schemas.survey import DraftMark, Freeboard, SurveyDifference, Water
from service.schemas.table_hull import TablesHull
from service.schemas.tank import TankOf
from service.schemas.waterline import AsInclined, as_inclined

router = APIRouter()


class InclineRequest(Model):
    """Moves and readings, with a displacement or with what a displacement follows from: hull, water and heights."""

    axes: Axes | None = None
    length_bp_m: LengthBP | None = None
    """Needed where axes are stated without a hull."""
    displacement_t: Annotated[Measured, MeasuredIn("t", gt=0, le=1e7)] | None = None
    """Instead of hull, water and heights. Without a hull there is no geometric fit, no KM and no lightship."""
    hull: Annotated[HullModel | TablesHull, Field(discriminator="kind")] | None = None
    water: Water | None = None
    freeboards: Annotated[tuple[Freeboard, ...], Field(max_length=500)] = ()
    draft_marks: Annotated[tuple[DraftMark, ...], Field(max_length=500)] = ()
    survey_differences: Annotated[tuple[SurveyDifference, ...], Field(max_length=500)] = ()
    deflection: Literal["auto", "apply", "ignore"] = "auto"
    tanks: Annotated[tuple[TankOf, ...], Field(max_length=500)] = ()
    weights: Annotated[tuple[Weight, ...], Field(min_length=1, max_length=200)]
    moves: Annotated[tuple[Move, ...], Field(max_length=199)]
    instruments: Annotated[tuple[InstrumentOf, ...], Field(max_length=50)]
    roll_periods: RollPeriods | None = None
    """Timed rolls, for a second opinion on GM; needs the length where no hull is given."""
    uncertainty: Uncertainties | None = None

    def whole(self) -> StabilityTest:
        """Return the same as a record with its hull."""
        if self.hull is None:
            raise InputError("a hull or a displacement is needed", code="displacement-or-hull", field="displacement_t")
        if self.water is None:
            raise InputError("with a hull the water is needed", code="missing-field", field="water")
        names = set(StabilityTest.model_fields) & set(type(self).model_fields)
        return StabilityTest(**{name: getattr(self, name) for name in names})

    def parts(self) -> Parts:
        """Return what is needed beside a displacement, in the ship's frame."""
        unique("weights", [one.id for one in self.weights])
        unique("instruments", [one.id for one in self.instruments])
        if self.axes is not None and self.length_bp_m is None:
            raise InputError("axes need the length", code="length-missing", field="length_bp_m")
        turned = to_ship_frame(self, self.axes, length_bp_m=self.length_bp_m or 1.0)
        return Parts(
            weights={one.id: one.weight() for one in turned.weights},
            moves=tuple(one.move() for one in turned.moves),
            instruments=each(turned.instruments, lambda one: one.instrument(), "instruments"),
            tanks=each(turned.tanks, TankOf.aboard, "tanks"),
            assumed=(self.uncertainty or Uncertainties()).assumed(),
            stated=stated_in(turned),
        )


class InclineStepAnswer(Model):
    """GM, or why it is not known yet."""

    incline: InclineAnswer | NotDetermined
    as_inclined: AsInclined | NotDetermined | None = None
    """Only where a hull is given."""
    guidance: LiveGuidance | None = None
    """For a test still running: what the readings so far say, what to expect of the next one, whether to go on."""
    roll_check: RollCheck | None = None
    """GM by the timed rolls, where they were given."""
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...] = CAUTIONS
    provenance: Provenance = Provenance()


def example() -> dict[str, Any]:
    """Return the demo's incline with its displacement."""
    record = demo_record()
    return {"displacement_t": 1228.2} | {name: record[name] for name in ("tanks", "weights", "moves", "instruments")}


@operation(
    router,
    "/v1/stability-tests/incline",
    request=InclineRequest,
    response=InclineStepAnswer,
    operation_id="compute_incline",
    summary="GM from moves and readings; a test still running is welcome",
    example=example,
    tag="stability tests",
)
def compute(request: InclineRequest) -> InclineStepAnswer:
    """Return GM by regression, and by the geometric fit where a hull is given, with every reading's residual."""
    if request.displacement_t is None:
        found = with_hull(request.whole())
        length = None if request.hull is None else request.hull.length_bp_m
        rolls = rolled(request.roll_periods, length_bp_m=length, incline=found.incline)
        return found.model_copy(update={"roll_check": rolls})
    if request.hull is not None:
        raise InputError("give a displacement or a hull, not both", code="displacement-or-hull", field="displacement_t")
    found = _with_displacement(request, request.displacement_t)
    rolls = rolled(request.roll_periods, length_bp_m=request.length_bp_m, incline=found.incline)
    return found.model_copy(update={"roll_check": rolls})


def _with_displacement(request: InclineRequest, displacement: Measured) -> InclineStepAnswer:
    parts = request.parts()
    liquids = parts.liquids(normals=UPRIGHT.normals)
    surface = free_surface_tm(liquids, UPRIGHT)
    of_tanks = (one for aboard in parts.tanks for one in aboard.tank.findings)
    moved = parts.moved()
    tangents = heel_tangents(parts.instruments, heel_at_zero_deg=0.0, reading_count=parts.reading_count)
    of_masses = of_weights(parts, moved, tangents, displacement_t=displacement.value)
    noticed_here = (*of_tanks, *of_readings(parts), *of_masses, *diagnosis_left_out(parts))
    try:
        found = gm_alone(parts, displacement_t=Number(displacement.value, displacement.standard_uncertainty or 0.0))
    except NotDeterminedError as error:
        named = diagnoses_alone(parts, moved, tangents, displacement_t=displacement.value)
        return InclineStepAnswer(
            incline=not_determined(error, *suspected(named)),
            guidance=_guidance(parts, moved, tangents, displacement_t=displacement.value),
            findings=findings(tuple(noticed_here)),
        )
    named = diagnoses_alone(parts, moved, tangents, displacement_t=displacement.value, regression=found.regression)
    spread = found.budget.outputs[0].standard_uncertainty
    answer = InclineStepAnswer(
        incline=regression_answer(
            regression=found.regression,
            tangents=found.tangents,
            moment_tm=found.plateaus.moment_tm,
            names=[one.id for one in parts.instruments],
            displacement_t=displacement.value,
            free_surface_correction_m=surface / displacement.value,
            gm_standard_uncertainty_m=spread,
        ).model_copy(update={"diagnoses": diagnoses(named)}),
        guidance=_guidance(
            parts, moved, tangents, displacement_t=displacement.value, named=named, regression=found.regression
        ),
        findings=findings(tuple(noticed_here)),
    )
    return from_ship_frame(answer, request.axes, length_bp_m=request.length_bp_m or 1.0)


def _guidance(
    parts: Parts,
    moved: Plateaus,
    tangents: Floats,
    *,
    displacement_t: float,
    stiffening_m: float = 0.0,
    named: tuple[EngineDiagnosis, ...] = (),
    regression: Regression | None = None,
) -> LiveGuidance:
    found = live_guidance(
        parts,
        moved,
        tangents,
        displacement_t=displacement_t,
        stiffening_m=stiffening_m,
        diagnoses=named,
        regression=regression,
    )
    return guidance_answer(found, parts.instruments)


def with_hull(request: StabilityTest) -> InclineStepAnswer:
    """Return the incline of a record with its hull."""
    record, found = request.record()
    solved = solve(record)
    if solved.surveyed is None:
        raise solved.not_done["waterline"]
    spread = spread_of(record, solved)
    at = solved.surveyed.afloat if solved.inclined is None else solved.inclined.by_method["regression"].afloat
    tangents = heel_tangents(record.instruments, heel_at_zero_deg=at.heel_deg, reading_count=record.reading_count)
    named = incline_diagnoses(record, solved)
    answer = InclineStepAnswer(
        incline=incline_of(record, solved, spread, named, observed(record, solved, spread)),
        guidance=_guidance(
            record,
            solved.plateaus,
            tangents,
            displacement_t=at.displacement_t,
            stiffening_m=0.0 if solved.inclined is None else at.bm_transverse_m - at.free_surface_correction_m,
            named=named,
            regression=None if solved.inclined is None else solved.inclined.regression,
        ),
        as_inclined=as_inclined_of(record, solved),
        findings=findings((*found, *noticed(record, solved, spread), *diagnosis_left_out(record))),
    )
    return from_ship_frame(answer, request.axes, length_bp_m=request.hull.length_bp_m)


def suspected(named: tuple[EngineDiagnosis, ...]) -> tuple[EngineFinding, ...]:
    """Return the faults of an incline that gave no GM as findings."""
    return tuple(EngineFinding(one.cause, f"{one.evidence}; {one.action}") for one in named if one.is_fault)


def spread_of(record: Record, solved: Solution) -> Uncertainty | None:
    """Return the budget, None where a step it needs could not be done."""
    try:
        return uncertainty(chain_of(record, solved))
    except NotDeterminedError:
        return None


def reason(solved: Solution, *steps: str) -> NotDetermined:
    """Return the first of the steps that could not be done."""
    return not_determined(next(error for step, error in solved.not_done.items() if step in steps))


def as_inclined_of(record: Record, solved: Solution) -> AsInclined | NotDetermined:
    """Return the state at reading 0; without an incline its centre is not known."""
    if solved.inclined is not None:
        return as_inclined(solved.inclined.at_zero.afloat, solved.inclined.at_zero.centre_m, record)
    if solved.surveyed is None or record.survey_differences:  # where she lay at reading 0 then hangs on her VCG
        return reason(solved, "waterline", "incline")
    return as_inclined(solved.surveyed.afloat, None, record)


def incline_of(
    record: Record,
    solved: Solution,
    spread: Uncertainty | None,
    named: tuple[EngineDiagnosis, ...],
    seen: Mapping[str, float],
) -> InclineAnswer | NotDetermined:
    """Return the incline of a solved record."""
    if solved.inclined is None:
        why = reason(solved, "waterline", "incline")
        return why.model_copy(update={"findings": (*why.findings, *findings(suspected(named)))})
    return incline_answer(
        inclined=solved.inclined,
        moment_tm=solved.plateaus.moment_tm,
        names=[one.id for one in record.instruments],
        gm_standard_uncertainty_m=None if spread is None else spread.standard_uncertainty["gm_fluid_m"],
        methods_difference_ratio=seen.get("gm_methods_difference_ratio"),
        diagnoses=diagnoses(named),
    )
