"""A document's axes, over every operation that takes them and every positional quantity there is."""

import json
import math
from collections.abc import Iterator
from typing import Any, get_args

import pytest

from engine.quantities import QUANTITIES
from service.app import ROUTERS
from service.edge.axes import Axes, Mark, from_ship_frame, to_ship_frame
from service.edge.model import Model
from service.edge.openapi import operations
from service.edge.operation import Operation

EVERY = operations(route for router in ROUTERS for route in router.routes)
SERVED = [
    one for one in EVERY if {"axes", "hull"} <= one.request.model_fields.keys() or one.path.startswith("/v1/tanks/")
]
"""What computes in a document's axes; a procedure only repeats them."""
OTHER = [Axes(x="aft_from_fp", y="starboard"), Axes(x="forward_from_midship")]
KIND_OF_SIGN = {"+ forward of the aft perpendicular": "x", "+ to port": "y"}
POSITIONAL = {one.name: KIND_OF_SIGN[one.sign] for one in QUANTITIES if one.sign in KIND_OF_SIGN}
DIFFERENCES = ("uncertainty", "spread", "expanded", "deviation", "difference")
"""Words in the name of a model or field whose x and y are lengths without a place."""


def test_there_are_positions_and_operations() -> None:
    assert {"lcb_m", "tcf_m", "x_m", "y_m", "lcg_m"} <= POSITIONAL.keys()
    assert len(SERVED) > 5


@pytest.mark.parametrize("axes", OTHER, ids=lambda one: f"{one.x}-{one.y}")
@pytest.mark.parametrize("served", SERVED, ids=lambda one: one.operation_id)
def test_another_frame_is_the_same_ship(served: Operation[Any, Any], axes: Axes) -> None:
    """The example written in other axes is answered with the same answer in those axes."""
    request = served.request.model_validate_json(json.dumps(served.example))
    length = request.hull.length_bp_m if getattr(request, "hull", None) else request.length_bp_m
    if length is None:  # a step alone, without a hull: axes need the length
        length = 60.0
        request = request.model_copy(update={"length_bp_m": length})
    elsewhere = from_ship_frame(request, axes, length_bp_m=length).model_copy(update={"axes": axes})
    answer = served.compute(request)
    back = to_ship_frame(served.compute(elsewhere), axes, length_bp_m=length)
    assert list(differences(answer.model_dump(mode="json"), back.model_dump(mode="json"))) == []


def differences(one: Any, other: Any, place: str = "") -> Iterator[str]:
    """Yield where two answers differ by more than the arithmetic of turning; texts are those of the ship's frame."""
    if isinstance(one, dict) and isinstance(other, dict):
        for key in one.keys() | other.keys():
            if key not in ("provenance", "message", "rehearsal"):  # a rehearsal is a record of its own
                yield from differences(one.get(key), other.get(key), f"{place}/{key}")
    elif isinstance(one, list) and isinstance(other, list):
        if len(one) != len(other):
            yield f"{place}: {len(one)} against {len(other)}"
        for i, (a, b) in enumerate(zip(one, other, strict=False)):
            yield from differences(a, b, f"{place}/{i}")
    elif isinstance(one, float) and isinstance(other, float):
        if not math.isclose(one, other, rel_tol=1e-7, abs_tol=1e-7):
            yield f"{place}: {one} against {other}"
    elif one != other:
        yield f"{place}: {one!r} against {other!r}"


def models(model: type[Model], seen: set[type[Model]]) -> Iterator[type[Model]]:
    """Yield a model and every model inside it."""
    if model in seen:
        return
    seen.add(model)
    yield model
    for field in model.model_fields.values():
        yield from _inside(field.annotation, seen)


def _inside(annotation: Any, seen: set[type[Model]]) -> Iterator[type[Model]]:
    if isinstance(annotation, type) and issubclass(annotation, Model):
        yield from models(annotation, seen)
    for argument in get_args(annotation):
        yield from _inside(argument, seen)


SEEN: set[type[Model]] = set()
FIELDS = [
    (model, name)
    for served in SERVED
    for side in (served.request, served.response)
    for model in models(side, SEEN)
    for name in model.model_fields
]


@pytest.mark.parametrize(("model", "name"), FIELDS, ids=lambda one: one if isinstance(one, str) else one.__name__)
def test_every_position_is_marked(model: type[Model], name: str) -> None:
    """A field that is a position along x or y, by the table of quantities or its name, is turned."""
    kind = POSITIONAL.get(name)
    parts = name.split("_")
    if kind is None and name.endswith("_m") and len(parts) <= 3:
        kind = next((part for part in parts if part in ("x", "y")), None)
    lowered = (model.__name__ + name).lower()
    if kind is None or any(word.replace("_", "") in lowered.replace("_", "") for word in DIFFERENCES):
        return
    field = model.model_fields[name]
    marks = [*field.metadata, *_marks(field.annotation)]
    assert {one.kind for one in marks if isinstance(one, Mark)} == {kind}, f"{model.__name__}.{name}"


def _marks(annotation: Any) -> Iterator[Any]:
    for argument in get_args(annotation):
        yield from getattr(argument, "__metadata__", ())
        if isinstance(argument, Mark):
            yield argument
        yield from _marks(argument)
