"""Full test, survey only or neither: each clause by a case of its own."""

import numpy as np
import pytest

from engine.errors import InputError, NotDeterminedError
from engine.lightship.assumed_vcg import TankVessel
from engine.lightship.deviation import Lengths
from engine.lightship.particulars import Lightship
from engine.lightship.requirement import Case, required_test
from engine.lightship.triggers import trigger_sets
from engine.survey.ledger import Item

SHIP = Lightship(1000.0, 30.0, None, 5.0)
LENGTHS = Lengths(60.0, 50.0)


def there_and_back(mass, x=30.0):
    """Return a history whose aggregate is twice ``mass`` and that changes nothing."""
    place = np.array([x, 0.0, 5.0])
    return (Item("add", mass, place), Item("remove", mass, place))


def decide(*names, kind="cargo", lengths=LENGTHS, **case):
    return required_test(trigger_sets(names or None), Case(lengths, kind, **case))


@pytest.mark.parametrize(
    ("aggregate_t", "decision"),
    [(0.0, "neither"), (20.0, "neither"), (20.2, "survey_only"), (100.0, "survey_only"), (100.2, "full_test")],
)
@pytest.mark.parametrize("rule_set", ["us-46-cfr-144", "uscg-mtn-04-95"])
def test_aggregate_scheme(rule_set, aggregate_t, decision):
    """144.315(b): above 2 % a survey; its table and MTN 04-95, from memory: above 10 % a test."""
    found = decide(rule_set, approved=SHIP, history=there_and_back(aggregate_t / 2))
    assert found.decision == decision
    assert found.situation == "in_service"
    assert found.history is not None
    assert found.history.aggregate_t == pytest.approx(aggregate_t)


def test_recalculated_lcg_asks_for_a_survey():
    """144.315(b): more than 1 % of LBP. 15 t moved 41 m shift LCG 0.615 m; 1 % of 60 m is 0.6 m."""
    moved = Item("relocate", 15.0, np.array([5.0, 0, 5]), np.array([46.0, 0, 5]))
    found = decide("us-46-cfr-144", approved=SHIP, history=(moved,))
    assert found.decision == "survey_only"
    assert "LCG" in found.reason


@pytest.mark.parametrize(
    ("survey", "decision"),
    [
        (Lightship(1010.0, 30.0), "survey_only"),
        (Lightship(1010.2, 30.0), "full_test"),
        (Lightship(1000.0, 30.7), "full_test"),
    ],
)
def test_a_survey_that_does_not_agree_asks_for_a_test(survey, decision):
    """Table of 144.315, from memory: displacement within 1 %, LCG within 1 % of LBP of the calculated lightship."""
    assert decide("us-46-cfr-144", approved=SHIP, history=there_and_back(15.0), survey=survey).decision == decision


def test_an_awaited_survey_shows_its_limits():
    found = decide("us-46-cfr-144", approved=SHIP, history=there_and_back(15.0))
    awaited = {one.row.rule: one.row for one in found.rows if one.stage == "awaited"}
    assert awaited["survey-displacement"].limit_t == pytest.approx(10.0)
    assert awaited["survey-lcg"].limit_m == pytest.approx(0.6)
    assert all(row.value is None and row.outcome == "not_assessed" for row in awaited.values())


def test_alteration_under_solas():
    """II-1/5.4 by 5.5: 2 % asks for a test; EN to 5.4: above 1 % amended information."""

    def added(mass):
        return decide("solas-ii-1-5", approved=SHIP, history=(Item("add", mass, np.array([30.0, 0, 5])),))

    assert (added(10.0).decision, added(10.0).by_rule_set[0].amended_information) == ("neither", False)
    assert (added(15.0).decision, added(15.0).by_rule_set[0].amended_information) == ("neither", True)
    assert added(20.0).decision == "neither"
    assert added(20.1).decision == "full_test"


def test_passenger_ship_is_surveyed_every_five_years():
    """II-1/5.5; five years are 1826 days at least."""

    def after(days):
        return decide("solas-ii-1-5", "imo-a-749", kind="passenger", approved=SHIP, since_last_survey_days=days)

    assert after(1826.0).decision == "neither"
    assert after(1827.0).decision == "survey_only"
    not_said = after(None)
    assert not_said.decision == "neither"
    assert not_said.by_rule_set[1].decision is None  # A.749 alone cannot be answered
    assert any("the time since the last survey" in one.condition for one in not_said.would_change)
    assert decide("solas-ii-1-5", kind="cargo", approved=SHIP, since_last_survey_days=9999.0).decision == "neither"


@pytest.mark.parametrize(
    ("survey", "decision"),
    [(None, "survey_only"), (Lightship(1020.0, 30.25), "survey_only"), (Lightship(1020.2, 30.0), "full_test")],
)
def test_cargo_sister_under_solas(survey, decision):
    """II-1/5.2: a survey in any case; a test where it is off by more than 2 % (L 50 m) or 0.5 % of L."""
    assert decide("solas-ii-1-5", sister=SHIP, survey=survey).decision == decision


def test_sister_by_msc_circ_1158_uses_length_bp():
    """0.5 % of LBP, 0.3 m, where SOLAS has 0.5 % of L, 0.25 m."""
    survey = Lightship(1000.0, 30.28)
    assert decide("imo-msc-circ-1158", sister=SHIP, survey=survey).decision == "survey_only"
    assert decide("solas-ii-1-5", sister=SHIP, survey=survey).decision == "full_test"


def test_passenger_sister_is_inclined():
    """II-1/5.1: a passenger ship of any size; 5.2 is for cargo ships."""
    assert decide("solas-ii-1-5", kind="passenger", sister=SHIP).decision == "full_test"


def test_fishing_sister():
    """28.535(b): undocumented difference less than 3 %, LCG less than 1 % of length."""
    documented = (Item("add", 25.0, np.array([30.0, 0, 5])),)
    near, far = Lightship(1054.0, 30.0), Lightship(1055.0, 30.0)
    assert decide("us-46-cfr-28", sister=SHIP, history=documented, survey=near).decision == "survey_only"
    assert decide("us-46-cfr-28", sister=SHIP, history=documented, survey=far).decision == "full_test"


def test_new_ships():
    """II-1/5.1: passenger ships of any size, cargo ships of 24 m and upwards; 46 CFR 170.175(a)."""
    assert decide("solas-ii-1-5").decision == "full_test"
    assert decide("solas-ii-1-5", lengths=Lengths(24.0, 24.0)).decision == "full_test"
    assert decide("solas-ii-1-5", kind="passenger", lengths=Lengths(12.0, 11.0)).decision == "full_test"
    assert decide("us-46-cfr-170").decision == "full_test"
    for lengths in (Lengths(24.0, 23.9), Lengths(24.0)):
        with pytest.raises(NotDeterminedError) as refused:
            decide("solas-ii-1-5", lengths=lengths)
        assert refused.value.code == "requirement-not-determined"


def test_sister_under_46_cfr_170():
    """170.175(c): a deadweight survey may be substituted, or the test dispensed with, if the authority approves."""
    found = decide("us-46-cfr-170", sister=SHIP)
    assert found.decision == "survey_only"
    allowed = [one.rule for one in found.clauses if one.outcome == "authority_may_allow"]
    assert allowed == ["sister-dispensed", "vcg-not-needed"]


def test_assumed_vcg_makes_the_test_unnecessary():
    vessel = TankVessel(
        kind="tank_ship",
        depth_m=10.0,
        gross_tonnage=5000.0,
        ordinary_form=True,
        flush_deck=True,
        longitudinal_bulkhead=True,
        independent_tanks=False,
        cargo_above_freeboard_deck=False,
        special_cargo=False,
    )
    found = decide("us-46-cfr-170", tank_vessel=vessel)
    assert found.decision == "survey_only"
    assert found.assumed is not None
    assert found.assumed.z_m == 7.0  # 70 % of 10 m
    silent = decide("us-46-cfr-170", tank_vessel=TankVessel(kind="tank_ship", depth_m=10.0))
    assert silent.decision == "full_test"
    assert any(one.rule == "assumed-vcg" and one.decision == "survey_only" for one in silent.would_change)


def test_the_strictest_set_rules_and_says_why():
    found = decide(approved=SHIP, history=there_and_back(15.0))
    assert found.decision == "survey_only"
    assert {one.rule_set: one.decision for one in found.by_rule_set} == {
        "imo-msc-circ-1158": "neither",
        "solas-ii-1-5": "neither",
        "us-46-cfr-144": "survey_only",
        "uscg-mtn-04-95": "survey_only",
    }
    assert "144.315(b)" in found.reason


def test_what_would_change_it():
    found = decide("us-46-cfr-144", approved=SHIP, history=there_and_back(15.0))
    by_rule = {one.rule: one for one in found.would_change}
    assert by_rule["aggregate-test"].decision == "full_test"
    assert by_rule["aggregate-test"].allowance_t == pytest.approx(70.0)  # 10 % of 1000 t less 30 t
    assert by_rule["aggregate-survey"].decision == "neither"  # were it back within 2 %


@pytest.mark.parametrize(
    ("case", "code", "field"),
    [
        ({"approved": SHIP, "sister": SHIP}, "approved-or-sister", "sister"),
        ({"history": there_and_back(1.0)}, "no-reference", "weight_history"),
        ({"survey": SHIP}, "no-reference", "survey"),
    ],
)
def test_refusals(case, code, field):
    with pytest.raises(InputError) as refused:
        decide(**case)
    assert (refused.value.code, refused.value.field) == (code, field)
