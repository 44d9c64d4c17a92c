"""What a rule may ask of tables: nothing of the geometry, and beyond the cross curves only what cannot change."""

from dataclasses import replace

import numpy as np
import pytest

from engine.flotation.cross_curve_table import CrossCurveTable
from engine.flotation.immersion import Opening
from engine.rules import Requirement, Rule, RuleSet, built_in_sets
from engine.stability import StabilityData, WindProfile, judge
from engine.stability.margins import Margins, rules_of
from engine.stability.table_observe import observation
from tests.engine.stability.ships import DECK_EDGE, DENSITY, KM_M, wall_sided_arm
from tests.engine.stability.test_table_arms import DRAFTS, HEELS
from tests.engine.stability.test_table_ship import ship
from tests.engine.stability.test_vcg_limit import house

CLOSED = StabilityData(openings=(), wind=WindProfile.from_columns(draft_m=3.5, area_m2=300.0, centroid_z_m=7.0))
OPEN = replace(CLOSED, openings=(Opening(30.0, 3.0, 9.0),), deck_edge_m=DECK_EDGE)
SETS = {one.name: one for one in built_in_sets("stability")}


def arms(arm, *, last_deg=80.0, vcg_m=0.0):
    """KN by a function of heel in radians, to starboard up to a heel."""
    heels = np.arange(0.0, last_deg + 1, 5.0)
    lever = np.tile(arm(np.radians(heels)), (3, 1))
    levers = CrossCurveTable(
        density_t_per_m3=DENSITY, displacement_t=DENSITY * 720 * DRAFTS, heel_deg=heels, kn_m=lever
    )
    return ship(vcg_m, cross_curves=levers).arms()


def hump(turn):
    """Largest, 1/3 m, at 30°; zero at 60°."""
    return np.sin(3 * turn) / 3


def outcome(made, rule_set, data=CLOSED):
    criteria, _ = judge(made, [rule_set], data)
    return {one.check.rule: (one.check.outcome, one.check.reason) for one in criteria}


def test_nothing_of_the_geometry_is_known():
    seen = observation(ship().arms(), "starboard", OPEN)
    for name in ("flooding_angle_deg", "deck_edge_angle_deg", "weather_area_a_m_rad", "weather_roll_angle_deg"):
        assert seen[name] is None
    assert seen["weather_gm_exposed_si_m"] is None
    assert seen["gz_area_to_40_or_flooding_m_rad"] is None
    assert observation(ship().arms(), "starboard", CLOSED)["flooding_angle_deg"] == np.inf  # it is said that none is
    assert observation(ship().arms(), "starboard", StabilityData())["flooding_angle_deg"] is None


def test_the_reason_says_what_tables_cannot_tell():
    made = arms(hump)
    open_, silent = (
        outcome(made, SETS["imo-2008-is-code-a-2-2"], OPEN),
        outcome(made, SETS["imo-2008-is-code-a-2-2"], StabilityData()),
    )
    assert open_["area-to-40"][0] == silent["area-to-40"][0] == "not_assessed"
    assert "tables hold no geometry" in open_["area-to-40"][1]
    assert "openings are not stated" in silent["area-to-40"][1]
    wind = outcome(made, SETS["imo-2008-is-code-a-2-3"], OPEN)
    assert wind["steady-heel"][0] in ("met", "not_met")
    assert wind["areas"][0] == wind["steady-heel-deck-edge"][0] == "not_assessed"
    assert "length and breadth of the waterline" in wind["areas"][1]
    blown = outcome(made, SETS["imo-2008-is-code-a-2-3"], replace(OPEN, wind=None))
    assert "no wind area is given" in blown["steady-heel"][1]
    weather = outcome(made, SETS["us-46-cfr-170-170-exposed-si"], OPEN)
    assert {(found, "deck edge" in why) for found, why in weather.values()} == {("not_assessed", True)}


def test_without_cross_curves_gm_alone_is_judged():
    found = outcome(ship(cross_curves=False).arms(), SETS["imo-2008-is-code-a-2-2"])
    assert found.pop("gm") == ("met", "")
    assert {one for one, _ in found.values()} == {"not_assessed"}
    assert all("no cross curves" in why for _, why in found.values())
    low = outcome(ship(KM_M - 0.1, cross_curves=False).arms(), SETS["imo-2008-is-code-a-2-2"])
    assert low["gm"][0] == "not_met"


def test_the_whole_curve_is_judged_as_it_is():
    """Of KN = sin 3φ/3, KG 0: maximum 1/3 m at 30°, areas (1 − cos 3φ)/9, zero at 60° (closed forms)."""
    seen = observation(arms(hump), "starboard", CLOSED)
    assert seen["gz_maximum_angle_deg"] == pytest.approx(30.0, abs=1e-3)
    assert seen["gz_area_to_40_or_flooding_m_rad"] == pytest.approx(1.5 / 9, abs=2e-6)
    assert seen["gz_area_to_maximum_flooding_or_40_m_rad"] == pytest.approx(1 / 9, abs=2e-6)
    assert seen["gz_positive_to_deg"] == pytest.approx(60.0, abs=1e-3)
    assert seen.open_upwards == {}


@pytest.mark.parametrize(
    ("quantity", "comparison", "limit", "expected"),
    [  # the curve ends at 20°, where it still rises, at (sin 60°)/3 = 0.2887 m
        ("gz_maximum_m", "at_least", 0.2, "met"),  # it is more already
        ("gz_maximum_m", "at_least", 0.3, "not_assessed"),
        ("gz_maximum_m", "at_most", 0.2, "not_met"),  # it is more already
        ("gz_maximum_m", "at_most", 0.3, "not_assessed"),
        ("gz_maximum_angle_deg", "at_least", 15.0, "met"),
        ("gz_maximum_angle_deg", "at_least", 25.0, "not_assessed"),
        ("gz_positive_to_deg", "at_least", 15.0, "met"),
        ("gz_positive_to_deg", "at_least", 60.0, "not_assessed"),
        ("gz_largest_from_30_m", "at_least", 0.1, "not_assessed"),  # 30° is beyond the table
        ("gz_area_to_30_m_rad", "at_least", 0.01, "not_assessed"),
        ("gz_area_to_maximum_m_deg", "at_least", 0.1, "met"),
        ("gz_area_to_maximum_m_deg", "at_least", 9.0, "not_assessed"),
        ("weather_steady_heel_deg", "at_most", 16.0, "met"),
    ],
)
def test_where_the_cross_curves_end_only_what_the_rest_cannot_change_is_judged(quantity, comparison, limit, expected):
    made, rule_set = arms(hump, last_deg=20.0), house(quantity, comparison, limit)
    ((found, reason),) = outcome(made, rule_set).values()
    assert found == expected, reason
    margin = Margins([observation(made, "starboard", CLOSED)], rules_of([rule_set])).worst()
    assert (margin < 0) is (expected == "not_met")  # a limit of VCG does not take what is not known for a failure
    if expected == "not_assessed":
        assert "the cross curves end at 20°" in reason


def test_a_wind_that_is_not_stood_within_the_cross_curves():
    strong = replace(CLOSED, wind=WindProfile.from_columns(draft_m=3.5, area_m2=3000.0, centroid_z_m=70.0))
    for last, at_most, expected in ((20.0, 16.0, "not_met"), (20.0, 25.0, "not_assessed"), (50.0, 60.0, "not_met")):
        made = arms(hump, last_deg=last)
        ((found, _),) = outcome(made, house("weather_steady_heel_deg", "at_most", at_most), strong).values()
        assert found == expected, last


def test_a_set_that_may_be_used_only_if_the_rest_is_so():
    """46 CFR 170.173(c) may be used where the maximum is at 30° or less: at 20° and rising that is not known."""
    found = {rule: one for rule, (one, _) in outcome(arms(hump, last_deg=20.0), SETS["us-46-cfr-170-173-c"]).items()}
    assert found["may-be-used"] == found["area-to-maximum"] == "not_assessed"
    assert found["angle-of-maximum"] == "met"  # 15° at least


@pytest.mark.parametrize("comparison", ["at_most", "at_least"])
def test_a_rule_that_applies_only_if_the_rest_is_so_is_not_assessed(comparison):
    rule = Rule(
        "one",
        "One",
        Requirement("gm_fluid_m", "at_least", 0.15),
        "1",
        "House manual",
        "our choice",
        "required",
        applies_when=(Requirement("gz_maximum_angle_deg", comparison, 25.0),),
    )
    found = outcome(arms(hump, last_deg=20.0), RuleSet("house", "House", "1", (rule,), "stability"))
    assert [one for one, _ in found.values()] == ["not_assessed"]


def test_heels_of_the_table_reach_as_far_as_it_does():
    assert observation(ship().arms(), "port", CLOSED)["gz_area_to_30_m_rad"] is not None
    assert HEELS[-1] == 30.0
    at_30 = observation(ship().arms(), "port", CLOSED)["gz_largest_from_30_m"]
    assert at_30 == pytest.approx(wall_sided_arm(np.radians(30.0), KM_M - 4.5), abs=1e-9)  # closed form of the box
    assert observation(ship().arms(), "port", CLOSED)["gz_area_30_to_40_or_flooding_m_rad"] is None
