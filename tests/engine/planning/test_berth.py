"""Depth under the heeled hull and the hours of tide, against closed forms."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.errors import InputError
from engine.planning.berth import Berth, Tide, Window, deepest_point_m, water_at

# 1 m at midnight, 3 m at 06:00, 1 m at 12:00: 2 m from 03:00 to 09:00
TIDE = Tide.of(time_min=[0, 360, 720], height_m=[1.0, 3.0, 1.0])


@given(
    draft=st.floats(1, 10),
    heel=st.floats(-10, 10),
    half=st.floats(1, 12),
    trim=st.floats(-2, 2),
)
def test_deepest_point_covers_every_corner_of_a_box(draft: float, heel: float, half: float, trim: float) -> None:
    """Distance of the bottom's four corners below the plane z = T + t (½ − x/L) − y tan φ, along its normal."""
    length = 60.0
    corners = np.array([[x, y, 0.0] for x in (0.0, length) for y in (-half, half)])
    tangent = math.tan(math.radians(heel))
    above = draft + trim * (0.5 - corners[:, 0] / length) - corners[:, 1] * tangent
    depth = above / math.sqrt(1 + tangent**2 + (trim / length) ** 2)
    found = deepest_point_m(draft_m=draft, trim_m=trim, heel_deg=heel, half_breadth_m=half)
    assert found >= depth.max() - 1e-12
    assert found == pytest.approx(depth.max(), rel=1e-3)  # what the trim takes off n_z is left out, on the safe side


def test_deepest_point_by_hand() -> None:
    """3 m of draft, 6 m to the corner, 3°: 3 cos 3° + 6 sin 3°; the trim's half and a plate come on the draft."""
    angle = math.radians(3)
    found = deepest_point_m(draft_m=3.0, trim_m=0.0, heel_deg=3.0, half_breadth_m=6.0)
    assert found == pytest.approx(3 * math.cos(angle) + 6 * math.sin(angle), rel=1e-14)
    trimmed = deepest_point_m(draft_m=3.0, trim_m=-0.4, heel_deg=-3.0, half_breadth_m=6.0, below_base_m=0.02)
    assert trimmed == pytest.approx(3.22 * math.cos(angle) + 6 * math.sin(angle), rel=1e-14)


def test_tide_windows() -> None:
    assert TIDE.windows(2.0) == (Window(180.0, 540.0),)
    assert TIDE.windows(1.0) == (Window(0.0, 720.0),)
    assert TIDE.windows(3.5) == ()
    assert TIDE.windows(3.0) == (Window(360.0, 360.0),)
    twice = Tide.of(time_min=[0, 100, 200, 300], height_m=[2.0, 0.0, 2.0, 2.0])
    assert twice.windows(1.0) == (Window(0.0, 50.0), Window(150.0, 300.0))


@given(
    heights=st.lists(st.floats(-2, 5), min_size=2, max_size=8),
    least=st.floats(-2, 5),
    share=st.floats(0, 1),
)
def test_inside_a_window_the_water_stands_high_enough(heights: list[float], least: float, share: float) -> None:
    times = np.arange(len(heights)) * 60.0
    tide = Tide.of(time_min=times, height_m=heights)
    windows = tide.windows(least)
    when = share * times[-1]
    height = float(np.interp(when, times, heights))
    inside = any(one.start_min <= when <= one.end_min for one in windows)
    if abs(height - least) > 1e-9:
        assert inside == (height > least)


def berth(**changed: object) -> Berth:
    given = {"least_sounding_m": 3.0, "deepest_point_m": 4.5, "margin_m": 0.5, "tide": TIDE}
    return Berth(**{**given, **changed})  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("given", "deep", "in_time"),
    [
        (berth(start_min=200, duration_min=300), True, True),  # 2 m of tide needed: 03:00 to 09:00
        (berth(start_min=200, duration_min=340), True, True),  # to 09:00 sharp
        (berth(start_min=200, duration_min=341), True, False),
        (berth(start_min=179, duration_min=60), True, False),
        (berth(duration_min=360), True, True),
        (berth(duration_min=361), True, False),
        (berth(), True, None),
        (berth(least_sounding_m=4.0), True, True),  # 1 m is there at every state
        (berth(least_sounding_m=4.0, start_min=700, duration_min=60), True, False),  # beyond the table
        (berth(least_sounding_m=1.5), False, False),
        (berth(tide=None), None, None),
        (berth(tide=None, least_sounding_m=5.0), True, True),
        (berth(least_sounding_m=None), None, None),
        (berth(deepest_point_m=None), None, None),
    ],
)
def test_water_at_a_berth(given: Berth, deep: bool | None, in_time: bool | None) -> None:
    found = water_at(given)
    assert (found.deep_enough, found.in_time) == (deep, in_time)
    assert found.reason


@pytest.mark.parametrize(
    ("times", "heights", "code"),
    [
        ([0, 1], [1.0], "unequal-lengths"),
        ([0], [1.0], "too-few-points"),
        ([0, 0], [1.0, 2.0], "not-increasing"),
        ([0, 1], [1.0, np.nan], "not-finite"),
    ],
)
def test_refusals_of_a_tide(times: list[float], heights: list[float], code: str) -> None:
    with pytest.raises(InputError) as refused:
        Tide.of(time_min=times, height_m=heights)
    assert refused.value.code == code


@pytest.mark.parametrize(("name", "value"), [("heel_deg", 46.0), ("draft_m", -1.0), ("half_breadth_m", -1.0)])
def test_refusals_of_a_hull(name: str, value: float) -> None:
    given = {"draft_m": 3.0, "trim_m": 0.0, "heel_deg": 3.0, "half_breadth_m": 6.0} | {name: value}
    with pytest.raises(InputError) as refused:
        deepest_point_m(**given)
    assert (refused.value.code, refused.value.field) == ("out-of-range", name)
