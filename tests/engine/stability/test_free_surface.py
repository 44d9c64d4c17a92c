"""What free surfaces count by rule: boxes by ρ l b³/12 (closed form)."""

import pytest

from engine.geometry.shapes import Box
from engine.liquids import Tank, running_shift, tabular_moment_tm
from engine.stability.free_surface import (
    Counted,
    TankLoad,
    counted_surfaces,
    greatest_moment_tm,
    moment_at_fill_tm,
    transverse_units,
)


def load(y_min, y_max, *, fill=0.5, length=10.0, height=2.0, consumable=None, cargo=False, density=0.9):
    tank = Tank.of_solid(
        Box(x_min_m=20.0, x_max_m=20.0 + length, y_min_m=y_min, y_max_m=y_max, z_min_m=0.0, z_max_m=height).solid()
    )
    return TankLoad(tank, fill * tank.capacity_m3, density, consumable=consumable, cargo=cargo)


def box_moment(breadth, *, length=10.0, density=0.9):
    return density * length * breadth**3 / 12


WING_PAIR = [load(1.0, 4.0, consumable="fuel"), load(-4.0, -1.0, consumable="fuel", fill=0.0)]
CENTRE = load(-2.0, 2.0, consumable="fuel", fill=0.1)
BALLAST = load(-3.0, 3.0, fill=0.4, density=1.025)


@pytest.mark.parametrize("rule", ["us_46_cfr_170_285", "imo_is_code_b3"])
def test_of_each_consumable_the_worst_pair_or_tank(rule):
    # pair: 2 × 0.9 × 10 × 27/12 = 40.5; centreline: 0.9 × 10 × 64/12 = 48: the latter counts alone
    found = counted_surfaces([*WING_PAIR, CENTRE], rule=rule)
    assert [one.tanks for one in found] == [(2,)]
    assert found[0].moment_tm == pytest.approx(box_moment(4.0), rel=1e-9)
    narrower = load(-1.5, 1.5, consumable="fuel")
    (pair,) = counted_surfaces([*WING_PAIR, narrower], rule=rule)
    assert pair.tanks == (0, 1)
    assert pair.moment_tm == pytest.approx(2 * box_moment(3.0), rel=1e-9)  # the empty tank of the pair included


def test_liquids_are_told_apart_and_one_that_is_not_aboard_does_not_count():
    water = load(-1.0, 1.0, consumable="fresh_water", density=1.0)
    none_left = load(-1.0, 1.0, consumable="lubricating_oil", fill=0.0)
    found = counted_surfaces([CENTRE, water, none_left], rule="us_46_cfr_170_285")
    assert [one.tanks for one in found] == [(0,), (1,)]


def test_other_tanks_count_where_they_are_partly_filled():
    full, empty = load(-3.0, 3.0, fill=1.0), load(-3.0, 3.0, fill=0.0)
    (one,) = counted_surfaces([BALLAST, full, empty], rule="us_46_cfr_170_285")
    assert one == Counted((0,), pytest.approx(box_moment(6.0, density=1.025), rel=1e-9))


@pytest.mark.parametrize(("fill", "counts"), [(0.979, True), (0.98, False), (0.99, False), (1.0, False)])
def test_98_percent_of_the_code(fill, counts):
    # IS Code B/3.1: considered where the filling is less than 98 %, read
    assert bool(counted_surfaces([load(-3.0, 3.0, fill=fill)], rule="imo_is_code_b3")) is counts
    assert bool(counted_surfaces([load(-3.0, 3.0, fill=fill)], rule="us_46_cfr_170_285")) is (fill < 1.0)


def test_nominally_full_cargo_tanks_count_at_98_percent_and_5_degrees():
    cargo = load(-3.0, 3.0, fill=0.99, cargo=True)
    (one,) = counted_surfaces([cargo], rule="imo_is_code_b3")
    shift = running_shift(cargo.tank, volume_m3=0.98 * 120, density_t_per_m3=0.9, heel_deg=5.0)
    assert one.moment_tm == pytest.approx(float(shift.effective_free_surface_moment_tm[0]), rel=1e-12)
    # the surface meets the top within 5°: less than ρ l b³/12, by far more than nothing
    assert 0.1 * box_moment(6.0) < one.moment_tm < 0.9 * box_moment(6.0)


def test_small_tanks_are_left_out_by_the_code_alone():
    small = load(-1.0, 1.0, length=2.0)
    at_30 = float(
        tabular_moment_tm(capacity_m3=8, length_m=2, breadth_m=2, height_m=2, density_t_per_m3=0.9, heel_deg=30)
    )
    for least_t, counts in ((at_30 / 0.0099, False), (at_30 / 0.0101, True)):  # 0.01 m, from memory
        found = counted_surfaces([small], rule="imo_is_code_b3", minimum_displacement_t=least_t)
        assert bool(found) is counts
    assert counted_surfaces([small], rule="us_46_cfr_170_285", minimum_displacement_t=1e6)


def test_liquids_that_run_need_no_correction():
    assert counted_surfaces([*WING_PAIR, BALLAST], rule="actual") == ()


def test_moments_of_a_box():
    assert moment_at_fill_tm(BALLAST) == pytest.approx(box_moment(6.0, density=1.025), rel=1e-9)
    assert greatest_moment_tm(load(-3.0, 3.0, fill=0.0)) == pytest.approx(box_moment(6.0), rel=1e-9)


def test_pairs_are_found_by_where_they_lie():
    loads = [*WING_PAIR, CENTRE, load(1.0, 4.0, length=8.0), load(-4.0, -1.0, height=1.0)]
    assert transverse_units(loads, range(5)) == ((0, 1), (2,), (3,), (4,))
