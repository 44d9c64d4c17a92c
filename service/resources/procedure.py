"""POST /v1/stability-tests/procedure. Layer: service.resources."""

from typing import Annotated, Any

from fastapi import APIRouter
from pydantic import Field

from engine.errors import EngineError
from engine.planning.procedure import REGULATIONS, Regulation, contents
from engine.rules import assess
from service.edge.operation import operation
from service.edge.provenance import Provenance
from service.edge.rule_folder import rule_sets
from service.report.before_test import procedure_report
from service.report.renderings import renderings
from service.resources.plan import plan as plan_test
from service.schemas.check import check_answer
from service.schemas.common import Label
from service.schemas.plan import PlanRequest
from service.schemas.plan_answer import PlanAnswer
from service.schemas.procedure import ProcedureAnswer, ProcedureContents, part_row, totals
from service.schemas.procedure_from_plan import filled

router = APIRouter()


class ProcedureRequest(ProcedureContents):
    """A procedure as far as it is known, and by whose list it is gone through."""

    regulations: Annotated[tuple[Regulation, ...], Field(min_length=1, max_length=2)] = REGULATIONS
    """46 CFR 170.185(g), the 2008 IS Code B/8.2.1.1, or both."""
    rules: Annotated[tuple[Label, ...], Field(max_length=50)] | None = None
    """Rule sets its numbers are held against; all built-in ones about a test unless given."""
    plan: PlanRequest | None = None
    """A request for `/v1/stability-tests/plan`: what it plans fills the parts left out."""


EXAMPLE: dict[str, Any] = {
    "vessel": {"name": "Example barge", "hull_number": "101", "length_bp_m": 60.0},
    "day": "2026-06-17",
    "place": "Quay 3",
    "lodged": "2026-05-29",
    "weights": [
        {"id": "W1", "kind": "steel block", "mass_t": 3.0, "x_m": 30.0, "y_m": 4.0, "z_m": 5.2, "certificate": "C-1"},
        {"id": "W2", "kind": "steel block", "mass_t": "3.05 LT", "x_m": 30.0, "y_m": -4.0, "z_m": 5.2},
    ],
    "handling": "Lift truck on deck",
    "heel_port_deg": 2.1,
    "heel_starboard_deg": 2.2,
    "instruments": [
        {"id": "P1", "kind": "pendulum", "location": "Forward hold", "length_m": 4.5},
        {"id": "P2", "kind": "pendulum", "location": "Aft hold", "length_m": 5.0},
    ],
    "draft_m": 3.2,
    "trim_m": 0.3,
    "tanks": [
        {"name": "Fore peak", "condition": "empty"},
        {"name": "Fuel 1 P", "condition": "slack", "liquid": "gas oil"},
    ],
    "items": [],
    "schedule": [{"event": "Deadweight survey", "day": "2026-06-15"}, {"event": "Test", "day": "2026-06-17"}],
    "persons": [{"name": "The coordinator", "role": "In charge of the test", "telephone": "555 0100"}],
}


@operation(
    router,
    "/v1/stability-tests/procedure",
    request=ProcedureRequest,
    response=ProcedureAnswer,
    operation_id="check_procedure",
    summary="Contents of a stability test procedure, and what is missing",
    example=EXAMPLE,
    tag="stability tests",
    renderings=renderings(procedure_report, editable=True),
)
def check(request: ProcedureRequest) -> ProcedureAnswer:
    """Return the procedure with every part that 46 CFR 170.185(g) and the 2008 IS Code ask for, present or missing.

    Nothing is made up: what is not given is named, with its place in the request. With `plan` the weights, instruments,
    tanks, draft, trim, heel and items it plans fill what the procedure leaves out; `from_plan` says which. The numbers
    it states (heel, instruments, weights, notice) are held against the rule sets.
    """
    given = ProcedureContents.model_construct(
        request.model_fields_set & ProcedureContents.model_fields.keys(),
        **{name: getattr(request, name) for name in ProcedureContents.model_fields},
    )
    added: tuple[str, ...] = ()
    planned = None if request.plan is None else _planned(request.plan)
    if request.plan is not None and planned is not None:
        given, added = filled(given, planned, request.plan)
    parts = contents(given.model_dump(exclude_none=True), regulations=request.regulations)
    sets = rule_sets().named(request.rules, subject="test")
    observed = given.observed()
    checks = [one for one in assess(sets, observed) if one.quantity in observed]
    missing = tuple(part.id for part in parts if part.outcome != "present")
    return ProcedureAnswer(
        complete=not missing,
        parts=tuple(part_row(part) for part in parts),
        missing=missing,
        contents=given,
        from_plan=added,
        plan_possible=None if planned is None else planned.possible,
        totals=totals(given),
        checks=tuple(check_answer(one) for one in checks),
        provenance=Provenance(rule_sets=tuple(f"{one.name} {one.version}" for one in sets)),
    )


def _planned(asked: PlanRequest) -> PlanAnswer:
    """Return the plan, its faults placed in this request; what only costs time is left out."""
    try:
        made: PlanAnswer = plan_test(asked.model_copy(update={"rehearsal": None, "optimise": None}))
    except EngineError as error:
        raise error.at("plan") from error
    except ExceptionGroup as errors:
        placed = [one.at("plan") if isinstance(one, EngineError) else one for one in errors.exceptions]
        raise ExceptionGroup("faults of the plan", placed) from errors
    return made
