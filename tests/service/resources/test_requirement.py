"""Requirement over HTTP: one case a situation, and what is refused."""

import pytest

from service.resources.requirement import EXAMPLE

PATH = "/v1/stability-tests/requirement"
SISTER = {"mass_t": 1000.0, "x_m": 30.0, "z_m": 5.0}
LENGTHS = {"length_bp_m": 60.0, "load_line_length_m": 50.0}


def post(client, body):
    return client.post(PATH, json=body)


def test_the_example_needs_a_survey(plain_http):
    found = post(plain_http, EXAMPLE).json()
    # 18 + 11 + 4 t of 1200 t are 2.75 %, above the 2 % of 46 CFR 144.315(b)
    assert found["requirement"] == "survey_only"
    assert "144.315(b)" in found["reason"]
    assert found["weight_history"]["aggregate_percent"] == pytest.approx(2.75)
    before = {one["rule"]: one for one in found["would_change"]}["aggregate-test"]
    assert (before["decision"], before["allowance_t"]) == ("full_test", pytest.approx(120 - 33))


def test_nothing_changed_needs_nothing(plain_http):
    found = post(plain_http, {**EXAMPLE, "weight_history": []}).json()
    assert (found["requirement"], found["situation"]) == ("neither", "in_service")


@pytest.mark.parametrize(("mass", "requirement"), [(1020.0, "survey_only"), (1021.0, "full_test")])
def test_a_sister_with_survey_results(plain_http, mass, requirement):
    """SOLAS II-1/5.2 at L = 50 m: 2 % of the sister's 1000 t."""
    body = {"sister": SISTER, "survey": {"mass_t": mass, "x_m": 30.1}, **LENGTHS}
    found = post(plain_http, {**body, "ship_kind": "cargo", "rules": ["solas-ii-1-5"]}).json()
    assert (found["requirement"], found["situation"]) == (requirement, "sister")
    stages = {(one["stage"], one["trigger"]["rule"]) for one in found["triggers"]}
    assert ("found", "sister-displacement") in stages


def test_a_new_ship_is_tested_unless_her_vcg_may_be_assumed(plain_http):
    body = {**LENGTHS, "ship_kind": "cargo", "rules": ["us-46-cfr-170"]}
    assert post(plain_http, body).json()["requirement"] == "full_test"
    barge = {
        "kind": "tank_barge",
        "depth_m": "5 m",
        "gross_tonnage_count": 900,
        "ordinary_form": True,
        "flush_deck": True,
        "longitudinal_bulkhead": True,
        "independent_tanks": False,
        "cargo_above_freeboard_deck": False,
        "special_cargo": False,
    }
    assumed = post(plain_http, {**body, "tank_vessel": barge}).json()
    assert assumed["requirement"] == "survey_only"
    assert assumed["assumed_vcg"]["z_m"] == pytest.approx(3.0)  # 46 CFR 170.200: 60 % of 5 m
    independent = post(plain_http, {**body, "tank_vessel": {**barge, "independent_tanks": True}}).json()
    assert independent["requirement"] == "full_test"
    assert independent["assumed_vcg"]["failed"] == ["independent_tanks"]


def test_other_axes_give_the_same_decision(plain_http):
    place = {"y_m": -3.0, "x_m": 60 - 20.0}
    history = [
        {**EXAMPLE["weight_history"][0], **place},
        {**EXAMPLE["weight_history"][1], **place},
        {**EXAMPLE["weight_history"][2], "x_m": 10.0, "to": {"x_m": 52.0, "y_m": 0.0, "z_m": 6.0}},
    ]
    body = {
        **EXAMPLE,
        "axes": {"x": "aft_from_fp", "y": "starboard"},
        "approved": {**EXAMPLE["approved"], "x_m": 33.0},
        "weight_history": history,
    }
    turned, plain = post(plain_http, body).json(), post(plain_http, EXAMPLE).json()
    assert turned["weight_history"]["calculated"]["x_m"] == pytest.approx(
        60 - plain["weight_history"]["calculated"]["x_m"]
    )
    assert turned["by_rule_set"] == plain["by_rule_set"]


@pytest.mark.parametrize(
    ("change", "code", "pointer"),
    [
        ({"sister": SISTER}, "approved-or-sister", "#/sister"),
        ({"rules": ["us-46-cfr-144", "us-46-cfr-144"]}, "rule-set-duplicate", "#/rules/1"),
        ({"rules": ["us-46-cfr-28"]}, "requirement-not-determined", "#/rules"),
        ({"length_bp_m": "60"}, "quantity-no-unit", "#/length_bp_m"),
        (
            {"weight_history": [{"name": "a", "action": "remove", "mass_t": 1200, "x_m": 0, "y_m": 0, "z_m": 0}]},
            "lightship-not-positive",
            "#/weight_history",
        ),
    ],
)
def test_refusals(plain_http, change, code, pointer):
    refused = post(plain_http, {**EXAMPLE, **change})
    assert refused.status_code == 422, refused.text
    faults = refused.json()["errors"]
    assert (code, pointer) in [(one["code"], one["pointer"]) for one in faults], faults


def test_a_missing_ship_kind_is_refused(plain_http):
    refused = post(plain_http, {**LENGTHS})
    assert refused.status_code == 422
    assert refused.json()["errors"][0]["code"] == "missing-field"
