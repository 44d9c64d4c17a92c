"""POST /v1/stability-tests/plan. Layer: service.resources."""

from typing import Any

import numpy as np
from fastapi import APIRouter

from engine.errors import EngineError, NotDeterminedError
from engine.planning.expected import expected_budget
from engine.planning.optimise import optimise
from engine.planning.outline import Outline
from engine.planning.plan import Plan, plan_test
from engine.record.budget import chain_of, uncertainty
from engine.record.solve import solve
from engine.uncertainty import Budget
from service.edge.axes import from_ship_frame, to_ship_frame
from service.edge.operation import operation
from service.report.before_test import plan_report
from service.report.renderings import renderings
from service.schemas.budget import BudgetAnswer, budget_answer
from service.schemas.common import findings
from service.schemas.hull import BOX_BARGE
from service.schemas.plan import PlanRequest, RehearsalAsked
from service.schemas.plan_answer import (
    PlanAnswer,
    depth_answer,
    instruments_answer,
    levelling_answer,
    moves_answer,
    predicted,
    stations_answer,
    weights_answer,
)
from service.schemas.plan_means import means_answer
from service.schemas.plan_tanks import tanks_answer
from service.schemas.plan_uncertainty import OptimumAnswer, optimum_answer, uncertainty_answer
from service.schemas.rehearsed import rehearsed, rehearsed_test

router = APIRouter()

EXAMPLE: dict[str, Any] = {
    "vessel": {"name": "Invented Barge"},
    "hull": BOX_BARGE,
    "density_t_per_m3": 1.025,
    "lightship": {"mass_t": 1500.0, "x_m": 29.8, "y_m": 0.01, "z_m": 4.6},
    "items": [{"name": "test party", "action": "remove", "mass_t": 0.9, "x_m": 30.0, "y_m": 0.0, "z_m": 9.0}],
    "tanks": [
        {
            "name": "fuel",
            "shape": {
                "kind": "box",
                "x_min_m": 20,
                "x_max_m": 30,
                "y_min_m": -2,
                "y_max_m": 2,
                "z_min_m": 0,
                "z_max_m": 2,
            },
            "density_t_per_m3": 0.86,
            "contents": {"kind": "volume", "volume_m3": 40.0},
            "position": "double_bottom",
            "use": "fuel",
        }
    ],
    "weights_on_hand": [
        {"id": "blocks", "mass_t": 2.5, "pieces_count": 16, "length_m": 1.2, "breadth_m": 1.0, "height_m": 0.8}
    ],
    "deck": {
        "lanes": [
            {
                "id": name,
                "x_m": x,
                "z_m": 8.0,
                "y_min_m": -5.5,
                "y_max_m": 5.5,
                "length_m": 3.0,
                "load_limit_t_per_m2": 5.0,
            }
            for name, x in (("aft", 20.0), ("forward", 40.0))
        ]
    },
    "instrument_places": [
        {"id": "forward", "head_room_m": 4.4},
        {"id": "midship", "head_room_m": 4.1},
        {"id": "aft", "head_room_m": 2.2, "spread_m": 9.0},
    ],
    "rehearsal": {},
}


@operation(
    router,
    "/v1/stability-tests/plan",
    request=PlanRequest,
    response=PlanAnswer,
    operation_id="plan_test",
    summary="Plan of a stability test: weights, moves, instruments, tanks, stations, depth, expected uncertainty",
    example=EXAMPLE,
    tag="stability tests",
    renderings=renderings(plan_report, editable=True),
)
def plan(request: PlanRequest) -> PlanAnswer:
    """Return the condition she will be tested in, the weights and their moves, and what the moves should show.

    Every reading is expected from the floating position on the real hull with running liquids. What cannot be done is
    listed in `impossible`, and the rest is then the nearest plan that can. With `rehearsal` the answer holds a record
    of expected readings, with noise where asked for, to be sent to `/v1/stability-tests` as it is.
    """
    length = request.hull.length_bp_m
    turned = to_ship_frame(request, request.axes, length_bp_m=length)
    outline, noticed = turned.outline()
    try:
        made = plan_test(outline)
    except EngineError as error:
        raise _placed(error) from error
    found, budget = made.search.found, _budget(made, turned)
    answer = PlanAnswer(
        possible=not made.impossible,
        means=made.means,
        impossible=findings(made.impossible),
        predicted=predicted(made.at_zero),
        without_weights=predicted(made.bare),
        aimed_heel_deg=float(np.degrees(np.arctan(made.heel.aim_ratio))),
        weights=None if found is None else weights_answer(found, turned),
        moves=() if found is None else moves_answer(found),
        instruments=instruments_answer(made, turned),
        freeboards=stations_answer(made.stations),
        water_depth=depth_answer(made),
        levelling=levelling_answer(made, turned),
        tanks=tanks_answer(made, turned, budget),
        other_means=means_answer(made, turned),
        expected_uncertainty=None if budget is None else uncertainty_answer(budget),
        expected_as_after_the_test=_as_after_the_test(made, turned),
        optimum=_optimum(outline, made, turned),
        findings=findings((*noticed, *made.findings)),
    )
    answer = from_ship_frame(answer, request.axes, length_bp_m=length)
    if turned.rehearsal is None:
        return answer
    return answer.model_copy(update={"rehearsal": rehearsed(made, turned, turned.rehearsal)})


def _placed(error: EngineError) -> EngineError:
    """Place a fault of the plan's arguments in the request."""
    if error.field.startswith("deck_edge_m"):
        return error.at("freeboards")
    return error.at("lightship") if error.field == "mass_t" else error


def _budget(made: Plan, request: PlanRequest) -> Budget | None:
    """Return the budget expected, to first order; the rehearsed test's own budget would be that of the whole chain."""
    found = made.search.found
    if found is None or not made.instruments:
        return None
    return expected_budget(
        made.ship, found, instruments=made.instruments, stations=made.stations, spread=request.spread()
    )


def _as_after_the_test(made: Plan, turned: PlanRequest) -> BudgetAnswer | None:
    """Return the budget of the rehearsed test by the whole chain, with what is assumed of a reading."""
    rehearsal = rehearsed_test(made, turned, RehearsalAsked())
    if rehearsal is None:
        return None
    record, _ = rehearsal.record()
    try:
        chain = chain_of(record, solve(record))
        return budget_answer(uncertainty(chain, readings="assumed").budget)
    except NotDeterminedError:
        return None


def _optimum(outline: Outline, made: Plan, request: PlanRequest) -> OptimumAnswer | None:
    if request.optimise is None or not made.instruments:
        return None
    found = optimise(
        made.ship,
        stock=outline.stock,
        deck=outline.deck,
        heel=made.heel,
        places=outline.places,
        needs=outline.needs,
        stations=made.stations,
        spread=request.spread(),
        vcg_standard_uncertainty_m=request.optimise.vcg_standard_uncertainty_m,
    )
    return None if found is None else optimum_answer(found)
