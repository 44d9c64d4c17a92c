"""What comes of loading conditions. Layer: service.schemas."""

from collections.abc import Sequence
from typing import Annotated, Literal

from numpy.typing import ArrayLike
from pydantic import Field

from engine.errors import EngineError, InputError
from engine.geometry import Solid
from engine.lightship.derivation import Mass as EngineMass
from engine.record.of_this_ship import of_loaded
from engine.stability import Arms, Assessed, NotAssessed, ShipData
from engine.stability import assess_conditions as assess
from engine.stability import statement as words
from engine.stability.table_ship import ArmsByTables, TablesOfShip
from service.edge.axes import X, Y
from service.edge.model import Model
from service.edge.rule_folder import rule_sets
from service.schemas.common import Finding, each, findings
from service.schemas.load_line import LoadLine, load_line
from service.schemas.loading import LoadingConditionOf, StabilityBasis
from service.schemas.stability import CriterionAnswer, GoverningRule, criterion_answer, governing
from service.schemas.tank import TankOf
from service.schemas.weather import WeatherAnswer, weather_answer


class FreeSurfaceCounted(Model):
    """Tanks whose free surface was corrected for."""

    tanks: tuple[str, ...]
    free_surface_moment_tm: float


class ArmColumns(Model):
    """Righting arms at heels to both sides; none where tables without cross curves stand for the hull."""

    heel_deg: tuple[float, ...]
    righting_arm_m: tuple[float, ...]
    area_m_rad: tuple[float, ...]
    """Under the arms from upright to that heel; positive where they right her on the whole, to either side."""


class ConditionAnswer(Model):
    """A loading condition afloat, its criteria, its margin to the limit of VCG; by tables what these tell of it."""

    name: str
    outcome: Literal["met", "not_met", "not_assessed"]
    """Of all criteria: not met if one is not, else not assessed if one is not."""
    statement: str
    """The margin of VCG in metres, and in standard uncertainties of the lightship."""
    displacement_t: float
    draft_m: float | None = None
    trim_m: float | None = None
    heel_deg: float | None = None
    lcg_m: Annotated[float, X]
    tcg_m: Annotated[float, Y]
    vcg_m: float
    vcg_fluid_m: float
    gm_solid_m: float
    gm_fluid_m: float
    free_surface_moment_tm: float
    free_surfaces: tuple[FreeSurfaceCounted, ...]
    """By the rule of the worst tanks; none where all liquids run. As filled where tables stand for the hull."""
    vcg_limit_m: float | None = None
    """Largest VCG that meets every criterion assessed, at this displacement, LCG and TCG."""
    vcg_margin_m: float | None = None
    vcg_margin_standard_uncertainty_m: float | None = None
    governing: GoverningRule | None = None
    criteria: tuple[CriterionAnswer, ...]
    righting_arms: ArmColumns
    loads: tuple[LoadLine, ...]
    """Lightship, items and tanks, whose masses and moments sum to displacement, LCG, TCG and VCG."""
    weather: WeatherAnswer | None = None
    """What the criteria on the wind were judged with; none where none asks, or no wind area is known."""
    findings: tuple[Finding, ...]
    limit_findings: tuple[Finding, ...]
    """Those of the findings that are about the limit of VCG, not about the condition."""


class ConditionNotDetermined(Model):
    """A loading condition that could not be computed: she sinks, she has no stable position."""

    name: str
    outcome: Literal["not_determined"]
    findings: tuple[Finding, ...]


ConditionResult = Annotated[ConditionAnswer | ConditionNotDetermined, Field(discriminator="outcome")]


def assess_conditions(
    conditions: Sequence[LoadingConditionOf],
    *,
    hull: Solid | TablesOfShip,
    length_bp_m: float,
    lightship: EngineMass | None,
    covariance: ArrayLike | None,
    basis: StabilityBasis | None,
    tanks: Sequence[TankOf],
) -> tuple[ConditionResult, ...]:
    """Return what comes of the loading conditions of a document, all in the ship's frame.

    Parameters
    ----------
    conditions : sequence of LoadingConditionOf
        A fault is placed below ``loading_conditions/i``.
    hull, length_bp_m
        The undeformed hull, or the tables that stand for it. [m]
    lightship : Mass or None
        As derived; None where it is not: then nothing comes of the conditions, but a fault in them is still one. [t, m]
    covariance : (4, 4), optional
        Of its mass [t], x, y and z [m]; without it no standard uncertainties are told.
    basis : StabilityBasis, optional
        A fault is placed below ``stability``.
    tanks : sequence of TankOf
        Of the document.

    Raises
    ------
    InputError
        As ``LoadedTank.load``, ``RuleSets.named``.
    """
    chosen = basis or StabilityBasis()
    try:
        data, sets = chosen.data(), rule_sets().named(chosen.rules, subject="stability")
    except EngineError as error:
        raise error.at("stability") from error
    by_name = {one.name: one for one in tanks}
    made = each(conditions, lambda one: one.condition(by_name, data), "loading_conditions")
    if lightship is None:
        return ()
    ship = ShipData(
        hull=hull,
        density_t_per_m3=chosen.density_t_per_m3,
        length_bp_m=length_bp_m,
        data=data,
        free_surface=chosen.free_surface,
        minimum_displacement_t=chosen.minimum_displacement_t,
    )
    try:
        found = assess(ship=ship, lightship=lightship, conditions=made, rule_sets=sets, lightship_covariance=covariance)
    except InputError as error:
        raise error.at("loading_conditions") from error
    answers = [_answer(noun, one) for noun, one in zip(conditions, found, strict=True)]
    if isinstance(hull, TablesOfShip):
        return tuple(answers)
    outside = [findings(tuple(of_loaded(hull, [item.centre_m for item in one.items]))) for one in made]
    told = zip(answers, outside, strict=True)
    return tuple(one.model_copy(update={"findings": one.findings + more}) for one, more in told)


def _answer(noun: LoadingConditionOf, found: Assessed | NotAssessed) -> ConditionResult:
    if isinstance(found, NotAssessed):
        why = Finding(code=found.error.code, message=found.error.message)
        return ConditionNotDetermined(name=noun.name, outcome="not_determined", findings=(why,))
    arms, rest, limit = found.arms, found.rest, found.limit
    outcomes = {one.check.outcome for one in found.criteria if one.check.level == "required"}
    outcome: Literal["met", "not_met", "not_assessed"] = (
        "not_met" if "not_met" in outcomes else "not_assessed" if outcomes != {"met"} else "met"
    )
    uncertain = found.certainty
    if limit is None:
        of_limit: tuple[Finding, ...] = (Finding(code=found.limit_code, message=found.limit_reason),)
    else:
        of_limit = findings(limit.findings)
    x, y, z = arms.centre_m.tolist()
    margin_u = None if uncertain is None else uncertain.vcg_margin_m
    return ConditionAnswer(
        name=noun.name,
        outcome=outcome,
        statement=words(outcome, margin=found.vcg_margin_m, unit="m", standard_uncertainty=margin_u),
        displacement_t=arms.displacement_t,
        draft_m=rest.draft_m,
        trim_m=rest.trim_m,
        heel_deg=rest.heel_deg,
        lcg_m=x,
        tcg_m=y + 0.0,
        vcg_m=z,
        vcg_fluid_m=z + arms.free_surface_tm / arms.displacement_t,
        gm_solid_m=rest.gm_solid_m,
        gm_fluid_m=rest.gm_fluid_m,
        free_surface_moment_tm=arms.free_surface_tm,
        free_surfaces=tuple(
            FreeSurfaceCounted(tanks=tuple(noun.tanks[i].tank for i in one.tanks), free_surface_moment_tm=one.moment_tm)
            for one in found.counted
        ),
        vcg_limit_m=None if limit is None else limit.vcg_m,
        vcg_margin_m=found.vcg_margin_m,
        vcg_margin_standard_uncertainty_m=margin_u,
        governing=None if limit is None else governing(limit.governing),
        criteria=tuple(
            criterion_answer(
                one,
                standard_uncertainty=None
                if uncertain is None
                else uncertain.by_rule.get((one.check.rule_set, one.check.rule)),
            )
            for one in found.criteria
        ),
        righting_arms=ArmColumns(
            heel_deg=tuple((arms.heel_deg + 0.0).tolist()),
            righting_arm_m=tuple((arms.arm_m + 0.0).tolist()),
            area_m_rad=_areas(arms),
        ),
        loads=tuple(load_line(one, noun) for one in found.loads),
        weather=None if found.weather is None else weather_answer(found.weather),
        findings=(*findings(found.findings), *of_limit),
        limit_findings=of_limit,
    )


def _areas(arms: Arms | ArmsByTables) -> tuple[float, ...]:
    """Return the area from upright to every heel of the curve. [m·rad]"""
    if not len(arms.heel_rad):
        return ()
    curve = arms.curve("starboard")
    return tuple(
        curve.area(0.0, heel) if heel >= 0 else -curve.area(heel, 0.0) + 0.0 for heel in arms.heel_rad.tolist()
    )
