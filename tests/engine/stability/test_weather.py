"""What is shown beside a criterion on the wind is what it was judged with."""

import numpy as np
import pytest

from engine.flotation.immersion import Opening
from engine.rules import built_in_sets
from engine.stability import StabilityData, judge
from engine.stability.heel_curve import HeelCurve
from engine.stability.weather import weather_of
from engine.stability.wind import WindProfile, weather_balance
from tests.engine.stability.ships import BREADTH_M, DEPTH_M, DISPLACEMENT_T, DRAFT_M, KM_M, LENGTH_M, WHOLE, barge

SETS = {one.name: one for one in built_in_sets("stability")}
SEVERE = SETS["imo-2008-is-code-a-2-3"]
GM_RULE = SETS["us-46-cfr-170-170-exposed-si"]


def shown(sets, data=WHOLE, vcg_m=4.5):
    arms = barge(vcg_m).arms()
    criteria, _ = judge(arms, sets, data)
    return weather_of(arms, criteria, sets, data), {one.check.rule: one for one in criteria}


def test_every_step_of_the_box_by_closed_form():
    """Levers and factors by hand from the formulae of A/2.3; heels by the wall-sided form."""
    found, criteria = shown([SEVERE])
    wind, roll = found.severe_wind, found.severe_wind.roll
    lever = 7.0 - DRAFT_M / 2
    assert (found.area_m2, found.lever_m, found.required_at_heel_deg) == pytest.approx((300.0, lever, None))
    steady = 504 * 300 * lever / (1000 * 9.81 * DISPLACEMENT_T)
    assert (wind.steady_lever_m, wind.gust_lever_m) == pytest.approx((steady, 1.5 * steady))
    assert (roll.breadth_m, roll.draft_m, roll.length_waterline_m) == pytest.approx((BREADTH_M, DRAFT_M, LENGTH_M))
    assert roll.block_coefficient == pytest.approx(1.0)
    gm = KM_M - 4.5
    c = 0.373 + 0.023 * BREADTH_M / DRAFT_M - 0.043 * LENGTH_M / 100
    assert roll.period_s == pytest.approx(2 * c * BREADTH_M / np.sqrt(gm))
    assert roll.r_ratio == pytest.approx(0.73 + 0.6 * (4.5 - DRAFT_M) / DRAFT_M)
    factors = roll.k_ratio * roll.x1_ratio * roll.x2_ratio * np.sqrt(roll.r_ratio * roll.s_ratio)
    assert roll.angle_deg == pytest.approx(109 * factors)
    tangent = np.tan(np.radians(wind.steady_heel_deg))
    bm = BREADTH_M**2 / (12 * DRAFT_M)
    arm = (gm + bm * tangent**2 / 2) * np.sin(np.arctan(tangent))
    assert arm == pytest.approx(steady, rel=1e-6)
    # the bilge is out by then: a triangle as high as the side, h²/(2 tan φ) = B T
    assert wind.deck_edge_deg == pytest.approx(
        np.degrees(np.arctan(DEPTH_M**2 / (2 * BREADTH_M * DRAFT_M))), abs=1e-3
    )  # interpolated
    assert wind.flooding_deg is None  # the hatch on the centreline stays above the water
    assert wind.end_heel_deg == pytest.approx(50.0)  # nothing floods before, the arms do not fall below the gust
    by_areas = criteria["areas"].check
    assert (by_areas.value, by_areas.limit) == pytest.approx((wind.area_b_m_rad, wind.area_a_m_rad), abs=1e-9)
    assert criteria["steady-heel"].check.value == pytest.approx(wind.steady_heel_deg, abs=1e-9)


def test_the_gm_asked_against_the_wind_shows_its_heel():
    found, _ = shown([GM_RULE])
    assert found.severe_wind is None
    half = np.degrees(np.arctan((DEPTH_M - DRAFT_M) / 2 / 6))
    assert half > 14
    assert found.required_at_heel_deg == pytest.approx(14.0)


@pytest.mark.parametrize("sets", [[SETS["imo-2008-is-code-a-2-2"]], []])
def test_nothing_where_no_criterion_asks(sets):
    assert shown(sets)[0] is None


def test_nothing_where_nothing_is_known_that_it_blows_on():
    assert shown([SEVERE, GM_RULE], StabilityData(openings=(), deck_edge_m=WHOLE.deck_edge_m))[0] is None


def test_steps_that_cannot_be_told_are_left_out():
    """No openings told: no areas. A wind she does not stand: no steady heel."""
    found, _ = shown([SEVERE], StabilityData(wind=WHOLE.wind))
    wind = found.severe_wind
    assert wind.roll is not None
    assert (wind.area_a_m_rad, wind.area_b_m_rad, wind.end_heel_deg, wind.flooding_deg) == (None,) * 4
    storm = WindProfile.from_columns(draft_m=DRAFT_M, area_m2=9000.0, centroid_z_m=9.0)
    blown, _ = shown([SEVERE], StabilityData(openings=(), wind=storm))
    assert blown.severe_wind.steady_heel_deg is None
    assert blown.severe_wind.end_heel_deg is None
    assert blown.severe_wind.area_b_m_rad == 0


def test_the_side_is_that_of_the_criterion():
    """An opening to port alone floods her there first."""
    data = StabilityData(openings=(Opening(30.0, 5.0, 6.0),), wind=WHOLE.wind)
    found, criteria = shown([SEVERE], data)
    assert found.side == criteria["areas"].side == "port"


def test_where_area_b_ends():
    """GZ = 0.8 sin 2φ: it falls below a lever l at 90° − ½ asin(l/0.8) (closed form)."""
    angle = np.radians(np.arange(-60.0, 90.1, 0.5))
    curve = HeelCurve(angle, 0.8 * np.sin(2 * angle), 1.6 * np.cos(2 * angle))
    ends = [
        weather_balance(curve, steady_lever_m=lever, roll_deg=20.0, flooding_deg=flooding).end_heel_deg
        for lever, flooding in ((0.2, np.inf), (0.2, 30.0), (0.53, np.inf))
    ]
    assert ends == pytest.approx([50.0, 30.0, 90 - np.degrees(np.arcsin(0.795 / 0.8)) / 2], abs=1e-5)
    assert np.isnan(weather_balance(curve, steady_lever_m=0.6, roll_deg=20.0, flooding_deg=np.inf).end_heel_deg)
