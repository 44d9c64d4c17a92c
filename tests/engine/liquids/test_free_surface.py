"""Refusals and small sums of the free-surface forms; their check numbers are in tests/published."""

import pytest

from engine.errors import InputError
from engine.liquids.free_surface import lying_cylinder_m4, plan_m4, rectangle_m4, virtual_rise_m
from engine.liquids.tabular_moment import is_small_tank, tabular_coefficient, tabular_moment_tm

TANK = {"length_m": 8.0, "breadth_m": 5.0, "height_m": 2.0, "density_t_per_m3": 0.9}


def test_virtual_rise_is_the_sum_over_the_displacement():
    rise = virtual_rise_m(second_moments_m4=[100, 50], densities_t_per_m3=[1.0, 0.8], displacement_t=1000)
    assert rise == pytest.approx(0.14, rel=1e-15)
    assert virtual_rise_m(second_moments_m4=[], densities_t_per_m3=[], displacement_t=1000) == 0.0


def test_a_cylinder_brim_full_or_empty_has_no_surface():
    assert lying_cylinder_m4(length_m=8, radius_m=1.5, depth_m=0.0) == 0.0
    assert lying_cylinder_m4(length_m=8, radius_m=1.5, depth_m=3.0) == 0.0


def test_a_small_tank_is_one_below_a_centimetre():
    # M_fs at 30° of this tank is 24.40817148 t·m (the check number of tests/published): 0.01 m at 2440.817 t
    assert is_small_tank(capacity_m3=60, minimum_displacement_t=2441.0, **TANK)
    assert not is_small_tank(capacity_m3=60, minimum_displacement_t=2440.0, **TANK)


@pytest.mark.parametrize(
    ("call", "code", "field"),
    [
        (lambda: rectangle_m4(length_m=0, breadth_m=1), "not-positive", "length_m"),
        (lambda: rectangle_m4(length_m=1, breadth_m=1, divisions=0), "not-positive", "divisions"),
        (lambda: lying_cylinder_m4(length_m=1, radius_m=1, depth_m=2.1), "out-of-range", "depth_m"),
        (lambda: lying_cylinder_m4(length_m=1, radius_m=1, depth_m=-0.1), "out-of-range", "depth_m"),
        (lambda: plan_m4(x_m=[0, 0], y_starboard_m=[0, 0], y_port_m=[1, 1]), "not-increasing", "x_m/1"),
        (lambda: plan_m4(x_m=[0, 1], y_starboard_m=[0, 2], y_port_m=[1, 1]), "edges-cross", "y_port_m/1"),
        (lambda: plan_m4(x_m=[0, 1], y_starboard_m=[1, 1], y_port_m=[1, 1]), "no-area", "y_port_m"),
        (lambda: plan_m4(x_m=[0], y_starboard_m=[0], y_port_m=[1]), "too-few-rows", "x_m"),
        (lambda: plan_m4(x_m=[0, 1], y_starboard_m=[0], y_port_m=[1, 1]), "columns-differ", "y_starboard_m"),
        (
            lambda: virtual_rise_m(second_moments_m4=[1], densities_t_per_m3=[1], displacement_t=0),
            "not-positive",
            "displacement_t",
        ),
        (lambda: tabular_coefficient(heel_deg=91, breadth_m=1, height_m=1), "out-of-range", "heel_deg"),
        (lambda: tabular_coefficient(heel_deg=30, breadth_m=1, height_m=0), "not-positive", "height_m"),
        (lambda: tabular_moment_tm(capacity_m3=80.1, heel_deg=30, **TANK), "capacity-beyond-box", "capacity_m3"),
    ],
)
def test_what_has_no_surface_is_refused(call, code, field):
    with pytest.raises(InputError) as caught:
        call()
    assert (caught.value.code, caught.value.field) == (code, field)
