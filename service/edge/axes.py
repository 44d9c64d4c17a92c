"""A document's own axes, turned into the ship's frame and back. Layer: service.edge.

Only x and y turn. Mark the fields, once, in ``Annotated``::

    x_m: Annotated[float, X]                                  a position; so lcb_m, lcf_m, an arm
    lcb_m: Annotated[tuple[float | None, ...], X]             a column of them
    vertices_m: Annotated[tuple[Point, ...], XYZ]             points (x, y, z)
    points_m: Annotated[tuple[tuple[float, float], ...], YZ]  points (y, z)
    faces: Annotated[tuple[tuple[int, int, int], ...], FACES] corners, reversed when the frame changes hands
    x_difference_m: Annotated[float, X_DIFFERENCE]            turned but not shifted

The mark stands on the field, whatever containers lie between; nested models are entered by themselves. A pair of fields
``x_min_m`` and ``x_max_m`` changes places where its axis is reversed. Standard uncertainties are differences without a
sign and stay.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal, TypeVar, get_args

import numpy as np
from numpy.typing import NDArray

from service.edge.model import Model
from service.edge.quantities import Measured

M = TypeVar("M", bound=Model)


class Axes(Model):
    """Where x and y of this document point, in the request and in its answer."""

    x: Literal["forward_from_ap", "aft_from_fp", "forward_from_midship"] = "forward_from_ap"
    """From where, and which way, x is measured."""
    y: Literal["port", "starboard"] = "port"
    """The side on which y is positive."""


SHIP_FRAME = Axes()


@dataclass(frozen=True)
class Mark:
    """What the numbers of a field are: one letter a coordinate, or "faces"; ``shifted`` if they are positions."""

    kind: Literal["x", "y", "xyz", "yz", "faces"]
    shifted: bool = True


X, Y, XYZ, YZ, FACES = Mark("x"), Mark("y"), Mark("xyz"), Mark("yz"), Mark("faces")
X_DIFFERENCE, Y_DIFFERENCE = Mark("x", shifted=False), Mark("y", shifted=False)


@dataclass(frozen=True)
class _Turn:
    """coordinate → sign × coordinate + shift, for x and y."""

    sign: dict[str, float]
    shift_m: dict[str, float]

    @property
    def changes_hands(self) -> bool:
        return self.sign["x"] * self.sign["y"] < 0

    def number(self, value: float, axis: str, mark: Mark) -> float:
        if axis not in self.sign:
            return value
        shift = self.shift_m[axis] if mark.shifted else 0.0
        return self.sign[axis] * value + shift + 0.0  # + 0.0: no negative zero


def _turn(axes: Axes, length_bp_m: float, *, back: bool) -> _Turn:
    reversed_x = axes.x == "aft_from_fp"
    if reversed_x:
        shift = length_bp_m
    elif axes.x == "forward_from_midship":
        shift = -0.5 * length_bp_m if back else 0.5 * length_bp_m
    else:
        shift = 0.0
    signs = {"x": -1.0 if reversed_x else 1.0, "y": -1.0 if axes.y == "starboard" else 1.0}
    return _Turn(signs, {"x": shift, "y": 0.0})


def to_ship_frame(model: M, axes: Axes | None, *, length_bp_m: float) -> M:
    """Return ``model``, given in the document's axes, in the ship's frame."""
    return model if axes is None or axes == SHIP_FRAME else _model(model, _turn(axes, length_bp_m, back=False))


def from_ship_frame(model: M, axes: Axes | None, *, length_bp_m: float) -> M:
    """Return ``model``, given in the ship's frame, in the document's axes."""
    return model if axes is None or axes == SHIP_FRAME else _model(model, _turn(axes, length_bp_m, back=True))


def mesh_to_ship_frame(
    *, vertices_m: NDArray[np.float64], faces: NDArray[np.intp], axes: Axes | None, length_bp_m: float
) -> tuple[NDArray[np.float64], NDArray[np.intp]]:
    """Return a mesh that came as arrays, in the ship's frame, its faces reversed if the frame changed hands."""
    if axes is None or axes == SHIP_FRAME:
        return vertices_m, faces
    turn = _turn(axes, length_bp_m, back=False)
    signs = np.array([turn.sign["x"], turn.sign["y"], 1.0])
    turned = vertices_m * signs + np.array([turn.shift_m["x"], 0.0, 0.0])
    return turned, faces[:, ::-1] if turn.changes_hands else faces


def _model(model: M, turn: _Turn) -> M:
    changed: dict[str, Any] = {}
    for name, field in type(model).model_fields.items():
        value = getattr(model, name)
        mark = _mark(field.metadata) or _mark_below(field.annotation)
        changed[name] = _inner_models(value, turn) if mark is None else _marked(value, mark, turn)
    for name in [name for name in changed if "_min_" in name]:
        other = name.replace("_min_", "_max_")
        if turn.sign.get(name[0], 1.0) < 0 and name[1] == "_" and other in changed:
            changed[name], changed[other] = changed[other], changed[name]
    different = {name: value for name, value in changed.items() if value is not getattr(model, name)}
    return model.model_copy(update=different) if different else model


def _mark(metadata: Any) -> Mark | None:
    return next((one for one in metadata if isinstance(one, Mark)), None)


def _mark_below(annotation: Any) -> Mark | None:
    """Return the one mark inside containers and unions of an annotation."""
    for argument in get_args(annotation):
        found = argument if isinstance(argument, Mark) else _mark_below(argument)
        found = found or _mark(getattr(argument, "__metadata__", ()))
        if found is not None:
            return found
    return None


def _inner_models(value: Any, turn: _Turn) -> Any:
    if isinstance(value, Model):
        return _model(value, turn)
    return _each(value, lambda one: _inner_models(one, turn))


def _each(value: Any, change: Callable[[Any], Any]) -> Any:
    """Return a container with every entry changed; the same one where none was."""
    if isinstance(value, (tuple, list)) and not isinstance(value, Measured):
        items = [change(one) for one in value]
        return value if all(new is old for new, old in zip(items, value, strict=True)) else type(value)(items)
    if isinstance(value, dict):
        entries = {key: change(one) for key, one in value.items()}
        return value if all(entries[key] is value[key] for key in value) else entries
    return value


def _marked(value: Any, mark: Mark, turn: _Turn) -> Any:
    if isinstance(value, Model):
        return _model(value, turn)
    if isinstance(value, Measured):
        return value._replace(value=turn.number(value.value, mark.kind, mark))
    if isinstance(value, (int, float)) and mark.kind in ("x", "y"):
        return turn.number(value, mark.kind, mark)
    if isinstance(value, (tuple, list)) and mark.kind in ("xyz", "yz", "faces") and value and not _nested(value):
        if mark.kind == "faces":
            return type(value)(reversed(value)) if turn.changes_hands else value
        return type(value)(_coordinate(one, axis, mark, turn) for one, axis in zip(value, mark.kind, strict=True))
    return _each(value, lambda one: _marked(one, mark, turn))


def _coordinate(value: Any, axis: str, mark: Mark, turn: _Turn) -> Any:
    if isinstance(value, Measured):
        return value._replace(value=turn.number(value.value, axis, mark))
    return turn.number(value, axis, mark)


def _nested(value: Any) -> bool:
    return isinstance(value[0], (tuple, list, Model)) and not isinstance(value[0], Measured)
