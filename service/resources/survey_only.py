"""POST /v1/stability-tests/survey: a lightweight survey without an incline. Layer: service.resources."""

from typing import Annotated, Any, Literal

from fastapi import APIRouter
from pydantic import Field

from engine.errors import InputError
from engine.findings import Finding as EngineFinding
from engine.flotation.tables import HydrostaticTables
from engine.lightship.derivation import Mass, lying
from engine.lightship.deviation import Lengths
from engine.lightship.particulars import Lightship
from engine.lightship.requirement import Case, RequiredTest, required_test
from engine.lightship.survey_only import LightshipBySurvey, lightship_by_survey
from engine.lightship.triggers import trigger_sets
from engine.record.noticed import of_ship
from engine.record.of_this_ship import of_references
from engine.record.plausible import refuse_implausible_lightship
from engine.record.record import Record
from engine.record.solve import survey
from service.edge.axes import Axes, X, Y, from_ship_frame, to_ship_frame
from service.edge.model import Model
from service.edge.operation import operation
from service.edge.provenance import Provenance
from service.schemas.common import CAUTIONS, Finding, each, findings
from service.schemas.comparison import RuleNames, ShipKind, ShipLength
from service.schemas.hull import BOX_BARGE
from service.schemas.ledger_table import LedgerLine, lines
from service.schemas.record import Uncertainties
from service.schemas.requirement import RuleSetsAnswer, by_rule_sets
from service.schemas.survey import DraftMark, Freeboard, Item, Water, heights
from service.schemas.table_hull import HullOrTables, solid_or_tables
from service.schemas.tank import TankOf
from service.schemas.vcg_rule import VcgAnswer, VcgCase, VcgRuleOf, vcg_answer
from service.schemas.waterline import WaterlineAnswer, waterline

router = APIRouter()


class SurveyRequest(Model):
    """The record of a survey: hull, water, heights, tanks, the ledger, and the rule the VCG is taken from."""

    axes: Axes | None = None
    hull: HullOrTables
    water: Water
    freeboards: Annotated[tuple[Freeboard, ...], Field(max_length=500)] = ()
    draft_marks: Annotated[tuple[DraftMark, ...], Field(max_length=500)] = ()
    tanks: Annotated[tuple[TankOf, ...], Field(max_length=500)] = ()
    items: Annotated[tuple[Item, ...], Field(max_length=5000)] = ()
    deflection: Literal["auto", "apply", "ignore"] = "auto"
    vcg: VcgRuleOf
    ship_kind: ShipKind
    """A cargo ship is any that is not a passenger ship."""
    load_line_length_m: ShipLength | None = None
    rules: RuleNames | None = None
    """Sets of triggers the survey is held against; where left out, that of the VCG rule."""

    def record(self) -> tuple[Record, tuple[EngineFinding, ...]]:
        """Return the survey as a record without an incline, and what was noticed of the hull and the water."""
        if not self.freeboards and not self.draft_marks:
            raise InputError("freeboards or draft marks are needed", code="no-heights", field="freeboards")
        hull, found = solid_or_tables(self.hull)
        assumed = Uncertainties().assumed()
        record = Record(
            hull=hull,
            length_bp_m=self.hull.length_bp_m,
            samples=self.water.read(),
            heights=heights(self.freeboards, self.draft_marks, assumed_m=assumed.freeboard_m),
            freeboard_count=len(self.freeboards),
            weights={},
            moves=(),
            instruments=(),
            tanks=each(self.tanks, TankOf.aboard, "tanks"),
            items=each(self.items, Item.item, "items"),
            deflection=self.deflection,
            assumed=assumed,
        )
        return record, (*found, *self.water.noticed())


class SurveyLightship(Model):
    """Mass and centre of the lightship; VCG by rule, LCG and TCG by the floating position with that VCG."""

    mass_t: float
    x_m: Annotated[float, X]
    y_m: Annotated[float, Y]
    z_m: float
    x_per_vcg_ratio: float
    """By how much LCG moves forward for a metre of VCG: trim over length."""
    y_per_vcg_ratio: float
    """By how much TCG moves to port for a metre of VCG: tangent of heel."""


class AllAboard(Model):
    """Everything aboard as surveyed, liquids where they lie."""

    displacement_t: float
    lcg_m: Annotated[float, X]
    tcg_m: Annotated[float, Y]
    vcg_m: float


class SurveyResult(Model):
    """The lightship by survey, and where its VCG comes from."""

    waterline: WaterlineAnswer
    all_aboard: AllAboard
    ledger: tuple[LedgerLine, ...]
    lightship: SurveyLightship
    vcg: VcgAnswer


class SurveyAnswer(RuleSetsAnswer, SurveyResult):
    """The lightship by survey, and what the rule sets make of it."""

    findings: tuple[Finding, ...]
    cautions: tuple[str, ...] = CAUTIONS
    provenance: Provenance = Provenance()


def _example() -> dict[str, Any]:
    """Return the box barge at 3.0 m, trim 0.3 m by the stern, a lead ship and a ledger."""
    marks = [
        {"x_m": x, "y_m": y, "draft_m": 3.0 + 0.3 * (0.5 - x / 60.0)} for x in (2.0, 30.0, 58.0) for y in (-6.0, 6.0)
    ]
    return {
        "hull": BOX_BARGE,
        "water": {"samples": [{"density_t_per_m3": 1.025}]},
        "draft_marks": marks,
        "tanks": [
            {
                "name": "fuel",
                "shape": {
                    "kind": "box",
                    "x_min_m": 5,
                    "x_max_m": 15,
                    "y_min_m": -3,
                    "y_max_m": 3,
                    "z_min_m": 0.5,
                    "z_max_m": 2.5,
                },
                "density_t_per_m3": 0.85,
                "contents": {"kind": "volume", "volume_m3": 60.0},
            }
        ],
        "items": [
            {"name": "yard gear", "action": "remove", "mass_t": 4.0, "x_m": 20.0, "y_m": 1.0, "z_m": 8.5},
            {"name": "anchor", "action": "add", "mass_t": 3.0, "x_m": 58.0, "y_m": 0.0, "z_m": 7.0},
        ],
        "vcg": {"kind": "sister", "lead": {"mass_t": 2150.0, "x_m": 30.0, "z_m": 4.2}},
        "ship_kind": "cargo",
    }


EXAMPLE = _example()


@operation(
    router,
    "/v1/stability-tests/survey",
    request=SurveyRequest,
    response=SurveyAnswer,
    operation_id="compute_lightweight_survey",
    summary="A lightweight survey without an incline: mass and LCG by survey, VCG by rule",
    example=EXAMPLE,
    tag="stability tests",
)
def compute(request: SurveyRequest) -> SurveyAnswer:
    """Return mass and centre of the lightship, the clause that gave its VCG, and whether a full test is asked for."""
    length = request.hull.length_bp_m
    turned = to_ship_frame(request, request.axes, length_bp_m=length)
    record, found = turned.record()
    chosen = turned.vcg.case()
    surveyed = survey(record)
    at, normal = surveyed.afloat, surveyed.afloat.plane.normals[0]
    result = lightship_by_survey(
        displacement_t=at.displacement_t,
        buoyancy_m=at.buoyancy_m,
        normal=normal,
        items=record.items,
        liquids=tuple(
            lying(liquid, normal=normal, lightship_volume_m3=aboard.lightship_volume_m3)
            for liquid, aboard in zip(surveyed.liquids, record.tanks, strict=True)
        ),
        vcg=chosen.basis,
    )
    if isinstance(record.hull, HydrostaticTables):
        found = (*found, *record.hull.off_trim(surveyed.waterline.trim_m))
    lightship = Mass(result.mass_t, result.centre_m)
    refuse_implausible_lightship(lightship, hull=record.hull)
    stated = {"approved": chosen.approved, "sister": chosen.sister}
    references = {name: one for name, one in stated.items() if one is not None}
    found = (*found, *of_ship(record, surveyed), *of_references(record, references, lightship))
    sets = trigger_sets(turned.rules or chosen.rule_sets)
    decided = required_test(sets, _case(turned, chosen, result))
    x, y, z = result.centre_m.tolist()
    all_aboard = result.as_surveyed_centre_m.tolist()
    answer = SurveyAnswer(
        waterline=waterline(surveyed, record),
        all_aboard=AllAboard(
            displacement_t=at.displacement_t, lcg_m=all_aboard[0], tcg_m=all_aboard[1], vcg_m=all_aboard[2]
        ),
        ledger=lines(
            result.entries,
            items=[one.name for one in turned.items],
            weights=(),
            tanks=[one.name for one in turned.tanks],
        ),
        lightship=SurveyLightship(
            mass_t=result.mass_t,
            x_m=x,
            y_m=y,
            z_m=z,
            x_per_vcg_ratio=result.x_per_vcg_ratio,
            y_per_vcg_ratio=result.y_per_vcg_ratio,
        ),
        vcg=vcg_answer(chosen.basis, _outcome(decided)),
        **dict(by_rule_sets(decided)),
        findings=findings((*found, *(one for aboard in record.tanks for one in aboard.tank.findings))),
        provenance=Provenance(rule_sets=tuple(f"{one.name} {one.version}" for one in sets)),
    )
    return from_ship_frame(answer, request.axes, length_bp_m=length)


def _case(request: SurveyRequest, chosen: VcgCase, result: LightshipBySurvey) -> Case:
    x, y, _ = result.centre_m.tolist()
    found = Lightship(mass_t=result.mass_t, x_m=x, y_m=y)  # a survey finds no VCG
    vessel = chosen.tank_vessel
    return Case(
        lengths=Lengths(request.hull.length_bp_m, request.load_line_length_m),
        ship_kind=request.ship_kind,
        approved=chosen.approved,
        sister=chosen.sister,
        history=chosen.items,
        survey=None if vessel is not None else found,
        tank_vessel=None if vessel is None else vessel.vessel(),
    )


def _outcome(decided: RequiredTest) -> Literal["accepted", "not_accepted", "not_assessed"]:
    """Whether the survey bears the VCG out; a limit of VCG itself is not the survey's."""
    if decided.decision == "full_test":
        return "not_accepted"
    open_rows = [
        one
        for one in decided.rows
        if one.row.outcome == "not_assessed" and one.row.action == "full_test" and one.row.quantity != "vcg_percent"
    ]
    return "not_assessed" if open_rows else "accepted"
