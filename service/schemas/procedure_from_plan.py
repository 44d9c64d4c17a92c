"""What a plan says of a procedure, filled in where the procedure itself says nothing. Layer: service.schemas.

Only what the plan knows: it has no certificates, no persons, no day. Weights, instruments and tanks are brought
together by id or name, field by field, and what the procedure gives wins.
"""

from collections.abc import Sequence
from typing import TypeVar

from engine.errors import InputError
from service.edge.axes import SHIP_FRAME
from service.edge.model import Model
from service.schemas.plan import PlanRequest
from service.schemas.plan_answer import PlanAnswer
from service.schemas.procedure import (
    ProcedureContents,
    ProcedureInstrument,
    ProcedureItem,
    ProcedurePlace,
    ProcedureTank,
    ProcedureVessel,
    ProcedureWeight,
)
from service.schemas.survey import Item

M = TypeVar("M", bound=Model)


def filled(given: ProcedureContents, plan: PlanAnswer, asked: PlanRequest) -> tuple[ProcedureContents, tuple[str, ...]]:
    """Return the procedure with what the plan adds, and the names of the parts it added to.

    Raises
    ------
    InputError
        ``axes-differ``: plan and procedure state different axes. ``duplicate-id``: two entries of one name.
    """
    if given.axes is not None and given.axes != (asked.axes or SHIP_FRAME):
        raise InputError("the plan states other axes", code="axes-differ", field="axes")
    adds: dict[str, object] = {
        "axes": asked.axes,
        "vessel": _vessel(given.vessel, asked),
        "draft_m": _or(given.draft_m, plan.predicted.draft_m),
        "trim_m": _or(given.trim_m, plan.predicted.trim_m),
        "tanks": _joined(given.tanks, _tanks(plan, asked), "tanks", "name"),
        "instruments": _joined(given.instruments, _instruments(plan), "instruments", "id"),
        "items": tuple(_item(one) for one in asked.items) if given.items is None else given.items,
    }
    if plan.weights is not None:
        adds |= {
            "weights": _joined(given.weights, _weights(plan), "weights", "id"),
            "heel_port_deg": _or(given.heel_port_deg, plan.weights.port_heel_deg),
            "heel_starboard_deg": _or(given.heel_starboard_deg, plan.weights.starboard_heel_deg),
        }
    changed = {name: value for name, value in adds.items() if value is not None and value != getattr(given, name)}
    return given.model_copy(update=changed), tuple(changed)


def _or(given: float | None, planned: float) -> float:
    return planned if given is None else given


def _joined(given: Sequence[M] | None, planned: Sequence[M], part: str, key: str) -> tuple[M, ...]:
    """Return the planned entries with the given ones' fields over them, then the given ones the plan does not have."""
    said: dict[str, M] = {}
    for rank, one in enumerate(given or ()):
        if getattr(one, key) in said:
            raise InputError("an earlier entry has the same name", code="duplicate-id", field=f"{part}/{rank}/{key}")
        said[getattr(one, key)] = one
    rows = [_over(one, said.pop(getattr(one, key), None)) for one in planned]
    return (*rows, *said.values())


def _over(planned: M, given: M | None) -> M:
    if given is None:
        return planned
    return planned.model_copy(update={name: getattr(given, name) for name in given.model_fields_set})


def _vessel(given: ProcedureVessel | None, asked: PlanRequest) -> ProcedureVessel:
    name = asked.vessel.name if asked.vessel else None
    planned = ProcedureVessel(length_bp_m=asked.hull.length_bp_m, **({} if name is None else {"name": name}))
    return _over(planned, given)


def _weights(plan: PlanAnswer) -> list[ProcedureWeight]:
    groups = plan.weights.groups if plan.weights else ()
    return [ProcedureWeight(id=one.id, mass_t=one.mass_t, x_m=one.x_m, y_m=one.y_m, z_m=one.z_m) for one in groups]


def _instruments(plan: PlanAnswer) -> list[ProcedureInstrument]:
    """Return the instruments; each has the name of the place the plan gives it."""
    return [
        ProcedureInstrument(
            id=one.id,
            kind=one.kind,
            location=one.id,
            length_m=one.length_m if one.kind == "pendulum" else None,
            spread_m=one.length_m if one.kind == "u_tube" else None,
        )
        for one in plan.instruments
    ]


def _tanks(plan: PlanAnswer, asked: PlanRequest) -> list[ProcedureTank]:
    """Return the tanks as planned; what a liquid is called the plan does not know, only its density."""
    return [
        ProcedureTank(
            name=one.name,
            condition=one.state,
            density_t_per_m3=None if one.state == "empty" else tank.density_t_per_m3.value,
            fill_percent=None if one.state == "empty" else one.fill_percent,
        )
        for one, tank in zip(plan.tanks, asked.tanks, strict=True)
    ]


def _item(one: Item) -> ProcedureItem:
    to = None if one.to is None else ProcedurePlace(x_m=one.to.x_m.value, y_m=one.to.y_m.value, z_m=one.to.z_m.value)
    return ProcedureItem(
        name=one.name,
        action=one.action,
        mass_t=one.mass_t.value,
        x_m=one.x_m.value,
        y_m=one.y_m.value,
        z_m=one.z_m.value,
        to=to,
    )
