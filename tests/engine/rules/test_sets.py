"""The built-in sets against a table written apart from them: every number with its clause and how well it is known.

"read": the number was read in a copy of the text named beside it, or in a summary named as such. "memory": from
memory, to be checked against the text. "practice": common practice, no source. "ours": an engineering choice.
"""

import re

import pytest

from engine.rules import RuleSet, built_in_sets

STATUS = {
    "read": "published",
    "memory": "from memory",
    "practice": "common practice, no source",
    "ours": "our choice",
}
LEAST, MOST = "at_least", "at_most"

# (rule, quantity, comparison, limit, unit, clause begins, source holds, status, level)
EXPECTED = {
    "imo-2008-is-code": [
        ("initial-list", "initial_list_deg", MOST, 0.5, "deg", "B/8.2.2.7", "MSC.267(85)", "memory", "required"),
        ("heel-each-side", "heel_least_side_deg", LEAST, 1, "deg", "B/8.2.2.8", "society's copy", "read", "required"),
        ("heel-largest", "heel_largest_side_deg", MOST, 4, "deg", "B/8.2.2.8", "society's copy", "read", "required"),
        ("pendulums-minimum", "pendulums_count", LEAST, 2, "1", "B/8.2.2.9", "MSC.267(85)", "read", "required"),
        ("pendulums-recommended", "pendulums_count", LEAST, 3, "1", "B/8.2.2.9", "MSC.267(85)", "read", "advised"),
        ("density-measured", "water_samples_count", LEAST, 1, "1", "B/8.2.2", "MSC.267(85)", "read", "required"),
        ("freeboards", "freeboards_least_side_count", LEAST, 5, "1", "B/8.4.1.1", "MSC.267(85)", "read", "required"),
        ("moves", "moves_count", LEAST, 8, "1", "B/8.4.1.2", "MSC.267(85)", "read", "required"),
        ("zero-return", "zero_return_offset_percent", MOST, 1, "%", "B/8.4.1.2", "MSC.267(85)", "read", "required"),
        (
            *("slack-tanks-per-liquid", "slack_tanks_largest_per_liquid_count", MOST, 1, "1"),
            *("Annex 1, 2.1.2", "Annex 1", "memory", "required"),
        ),
        (
            *("slack-tank-least-fill", "slack_tank_least_fill_percent", LEAST, 20, "%"),
            *("Annex 1, 2.1.2", "Annex 1", "memory", "required"),
        ),
        (
            *("slack-tank-largest-fill", "slack_tank_largest_fill_percent", MOST, 80, "%"),
            *("Annex 1, 2.1.2", "Annex 1", "memory", "required"),
        ),
        (
            *("double-bottom-least-fill", "double_bottom_least_fill_percent", LEAST, 40, "%"),
            *("Annex 1, 2.1.2", "Annex 1", "memory", "required"),
        ),
        (
            *("double-bottom-largest-fill", "double_bottom_largest_fill_percent", MOST, 60, "%"),
            *("Annex 1, 2.1.2", "Annex 1", "memory", "required"),
        ),
        (
            *("pendulum-deflection", "pendulum_least_side_deflection_m", LEAST, 0.15, "m"),
            *("Annex 1, 2.4", "Annex 1", "memory", "required"),
        ),
        (
            "pendulum-length",
            "pendulum_shortest_length_m",
            LEAST,
            3,
            "m",
            "Annex 1, 2.4",
            "Annex 1",
            "memory",
            "advised",
        ),
        (
            *("u-tube-difference", "u_tube_least_side_difference_m", LEAST, 0.15, "m"),
            *("Annex 1, 2.5", "Annex 1", "memory", "required"),
        ),
    ],
    "us-46-cfr-170": [
        ("procedure-notice", "procedure_notice_days", LEAST, 14, "d", "46 CFR 170.085", "46 CFR", "read", "required"),
        ("trim", "trim_off_hydrostatics_percent", MOST, 1, "%", "trim", "trade-news summary", "read", "required"),
        (
            "initial-list",
            "initial_list_deg",
            MOST,
            0.5,
            "deg",
            "initial heel",
            "trade-news summary",
            "read",
            "required",
        ),
        (
            *("freeboards", "freeboards_least_side_count", LEAST, 5, "1"),
            *("freeboards", "trade-news summary", "read", "required"),
        ),
        (
            "completeness",
            "completeness_percent",
            LEAST,
            98,
            "%",
            "completeness",
            "trade-news summary",
            "read",
            "required",
        ),
        ("heel-each-side", "heel_least_side_deg", LEAST, 1, "deg", "heel", "F1321", "memory", "required"),
        ("heel-largest", "heel_largest_side_deg", MOST, 4, "deg", "heel", "F1321", "memory", "required"),
        ("pendulums-minimum", "pendulums_count", LEAST, 2, "1", "pendulums", "F1321", "memory", "required"),
        ("pendulums-recommended", "pendulums_count", LEAST, 3, "1", "pendulums", "F1321", "memory", "advised"),
        (
            *("pendulum-deflection", "pendulum_least_side_deflection_m", LEAST, 0.15, "m"),
            *("pendulums", "F1321", "memory", "required"),
        ),
        ("pendulum-length", "pendulum_shortest_length_m", LEAST, 3, "m", "pendulums", "F1321", "memory", "advised"),
        ("moves", "moves_count", LEAST, 8, "1", "weight movements", "F1321", "memory", "required"),
        ("zero-return", "zero_return_offset_percent", MOST, 1, "%", "weight movements", "F1321", "memory", "required"),
        ("weights", "weights_count", LEAST, 4, "1", "weight movements", "F1321", "memory", "advised"),
        (
            "slack-tank-least-fill",
            "slack_tank_least_fill_percent",
            LEAST,
            20,
            "%",
            "tanks",
            "F1321",
            "memory",
            "required",
        ),
        (
            *("slack-tank-largest-fill", "slack_tank_largest_fill_percent", MOST, 80, "%"),
            *("tanks", "F1321", "memory", "required"),
        ),
        (
            *("double-bottom-least-fill", "double_bottom_least_fill_percent", LEAST, 40, "%"),
            *("tanks", "F1321", "memory", "required"),
        ),
        (
            *("double-bottom-largest-fill", "double_bottom_largest_fill_percent", MOST, 60, "%"),
            *("tanks", "F1321", "memory", "required"),
        ),
    ],
    "class-practice": [
        ("pendulums", "pendulums_count", LEAST, 2, "1", "pendulums", "Rec. 31", "memory", "required"),
        ("missing", "missing_over_lightship_percent", MOST, 2, "%", "missing", "Rec. 31", "memory", "required"),
        ("surplus", "surplus_over_lightship_percent", MOST, 4, "%", "surplus", "Rec. 31", "memory", "required"),
        (
            "trim",
            "trim_over_length_percent",
            MOST,
            1,
            "%",
            "inclining test, trim",
            "read in a copy",
            "read",
            "required",
        ),
    ],
    "common-practice": [
        (
            *("deadweight", "deadweight_over_lightship_percent", MOST, 2, "%"),
            *("none", "common practice, no source", "practice", "advised"),
        ),
    ],
    "our-choices": [
        (name, quantity, comparison, limit, unit, "none", "this service", "ours", level)
        for name, quantity, comparison, limit, unit, level in [
            ("straight-line", "largest_residual_deviate_ratio", MOST, 3, "1", "required"),
            ("reading-residuals", "largest_reading_residual_ratio", MOST, 3, "1", "advised"),
            ("instruments-agree", "instrument_slope_deviation_percent", MOST, 1, "%", "advised"),
            ("methods-agree", "gm_methods_difference_ratio", MOST, 2, "1", "advised"),
            ("gm-positive", "gm_over_expanded_uncertainty_ratio", LEAST, 1, "1", "required"),
            ("vcg-uncertainty", "vcg_expanded_uncertainty_percent", MOST, 1, "%", "advised"),
            ("heights-residuals", "largest_height_residual_ratio", MOST, 3, "1", "required"),
            ("freeboards-spaced", "freeboard_largest_gap_ratio", MOST, 2, "1", "advised"),
            ("water-samples", "water_samples_count", LEAST, 3, "1", "advised"),
            ("density-spread", "density_spread_t_per_m3", MOST, 0.0005, "t/m³", "advised"),
            ("pendulum-lengths-differ", "pendulum_least_length_difference_m", LEAST, 0.1, "m", "advised"),
            ("slack-tanks", "slack_tanks_count", MOST, 2, "1", "advised"),
            ("weight-uncertainty", "weight_standard_uncertainty_percent", MOST, 1, "%", "advised"),
            ("weight-certificates", "weight_certificate_age_days", MOST, 365, "d", "advised"),
        ]
    ],
}

# What else decides a rule: (rule set, rule) -> conditions, alternative; sources as in the table above.
SLACK, DOUBLE_BOTTOM = [("slack_tanks_count", LEAST, 1)], [("slack_double_bottoms_count", LEAST, 1)]
A_PENDULUM, STRAIGHT = [("pendulums_count", LEAST, 1)], ("largest_residual_deviate_ratio", MOST, 3)
CONDITIONS = {
    (name, rule): needs
    for name in ("imo-2008-is-code", "us-46-cfr-170")
    for rule, needs in {
        "slack-tank-least-fill": SLACK,
        "slack-tank-largest-fill": SLACK,
        "double-bottom-least-fill": DOUBLE_BOTTOM,
        "double-bottom-largest-fill": DOUBLE_BOTTOM,
        "pendulum-deflection": A_PENDULUM,
        "pendulum-length": A_PENDULUM,
    }.items()
} | {
    ("imo-2008-is-code", "slack-tanks-per-liquid"): SLACK,
    ("imo-2008-is-code", "u-tube-difference"): [("u_tubes_count", LEAST, 1)],
    ("our-choices", "pendulum-lengths-differ"): [("pendulums_count", LEAST, 2)],
}
ALTERNATIVES = {
    ("imo-2008-is-code", "pendulums-minimum"): [*A_PENDULUM, ("instruments_count", LEAST, 2)],
    ("imo-2008-is-code", "pendulums-recommended"): [*A_PENDULUM, ("instruments_count", LEAST, 3)],
    ("imo-2008-is-code", "freeboards"): [("draft_marks_least_side_count", LEAST, 3)],  # forward, midship, aft
    ("imo-2008-is-code", "moves"): [("moves_count", LEAST, 6), STRAIGHT],
    ("imo-2008-is-code", "zero-return"): [STRAIGHT],
    ("class-practice", "pendulums"): [("vessel_length_bp_m", MOST, 30), *A_PENDULUM],
    ("our-choices", "instruments-agree"): [("instrument_slope_deviation_ratio", MOST, 2)],
}

SETS = {rule_set.name: rule_set for rule_set in built_in_sets()}
RULES = [(rule_set, rule) for rule_set in SETS.values() for rule in rule_set.rules]
EACH = pytest.mark.parametrize(
    ("rule_set", "rule"), RULES, ids=[f"{rule_set.name}/{rule.id}" for rule_set, rule in RULES]
)


def plain(requirements):
    return [(needs.quantity, needs.comparison, needs.limit) for needs in requirements]


def test_the_sets_are_these():
    assert list(SETS) == sorted(EXPECTED)  # by file name, which is the set's name
    assert all(isinstance(rule_set, RuleSet) and rule_set.version == "1" for rule_set in SETS.values())


@pytest.mark.parametrize("name", sorted(EXPECTED))
def test_every_number_is_that_of_the_table(name):
    found = [
        (rule.id, rule.requirement.quantity, rule.requirement.comparison, rule.requirement.limit, rule.requirement.unit)
        for rule in SETS[name].rules
    ]
    assert found == [row[:5] for row in EXPECTED[name]]


@EACH
def test_every_clause_source_and_status_is_that_of_the_table(rule_set, rule):
    (row,) = [row for row in EXPECTED[rule_set.name] if row[0] == rule.id]
    clause, source, status, level = row[5:]
    assert rule.clause == clause or rule.clause.startswith((f"{clause};", f"{clause} ", f"{clause}."))
    assert source in rule.source
    assert (rule.source_status, rule.level) == (STATUS[status], level)
    assert (status == "read") == (rule.cited_source == rule.source and rule.source != STATUS["practice"])


@EACH
def test_every_condition_and_alternative_is_that_of_the_table(rule_set, rule):
    key = (rule_set.name, rule.id)
    assert plain(rule.applies_when) == CONDITIONS.get(key, [])
    assert plain(rule.alternative) == ALTERNATIVES.get(key, [])


def test_no_condition_or_alternative_of_the_table_is_for_a_rule_that_is_not_there():
    assert set(CONDITIONS) | set(ALTERNATIVES) <= {(rule_set.name, rule.id) for rule_set, rule in RULES}


@EACH
def test_a_clause_that_is_not_known_or_not_there_says_so(rule_set, rule):
    numbered = re.search(r"B/8\.\d|Annex 1, \d|46 CFR 170\.\d", rule.clause)
    assert numbered or "not known" in rule.clause or rule.clause == "none"
    if rule.source_status in ("our choice", "common practice, no source"):
        assert rule.clause.startswith("none")


def test_the_code_gets_no_number_that_is_not_in_it():
    # Not in the 2008 IS Code: missing and surplus shares, a 30 m limit for one pendulum, a residual limit of its own.
    imo = SETS["imo-2008-is-code"]
    mine = {rule.requirement.quantity for rule in imo.rules}
    assert mine.isdisjoint({"missing_over_lightship_percent", "surplus_over_lightship_percent", "completeness_percent"})
    assert mine.isdisjoint({"largest_residual_deviate_ratio", "instrument_slope_deviation_percent"})
    assert "vessel_length_bp_m" not in {n.quantity for r in imo.rules for n in (*r.applies_when, *r.alternative)}
    for rule in imo.rules:
        if any(needs.quantity == "largest_residual_deviate_ratio" for needs in rule.alternative):
            assert "is ours" in rule.note
