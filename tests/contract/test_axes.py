"""A document's axes, over every operation that takes them and every positional quantity there is."""

import copy
import json
import math
from collections.abc import Iterator, Mapping
from typing import Any, get_args, get_origin

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
    same_in_another_frame(served, served.example, axes)


def same_in_another_frame(served: Operation[Any, Any], example: Mapping[str, Any], axes: Axes) -> None:
    """Compute an example as it is and written in other axes, and compare."""
    request = served.request.model_validate_json(json.dumps(example))
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


POINTS = {2: "yz", 3: "xyz"}
"""What a row of so many lengths is: a point of a section, a point of the ship."""


@pytest.mark.parametrize(("model", "name"), FIELDS, ids=lambda one: one if isinstance(one, str) else one.__name__)
def test_every_point_is_marked(model: type[Model], name: str) -> None:
    """A field of points in metres, as the skin of a mesh or the run of a sounding pipe, is turned."""
    field = model.model_fields[name]
    kinds = {POINTS[size] for size in _rows(field.annotation)} if name.endswith("_m") else set()
    marks = [*field.metadata, *_marks(field.annotation)]
    assert {one.kind for one in marks if isinstance(one, Mark)} >= kinds, f"{model.__name__}.{name}"


def test_points_are_found() -> None:
    """A point of a finding, vertices of a mesh, points of a section and of a pipe are among those tried above."""
    found = {(model.__name__, name): set(_rows(model.model_fields[name].annotation)) for model, name in FIELDS}
    assert found["Finding", "place_m"] == found["MeshShape", "vertices_m"] == {3}
    assert found["Frame", "points_m"] == {2}
    assert found["SoundingPipeOf", "points_m"] == {3}


def _rows(annotation: Any) -> Iterator[int]:
    """Yield the sizes of the fixed rows of numbers in an annotation."""
    parts = get_args(annotation)
    if get_origin(annotation) is tuple and len(parts) in POINTS and ... not in parts:
        yield len(parts)
    for part in parts:
        yield from _rows(part)


def _tank(example: Mapping[str, Any]) -> Any:
    return example.get("tank") or next(iter(example.get("tanks") or ()), None)


@pytest.mark.parametrize("axes", OTHER, ids=lambda one: f"{one.x}-{one.y}")
@pytest.mark.parametrize("served", [one for one in SERVED if _tank(one.example)], ids=lambda one: one.operation_id)
def test_a_pipe_is_the_same_pipe_in_another_frame(served: Operation[Any, Any], axes: Axes) -> None:
    """Every operation whose example has a tank: an inclined pipe off the middle, sounded heeled where it can be."""
    example = copy.deepcopy(dict(served.example))
    tank = _tank(example)
    box = tank["shape"]
    foot = [0.5 * (box["x_min_m"] + box["x_max_m"]), 0.75 * box["y_min_m"] + 0.25 * box["y_max_m"], box["z_min_m"]]
    top = [foot[0] + 0.5, foot[1] + 0.25, box["z_max_m"]]
    tank["sounding_pipe"] = {"points_m": [foot, top]}
    tank["contents"] = {"kind": "sounding", "sounding_m": 0.4 * (box["z_max_m"] - box["z_min_m"])}
    tank.pop("sounding_point", None)
    if "heel_deg" in served.request.model_fields and served.path.endswith("capacity"):
        example["heel_deg"] = 7.0
    same_in_another_frame(served, example, axes)


def _marks(annotation: Any) -> Iterator[Any]:
    for argument in get_args(annotation):
        yield from getattr(argument, "__metadata__", ())
        if isinstance(argument, Mark):
            yield argument
        yield from _marks(argument)
