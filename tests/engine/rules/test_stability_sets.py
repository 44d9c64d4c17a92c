"""The built-in criteria of stability against a table written apart from them, and limits that move.

"read": the number was read in a copy of the text or in a summary named as such; "memory": from memory.
"""

import math

import pytest

from engine.rules import (
    NAMES_BY_SUBJECT,
    OBSERVABLES,
    STABILITY_OBSERVABLES,
    Requirement,
    Rule,
    RuleSet,
    assess,
    built_in_sets,
    parse,
)

LEAST, MOST = "at_least", "at_most"
READ, MEMORY = "published", "from memory"
TO_40_RAD, TO_40_DEG = "gz_area_to_40_or_flooding_m_rad", "gz_area_to_40_or_flooding_m_deg"
FROM_30_RAD, FROM_30_DEG = "gz_area_30_to_40_or_flooding_m_rad", "gz_area_30_to_40_or_flooding_m_deg"
US_AREAS = [
    ("gz_area_to_30_m_deg", LEAST, 3.15, None, READ),
    (TO_40_DEG, LEAST, 5.15, None, READ),
    (FROM_30_DEG, LEAST, 1.72, None, READ),
]

# (quantity, comparison, limit or its constant part, (slope, quantity it moves with), status); sources: the texts named
# in each set. Areas of the two families are rounded apart: 3.15 m·deg is 0.05498 m·rad.
EXPECTED = {
    "imo-2008-is-code-a-2-2": [
        ("gz_area_to_30_m_rad", LEAST, 0.055, None, MEMORY),
        (TO_40_RAD, LEAST, 0.09, None, MEMORY),
        (FROM_30_RAD, LEAST, 0.03, None, MEMORY),
        ("gz_largest_from_30_m", LEAST, 0.2, None, MEMORY),
        ("gz_maximum_angle_deg", LEAST, 25, None, MEMORY),
        ("gm_fluid_m", LEAST, 0.15, None, MEMORY),
    ],
    "imo-2008-is-code-a-2-3": [
        ("weather_steady_heel_deg", MOST, 16, None, READ),
        ("weather_steady_heel_deg", MOST, 0, (0.8, "deck_edge_angle_deg"), READ),
        ("weather_area_b_m_rad", LEAST, 0, (1, "weather_area_a_m_rad"), READ),
    ],
    "us-46-cfr-170-173-b": [
        ("gm_fluid_m", LEAST, 0.15, None, READ),
        ("gz_largest_from_30_m", LEAST, 0.2, None, READ),
        ("gz_maximum_angle_deg", LEAST, 25, None, READ),
        *US_AREAS,
    ],
    "us-46-cfr-170-173-c": [
        ("gz_maximum_angle_deg", MOST, 30, None, READ),
        ("gm_fluid_m", LEAST, 0.15, None, READ),
        ("gz_maximum_angle_deg", LEAST, 15, None, READ),
        *US_AREAS[1:],
        # 3.15 + 0.057 (30 − Y)
        ("gz_area_to_maximum_m_deg", LEAST, pytest.approx(3.15 + 0.057 * 30), (-0.057, "gz_maximum_angle_deg"), MEMORY),
    ],
    "us-46-cfr-28-570": [
        ("gm_fluid_m", LEAST, 0.35, None, READ),
        ("gz_largest_from_30_m", LEAST, 0.2, None, MEMORY),
        ("gz_maximum_angle_deg", LEAST, 25, None, MEMORY),
        *US_AREAS,
        ("gz_positive_to_deg", LEAST, 60, None, READ),
    ],
    "us-46-cfr-174-185": [
        ("gz_area_to_maximum_flooding_or_40_m_rad", LEAST, 0.08, None, READ),
        ("flooding_angle_deg", LEAST, 20, None, READ),
        ("gz_positive_to_deg", LEAST, 40, None, READ),
    ],
} | {
    f"us-46-cfr-170-170-{waters}-{form}": [
        ("gm_fluid_m", LEAST, 0, (1, f"weather_gm_{waters.replace('-', '_')}_{form}_m"), READ)
    ]
    for waters in ("exposed", "partially-protected", "protected")
    for form in ("si", "us")
}
CLAUSE = {
    "imo-2008-is-code-a-2-2": "A/2.2.",
    "imo-2008-is-code-a-2-3": "A/2.3.1",
    "us-46-cfr-170-170": "46 CFR 170.170(a)",
    "us-46-cfr-170-173": "46 CFR 170.173(",
    "us-46-cfr-28-570": "46 CFR 28.570",
    "us-46-cfr-174-185": "46 CFR 174.185",
}
SETS = {rule_set.name: rule_set for rule_set in built_in_sets("stability")}


def row(rule):
    needs = rule.requirement
    moves = None if needs.limit_quantity is None else (needs.limit_slope, needs.limit_quantity)
    return needs.quantity, needs.comparison, needs.limit, moves, rule.source_status


def test_the_sets_are_these_and_no_set_is_of_both_subjects():
    assert set(SETS) == set(EXPECTED)
    assert {rule_set.subject for rule_set in SETS.values()} == {"stability"}
    assert not set(SETS) & {rule_set.name for rule_set in built_in_sets("test")}


@pytest.mark.parametrize("name", sorted(EXPECTED))
def test_every_number_and_its_status_is_that_of_the_table(name):
    assert [row(rule) for rule in SETS[name].rules] == EXPECTED[name]
    (clause,) = [clause for start, clause in CLAUSE.items() if name.startswith(start)]
    assert all(rule.clause.startswith(clause) and rule.level == "required" for rule in SETS[name].rules)


@pytest.mark.parametrize("form", ["si", "us"])
def test_the_form_of_the_weather_rule_is_named(form):
    (rule,) = SETS[f"us-46-cfr-170-170-exposed-{form}"].rules
    assert f"{form.upper()} form" in rule.clause


def test_subjects_share_the_length_alone():
    assert NAMES_BY_SUBJECT["test"] & NAMES_BY_SUBJECT["stability"] == {"vessel_length_bp_m"}
    assert len(OBSERVABLES) == len(set(OBSERVABLES))
    assert {one.name for one in STABILITY_OBSERVABLES} < NAMES_BY_SUBJECT["stability"]


def moving(comparison="at_most", slope=0.8, constant=1.0):
    needs = Requirement("weather_steady_heel_deg", comparison, constant, None, "deck_edge_angle_deg", slope)
    rule = Rule("one", "One", needs, "1", "House", "our choice", "required")
    return RuleSet("house", "House", "1", (rule,), "stability")


@pytest.mark.parametrize(
    ("edge", "heel", "outcome", "limit", "margin"),
    [
        (10.0, 9.0, "met", 9.0, 0.0),
        (10.0, 9.5, "not_met", 9.0, -0.5),
        (10.0, math.inf, "not_met", 9.0, None),
        (math.inf, 9.5, "met", None, None),
        (None, 9.5, "not_assessed", None, None),
        (10.0, None, "not_assessed", 9.0, None),
    ],
)
def test_a_limit_moves_with_its_quantity(edge, heel, outcome, limit, margin):
    (check,) = assess([moving()], {"weather_steady_heel_deg": heel, "deck_edge_angle_deg": edge})
    assert (check.outcome, check.limit, check.margin) == (outcome, limit, margin)
    if edge is None:
        assert "deck_edge_angle_deg" in check.reason


def test_margin_of_each_comparison():
    within = Requirement("gz_maximum_angle_deg", "within", 25.0, 60.0)
    assert within.margin({"gz_maximum_angle_deg": 58.0}) == 2.0
    assert within.margin({"gz_maximum_angle_deg": 24.0}) == -1.0
    assert Requirement("gm_fluid_m", "at_least", 0.15).margin({"gm_fluid_m": 0.25}) == pytest.approx(0.1)
    assert Requirement("gm_fluid_m", "at_least", 0.15).margin({}) is None


def test_a_moving_limit_is_read():
    text = b"""{"name": "house", "title": "House", "version": "1", "subject": "stability", "rules": [
    {"id": "one", "title": "One", "quantity": "weather_steady_heel_deg", "comparison": "at_most",
     "limit": {"constant": 2, "slope": 0.65, "quantity": "deck_edge_angle_deg"}, "unit": "deg", "clause": "1",
     "source": "House manual", "source_status": "our choice", "level": "required"}]}"""
    rule_set = parse(text, label="house.json")
    needs = rule_set.rules[0].requirement
    assert rule_set.subject == "stability"
    assert (needs.limit, needs.limit_slope, needs.limit_quantity) == (2.0, 0.65, "deck_edge_angle_deg")
    assert needs.limit_at({"deck_edge_angle_deg": 20.0}) == pytest.approx(15.0)
