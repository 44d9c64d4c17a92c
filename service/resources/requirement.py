"""POST /v1/stability-tests/requirement. Layer: service.resources."""

from typing import Annotated, Any, Literal

from fastapi import APIRouter
from pydantic import Field

from engine.lightship.deviation import Lengths
from engine.lightship.requirement import Case, RequiredTest, required_test
from engine.lightship.triggers import trigger_sets
from service.edge.axes import Axes, from_ship_frame, to_ship_frame
from service.edge.model import Model
from service.edge.operation import operation
from service.edge.provenance import Provenance
from service.schemas.common import CAUTIONS, each
from service.schemas.comparison import (
    HistoryAnswer,
    RuleNames,
    ShipKind,
    ShipLength,
    StatedLightship,
    SurveyedLightship,
    history_answer,
    made,
)
from service.schemas.requirement import RuleSetsAnswer, by_rule_sets
from service.schemas.survey import Item
from service.schemas.tank_vessel import AssumedVcgAnswer, TankVesselOf, assumed_answer

router = APIRouter()


class RequirementRequest(Model):
    """A ship in service (``approved``), a sister of an inclined one (``sister``), or, with neither, a new ship."""

    axes: Axes | None = None
    approved: StatedLightship | None = None
    sister: StatedLightship | None = None
    weight_history: Annotated[tuple[Item, ...], Field(max_length=5000)] = ()
    """Changes since the approved lightship, or documented differences from the sister."""
    survey: SurveyedLightship | None = None
    """What a lightweight survey found."""
    since_last_survey_days: Annotated[float, Field(ge=0, le=1e5)] | None = None
    tank_vessel: TankVesselOf | None = None
    length_bp_m: ShipLength
    """Of a sister: of the lead ship."""
    load_line_length_m: ShipLength | None = None
    ship_kind: ShipKind
    """A cargo ship is any that is not a passenger ship."""
    rules: RuleNames | None = None
    """Sets of triggers by name; all where left out."""


class RequirementAnswer(RuleSetsAnswer):
    """What is asked for, in which situation, from which history."""

    situation: Literal["new", "sister", "in_service"]
    weight_history: HistoryAnswer | None = None
    assumed_vcg: AssumedVcgAnswer | None = None
    cautions: tuple[str, ...] = CAUTIONS
    provenance: Provenance = Provenance()


EXAMPLE: dict[str, Any] = {
    "approved": {"mass_t": 1200.0, "x_m": 27.0, "z_m": 4.3},
    "weight_history": [
        {"name": "new crane", "action": "add", "mass_t": 18.0, "x_m": 20.0, "y_m": 3.0, "z_m": 8.0},
        {"name": "old crane", "action": "remove", "mass_t": 11.0, "x_m": 20.0, "y_m": 3.0, "z_m": 7.5},
        {
            "name": "winch",
            "action": "relocate",
            "mass_t": 4.0,
            "x_m": 50.0,
            "y_m": 0.0,
            "z_m": 6.0,
            "to": {"x_m": 8.0, "y_m": 0.0, "z_m": 6.0},
        },
    ],
    "length_bp_m": 60.0,
    "load_line_length_m": 58.5,
    "ship_kind": "cargo",
    "rules": ["us-46-cfr-144", "solas-ii-1-5"],
}


@operation(
    router,
    "/v1/stability-tests/requirement",
    request=RequirementRequest,
    response=RequirementAnswer,
    operation_id="decide_test_requirement",
    summary="Whether a full test is needed, a survey is enough, or neither",
    example=EXAMPLE,
    tag="stability tests",
)
def compute(request: RequirementRequest) -> RequirementAnswer:
    """Return full_test, survey_only or neither, the clauses behind it and what would change it."""
    turned = to_ship_frame(request, request.axes, length_bp_m=request.length_bp_m)
    sets = trigger_sets(turned.rules)
    case = Case(
        lengths=Lengths(turned.length_bp_m, turned.load_line_length_m),
        ship_kind=turned.ship_kind,
        approved=made(turned.approved, "approved"),
        sister=made(turned.sister, "sister"),
        history=each(turned.weight_history, Item.item, "weight_history"),
        survey=made(turned.survey, "survey"),
        since_last_survey_days=turned.since_last_survey_days,
        tank_vessel=None if turned.tank_vessel is None else turned.tank_vessel.vessel(),
    )
    editions = tuple(f"{one.name} {one.version}" for one in sets)
    answer = _answer(required_test(sets, case), editions)
    return from_ship_frame(answer, request.axes, length_bp_m=request.length_bp_m)


def _answer(found: RequiredTest, editions: tuple[str, ...]) -> RequirementAnswer:
    return RequirementAnswer(
        situation=found.situation,
        **dict(by_rule_sets(found)),
        weight_history=None if found.history is None else history_answer(found.history),
        assumed_vcg=None if found.assumed is None else assumed_answer(found.assumed),
        provenance=Provenance(rule_sets=editions),
    )
