"""Limits of VCG: closed forms, equality at the limit and failure above it, limits that do not exist."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import brentq

from engine.errors import InputError, NotDeterminedError
from engine.flotation.immersion import Opening
from engine.geometry import OffsetStation, solid_from_offsets
from engine.rules import Requirement, Rule, RuleSet, built_in_sets
from engine.stability import StabilityData, judge, vcg_limit_table
from engine.stability.vcg_limit import vcg_limit
from tests.engine.stability.ships import (
    DENSITY,
    DISPLACEMENT_T,
    KM_M,
    WHOLE,
    barge,
    both_sides,
    box,
    wall_sided_area,
    workboat,
    workboat_hull,
)

SETS = {one.name: one for one in built_in_sets("stability")}
BOAT_DATA = replace(
    WHOLE, openings=(Opening(12.0, 2.0, 8.0),), deck_edge_m=both_sides((0.0, 5.6, 5.6), (24.0, 6.0, 5.6), (50, 4, 6.4))
)


def house(quantity, comparison, limit):
    rule = Rule("one", "One", Requirement(quantity, comparison, limit), "1", "House manual", "our choice", "required")
    return RuleSet("house", "House", "1", (rule,), "stability")


def test_gm_of_the_box_barge():
    found = vcg_limit(barge(), rule_sets=[SETS["imo-2008-is-code-a-2-2"]], data=WHOLE)
    assert found.vcg_m == pytest.approx(KM_M - 0.15, abs=1e-9)  # KB + BM − 0.15 m (closed form)
    assert (found.governing.check.rule, found.not_assessed, found.findings) == ("gm", (), ())


def test_area_of_the_box_barge():
    found = vcg_limit(barge(), rule_sets=[house("gz_area_to_30_m_rad", "at_least", 0.1)], data=WHOLE)
    height = brentq(lambda vcg: wall_sided_area(np.radians(30), KM_M - vcg) - 0.1, 3.0, 5.0)  # closed form of the area
    assert found.vcg_m == pytest.approx(height, abs=2e-6)


@pytest.mark.parametrize(
    ("ship", "name"),
    [("barge", name) for name in sorted(SETS)]
    + [("workboat", name) for name in ("imo-2008-is-code-a-2-3", "us-46-cfr-170-173-c", "us-46-cfr-28-570")],
)
def test_at_the_limit_the_governing_criterion_is_just_met_and_a_millimetre_above_it_fails(ship, name):
    made, data = (barge(), WHOLE) if ship == "barge" else (workboat(), BOAT_DATA)
    rule_sets = [SETS[name]]
    if (ship, name) == ("barge", "us-46-cfr-170-173-c"):  # her largest arm lies beyond 30°: (b) is to be used
        with pytest.raises(NotDeterminedError) as caught:
            vcg_limit(made, rule_sets=rule_sets, data=data)
        assert caught.value.code == "no-vcg-meets"
        return
    found = vcg_limit(made, rule_sets=rule_sets, data=data)
    rise = found.vcg_m - made.arms().vcg_m
    key = found.governing.check.rule

    def judged(height_m):
        criteria, _ = judge(made.raised(rise + height_m).arms(), rule_sets, data)  # computed anew, free to trim
        return {one.check.rule: one.check for one in criteria}

    there, above = judged(0.0), judged(0.001)
    assert abs(there[key].margin) <= 1e-6
    assert {check.outcome for check in judged(-1e-6).values()} == {"met"}
    assert above[key].outcome == "not_met"
    assert above[key].margin < 0


def test_the_limit_does_not_depend_on_where_the_search_begins():
    low, high = (
        vcg_limit(barge(height), rule_sets=[SETS["imo-2008-is-code-a-2-3"]], data=WHOLE) for height in (2.0, 7.0)
    )
    assert low.vcg_m == pytest.approx(high.vcg_m, abs=1e-8)


def test_a_correction_for_free_surfaces_lowers_the_limit_by_itself():
    gm = [SETS["us-46-cfr-28-570"]]
    plain = vcg_limit(barge(), rule_sets=gm, data=WHOLE)
    corrected = vcg_limit(barge(free_surface_tm=0.2 * DISPLACEMENT_T), rule_sets=gm, data=WHOLE)
    assert corrected.vcg_m == pytest.approx(plain.vcg_m - 0.2, abs=1e-9)


def test_criteria_without_their_data_are_left_out_and_named():
    found = vcg_limit(barge(), rule_sets=[SETS["imo-2008-is-code-a-2-2"]], data=StabilityData())
    assert {check.rule for check in found.not_assessed} == {"area-to-40", "area-30-to-40"}
    with pytest.raises(NotDeterminedError) as caught:
        vcg_limit(barge(), rule_sets=[SETS["imo-2008-is-code-a-2-3"]], data=StabilityData())
    assert caught.value.code == "no-criterion-assessed"


def test_no_height_meets_a_criterion_that_height_does_not_change():
    vent = replace(WHOLE, openings=(Opening(30.0, 5.9, 3.6), Opening(30.0, -5.9, 3.6)))  # floods at 1°
    with pytest.raises(NotDeterminedError) as caught:
        vcg_limit(barge(), rule_sets=[SETS["us-46-cfr-174-185"]], data=vent)
    assert caught.value.code == "no-vcg-meets"


def test_no_criterion_sets_an_upper_limit():
    with pytest.raises(NotDeterminedError) as caught:
        vcg_limit(barge(), rule_sets=[house("deck_edge_angle_deg", "at_least", 10.0)], data=WHOLE)
    assert caught.value.code == "no-upper-vcg-limit"


def test_a_criterion_that_fails_below_too():
    # at most 0.5 m of GM, and at least 0.15: met between KM − 0.5 and KM − 0.15
    code = SETS["imo-2008-is-code-a-2-2"]
    stiff = replace(code, rules=(*code.rules, house("gm_fluid_m", "at_most", 0.5).rules[0]))
    found = vcg_limit(barge(), rule_sets=[stiff], data=WHOLE)
    assert found.vcg_m == pytest.approx(KM_M - 0.15, abs=1e-9)
    assert [one.code for one in found.findings] == ["vcg-too-low-fails"]


def test_a_range_narrower_than_the_first_samples_is_found():
    least, most = house("gm_fluid_m", "at_least", 0.49).rules[0], house("gm_fluid_m", "at_most", 0.501).rules[0]
    rules = (most, replace(least, id="two"))
    found = vcg_limit(barge(), rule_sets=[RuleSet("house", "House", "1", rules, "stability")], data=WHOLE)
    assert found.vcg_m == pytest.approx(KM_M - 0.49, abs=1e-9)


def test_a_limit_above_which_all_are_met_again_is_told():
    # the roll to windward grows with KG by r and shrinks with GM by s: at most 19° holds low and high, not between
    roll = house("weather_roll_angle_deg", "at_most", 19.0).rules[0]
    stiff = replace(house("gm_fluid_m", "at_least", 0.02).rules[0], id="two")
    found = vcg_limit(barge(), rule_sets=[RuleSet("house", "House", "1", (roll, stiff), "stability")], data=WHOLE)
    assert found.governing.check.rule == "one"
    assert "vcg-limit-not-unique" in [one.code for one in found.findings]
    again, _ = judge(barge(4.9).arms(), [RuleSet("house", "House", "1", (roll, stiff), "stability")], WHOLE)
    assert found.vcg_m < 4.9
    assert {one.check.outcome for one in again} == {"met"}


def test_a_limit_at_which_the_criterion_jumps_is_told():
    # low freeboard: just where the wind's lever tops the arms, about 7°, the steady heel leaps from there to infinity
    points = [(0.0, 0.0), (6.0, 0.0), (6.0, 4.2)]
    stations = [OffsetStation(x_m=x, points_m=points) for x in (0.0, 60.0)]
    low = solid_from_offsets(stations, between_points="straight").solid
    rules = [house("weather_steady_heel_deg", "at_most", 20.0)]
    found = vcg_limit(barge(solid=low), rule_sets=rules, data=WHOLE)
    assert [one.code for one in found.findings] == ["vcg-limit-jumps"]
    assert found.governing.check.margin > 10.0
    above, _ = judge(barge(found.vcg_m + 1e-4, solid=low).arms(), rules, WHOLE)
    assert above[0].check.outcome == "not_met"


def table(**change):
    facts = {
        "solid": box(),
        "density_t_per_m3": DENSITY,
        "length_bp_m": 60.0,
        "displacement_t": [2000.0, 6000.0],
        "trim_m": [0.0, 1.0],
        "rule_sets": [SETS["imo-2008-is-code-a-2-2"]],
        "data": WHOLE,
    }
    return vcg_limit_table(**{**facts, **change})


def test_a_table_runs_trim_fastest_and_says_which_rows_have_no_reserve():
    rows = table()
    assert [(row.displacement_t, row.trim_m) for row in rows] == [(2000, 0), (2000, 1), (6000, 0), (6000, 1)]
    assert [row.code for row in rows] == ["", "", "sinks", "sinks"]
    assert rows[0].limit.arms.trim_m == pytest.approx(0.0, abs=1e-12)
    assert rows[1].limit.arms.trim_m == pytest.approx(1.0, abs=1e-9)  # trim is kept while the VCG changes
    assert rows[2].limit is None
    assert "5904" in rows[2].reason  # 1.025 × 60 × 12 × 8


def test_lcg_in_place_of_trim():
    (by_trim,) = table(displacement_t=[1200.0], trim_m=[0.4], solid=workboat_hull(), length_bp_m=56.0, data=BOAT_DATA)
    lcg = float(by_trim.limit.arms.centre_m[0])
    (by_lcg,) = table(
        displacement_t=[1200.0], trim_m=None, lcg_m=[lcg], solid=workboat_hull(), length_bp_m=56.0, data=BOAT_DATA
    )
    assert by_lcg.limit.vcg_m == pytest.approx(by_trim.limit.vcg_m, abs=1e-7)
    assert by_lcg.limit.arms.trim_m == pytest.approx(0.4, abs=1e-7)


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"lcg_m": [30.0]}, "trim-or-lcg"),
        ({"trim_m": None}, "trim-or-lcg"),
        ({"displacement_t": [0.0]}, "not-positive"),
        ({"rule_sets": built_in_sets("test")[:1]}, "rule-set-subject"),
    ],
)
def test_refused_tables(change, code):
    with pytest.raises(InputError) as caught:
        table(**change)
    assert caught.value.code == code


def test_a_rule_that_does_not_apply_high_up_fails_nothing_there():
    # GM at least 1 m, asked only of ships of 0.2 m or more: she fails between the two heights, above nothing is asked
    one = replace(
        house("gm_fluid_m", "at_least", 1.0).rules[0], applies_when=(Requirement("gm_fluid_m", "at_least", 0.2),)
    )
    found = vcg_limit(barge(), rule_sets=[RuleSet("house", "House", "1", (one,), "stability")], data=WHOLE)
    assert found.vcg_m == pytest.approx(KM_M - 1.0, abs=1e-9)
    assert [finding.code for finding in found.findings] == ["vcg-limit-not-unique"]
