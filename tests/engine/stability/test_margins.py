"""Margins rule by rule: the worse side, what does not apply, and what is not asked for."""

import math

import pytest

from engine.errors import InputError
from engine.rules import Requirement, Rule, RuleSet, built_in_sets
from engine.stability.margins import Margins, needed, rules_of

GM, AREA, ANGLE = "gm_fluid_m", "gz_area_to_30_m_rad", "gz_maximum_angle_deg"


def rule(name, requirement, **more):
    return Rule(name, name.title(), requirement, "1", "House manual", "our choice", "required", **more)


def margins(*rules, observed):
    house = RuleSet("house", "House", "1", rules, "stability")
    return Margins(observed, rules_of([house]))


LEAST_GM, LEAST_AREA = rule("gm", Requirement(GM, "at_least", 0.15)), rule("area", Requirement(AREA, "at_least", 0.055))


def test_the_worse_side_counts():
    sides = [{GM: 0.5, AREA: 0.05}, {GM: 0.5, AREA: 0.06}]
    found = margins(LEAST_GM, LEAST_AREA, observed=sides)
    assert found.every() == {("house", "gm"): 0.35, ("house", "area"): pytest.approx(-0.005, abs=1e-15)}
    assert found.worst() == found.of(("house", "area"))
    assert found.failing() == ("house", "area")


def test_what_is_not_known_or_does_not_apply_has_no_margin_and_fails_nothing():
    low_only = rule("low", Requirement(AREA, "at_least", 1.0), applies_when=(Requirement(GM, "at_most", 0.3),))
    found = margins(LEAST_GM, low_only, observed=[{GM: 0.5, AREA: 0.05}])
    assert found.of(("house", "low")) is None
    assert found.failing() is None
    nothing = margins(LEAST_GM, observed=[{GM: None}])
    assert (nothing.every(), nothing.worst(), nothing.failing()) == ({}, math.inf, None)


def test_one_side_may_know_what_the_other_does_not():
    found = margins(LEAST_AREA, observed=[{AREA: None}, {AREA: 0.065}])
    assert found.of(("house", "area")) == pytest.approx(0.01, abs=1e-15)


def test_a_rule_met_by_its_alternative_has_the_larger_margin():
    either = rule("either", Requirement(ANGLE, "at_least", 30.0), alternative=(Requirement(AREA, "at_least", 0.05),))
    assert margins(either, observed=[{ANGLE: 28.0, AREA: 0.06}]).of(("house", "either")) == pytest.approx(
        0.01, abs=1e-15
    )
    assert margins(either, observed=[{ANGLE: 28.0, AREA: None}]).of(("house", "either")) == -2.0


def test_the_limit_itself_is_met():
    found = margins(LEAST_GM, observed=[{GM: 0.15}])
    assert (found.of(("house", "gm")), found.failing()) == (0.0, None)


class OnlyAsked(dict):
    """Notes what is asked for."""

    def __init__(self, *args):
        super().__init__(*args)
        self.asked = []

    def get(self, name, default=None):
        """Note and look up."""
        self.asked.append(name)
        return super().get(name, default)


def test_quantities_of_other_rules_are_not_asked_for():
    seen = OnlyAsked({GM: 0.1, AREA: 0.01})
    found = margins(LEAST_GM, LEAST_AREA, observed=[seen])
    assert found.failing(("house", "area")) == ("house", "area")
    assert set(seen.asked) == {AREA}


def test_names_needed_and_sets_of_another_subject():
    a_2_3 = [one for one in built_in_sets("stability") if one.name == "imo-2008-is-code-a-2-3"]
    assert set(needed(a_2_3)) >= {"weather_steady_heel_deg", "weather_area_a_m_rad", "weather_area_b_m_rad"}
    with pytest.raises(InputError) as caught:
        rules_of(built_in_sets("test")[:1])
    assert (caught.value.code, caught.value.field) == ("rule-set-subject", "rules/0")
