"""Arms by cross curves: the box barge's own closed form, tables to one side and to both, and what is refused."""

import numpy as np
import pytest

from engine.errors import InputError, NotDeterminedError
from engine.flotation.cross_curve_table import CrossCurveTable
from engine.stability.table_arms import table_arms
from tests.engine.stability.ships import BM_M, DENSITY, DISPLACEMENT_T, KM_M, wall_sided_area, wall_sided_arm

HEELS = np.arange(0.0, 31.0, 5.0)  # at 3.5 m of draft the bilge comes out of the water beyond 30.3°
DRAFTS = np.array([3.25, 3.5, 3.75])


def kn(heel_deg):
    """KN = (KM + BM tan²φ/2) sin φ of the box at each draft, until a corner is immersed or emerges (closed form)."""
    turn = np.radians(heel_deg)
    km, bm = DRAFTS / 2 + 12 / DRAFTS, 12 / DRAFTS
    return (km[:, None] + bm[:, None] * np.tan(turn) ** 2 / 2) * np.sin(turn)


def table(heel_deg=HEELS, kn_m=None):
    mass = DENSITY * 720 * DRAFTS
    lever = kn(heel_deg) if kn_m is None else kn_m
    return CrossCurveTable(density_t_per_m3=DENSITY, displacement_t=mass, heel_deg=heel_deg, kn_m=lever)


def arms(of=None, *, vcg_m=4.5, **more):
    return table_arms(table=of or table(), displacement_t=DISPLACEMENT_T, density_t_per_m3=DENSITY, vcg_m=vcg_m, **more)


def test_at_the_heels_of_the_table_exact_and_between_them_close():
    made = arms()
    assert made.mirrored
    np.testing.assert_allclose(made.at(HEELS), wall_sided_arm(np.radians(HEELS), KM_M - 4.5), atol=1e-13)
    between = np.array([2.0, 7.5, 12.5, 17.5, 22.5, 28.0])
    np.testing.assert_allclose(made.at(between), wall_sided_arm(np.radians(between), KM_M - 4.5), atol=2e-4)
    np.testing.assert_allclose(made.at(-between), -made.at(between), atol=1e-13)
    assert made.slope_upright_m_per_rad() == pytest.approx(KM_M - 4.5, abs=2e-4)


def test_areas_and_their_error():
    side = arms().side("starboard", range_deg=30.0)
    (area,) = side.areas
    assert (area.from_deg, area.to_deg) == (0.0, 30.0)
    exact = wall_sided_area(np.radians(30.0), KM_M - 4.5)  # 0.126441519713 m·rad
    assert abs(area.area_m_rad - exact) < 2e-5
    assert abs(area.area_m_rad - exact) < area.error_m_rad < 2e-3
    assert [one.code for one in side.findings] == ["vanishing-not-reached", "maximum-at-end", "area-beyond-curve"]
    assert side.findings[2].count == 2
    np.testing.assert_allclose(arms().area_from_upright_m_rad([30.0, -30.0]), area.area_m_rad, rtol=1e-12)


def test_beyond_the_table_nothing_is_told():
    assert np.isnan(arms().at([31.0, -31.0])).all()
    assert np.isnan(arms().area_from_upright_m_rad([31.0])).all()
    assert arms().side("port", range_deg=90.0).end_deg == pytest.approx(30.0)


def test_a_ship_that_lolls_begins_at_her_angle_of_loll():
    high = KM_M + 0.1
    side = arms(vcg_m=high).side("port", range_deg=30.0)
    loll = np.degrees(np.arctan(np.sqrt(0.2 / BM_M)))  # tan φ = √(−2 GM/BM)
    assert side.start_deg == pytest.approx(loll, abs=0.01)
    assert (side.intercepts[0].stable, side.intercepts[0].heel_deg) == (True, side.start_deg)
    assert side.areas[0].from_deg == side.start_deg


def test_a_ship_listed_by_her_centre_of_gravity():
    made = arms(tcg_m=-0.05)  # to starboard
    list_deg = made.side("starboard", range_deg=30.0).start_deg
    turn = np.radians(list_deg)
    assert wall_sided_arm(turn, KM_M - 4.5) == pytest.approx(0.05 * np.cos(turn), abs=2e-4)
    assert made.side("port", range_deg=30.0).start_deg == 0.0
    assert made.side("port", range_deg=30.0).intercepts == ()


def test_no_righting_arm_and_an_arm_that_vanishes():
    none = arms(vcg_m=9.0).side("starboard", range_deg=30.0)
    assert [one.code for one in none.findings] == ["no-righting-arm"]
    assert (none.start_deg, none.maximum, none.areas) == (None, None, ())
    # KN = sin 3φ/3: with KG = 0 it vanishes at 60°, is largest, 1/3 m, at 30°, and has (1 − cos 3φ)/9 of area
    heels = np.arange(0.0, 81.0, 5.0)
    bent = table(heels, np.tile(np.sin(3 * np.radians(heels)) / 3, (3, 1)))
    side = arms(bent, vcg_m=0.0).side("starboard", range_deg=80.0)
    assert side.vanishing_deg == pytest.approx(60.0, abs=1e-3)
    assert side.maximum.heel_deg == pytest.approx(30.0, abs=1e-3)
    assert side.maximum.arm_m == pytest.approx(1 / 3, abs=1e-5)
    areas = {(one.from_deg, one.to_deg): one.area_m_rad for one in side.areas}
    assert areas[0.0, 30.0] == pytest.approx(1 / 9, abs=2e-6)
    assert areas[0.0, 40.0] == pytest.approx(1.5 / 9, abs=2e-6)
    assert side.findings == ()


def test_a_table_to_both_sides_is_taken_as_it_is():
    both = np.concatenate([-HEELS[:0:-1], HEELS])
    lever = kn(both)
    lever[:, both < 0] *= 0.9
    made = arms(table(both, lever), vcg_m=0.0)
    assert not made.mirrored
    assert made.at([-20.0])[0] == pytest.approx(-0.9 * made.at([20.0])[0], rel=1e-12)
    port_only = arms(table(-HEELS[::-1], kn(-HEELS[::-1])))
    np.testing.assert_allclose(port_only.at(HEELS), arms().at(HEELS), atol=1e-12)


def test_refusals():
    with pytest.raises(InputError) as refused:
        arms(table(np.array([0.0, 30.0])))
    assert (refused.value.code, refused.value.field, refused.value.value) == ("too-few-points", "heel_deg", 3)
    with pytest.raises(NotDeterminedError) as beyond:
        table_arms(table=table(), displacement_t=1000.0, density_t_per_m3=DENSITY, vcg_m=4.5)
    assert (beyond.value.code, beyond.value.field) == ("beyond-tables", "displacement_t")
