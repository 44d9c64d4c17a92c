"""Comparison over HTTP: figures by hand, axes, and what is refused."""

import pytest

from service.resources.comparison import EXAMPLE

PATH = "/v1/stability-tests/comparison"


def post(client, **change):
    body = {**EXAMPLE, **change}
    return client.post(PATH, json={name: value for name, value in body.items() if value is not None})


def rows_of(answer, against):
    return {
        (row["rule_set"], row["rule"]): row
        for one in answer["comparisons"]
        if one["against"] == against
        for row in one["rows"]
    }


def test_deviations_triggers_and_allowance(plain_http):
    found = post(plain_http).json()
    off = found["comparisons"][0]["deviation"]
    # 1218 less 1200 t; 27.1 less 27.0 m, of 60 and 58.5 m; 4.36 less 4.30 m
    assert off["mass_t"] == pytest.approx(18.0)
    assert off["mass_percent"] == pytest.approx(1.5)
    assert off["x_over_length_bp_percent"] == pytest.approx(0.1 / 0.6)
    assert off["x_over_load_line_length_percent"] == pytest.approx(0.1 / 0.585)
    assert off["z_percent"] == pytest.approx(6 / 4.3)
    assert "y_m" not in off  # the approved lightship states none
    rows = rows_of(found, "approved")
    changed = rows[("solas-ii-1-5", "alteration-displacement")]  # II-1/5.4 by 5.5: 2 % of 1200 t
    assert (changed["outcome"], changed["limit_t"], changed["allowance_t"]) == ("within", 24.0, pytest.approx(6.0))
    assert changed["exceedance_ratio"] == pytest.approx(-2.0)  # 6 t short of it, 3 t of standard uncertainty
    high = rows[("solas-ii-1-5", "alteration-vcg")]  # EN to 5.4: 1 %
    assert (high["outcome"], high["action"], high["certainty"]) == ("exceeded", "full_test", "within_uncertainty")
    assert found["comparisons"][0]["deviation_uncertainty"]["mass_percent"] == pytest.approx(0.25)
    for row in rows.values():
        assert row["clause"]
        assert row["source"]
        assert row["source_status"]
    assert "solas-ii-1-5 1" in found["provenance"]["rule_sets"]


def test_next_trigger_by_history_and_once_approved(plain_http):
    place = {"x_m": 27.0, "y_m": 0.0, "z_m": 4.3}
    history = [
        {"name": "out", "action": "remove", "mass_t": 1.0, **place},
        {"name": "in", "action": "add", "mass_t": "19 t", **place},
    ]
    found = post(plain_http, weight_history=history, rules=["us-46-cfr-144"]).json()
    assert found["weight_history"]["aggregate_t"] == pytest.approx(20.0)
    assert found["weight_history"]["calculated"]["mass_t"] == pytest.approx(1218.0)
    # 144.315(b): 2 % of 1200 t less 20 t; once 1218 t are approved, 2 % of them
    assert found["comparisons"][0]["next_trigger"]["allowance_t"] == pytest.approx(4.0)
    assert found["next_trigger_once_approved"]["allowance_t"] == pytest.approx(24.36)


def test_every_reference_has_its_own_sets(plain_http):
    one = EXAMPLE["approved"]
    found = post(plain_http, sister=one, predicted=one).json()
    assert [of["against"] for of in found["comparisons"]] == ["approved", "sister", "predicted"]
    assert ("us-46-cfr-144", "survey-displacement") in rows_of(found, "predicted")
    assert ("imo-msc-circ-1158", "sister-displacement") in rows_of(found, "sister")
    assert ("us-46-cfr-144", "aggregate-survey") in rows_of(found, "approved")


def test_other_axes_give_the_same_rows(plain_http):
    """With x aft from the forward perpendicular: 60 − x; the size of a deviation does not change, its sign does."""
    derived = {**EXAMPLE["derived"], "x_m": 60 - 27.1, "y_m": -0.02}
    approved = {**EXAMPLE["approved"], "x_m": 60 - 27.0}
    axes = {"x": "aft_from_fp", "y": "starboard"}
    turned = post(plain_http, derived=derived, approved=approved, axes=axes).json()
    plain = post(plain_http).json()
    assert turned["comparisons"][0]["deviation"]["x_m"] == pytest.approx(-0.1)
    for key, row in rows_of(plain, "approved").items():
        assert rows_of(turned, "approved")[key]["value"] == pytest.approx(row["value"], abs=1e-8)
        assert rows_of(turned, "approved")[key]["outcome"] == row["outcome"]


def test_values_with_their_own_uncertainty_and_unit(plain_http):
    derived = {"mass_t": {"value": "1218 t", "standard_uncertainty": 3.0}, "x_m": 27.1, "z_m": "4.36 m"}
    found = post(plain_http, derived=derived).json()
    assert found["comparisons"][0]["deviation_uncertainty"]["mass_t"] == 3.0


@pytest.mark.parametrize(
    ("change", "code", "pointer"),
    [
        ({"approved": None}, "no-reference", None),
        (
            {"approved": None, "predicted": EXAMPLE["approved"], "weight_history": []},
            "no-reference",
            "#/weight_history",
        ),
        ({"rules": ["no-such-set"]}, "rule-set-not-known", "#/rules/0"),
        (
            {"derived": {**EXAMPLE["derived"], "mass_t": {"value": 1218.0, "standard_uncertainty": 3.0}}},
            "uncertainty-stated-twice",
            "#/derived/standard_uncertainty/mass_t",
        ),
        ({"derived": {**EXAMPLE["derived"], "mass_t": -5.0}}, "out-of-bounds", "#/derived/mass_t"),
        ({"length_bp_m": 0.0}, "out-of-bounds", "#/length_bp_m"),
        ({"ship_kind": "yacht"}, "not-a-choice", "#/ship_kind"),
        (
            {"weight_history": [{"name": "a", "action": "relocate", "mass_t": 1, "x_m": 1, "y_m": 0, "z_m": 1}]},
            "relocation-place",
            "#/weight_history/0",
        ),
    ],
)
def test_refusals(plain_http, change, code, pointer):
    refused = post(plain_http, **change)
    assert refused.status_code == 422, refused.text
    faults = refused.json()["errors"]
    assert code in [one["code"] for one in faults], faults
    assert pointer is None or pointer in [one["pointer"] for one in faults], faults
