"""Criteria held against arms: the box barge by closed form, missing data, the worse side."""

from dataclasses import replace

import numpy as np
import pytest

from engine.errors import InputError
from engine.flotation.immersion import Opening
from engine.rules import NAMES_BY_SUBJECT, Requirement, Rule, RuleSet, built_in_sets
from engine.stability import StabilityData, WindProfile, judge
from engine.stability.observe import OBSERVE, Observation
from engine.stability.wind import weather_gm_m
from tests.engine.stability.ships import DISPLACEMENT_T, KM_M, WHOLE, barge, wall_sided_area, wall_sided_arm

SETS = {one.name: one for one in built_in_sets("stability")}
GM = KM_M - 4.5


@pytest.fixture(scope="module")
def arms():
    return barge().arms()


def outcomes(arms, data, *names):
    criteria, _ = judge(arms, [SETS[name] for name in names], data)
    return {one.check.rule: one.check for one in criteria}


def test_every_quantity_of_the_table_is_computed():
    assert set(OBSERVE) == NAMES_BY_SUBJECT["stability"]


def test_quantities_of_the_box_barge(arms):
    found = dict(Observation(arms, "starboard", WHOLE))
    radians = np.radians(30)
    assert found["gm_fluid_m"] == pytest.approx(GM, abs=1e-12)
    assert found["gz_area_to_30_m_rad"] == pytest.approx(wall_sided_area(radians, GM), abs=2e-7)
    assert found["gz_area_to_30_m_deg"] == pytest.approx(np.degrees(wall_sided_area(radians, GM)), abs=2e-5)
    assert found["gz_area_to_40_or_flooding_m_rad"] - found["gz_area_to_30_m_rad"] == pytest.approx(
        found["gz_area_30_to_40_or_flooding_m_rad"], abs=1e-14
    )
    assert found["gz_largest_from_30_m"] == found["gz_maximum_m"]
    assert found["gz_maximum_m"] > wall_sided_arm(radians, GM)
    assert found["flooding_angle_deg"] == np.inf  # 9 m above the base on the centreline: dry to 90°, the depth being 8
    assert found["deck_edge_angle_deg"] == pytest.approx(deck_edge_angle_deg(), abs=2e-3)
    assert found["vessel_length_bp_m"] == 60.0


def deck_edge_angle_deg():
    """Immersed triangle of the box: height h at the deck edge, base h/tan φ, area h²/(2 tan φ) = B T, h = D = 8 m."""
    return np.degrees(np.arctan(8.0**2 / (2 * 12.0 * 3.5)))


def test_flooding_cuts_the_areas_off(arms):
    # 2 m above the water and 2 m / tan 28° out it goes under at 28° (closed form, wall-sided)
    vent = Opening(30.0, -2.0 / np.tan(np.radians(28)), 5.5)
    at_30 = replace(WHOLE, openings=(vent, Opening(30.0, -6.0, 4.0, "weathertight")))
    found = dict(Observation(arms, "starboard", at_30))
    assert found["flooding_angle_deg"] == pytest.approx(28.0, abs=1e-4)
    assert found["gz_area_to_40_or_flooding_m_rad"] == pytest.approx(wall_sided_area(np.radians(28), GM), abs=1e-6)
    assert found["gz_area_30_to_40_or_flooding_m_rad"] == 0.0
    assert found["gz_area_to_maximum_flooding_or_40_m_rad"] == found["gz_area_to_40_or_flooding_m_rad"]


def test_the_worse_side_is_judged_and_named(arms):
    one_side = replace(WHOLE, openings=(Opening(30.0, 4.0, 5.5),))  # to port
    criteria, _ = judge(arms, [SETS["us-46-cfr-174-185"]], one_side)
    flooding = next(one for one in criteria if one.check.rule == "flooding")
    assert flooding.side == "port"
    assert flooding.check.value == pytest.approx(np.degrees(np.arctan(2 / 4)), abs=1e-4)  # wall-sided
    listed = barge(centre_m=np.array([30.0, 0.05, 4.5])).arms()
    criteria, _ = judge(listed, [SETS["imo-2008-is-code-a-2-2"]], WHOLE)
    by_rule = {one.check.rule: one for one in criteria}
    assert by_rule["area-to-30"].side == "port"  # y is + to port: her list leaves less area there
    # to that side the arm is less by y cos φ, the area by y sin 30° (closed form)
    assert by_rule["area-to-30"].check.value == pytest.approx(wall_sided_area(np.radians(30), GM) - 0.025, abs=1e-6)


def test_without_data_nothing_is_guessed(arms):
    found = outcomes(arms, StabilityData(), "imo-2008-is-code-a-2-2")
    assert {rule: check.outcome for rule, check in found.items()} == {
        "area-to-30": "met",
        "area-to-40": "not_assessed",
        "area-30-to-40": "not_assessed",
        "lever-from-30": "met",
        "angle-of-maximum": "met",
        "gm": "met",
    }
    assert "openings are not stated" in found["area-to-40"].reason
    wind = outcomes(arms, replace(WHOLE, wind=None), "imo-2008-is-code-a-2-3", "us-46-cfr-170-170-exposed-si")
    assert {check.outcome for check in wind.values()} == {"not_assessed"}
    assert all("no wind area is given" in check.reason for check in wind.values())
    edge = outcomes(arms, replace(WHOLE, deck_edge_m=None), "imo-2008-is-code-a-2-3", "us-46-cfr-170-170-exposed-si")
    assert {rule for rule, check in edge.items() if check.outcome == "not_assessed"} == {
        "steady-heel-deck-edge",
        "weather-gm",
    }
    assert all("deck edge is not given" in check.reason for check in edge.values() if check.outcome == "not_assessed")
    beyond = WindProfile.from_columns(draft_m=[4.0, 5.0], area_m2=[300.0, 250.0], centroid_z_m=[7.0, 7.0])
    (check,) = outcomes(arms, replace(WHOLE, wind=beyond), "us-46-cfr-170-170-exposed-si").values()
    assert "none for this draft" in check.reason


def test_no_openings_is_not_the_same_as_nothing_said(arms):
    found = outcomes(arms, StabilityData(openings=()), "imo-2008-is-code-a-2-2", "us-46-cfr-174-185")
    assert {check.outcome for check in found.values()} == {"met"}
    assert found["flooding"].value is None
    assert found["flooding"].reason == "the value is infinite"


def test_weather_gm_takes_half_the_freeboard_and_half_the_draft(arms):
    (check,) = outcomes(arms, WHOLE, "us-46-cfr-170-170-exposed-si").values()
    facts = {"waters": "exposed", "form": "si", "length_bp_m": 60, "area_m2": 300, "displacement_t": DISPLACEMENT_T}
    # half of 4.5 m over 6 m is 20.6°: 14° rules; H = 7 − 3.5/2
    assert check.limit == pytest.approx(weather_gm_m(**facts, lever_m=5.25, heel_deg=14.0), abs=1e-9)
    low = replace(WHOLE, deck_edge_m=WHOLE.deck_edge_m - [0, 0, 2.5])  # 2 m of freeboard: atan(1/6) = 9.46°
    (check,) = outcomes(arms, low, "us-46-cfr-170-170-exposed-si").values()
    half = np.degrees(np.arctan(1 / 6))
    assert check.limit == pytest.approx(weather_gm_m(**facts, lever_m=5.25, heel_deg=half), abs=1e-7)
    awash = replace(WHOLE, deck_edge_m=WHOLE.deck_edge_m - [0, 0, 5.0])
    (check,) = outcomes(arms, awash, "us-46-cfr-170-170-exposed-si").values()
    assert (check.outcome, check.limit, check.reason) == ("not_met", None, "the limit is infinite")


def test_the_angle_of_vanishing_begins_after_a_list():
    heavy = barge(vcg_m=5.4).arms()  # GM = −0.22 m: she lolls at tan φ = √(−2 GM/BM) (closed form)
    loll = np.degrees(np.arctan(np.sqrt(2 * (5.4 - KM_M) / (KM_M - 1.75))))
    seen = Observation(heavy, "starboard", WHOLE)
    assert np.degrees(seen.curve.first_rise(0.0, 0.01, 1.0)) == pytest.approx(loll, abs=1e-3)
    assert seen["gz_positive_to_deg"] > 40
    capsizing = barge(vcg_m=9.0).arms()
    assert Observation(capsizing, "starboard", WHOLE).positive_to_deg == 0.0


def test_a_set_on_tests_is_refused_here(arms):
    with pytest.raises(InputError) as caught:
        judge(arms, [SETS["us-46-cfr-174-185"], *built_in_sets("test")], WHOLE)
    assert (caught.value.code, caught.value.field) == ("rule-set-subject", "rules/1")


def test_arms_that_do_not_reach_far_enough(arms):
    kept = slice(30 - 12, 30 + 13)  # to 30°
    short = replace(
        arms,
        planes=arms.planes.take(np.arange(18, 43)),
        **{
            name: getattr(arms, name)[kept]
            for name in ("heel_rad", "arm_m", "slope_m_per_rad", "turning_per_rad", "sinking_m_per_rad")
        },
    )
    found = outcomes(short, WHOLE, "imo-2008-is-code-a-2-2")
    assert short.reach_deg == pytest.approx(30.0)
    assert (found["area-to-30"].outcome, found["area-to-40"].outcome) == ("met", "not_assessed")
    assert "not computed so far" in found["area-to-40"].reason


def test_values_are_those_a_firms_rule_sees(arms):
    needs = Requirement("weather_steady_heel_deg", "at_most", 0.0, None, "deck_edge_angle_deg", 0.65)
    rule = Rule("steady", "Steady heel", needs, "1", "House manual", "our choice", "required")
    house = RuleSet("house", "House", "1", (rule,), "stability")
    (one,), _ = judge(arms, [house], WHOLE)
    assert one.check.limit == pytest.approx(0.65 * deck_edge_angle_deg(), abs=2e-3)
    assert one.check.outcome == "met"
    assert one.check.margin == pytest.approx(one.check.limit - one.check.value, abs=1e-12)
