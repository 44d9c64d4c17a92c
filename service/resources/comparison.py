"""POST /v1/stability-tests/comparison. Layer: service.resources."""

from typing import Annotated, Any

from fastapi import APIRouter
from pydantic import Field

from engine.errors import InputError
from engine.lightship.aggregate import WeightHistory, weight_history
from engine.lightship.deviation import Lengths
from engine.lightship.particulars import Lightship
from engine.lightship.trigger_rows import Compared, allowances, trigger_rows
from engine.lightship.triggers import trigger_sets
from service.edge.axes import Axes, from_ship_frame, to_ship_frame
from service.edge.model import Model
from service.edge.operation import operation
from service.edge.provenance import Provenance
from service.schemas.common import CAUTIONS, each
from service.schemas.comparison import (
    Against,
    ComparisonAnswerOf,
    HistoryAnswer,
    NextTrigger,
    RuleNames,
    ShipKind,
    ShipLength,
    StatedLightship,
    TriggerAnswer,
    comparison_of,
    history_answer,
    made,
    next_of,
    trigger_answer,
)
from service.schemas.survey import Item

router = APIRouter()


class ComparisonRequest(Model):
    """A derived lightship and what it is held against."""

    axes: Axes | None = None
    derived: StatedLightship
    approved: StatedLightship | None = None
    sister: StatedLightship | None = None
    predicted: StatedLightship | None = None
    weight_history: Annotated[tuple[Item, ...], Field(max_length=5000)] | None = None
    """Changes since the approved lightship, else documented differences from the sister; `[]` says there are none."""
    length_bp_m: ShipLength
    """Against a sister: of the lead ship."""
    load_line_length_m: ShipLength | None = None
    ship_kind: ShipKind | None = None
    """A cargo ship is any that is not a passenger ship; without it the triggers of both are shown."""
    rules: RuleNames | None = None
    """Sets of triggers by name; all where left out."""


class ComparisonAnswer(Model):
    """Deviations and triggers against each reference given."""

    comparisons: tuple[ComparisonAnswerOf, ...]
    weight_history: HistoryAnswer | None = None
    once_approved: tuple[TriggerAnswer, ...]
    """What may be changed before each trigger once the derived lightship is the approved one."""
    next_trigger_once_approved: NextTrigger | None = None
    cautions: tuple[str, ...] = CAUTIONS
    provenance: Provenance = Provenance()


EXAMPLE: dict[str, Any] = {
    "derived": {
        "mass_t": 1218.0,
        "x_m": 27.1,
        "y_m": 0.02,
        "z_m": 4.36,
        "standard_uncertainty": {"mass_t": 3.0, "x_m": 0.03, "y_m": 0.01, "z_m": 0.02},
    },
    "approved": {"mass_t": 1200.0, "x_m": 27.0, "z_m": 4.3},
    "length_bp_m": 60.0,
    "load_line_length_m": 58.5,
    "ship_kind": "cargo",
}


@operation(
    router,
    "/v1/stability-tests/comparison",
    request=ComparisonRequest,
    response=ComparisonAnswer,
    operation_id="compare_lightship",
    summary="A derived lightship against the approved, a sister's and the predicted one",
    example=EXAMPLE,
    tag="stability tests",
)
def compute(request: ComparisonRequest) -> ComparisonAnswer:
    """Return the deviations, each trigger with its clause and action, and the weight change still allowed."""
    turned = to_ship_frame(request, request.axes, length_bp_m=request.length_bp_m)
    sets = trigger_sets(turned.rules)
    lengths = Lengths(turned.length_bp_m, turned.load_line_length_m)
    derived = made(turned.derived, "derived")
    assert derived is not None
    given: dict[Against, Lightship] = {}
    for against, stated in (("approved", turned.approved), ("sister", turned.sister), ("predicted", turned.predicted)):
        one = made(stated, against)
        if one is not None:
            given[against] = one  # type: ignore[index]
    if not given:
        raise InputError("an approved, a sister's or a predicted lightship is needed", code="no-reference")
    start: Against | None = "approved" if "approved" in given else "sister" if "sister" in given else None
    history = _history(turned, given, start)
    comparisons = []
    for against, reference in given.items():
        ours = history if against == start else None
        compared = Compared(
            against=against,
            derived=derived,
            reference=reference,
            lengths=lengths,
            aggregate_t=None if ours is None else ours.aggregate_t,
            documented=None if ours is None else ours.calculated,
        )
        rows = trigger_rows(sets, compared, ship_kind=turned.ship_kind)
        comparisons.append(comparison_of(against, derived, reference, lengths, rows))
    after = allowances(sets, approved=derived, lengths=lengths, ship_kind=turned.ship_kind)
    answer = ComparisonAnswer(
        comparisons=tuple(comparisons),
        weight_history=None if history is None else history_answer(history),
        once_approved=tuple(trigger_answer(row) for row in after),
        next_trigger_once_approved=next_of(after),
        provenance=Provenance(rule_sets=tuple(f"{one.name} {one.version}" for one in sets)),
    )
    return from_ship_frame(answer, request.axes, length_bp_m=request.length_bp_m)


def _history(
    request: ComparisonRequest, given: dict[Against, Lightship], start: Against | None
) -> WeightHistory | None:
    if request.weight_history is None:
        return None
    if start is None:
        raise InputError("needs an approved or a sister's lightship", code="no-reference", field="weight_history")
    items = each(request.weight_history, Item.item, "weight_history")
    return weight_history(start=given[start], items=items)
