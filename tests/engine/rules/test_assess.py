"""Comparison at, beyond and without a value; conditions and alternatives in three values. Numbers here are invented."""

import math

import pytest

from engine.errors import InputError
from engine.rules import Requirement, Rule, RuleSet, assess, built_in_sets

BUILT_IN = [(rule_set, rule) for rule_set in built_in_sets() for rule in rule_set.rules]
EACH_BUILT_IN = pytest.mark.parametrize(
    ("rule_set", "rule"), BUILT_IN, ids=[f"{rule_set.name}/{rule.id}" for rule_set, rule in BUILT_IN]
)


def made(requirement, *, applies_when=(), alternative=(), status="published", name="house", rule_id="one"):
    rule = Rule(
        id=rule_id,
        title="A rule",
        requirement=requirement,
        clause="7.1",
        source="A code",
        source_status=status,
        level="required",
        applies_when=applies_when,
        alternative=alternative,
    )
    return RuleSet(name=name, title="House", version="1", rules=(rule,))


def one(rule_set, observed):
    (check,) = assess([rule_set], observed)
    return check


def satisfying(requirements):
    """Return values at the limits of the requirements."""
    return {needs.quantity: needs.limit for needs in requirements}


def beyond(needs):
    """Return the nearest float64 outside each end of a requirement."""
    if needs.comparison == "at_most":
        return [math.nextafter(needs.limit, math.inf)]
    below = [math.nextafter(needs.limit, -math.inf)]
    return below if needs.upper_limit is None else [*below, math.nextafter(needs.upper_limit, math.inf)]


def failing(requirements):
    """Return values that break every requirement, by a whole unit so that none is met by chance."""
    return {n.quantity: n.limit + (1 if n.comparison == "at_most" else -1) for n in requirements}


def of_rule(rule_set, rule, observed):
    found = [check for check in assess([rule_set], observed) if check.rule == rule.id]
    assert len(found) == 1
    return found[0]


@EACH_BUILT_IN
def test_built_in_rule_is_met_at_its_limit(rule_set, rule):
    observed = (
        satisfying(rule.applies_when) | failing(rule.alternative) | {rule.requirement.quantity: rule.requirement.limit}
    )
    check = of_rule(rule_set, rule, observed)
    assert (check.outcome, check.reason, check.value) == ("met", "", rule.requirement.limit)


@EACH_BUILT_IN
def test_built_in_rule_is_not_met_one_bit_beyond(rule_set, rule):
    for value in beyond(rule.requirement):
        observed = satisfying(rule.applies_when) | failing(rule.alternative) | {rule.requirement.quantity: value}
        check = of_rule(rule_set, rule, observed)
        assert (check.outcome, check.reason, check.value) == ("not_met", "", value)


@EACH_BUILT_IN
@pytest.mark.parametrize("missing", [{}, None, math.nan], ids=["left out", "None", "NaN"])
def test_built_in_rule_is_not_assessed_without_its_value(rule_set, rule, missing):
    quantity = rule.requirement.quantity
    observed = satisfying(rule.applies_when) | failing(rule.alternative)
    observed.pop(quantity, None)
    if missing != {}:
        observed[quantity] = missing
    check = of_rule(rule_set, rule, observed)
    assert (check.outcome, check.value) == ("not_assessed", None)
    assert quantity in check.reason


@pytest.mark.parametrize(
    ("rule_set", "rule"),
    [(rule_set, rule) for rule_set, rule in BUILT_IN if rule.alternative],
    ids=lambda part: part.title,
)
def test_built_in_rule_with_an_alternative_is_met_by_it(rule_set, rule):
    if rule.requirement.quantity in satisfying(rule.alternative):
        value = satisfying(rule.alternative)[rule.requirement.quantity]
    else:
        value = beyond(rule.requirement)[0]
    check = of_rule(rule_set, rule, satisfying(rule.alternative) | {rule.requirement.quantity: value})
    assert (check.outcome, check.value, check.limit) == ("met", value, rule.requirement.limit)
    assert "alternative" in check.reason


def test_check_carries_the_whole_rule():
    rule_set = made(Requirement("trim_over_length_percent", "at_most", 1.0))
    check = one(rule_set, {"trim_over_length_percent": 0.4})
    assert (check.rule_set, check.rule, check.title) == ("house", "one", "A rule")
    assert (check.clause, check.source, check.source_status, check.level) == ("7.1", "A code", "published", "required")
    assert (check.quantity, check.comparison) == ("trim_over_length_percent", "at_most")
    assert (check.limit, check.upper_limit, check.unit, check.value) == (1.0, None, "%", 0.4)


@pytest.mark.parametrize(
    ("value", "outcome"), [(19.5, "not_met"), (20.0, "met"), (50.0, "met"), (80.0, "met"), (80.5, "not_met")]
)
def test_within_takes_both_ends(value, outcome):
    check = one(
        made(Requirement("slack_tank_least_fill_percent", "within", 20.0, 80.0)),
        {"slack_tank_least_fill_percent": value},
    )
    assert (check.outcome, check.limit, check.upper_limit) == (outcome, 20.0, 80.0)


def test_two_percent_is_met_by_two_percent():
    rule_set = made(Requirement("deadweight_over_lightship_percent", "at_most", 2.0))
    assert one(rule_set, {"deadweight_over_lightship_percent": 2.0}).outcome == "met"
    assert one(rule_set, {"deadweight_over_lightship_percent": 2.0000001}).outcome == "not_met"


@pytest.mark.parametrize(("length", "outcome"), [(24.0, "not_met"), (23.9, None), (None, "not_assessed")])
def test_condition_holds_fails_or_is_not_known(length, outcome):
    rule_set = made(
        Requirement("moves_count", "at_least", 8.0), applies_when=(Requirement("vessel_length_bp_m", "at_least", 24.0),)
    )
    checks = assess([rule_set], {"moves_count": 7.0, "vessel_length_bp_m": length})
    if outcome is None:
        assert checks == ()
        return
    assert checks[0].outcome == outcome
    assert checks[0].value == 7.0
    assert ("vessel_length_bp_m" in checks[0].reason) == (outcome == "not_assessed")


# Kleene's "or": known true wins, else unknown wins over false.
@pytest.mark.parametrize(
    ("moves", "straightness", "outcome"),
    [
        (8, 9.0, "met"),
        (8, None, "met"),
        (6, 3.0, "met"),
        (6, 3.1, "not_met"),
        (6, None, "not_assessed"),
        (5, None, "not_met"),  # five moves are too few however straight
        (5, 0.1, "not_met"),
        (None, 0.1, "not_assessed"),
        (None, 3.1, "not_assessed"),
    ],
)
def test_eight_moves_or_six_and_straight(moves, straightness, outcome):
    (imo,) = [rule_set for rule_set in built_in_sets() if rule_set.name == "imo-2008-is-code"]
    rule = next(rule for rule in imo.rules if rule.id == "moves")
    observed = {"moves_count": moves, "largest_residual_deviate_ratio": straightness}
    assert of_rule(imo, rule, observed).outcome == outcome


@pytest.mark.parametrize(
    ("freeboards", "marks", "outcome"),
    [(5, 0, "met"), (5, 3, "met"), (0, 3, "met"), (4, 2, "not_met"), (4, None, "not_assessed"), (None, 3, "met")],
)
def test_five_freeboards_a_side_or_all_the_marks(freeboards, marks, outcome):
    (imo,) = [rule_set for rule_set in built_in_sets() if rule_set.name == "imo-2008-is-code"]
    rule = next(rule for rule in imo.rules if rule.id == "freeboards")
    observed = {"freeboards_least_side_count": freeboards, "draft_marks_least_side_count": marks}
    assert of_rule(imo, rule, observed).outcome == outcome


@pytest.mark.parametrize(("length", "pendulums", "outcome"), [(30, 1, "met"), (31, 1, "not_met"), (30, 0, "not_met")])
def test_one_pendulum_up_to_thirty_metres_is_class_practice(length, pendulums, outcome):
    (practice,) = [rule_set for rule_set in built_in_sets() if rule_set.name == "class-practice"]
    rule = next(rule for rule in practice.rules if rule.id == "pendulums")
    check = of_rule(practice, rule, {"vessel_length_bp_m": length, "pendulums_count": pendulums})
    assert check.outcome == outcome
    assert check.source.endswith("(from memory)")


def test_no_slack_tank_leaves_their_rules_out():
    ids = {check.rule for check in assess(built_in_sets(), {"slack_tanks_count": 0, "slack_double_bottoms_count": 0})}
    assert ids.isdisjoint({"slack-tank-least-fill", "slack-tank-largest-fill", "slack-tanks-per-liquid"})
    assert ids.isdisjoint({"double-bottom-least-fill", "double-bottom-largest-fill"})


def test_infinity_is_compared_and_not_shown():
    check = one(
        made(Requirement("largest_residual_deviate_ratio", "at_most", 3.0)),
        {"largest_residual_deviate_ratio": math.inf},
    )
    assert (check.outcome, check.value, check.reason) == ("not_met", None, "the value is infinite")


@pytest.mark.parametrize(
    ("status", "source"),
    [
        ("published", "A code"),
        ("from memory", "A code (from memory)"),
        ("our choice", "A code (our choice)"),
        ("common practice, no source", "A code (common practice, no source)"),
    ],
)
def test_source_tells_its_status(status, source):
    check = one(made(Requirement("moves_count", "at_least", 8.0), status=status), {})
    assert (check.source, check.source_status) == (source, status)


def test_order_is_that_of_the_sets_and_of_their_rules():
    sets = built_in_sets()
    wanted = [(s.name, r.id) for s in sets for r in s.rules if not r.applies_when]
    observed = {"moves_count": 8.0, "initial_list_deg": 0.1, "slack_tanks_count": 0, "slack_double_bottoms_count": 0}
    observed |= {"pendulums_count": 0, "u_tubes_count": 0}
    checks = assess(sets, observed)
    assert [(check.rule_set, check.rule) for check in checks] == wanted
    assert assess(sets, dict(reversed(observed.items()))) == checks
    backwards = assess(sets[::-1], observed)
    assert [check.rule_set for check in backwards] == sorted((c.rule_set for c in checks), reverse=True)


def test_unknown_observed_quantity_is_refused():
    with pytest.raises(InputError) as caught:
        assess([], {"trim_over_length_ratio": 1.0})
    assert (caught.value.code, caught.value.field) == ("quantity-unknown", "trim_over_length_ratio")


def test_two_sets_of_one_name_are_refused():
    rule_set = made(Requirement("moves_count", "at_least", 8.0))
    with pytest.raises(InputError) as caught:
        assess([rule_set, rule_set], {})
    assert (caught.value.code, caught.value.field) == ("rule-set-duplicate", "rules/1")


def test_why_a_quantity_is_not_known_is_told_beside_its_name():
    rule_set = made(Requirement("largest_residual_deviate_ratio", "at_most", 3.0))
    why = {"largest_residual_deviate_ratio": "2 readings leave none over"}
    (check,) = assess([rule_set], {}, why)
    assert check.outcome == "not_assessed"
    assert check.reason == "not known: largest_residual_deviate_ratio (2 readings leave none over)"
