"""Each trigger at its limit and a hair beyond.

Every limit below is that of the text named beside it, as read in a copy, or "from memory" where it says so.
"""

import pytest

from engine.lightship.deviation import Lengths
from engine.lightship.particulars import Lightship, Spread
from engine.lightship.trigger_rows import Compared, allowances, next_trigger, trigger_rows
from engine.lightship.triggers import trigger_sets

MASS, X, Z = 1000.0, 30.0, 5.0
BASE = Lightship(MASS, X, None, Z)
BP, LOAD_LINE = 60.0, 50.0
LENGTHS = Lengths(BP, LOAD_LINE)


def row(rule_set, rule, against, *, mass=MASS, x=X, z=Z, kind=None, base=BASE, lengths=LENGTHS, **more):
    compared = Compared(against, Lightship(mass, x, None, z), base, lengths, **more)
    found = [one for one in trigger_rows(trigger_sets([rule_set]), compared, ship_kind=kind) if one.rule == rule]
    assert len(found) == 1
    return found[0]


# rule set, trigger, against, largest deviation that passes: (mass t, x m, z m), and its action
LIMITS = [
    ("solas-ii-1-5", "sister-displacement", "sister", (20.0, 0, 0), "full_test"),  # II-1/5.2: 2 % at L = 50 m
    ("solas-ii-1-5", "sister-lcg", "sister", (0, 0.25, 0), "full_test"),  # II-1/5.2: 0.5 % of L, not of LBP
    ("solas-ii-1-5", "alteration-displacement", "approved", (20.0, 0, 0), "full_test"),  # II-1/5.4 by 5.5: 2 %
    ("solas-ii-1-5", "alteration-lcg", "approved", (0, 0.5, 0), "full_test"),  # 1 % of L
    ("solas-ii-1-5", "alteration-vcg", "approved", (0, 0, 0.05), "full_test"),  # MSC.429(98), EN to 5.4: 1 %
    ("solas-ii-1-5", "amended-displacement", "approved", (10.0, 0, 0), "amended_information"),  # EN to 5.4: 1 %
    ("solas-ii-1-5", "amended-lcg", "approved", (0, 0.25, 0), "amended_information"),  # EN to 5.4: 0.5 % of L
    ("solas-ii-1-5", "amended-vcg", "approved", (0, 0, 0.025), "amended_information"),  # 0.5 %, from memory
    ("solas-ii-1-5", "periodic-displacement", "approved", (20.0, 0, 0), "full_test"),  # II-1/5.5: 2 %
    ("solas-ii-1-5", "periodic-lcg", "approved", (0, 0.5, 0), "full_test"),  # II-1/5.5: 1 % of L
    ("imo-a-749", "periodic-displacement", "approved", (20.0, 0, 0), "full_test"),  # A.749(18), 7.1.3: 2 %
    ("imo-a-749", "periodic-lcg", "approved", (0, 0.5, 0), "full_test"),  # A.749(18), 7.1.3: 1 % of L
    ("imo-msc-circ-1158", "sister-lcg", "sister", (0, 0.3, 0), "full_test"),  # 0.5 % of LBP of the lead ship
    ("imo-msc-circ-1158", "in-service-displacement", "approved", (20.0, 0, 0), "full_test"),  # 2 % or 2 t
    ("imo-msc-circ-1158", "in-service-lcg", "approved", (0, 0.6, 0), "full_test"),  # 1 %, from memory
    ("us-46-cfr-144", "lcg-survey", "approved", (0, 0.6, 0), "survey_only"),  # 144.315(b): 1 % of LBP
    ("us-46-cfr-144", "survey-displacement", "predicted", (10.0, 0, 0), "full_test"),  # table: 1 %, from memory
    ("us-46-cfr-144", "survey-lcg", "predicted", (0, 0.6, 0), "full_test"),  # table: 1 % of LBP, from memory
    ("uscg-mtn-04-95", "lcg-survey", "approved", (0, 0.6, 0), "survey_only"),  # 1 % of LBP, from memory
]


@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize(("rule_set", "rule", "against", "most", "action"), LIMITS)
def test_the_limit_itself_passes_and_more_does_not(rule_set, rule, against, most, action, sign):
    mass, x, z = (sign * one for one in most)
    at = row(rule_set, rule, against, mass=MASS + mass, x=X + x, z=Z + z)
    assert at.outcome == "within"
    assert at.value == pytest.approx(at.limit, abs=1e-9)
    assert at.action == action
    grown = [one * 1.000001 for one in (mass, x, z)]
    past = row(rule_set, rule, against, mass=MASS + grown[0], x=X + grown[1], z=Z + grown[2])
    assert past.outcome == "exceeded"


@pytest.mark.parametrize("rule_set", ["us-46-cfr-144", "uscg-mtn-04-95"])
def test_aggregate_triggers(rule_set):
    """144.315(b): more than 2 % asks for a survey; more than 10 % (table, from memory) for a test."""
    for rule, limit_t, action in (("aggregate-survey", 20.0, "survey_only"), ("aggregate-test", 100.0, "full_test")):
        at = row(rule_set, rule, "approved", aggregate_t=limit_t)
        assert (at.outcome, at.action, at.limit_t, at.allowance_t) == ("within", action, limit_t, 0.0)
        assert row(rule_set, rule, "approved", aggregate_t=limit_t + 0.01).outcome == "exceeded"


def test_without_a_history_the_change_of_mass_is_the_least_aggregate():
    open_question = row("us-46-cfr-144", "aggregate-survey", "approved", mass=MASS + 15)
    assert (open_question.outcome, open_question.allowance_t) == ("not_assessed", 5.0)
    assert "weight history is not given" in open_question.reason
    assert row("us-46-cfr-144", "aggregate-survey", "approved", mass=MASS + 21).outcome == "exceeded"


@pytest.mark.parametrize(
    ("length_m", "limit_percent"),
    [(30.0, 2.0), (50.0, 2.0), (75.0, 1.772727), (105.0, 1.5), (160.0, 1.0), (250.0, 1.0)],
)
def test_sister_limit_over_length(length_m, limit_percent):
    """SOLAS II-1/5.2: 2 % to 50 m, 1 % from 160 m, linear between: 2 − (clip(L, 50, 160) − 50)/110."""
    by_load_line = row("solas-ii-1-5", "sister-displacement", "sister", lengths=Lengths(10.0, length_m))
    assert by_load_line.limit == pytest.approx(limit_percent, abs=5e-7)
    assert by_load_line.length == "load_line_length_m"
    by_bp = row("imo-msc-circ-1158", "sister-displacement", "sister", lengths=Lengths(length_m, 10.0))
    assert by_bp.limit == pytest.approx(limit_percent, abs=5e-7)
    assert by_bp.length == "length_bp_m"


@pytest.mark.parametrize(("mass", "limit_percent"), [(50.0, 4.0), (100.0, 2.0), (1000.0, 2.0)])
def test_in_service_limit_is_two_percent_or_two_tonnes(mass, limit_percent):
    """MSC/Circ.1158: the larger of 2 % and 2 t."""
    base = Lightship(mass, X, None, Z)
    at = row(
        "imo-msc-circ-1158", "in-service-displacement", "approved", base=base, mass=mass * (1 + limit_percent / 100)
    )
    assert at.limit == limit_percent
    assert at.outcome == "within"


def test_fishing_sister_needs_less_than_the_limit():
    """46 CFR 28.535(b): "less than 3 percent of the lightweight displacement", and LCG less than 1 % of length."""
    assert row("us-46-cfr-28", "sister-weight", "sister", mass=MASS + 30).outcome == "exceeded"
    assert row("us-46-cfr-28", "sister-weight", "sister", mass=MASS + 29.99).outcome == "within"
    assert row("us-46-cfr-28", "sister-lcg", "sister", x=X + 0.6).outcome == "exceeded"
    assert row("us-46-cfr-28", "sister-lcg", "sister", x=X - 0.599).outcome == "within"


def test_documented_differences_of_a_fishing_sister_do_not_count():
    documented = Lightship(MASS + 25, X + 0.4, None, Z)
    found = row("us-46-cfr-28", "sister-weight", "sister", mass=MASS + 50, documented=documented)
    assert (found.value, found.outcome) == (2.5, "within")
    along = row("us-46-cfr-28", "sister-lcg", "sister", x=X + 0.7, documented=documented)
    assert (along.value, along.outcome) == (0.5, "within")


def test_which_sets_speak_of_which_comparison():
    def speaking(against, kind):
        compared = Compared(against, BASE, BASE, LENGTHS, aggregate_t=0.0)
        return {one.rule_set for one in trigger_rows(trigger_sets(), compared, ship_kind=kind)}

    assert speaking("predicted", "cargo") == {"us-46-cfr-144", "uscg-mtn-04-95"}
    assert speaking("sister", "cargo") == {"solas-ii-1-5", "imo-msc-circ-1158", "us-46-cfr-28"}
    assert speaking("sister", "passenger") == {"imo-msc-circ-1158", "us-46-cfr-28"}  # 5.2 is for cargo ships
    assert "imo-a-749" in speaking("approved", "passenger")
    assert "imo-a-749" not in speaking("approved", "cargo")


def test_without_the_load_line_length_its_limits_are_not_assessed():
    for against, rule in (("sister", "sister-displacement"), ("sister", "sister-lcg"), ("approved", "amended-lcg")):
        found = row("solas-ii-1-5", rule, against, lengths=Lengths(BP))
        assert found.outcome == "not_assessed"
        assert found.reason == "the load-line length is not given"


def test_without_vcg_its_limit_is_not_assessed():
    found = row("solas-ii-1-5", "alteration-vcg", "approved", z=None)
    assert (found.outcome, found.value) == ("not_assessed", None)
    assert found.reason


@pytest.mark.parametrize(
    ("u_t", "certainty", "ratio"), [(4.0, "beyond_uncertainty", 2.5), (6.0, "within_uncertainty", 10 / 6)]
)
def test_exceeded_beyond_its_uncertainty_or_not(u_t, certainty, ratio):
    """30 t against 20 t allowed: 10 t beyond, against two standard uncertainties (our choice)."""
    derived = Lightship(MASS + 30, X, None, Z, Spread(mass_t=u_t))
    compared = Compared("approved", derived, BASE, LENGTHS)
    found = next(
        one for one in trigger_rows(trigger_sets(["solas-ii-1-5"]), compared) if one.rule == "alteration-displacement"
    )
    assert found.outcome == "exceeded"
    assert found.standard_uncertainty == pytest.approx(u_t / 10)
    assert found.exceedance_ratio == pytest.approx(ratio)
    assert found.certainty == certainty


def test_next_trigger_is_the_one_used_up_first():
    compared = Compared("approved", Lightship(MASS + 3, X, None, Z), BASE, LENGTHS, aggregate_t=17.0)
    rows = trigger_rows(trigger_sets(["us-46-cfr-144", "solas-ii-1-5"]), compared, ship_kind="cargo")
    first = next_trigger(rows)
    # aggregate 20 − 17 = 3 t before the survey; mass 10 − 3 = 7 t before amended information
    assert first is not None
    assert (first.rule, first.allowance_t) == ("aggregate-survey", pytest.approx(3.0))
    assert next_trigger([]) is None


def test_what_is_asked_for_already_is_not_next():
    compared = Compared("approved", Lightship(MASS + 11, X, None, Z), BASE, LENGTHS)  # over 1 %, 10 t; 20 t is 2 %
    rows = trigger_rows(trigger_sets(["solas-ii-1-5"]), compared, ship_kind="cargo")
    assert {one.action for one in rows if one.outcome == "exceeded"} == {"amended_information"}
    first = next_trigger(rows)
    assert first is not None
    assert (first.action, first.allowance_t) == ("full_test", pytest.approx(9.0))
    compared = Compared("approved", Lightship(MASS + 21, X, None, Z), BASE, LENGTHS)
    assert next_trigger(trigger_rows(trigger_sets(["solas-ii-1-5"]), compared, ship_kind="cargo")) is None


def test_allowances_of_a_lightship_just_approved():
    found = {
        (one.rule_set, one.rule): one.allowance_t
        for one in allowances(trigger_sets(), approved=BASE, lengths=LENGTHS, ship_kind="cargo")
    }
    assert found[("us-46-cfr-144", "aggregate-survey")] == 20.0
    assert found[("us-46-cfr-144", "aggregate-test")] == 100.0
    assert found[("solas-ii-1-5", "amended-displacement")] == 10.0
    assert all(allowance is not None for allowance in found.values())
