"""A document's axes: one case by hand, and there and back again."""

from typing import Annotated

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.edge.axes import (
    FACES,
    X_DIFFERENCE,
    XYZ,
    YZ,
    Axes,
    X,
    Y,
    from_ship_frame,
    mesh_to_ship_frame,
    to_ship_frame,
)
from service.edge.model import Model
from service.edge.quantities import Measured, MeasuredIn, Survey

ALL_AXES = [
    Axes(x=x, y=y) for x in ("forward_from_ap", "aft_from_fp", "forward_from_midship") for y in ("port", "starboard")
]


class Inner(Model):
    """Something placed."""

    x_m: Annotated[float, Survey("m"), X]
    y_m: Annotated[Measured, MeasuredIn("m"), Y] | None = None
    mass_t: float = 1.0


class Box(Model):
    """A box with ends."""

    x_min_m: Annotated[float, X]
    x_max_m: Annotated[float, X]
    y_min_m: Annotated[float, Y]
    y_max_m: Annotated[float, Y]


class Document(Model):
    """All that can turn."""

    inner: tuple[Inner, ...]
    box: Box
    lcb_m: Annotated[tuple[float | None, ...], X]
    vertices_m: Annotated[tuple[tuple[float, float, float], ...], XYZ]
    points_m: Annotated[tuple[tuple[float, float], ...], YZ]
    faces: Annotated[tuple[tuple[int, int, int], ...], FACES]
    shift_m: Annotated[float, X_DIFFERENCE]
    trim_m: float = 0.5


DOCUMENT = Document(
    inner=(Inner(x_m=10.0, y_m=Measured(2.0, 0.01, "tape")), Inner(x_m=0.0)),
    box=Box(x_min_m=5.0, x_max_m=8.0, y_min_m=-1.0, y_max_m=3.0),
    lcb_m=(30.0, None),
    vertices_m=((1.0, 2.0, 3.0), (0.0, 0.0, 0.0)),
    points_m=((1.0, 2.0), (-3.0, 4.0)),
    faces=((0, 1, 2),),
    shift_m=2.0,
)


def test_aft_from_fp_and_starboard_by_hand() -> None:
    """Length 60 m: x' = 60 - x, y' = -y, worked by hand; two reversals leave the hand of the frame as it was."""
    turned = to_ship_frame(DOCUMENT, Axes(x="aft_from_fp", y="starboard"), length_bp_m=60.0)
    assert turned.inner[0] == Inner(x_m=50.0, y_m=Measured(-2.0, 0.01, "tape"))
    assert turned.inner[1] == Inner(x_m=60.0)
    assert turned.box == Box(x_min_m=52.0, x_max_m=55.0, y_min_m=-3.0, y_max_m=1.0)
    assert turned.lcb_m == (30.0, None)
    assert turned.vertices_m == ((59.0, -2.0, 3.0), (60.0, 0.0, 0.0))
    assert turned.points_m == ((-1.0, 2.0), (3.0, 4.0))
    assert turned.faces == ((0, 1, 2),)
    assert (turned.shift_m, turned.trim_m) == (-2.0, 0.5)
    assert "-0.0" not in turned.model_dump_json()


def test_one_reversal_reverses_the_faces() -> None:
    assert to_ship_frame(DOCUMENT, Axes(y="starboard"), length_bp_m=60.0).faces == ((2, 1, 0),)
    assert to_ship_frame(DOCUMENT, Axes(x="aft_from_fp"), length_bp_m=60.0).faces == ((2, 1, 0),)


def test_midship_shifts_there_and_back() -> None:
    """Length 60 m: midship lies at 30 m, by the definition of the axis."""
    axes = Axes(x="forward_from_midship")
    assert to_ship_frame(DOCUMENT, axes, length_bp_m=60.0).inner[0].x_m == 40.0
    assert from_ship_frame(DOCUMENT, axes, length_bp_m=60.0).inner[0].x_m == -20.0


@pytest.mark.parametrize("axes", [None, Axes()])
def test_the_ships_own_frame_changes_nothing(axes: Axes | None) -> None:
    assert to_ship_frame(DOCUMENT, axes, length_bp_m=60.0) is DOCUMENT
    assert from_ship_frame(DOCUMENT, axes, length_bp_m=60.0) is DOCUMENT


numbers = st.floats(-1e3, 1e3)


@given(
    axes=st.sampled_from(ALL_AXES),
    length=st.floats(1.0, 400.0),
    x=st.lists(numbers, min_size=4, max_size=4),
    points=st.lists(st.tuples(numbers, numbers, numbers), max_size=4),
)
def test_there_and_back(axes: Axes, length: float, x: list[float], points: list[tuple[float, float, float]]) -> None:
    document = Document(
        inner=(Inner(x_m=x[0], y_m=Measured(x[1], 0.1)),),
        box=Box(x_min_m=x[0], x_max_m=x[1], y_min_m=x[2], y_max_m=x[3]),
        lcb_m=(x[2], None),
        vertices_m=tuple(points),
        points_m=tuple((p[1], p[2]) for p in points),
        faces=((0, 1, 2), (3, 4, 5)),
        shift_m=x[3],
    )
    back = from_ship_frame(to_ship_frame(document, axes, length_bp_m=length), axes, length_bp_m=length)
    first, second = document.model_dump(), back.model_dump()
    assert second.pop("faces") == first.pop("faces")
    np.testing.assert_allclose(_flat(second), _flat(first), rtol=0, atol=1e-12 * (1e3 + length) * 4)


def _flat(value: object) -> list[float]:
    if isinstance(value, dict):
        return [n for one in value.values() for n in _flat(one)]
    if isinstance(value, (tuple, list)):
        return [n for one in value for n in _flat(one)]
    return [float(value)] if isinstance(value, (int, float)) else []


@pytest.mark.parametrize("axes", ALL_AXES, ids=str)
def test_arrays_turn_like_models(axes: Axes) -> None:
    turned = to_ship_frame(DOCUMENT, axes, length_bp_m=60.0)
    vertices, faces = mesh_to_ship_frame(
        vertices_m=np.array(DOCUMENT.vertices_m), faces=np.array(DOCUMENT.faces), axes=axes, length_bp_m=60.0
    )
    np.testing.assert_array_equal(vertices, np.array(turned.vertices_m))
    np.testing.assert_array_equal(faces, np.array(turned.faces))
