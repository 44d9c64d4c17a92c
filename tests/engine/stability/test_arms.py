"""Arms by interpolation: closed forms, and the true curve of engine.flotation, which solves every place anew."""

from dataclasses import replace

import numpy as np
import pytest

from engine.errors import NotDeterminedError
from engine.flotation.arm_curve import side_curve
from engine.flotation.immersion import Opening, immersions
from engine.flotation.righting_arms import righting_arms
from engine.geometry.shapes import Box
from engine.liquids import Liquid, Tank
from tests.engine.stability.ships import (
    BM_M,
    DISPLACEMENT_T,
    KM_M,
    barge,
    both_sides,
    wall_sided_area,
    wall_sided_arm,
    workboat,
)

GM = KM_M - 4.5


@pytest.fixture(scope="module")
def boat():
    return workboat()


@pytest.fixture(scope="module")
def boat_arms(boat):
    return boat.arms()


def true_curve(ship):
    arms = righting_arms(
        solid=ship.solid,
        density_t_per_m3=ship.density_t_per_m3,
        mass_t=ship.mass_t,
        centre_m=ship.centre_m,
        heel_deg=[0.0],
        liquids=ship.liquids,
    )
    return side_curve(arms, side="starboard", range_deg=90.0)


def test_box_barge_is_wall_sided_until_the_bilge_emerges():
    curve = barge().arms().curve("starboard")
    for degrees in (1.0, 10.0, 21.3, 30.0):  # the bilge emerges at atan(3.5/6) = 30.26° (closed form)
        heel = np.radians(degrees)
        assert curve.at(heel) == pytest.approx(wall_sided_arm(heel, GM), abs=2e-6)
    assert curve.at(np.radians(20.0)) == pytest.approx(wall_sided_arm(np.radians(20.0), GM), abs=1e-13)  # a point
    assert curve.area(0.0, np.radians(30.0)) == pytest.approx(wall_sided_area(np.radians(30.0), GM), abs=2e-7)


def test_a_box_upright_or_on_her_side():
    arms = barge().arms()
    assert (arms.draft_m, arms.trim_m, arms.gm_fluid_m) == pytest.approx((3.5, 0.0, GM), abs=1e-12)
    assert (arms.length_waterline_m, arms.breadth_waterline_m) == pytest.approx((60.0, 12.0), abs=1e-12)
    # at 90° the immersed part is 8 m high and 3.5 × 12/8 wide, its centre at half the depth: GZ = D/2 − KG
    assert arms.curve("starboard").at(np.pi / 2) == pytest.approx(4.0 - 4.5, abs=1e-12)


def test_a_ship_alike_on_both_sides_is_mirrored_and_gives_what_both_sides_computed_give(boat, boat_arms):
    port = replace(boat, centre_m=np.array([25.5, 1e-7, 4.6])).arms()  # just enough to be computed to both sides
    assert boat_arms.arm_m == pytest.approx(-boat_arms.arm_m[::-1], abs=1e-12)
    assert boat_arms.arm_m == pytest.approx(port.arm_m, abs=2e-7)
    assert boat_arms.slope_m_per_rad == pytest.approx(port.slope_m_per_rad, abs=1e-6)
    assert boat_arms.turning_per_rad == pytest.approx(port.turning_per_rad, abs=1e-6)
    assert boat_arms.sinking_m_per_rad == pytest.approx(port.sinking_m_per_rad, abs=1e-5)


def test_interpolation_against_the_true_curve(boat, boat_arms):
    true, curve = true_curve(boat), boat_arms.curve("starboard")
    degrees = np.array([3.0, 11.1, 23.7, 33.3, 41.9, 58.8, 72.2])
    there = true.at(degrees)[0]
    assert [curve.at(np.radians(one)) for one in degrees] == pytest.approx(there, abs=5e-5)
    for low, high in ((0.0, 30.0), (0.0, 40.0), (30.0, 40.0)):
        assert curve.area(*np.radians([low, high])) == pytest.approx(true.area_m_rad(low, high), abs=5e-6)
    heel, arm = curve.maximum(0.0, curve.last_rad)
    assert np.degrees(heel) == pytest.approx(true.maximum.heel_deg, abs=0.02)
    assert arm == pytest.approx(true.maximum.arm_m, abs=5e-5)
    assert np.degrees(curve.first_fall(0.0, heel, curve.last_rad)) == pytest.approx(true.vanishing_deg, abs=0.01)


def test_immersion_against_the_true_positions(boat, boat_arms):
    places = both_sides((20.0, 6.0, 5.6), (52.0, 4.4, 7.0))
    curve = true_curve(boat)
    for place in places:
        there = immersions(curve, openings=(Opening(*place),)).unprotected_deg
        found = np.degrees(boat_arms.immersion_rad(place[None, :], "starboard"))
        assert found == pytest.approx(there, abs=2e-3) if np.isfinite(there) else np.isinf(found)
    edge = immersions(curve, deck_edge_m=places).deck_edge_deg
    assert np.degrees(boat_arms.immersion_rad(places, "port")) == pytest.approx(edge, abs=2e-3)


def test_raising_the_centre_by_cross_curves_is_right_but_for_trim(boat, boat_arms):
    exact = boat.raised(0.3).arms(start=boat_arms)
    cross = boat_arms.raised(0.3)
    assert cross.vcg_m == pytest.approx(exact.vcg_m, abs=1e-12)
    assert cross.gm_fluid_m == pytest.approx(exact.gm_fluid_m, abs=1e-4)
    assert np.abs(cross.arm_m - exact.arm_m).max() < 2e-3
    even = barge().arms()  # no trim at any heel: exact
    assert even.raised(0.3).arm_m == pytest.approx(barge(4.8).arms().arm_m, abs=1e-12)


@pytest.mark.parametrize(
    "load", [(3.0, 60.0, 0.3, 12.0), (0.0, 50.0, 0.0, 0.0), (0.0, 0.0, 20.0, 0.0), (0.0, 0.0, 0.0, 40.0)]
)
@pytest.mark.parametrize("corrected_tm", [0.0, 100.0])
def test_a_load_to_the_first_order_against_arms_computed_anew(boat, load, corrected_tm):
    tank = Tank.of_solid(Box(x_min_m=20, x_max_m=30, y_min_m=-2, y_max_m=2, z_min_m=1, z_max_m=3).solid())
    ship = replace(boat, centre_m=np.array([25.5, 0.05, 4.6]), free_surface_tm=corrected_tm)
    ship = ship if corrected_tm else replace(ship, liquids=(Liquid(tank, 40.0, 0.9),))
    base, (mass, *moment) = ship.arms(), load

    def anew(sign):
        total = ship.mass_t + sign * mass
        centre = (ship.mass_t * ship.centre_m + sign * np.array(moment)) / total
        return replace(ship, mass_t=total, centre_m=centre).arms(start=base)

    above, below, found = anew(1.0), anew(-1.0), base.loaded(mass_t=mass, moment_tm=moment)

    def change(of):  # what is odd in the load is its first order, the rest of it third
        return 0.5 * (of(above) - of(below)), of(found) - of(base)

    for of, allowed in (
        (lambda arms: arms.arm_m, 1e-6),
        (lambda arms: arms.planes.offsets_m, 1e-6),
        (lambda arms: arms.planes.normals[:, 0], 1e-7),
        (lambda arms: arms.gm_fluid_m, 5e-5),  # the waterplane of a coarse mesh has corners
        (lambda arms: arms.slope_m_per_rad, 2e-3),  # by a spline over heel, worst where a deck edge goes under
        (lambda arms: arms.sinking_m_per_rad, 2e-3),
        (lambda arms: arms.draft_m, 1e-6),
        (lambda arms: arms.trim_m, 1e-5),
        (lambda arms: arms.length_waterline_m, 1e-5),
        (lambda arms: arms.breadth_waterline_m, 1e-5),
        (lambda arms: arms.free_surface_tm, 1e-6),
        (lambda arms: arms.displacement_t, 1e-12),
        (lambda arms: arms.vcg_m, 1e-5),
    ):
        expected, given = change(of)
        assert given == pytest.approx(expected, abs=allowed)
    assert np.abs(change(lambda arms: arms.arm_m)[0]).max() > 5e-4  # far more than what is allowed


def test_arms_begun_from_a_ship_nearly_the_same_are_those_begun_from_nothing(boat, boat_arms):
    other = replace(boat, mass_t=1210.0, centre_m=np.array([25.3, 0.1, 4.7]))
    cold, warm = other.arms(), other.arms(start=boat_arms)
    assert warm.arm_m == pytest.approx(cold.arm_m, abs=1e-11)
    assert warm.planes.offsets_m == pytest.approx(cold.planes.offsets_m, abs=1e-11)


def test_a_free_surface_correction_is_a_higher_centre():
    plain, corrected = barge(4.6).arms(), barge(4.5, free_surface_tm=0.1 * DISPLACEMENT_T).arms()
    assert corrected.arm_m == pytest.approx(plain.arm_m, abs=1e-12)
    assert (corrected.vcg_m, corrected.gm_fluid_m) == pytest.approx((4.5, plain.gm_fluid_m), abs=1e-12)
    assert corrected.free_surface_tm == pytest.approx(0.1 * DISPLACEMENT_T)


def test_a_running_liquid_takes_l_b3_12_off_gm():
    tank = Tank.of_solid(Box(x_min_m=25, x_max_m=35, y_min_m=-2, y_max_m=2, z_min_m=0, z_max_m=2).solid())
    liquid = Liquid(tank, 40.0, 1.0)
    ship = barge(mass_t=DISPLACEMENT_T - 40.0, liquids=(liquid,))
    arms = ship.arms()
    solid = KM_M - ((DISPLACEMENT_T - 40) * 4.5 + 40 * 0.5) / DISPLACEMENT_T
    assert arms.free_surface_tm == pytest.approx(10 * 4**3 / 12, rel=1e-9)  # ρ l b³/12
    assert arms.gm_fluid_m == pytest.approx(solid - 10 * 4**3 / 12 / DISPLACEMENT_T, rel=1e-9)
    assert arms.centre_m[2] == pytest.approx(KM_M - solid, rel=1e-12)


def test_bm_by_the_second_derivative_of_the_arms():
    # the slope at 0 is GM; wall-sided d³GZ/dφ³ = 3 BM − GM at 0
    arms = barge().arms()
    curve = arms.curve("starboard")
    assert arms.slope_m_per_rad[len(arms.heel_rad) // 2] == pytest.approx(GM, abs=1e-12)
    step = np.radians(2.5)
    third = (curve.at(2 * step) - 2 * curve.at(step)) / step**3
    assert third == pytest.approx(3 * BM_M - GM, rel=0.02)


def test_a_ship_that_sinks_has_no_arms():
    with pytest.raises(NotDeterminedError) as caught:
        barge(mass_t=6000.0).arms()
    assert caught.value.code == "sinks"
