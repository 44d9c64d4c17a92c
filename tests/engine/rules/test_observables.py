"""The table of observed quantities: names end in their unit, each is defined once and used."""

import pytest

from engine.quantities import unit_of
from engine.rules import OBSERVABLE_BY_NAME, OBSERVABLES, built_in_sets

# Not in a built-in rule themselves: the smaller and the larger of the two are. A firm may still limit each side.
ONLY_FOR_A_FIRMS_RULES = {"heel_starboard_deg", "heel_port_deg"}
# Likewise the largest arm itself and the roll behind the areas of severe wind and rolling.
ONLY_FOR_A_FIRMS_RULES |= {"gz_maximum_m", "weather_roll_angle_deg"}


def test_names_are_unique():
    assert len(OBSERVABLE_BY_NAME) == len(OBSERVABLES) >= 40


@pytest.mark.parametrize("quantity", OBSERVABLES, ids=lambda quantity: quantity.name)
def test_name_ends_in_the_unit_and_is_defined(quantity):
    ending = unit_of(quantity.name)
    assert ending is not None
    assert quantity.unit == ("%" if quantity.name.endswith("_percent") else ending)
    assert len(quantity.definition.split()) >= 3
    assert quantity.definition.endswith(".")


def test_each_is_used_by_a_built_in_rule():
    used = {
        name
        for rule_set in (*built_in_sets("test"), *built_in_sets("stability"))
        for rule in rule_set.rules
        for needs in (rule.requirement, *rule.applies_when, *rule.alternative)
        for name in needs.quantities
    }
    assert set(OBSERVABLE_BY_NAME) - used == ONLY_FOR_A_FIRMS_RULES
