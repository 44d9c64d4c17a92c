"""A lightweight survey over HTTP: the box barge by closed form, a floating position put back, the VCG rules."""

import math

import pytest

from service.resources.survey_only import EXAMPLE
from tests.service.resources.test_righting_arms_tables import TABLES

PATH = "/v1/stability-tests/survey"
L, B, T, TRIM = 60.0, 12.0, 3.0, 0.3
BARE = {name: value for name, value in EXAMPLE.items() if name not in ("tanks", "items")}
APPROVED = {"mass_t": 2210.0, "x_m": 29.5, "z_m": 4.0}


def post(client, body):
    return client.post(PATH, json=body)


def marks(draft, trim, heel_tangent=0.0):
    """Return draft marks on the plane z = T + t (1/2 − x/L) − y tan φ."""
    return [
        {"x_m": x, "y_m": y, "draft_m": draft + trim * (0.5 - x / L) - y * heel_tangent}
        for x in (2.0, 30.0, 58.0)
        for y in (-6.0, 6.0)
    ]


def test_box_barge_by_closed_form(plain_http):
    """x_B = L/2 − L t/(12 T), z_B = T/2 + t²/(24 T); LCG = x_B + (z − z_B) t/L with the VCG of the rule."""
    found = post(plain_http, {**BARE, "vcg": {"kind": "approved", "approved": APPROVED}}).json()
    ship = found["lightship"]
    x_b, z_b = L / 2 - L * TRIM / (12 * T), T / 2 + TRIM**2 / (24 * T)
    assert ship["mass_t"] == pytest.approx(1.025 * L * B * T, rel=1e-11)
    assert ship["x_m"] == pytest.approx(x_b + (4.0 - z_b) * TRIM / L, abs=1e-9)
    assert ship["y_m"] == pytest.approx(0.0, abs=1e-9)
    assert ship["z_m"] == pytest.approx(4.0, rel=1e-14)
    assert ship["x_per_vcg_ratio"] == pytest.approx(TRIM / L)
    assert found["vcg"]["clause"] == "SOLAS II-1/5.5"
    assert found["vcg"]["outcome"] == "not_assessed"  # L is not given
    again = post(plain_http, {**BARE, "vcg": {"kind": "approved", "approved": APPROVED}, "load_line_length_m": 58.0})
    assert again.json()["vcg"]["outcome"] == "accepted"


def test_by_her_tables_she_is_the_same_ship(plain_http):
    """Of the box a single table carries trim exactly; 3.25 m is a row: the lightship is the hull's."""
    body = {**BARE, "draft_marks": marks(3.25, TRIM), "freeboards": []}
    found, whole = (post(plain_http, {**body, "hull": hull}).json() for hull in (TABLES, EXAMPLE["hull"]))
    for name in ("mass_t", "x_m", "y_m", "z_m"):
        assert found["lightship"][name] == pytest.approx(whole["lightship"][name], rel=1e-9, abs=1e-9)
    (told,) = [one["message"] for one in found["findings"] if one["code"] == "trim-off-tables"]
    assert "trimmed by 0.3 m" in told


def test_a_floating_position_put_back_gives_the_ship_that_made_it(plain_http):
    """Float a known lightship with a slack tank and a weight aboard; read marks where she floats; survey her."""
    light = {"mass_t": 2000.0, "x_m": 30.4, "y_m": 0.03, "z_m": 4.4}
    gear = {"name": "gear", "action": "remove", "mass_t": 20.0, "x_m": 12.0, "y_m": -3.0, "z_m": 9.0}
    total = 2020.0
    aboard = {axis: (2000.0 * light[axis] + 20.0 * gear[axis]) / total for axis in ("x_m", "y_m", "z_m")}
    hull = {"hull": EXAMPLE["hull"], "tanks": EXAMPLE["tanks"]}
    afloat = plain_http.post(
        "/v1/flotation", json={**hull, **aboard, "mass_t": total, "density_t_per_m3": 1.025}
    ).json()
    slope = (afloat["draft_m"], afloat["trim_m"])
    body = {
        **EXAMPLE,
        "draft_marks": marks(*slope, math.tan(math.radians(afloat["heel_deg"]))),
        "items": [gear],
        "vcg": {"kind": "sister", "lead": {"mass_t": 2000.0, "x_m": 30.4, "z_m": 4.4}},
    }
    ship = post(plain_http, body).json()
    for name, value in light.items():
        assert ship["lightship"][name] == pytest.approx(value, rel=1e-8, abs=1e-7), name
    assert ship["vcg"]["outcome"] == "accepted"
    assert [one["name"] for one in ship["ledger"]] == ["gear", "fuel"]


def test_the_sister_rule_takes_the_higher_vcg(plain_http):
    """MSC/Circ.1158. 40 t at 8 m on 2150 t at 4.2 m: (2150 · 4.2 + 40 · 8)/2190."""
    mast = {"name": "mast", "action": "add", "mass_t": 40.0, "x_m": 30.0, "y_m": 0.0, "z_m": 8.0}
    lead = EXAMPLE["vcg"]["lead"]
    higher = post(plain_http, {**EXAMPLE, "vcg": {"kind": "sister", "lead": lead, "weight_history": [mast]}}).json()
    assert higher["vcg"]["z_m"] == pytest.approx((2150 * 4.2 + 40 * 8) / 2190)
    assert higher["vcg"]["lead_z_m"] == 4.2
    low = {**mast, "z_m": 1.0}
    lower = post(plain_http, {**EXAMPLE, "vcg": {"kind": "sister", "lead": lead, "weight_history": [low]}}).json()
    assert lower["vcg"]["z_m"] == 4.2
    assert lower["vcg"]["source"] == "MSC/Circ.1158"


@pytest.mark.parametrize(
    ("approved_t", "added_t", "outcome", "requirement"),
    [
        (2200.0, 20.0, "accepted", "neither"),
        (2150.0, 50.0, "accepted", "survey_only"),
        (2150.0, 20.0, "not_accepted", "full_test"),
    ],
)
def test_the_calculated_rule_asks_that_the_survey_agrees(plain_http, approved_t, added_t, outcome, requirement):
    """46 CFR 144.315, table, from memory: displacement within 1 % of the calculated lightship. 2214 t float."""
    where = {"x_m": 29.5, "y_m": 0.0, "z_m": 4.0}
    rule = {
        "kind": "calculated",
        "approved": {**APPROVED, "mass_t": approved_t},
        "weight_history": [{"name": "more", "action": "add", "mass_t": added_t, **where}],
    }
    found = post(plain_http, {**BARE, "vcg": rule}).json()
    assert (found["vcg"]["outcome"], found["requirement"]) == (outcome, requirement)
    assert found["vcg"]["z_m"] == pytest.approx(4.0)
    assert found["vcg"]["source_status"] == "from memory"


def test_the_assumed_vcg_of_a_tank_barge(plain_http):
    barge = {
        "kind": "tank_barge",
        "depth_m": 8.0,
        "gross_tonnage_count": 900,
        "ordinary_form": True,
        "flush_deck": True,
        "longitudinal_bulkhead": True,
        "independent_tanks": False,
        "cargo_above_freeboard_deck": False,
        "special_cargo": False,
    }
    found = post(plain_http, {**BARE, "vcg": {"kind": "tank_vessel", "tank_vessel": barge}}).json()
    assert found["vcg"]["z_m"] == pytest.approx(4.8)  # 46 CFR 170.200: 60 % of 8 m
    assert (found["requirement"], found["vcg"]["outcome"]) == ("survey_only", "accepted")
    del barge["flush_deck"]
    refused = post(plain_http, {**BARE, "vcg": {"kind": "tank_vessel", "tank_vessel": barge}})
    assert refused.status_code == 422
    assert refused.json()["errors"][0]["code"] == "vcg-not-assumed"


def test_other_axes_give_the_same_ship(plain_http):
    turned_hull = {
        **EXAMPLE["hull"],
        "stations": [{**one, "x_m": L - one["x_m"]} for one in EXAMPLE["hull"]["stations"][::-1]],
    }
    body = {
        **BARE,
        "axes": {"x": "aft_from_fp", "y": "starboard"},
        "hull": turned_hull,
        "draft_marks": [{**one, "x_m": L - one["x_m"], "y_m": -one["y_m"]} for one in marks(T, TRIM, 0.01)],
        "vcg": {"kind": "approved", "approved": {**APPROVED, "x_m": L - 29.5}},
    }
    plain_body = {**BARE, "draft_marks": marks(T, TRIM, 0.01), "vcg": {"kind": "approved", "approved": APPROVED}}
    turned, plain = post(plain_http, body).json(), post(plain_http, plain_body).json()
    assert turned["lightship"]["x_m"] == pytest.approx(L - plain["lightship"]["x_m"], abs=1e-9)
    assert turned["lightship"]["y_m"] == pytest.approx(-plain["lightship"]["y_m"], abs=1e-9)
    assert plain["lightship"]["y_m"] < -0.01  # heeled to starboard


@pytest.mark.parametrize(
    ("change", "code", "pointer"),
    [
        ({"draft_marks": []}, "no-heights", None),
        ({"draft_marks": marks(T, TRIM)[:2]}, "plane-not-determined", None),
        ({"draft_marks": marks(30.0, 0.0)}, "waterplane-misses-hull", "#/hull"),
        ({"vcg": {"kind": "guess"}}, "unknown-kind", "#/vcg"),
        ({"vcg": {"kind": "sister", "lead": {"mass_t": 0, "x_m": 30, "z_m": 4}}}, "out-of-bounds", "#/vcg/lead/mass_t"),
        ({"rules": ["no-such-set"]}, "rule-set-not-known", "#/rules/0"),
        (
            {"items": [{"name": "all", "action": "remove", "mass_t": 9999, "x_m": 0, "y_m": 0, "z_m": 0}]},
            "lightship-not-positive",
            "#/items",
        ),
        (
            {"tanks": [{**EXAMPLE["tanks"][0], "contents": {"kind": "volume", "volume_m3": 999}}]},
            "volume-beyond-capacity",
            "#/tanks/0/contents/volume_m3",
        ),
    ],
)
def test_refusals(plain_http, change, code, pointer):
    refused = post(plain_http, {**EXAMPLE, **change})
    assert refused.status_code == 422, refused.text
    faults = refused.json()["errors"]
    assert code in [one["code"] for one in faults], faults
    assert pointer is None or pointer in [one["pointer"] for one in faults], faults
