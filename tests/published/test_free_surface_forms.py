"""Second moments of free surfaces and the tabular free-surface moment against their check numbers.

The numbers of the closed forms were worked out apart in high precision from the formulae of any text on naval
architecture; those of the tabular coefficient are of the two-decimal table of IMO A.749(18), 3.3 (from memory).
"""

import numpy as np
import pytest

from engine.liquids.free_surface import (
    circle_m4,
    ellipse_m4,
    isosceles_triangle_m4,
    lying_cylinder_m4,
    plan_m4,
    rectangle_m4,
    right_triangle_m4,
    trapezoid_m4,
)
from engine.liquids.tabular_moment import tabular_coefficient, tabular_moment_tm

FORMS = [
    (trapezoid_m4(length_m=10, breadth_aft_m=6, breadth_forward_m=4), 108.3333333),
    (isosceles_triangle_m4(length_m=10, breadth_m=6), 45.0),
    (right_triangle_m4(length_m=10, breadth_m=6), 60.0),
    (circle_m4(radius_m=2), 12.56637061),
    (lying_cylinder_m4(length_m=8, radius_m=1.5, depth_m=1), 15.08494467),
    (rectangle_m4(length_m=10, breadth_m=6), 180.0),
    (rectangle_m4(length_m=10, breadth_m=6, divisions=3), 20.0),
    (ellipse_m4(half_length_m=5, half_breadth_m=2), np.pi * 10),
]


@pytest.mark.parametrize(("found", "expected"), FORMS)
def test_closed_forms(found, expected):
    assert found == pytest.approx(expected, rel=5e-10)


@pytest.mark.parametrize(
    ("x", "starboard", "port", "expected"),
    [
        ([0, 10], [-3, -3], [3, 3], 180.0),
        ([0, 10], [2, 2], [8, 8], 180.0),
        ([0, 4, 10], [-3, -2.6, -2], [3, 2.6, 2], 108.3333333),
        ([0, 10], [-3, 0], [3, 0], 45.0),
        ([0, 10], [5, 5], [11, 5], 60.0),
    ],
)
def test_a_plan_by_offsets_gives_the_closed_form_wherever_it_lies(x, starboard, port, expected):
    assert plan_m4(x_m=x, y_starboard_m=starboard, y_port_m=port) == pytest.approx(expected, rel=5e-10)


def test_a_plan_of_many_offsets_nears_the_circle():
    angle = np.linspace(0, np.pi, 2001)
    half = 2 * np.sin(angle)
    found = plan_m4(x_m=-2 * np.cos(angle), y_starboard_m=1 - half, y_port_m=1 + half)
    assert found == pytest.approx(12.56637061, rel=4e-6)  # a polygon of 4000 sides: (2π/4000)² · 2/3 · … < 4e-6


def test_tabular_moment():
    values = {"length_m": 8, "breadth_m": 5, "height_m": 2}
    assert tabular_coefficient(heel_deg=30, breadth_m=5, height_m=2) == pytest.approx(0.104385662, abs=1e-9)
    moment = tabular_moment_tm(capacity_m3=60, density_t_per_m3=0.9, heel_deg=30, **values)
    assert moment == pytest.approx(24.40817148, rel=1e-9)


@pytest.mark.parametrize(
    ("ratio", "heel", "expected"), [(20, 30, 0.11), (1, 90, 0.13), (0.5, 90, 0.25), (0.1, 90, 1.25)]
)
def test_tabular_coefficient_to_the_two_decimals_printed(ratio, heel, expected):
    found = tabular_coefficient(heel_deg=heel, breadth_m=ratio, height_m=1.0)
    assert found == pytest.approx(expected, abs=0.0051)


def test_the_two_branches_of_the_coefficient_meet():
    for ratio in (0.3, 1.0, 4.0):
        at = float(np.degrees(np.arctan(1 / ratio)))
        low, high = tabular_coefficient(heel_deg=[at - 1e-7, at + 1e-7], breadth_m=ratio, height_m=1.0)
        assert low == pytest.approx(high, rel=1e-6)
