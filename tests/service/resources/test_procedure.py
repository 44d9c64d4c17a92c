"""Procedures over HTTP: what is missing is the answer; what is wrong is refused."""

import math
from typing import Any

import pytest
from starlette.testclient import TestClient

from service.resources.plan import EXAMPLE as PLAN_EXAMPLE
from service.resources.procedure import EXAMPLE

PATH = "/v1/stability-tests/procedure"
COMPLETE: dict[str, Any] = {
    **EXAMPLE,
    "time": "09:00",
    "software": "none",
    "weights": [{**one, "certificate": "C"} for one in EXAMPLE["weights"]],
    "tanks": [EXAMPLE["tanks"][0], {**EXAMPLE["tanks"][1], "fill_percent": 50.0}],
}


def post(http: TestClient, body: dict[str, Any]) -> Any:
    return http.post(PATH, json=body)


def test_missing_parts_are_named_with_clause_and_place(plain_http: TestClient) -> None:
    found = post(plain_http, EXAMPLE).json()
    assert not found["complete"]
    assert found["missing"] == ["us-tanks", "imo-date-place", "imo-weights", "imo-tanks", "imo-software"]
    parts = {one["id"]: one for one in found["parts"]}
    assert parts["imo-software"]["outcome"] == "missing"
    assert parts["us-tanks"]["outcome"] == "incomplete"
    assert parts["us-tanks"]["clause"] == "46 CFR 170.185(g)"
    assert [one["pointer"] for one in parts["us-tanks"]["missing"]] == ["#/tanks/1/fill_percent"]
    assert [one["pointer"] for one in parts["imo-weights"]["missing"]] == ["#/weights/1/certificate"]


def test_complete(plain_http: TestClient) -> None:
    found = post(plain_http, COMPLETE).json()
    assert found["complete"]
    assert found["missing"] == []
    assert {one["outcome"] for one in found["parts"]} == {"present"}


def test_nothing_given_nothing_made_up(plain_http: TestClient) -> None:
    answer = post(plain_http, {})
    assert answer.status_code == 200
    found = answer.json()
    assert found["contents"] == {}
    assert {one["outcome"] for one in found["parts"]} == {"missing"}
    assert found["checks"] == []
    assert found["totals"]["weights_count"] == 0


def test_contents_come_back_in_si(plain_http: TestClient) -> None:
    found = post(plain_http, EXAMPLE).json()["contents"]
    assert found["vessel"] == EXAMPLE["vessel"]
    assert [one["id"] for one in found["weights"]] == ["W1", "W2"]
    assert found["weights"][1]["mass_t"] == pytest.approx(3.05 * 1.0160469088, rel=1e-12)  # 1 LT = 1016.0469088 kg
    assert "certificate" not in found["weights"][1]
    assert found["items"] == []
    again = post(plain_http, found).json()  # what comes back can be sent again
    assert again["contents"] == found


def test_totals(plain_http: TestClient) -> None:
    items = [
        {"name": "Drum", "action": "remove", "mass_t": 1.5},
        {"name": "Rope", "action": "remove", "mass_t": 0.5},
        {"name": "Raft", "action": "add"},
    ]
    found = post(plain_http, {**EXAMPLE, "items": items}).json()["totals"]
    assert found["remove_t"] == 2.0
    assert "add_t" not in found  # a mass is missing: no sum is made up
    assert found["relocate_t"] == 0.0
    assert (found["tanks_empty_count"], found["tanks_slack_count"], found["tanks_full_count"]) == (1, 1, 0)


def checks_of(http: TestClient, body: dict[str, Any]) -> dict[tuple[str, str], dict[str, Any]]:
    return {(one["rule_set"], one["rule"]): one for one in post(http, body).json()["checks"]}


def test_its_numbers_are_held_against_the_rules(plain_http: TestClient) -> None:
    checks = checks_of(plain_http, EXAMPLE)
    deflection = checks["imo-2008-is-code", "pendulum-deflection"]
    assert deflection["value"] == round(4.5 * math.tan(math.radians(2.1)), 9)  # the shorter, to the lesser side
    assert deflection["outcome"] == "met"  # 0.165 m of 0.15 m
    assert checks["us-46-cfr-170", "procedure-notice"]["value"] == 19.0
    assert checks["imo-2008-is-code", "heel-each-side"]["outcome"] == "met"
    assert checks["imo-2008-is-code", "pendulums-recommended"]["outcome"] == "not_met"
    small = checks_of(plain_http, {**EXAMPLE, "heel_port_deg": 0.9})
    assert small["imo-2008-is-code", "heel-each-side"]["outcome"] == "not_met"
    assert small["imo-2008-is-code", "pendulum-deflection"]["outcome"] == "not_met"  # 4.5 tan 0.9° = 0.071 m


PLAN = {key: value for key, value in PLAN_EXAMPLE.items() if key != "rehearsal"}


def test_the_plan_fills_what_is_left_out(plain_http: TestClient) -> None:
    """Against the plan's own answer; nothing comes in that the plan does not know."""
    planned = plain_http.post("/v1/stability-tests/plan", json=PLAN).json()
    found = post(plain_http, {"plan": PLAN}).json()
    given = found["contents"]
    assert [(one["id"], one["mass_t"], one["y_m"]) for one in given["weights"]] == [
        (one["id"], one["mass_t"], one["y_m"]) for one in planned["weights"]["groups"]
    ]
    assert given["heel_port_deg"] == planned["weights"]["port_heel_deg"]
    assert [one["location"] for one in given["instruments"]] == [one["id"] for one in planned["instruments"]]
    assert given["draft_m"] == planned["predicted"]["draft_m"]
    assert given["tanks"] == [{"name": "fuel", "condition": "slack", "density_t_per_m3": 0.86, "fill_percent": 50.0}]
    assert [one["name"] for one in given["items"]] == ["test party"]
    assert given["vessel"] == {"name": PLAN["vessel"]["name"], "length_bp_m": 60.0}
    assert found["plan_possible"] == planned["possible"]
    assert set(found["from_plan"]) >= {"weights", "instruments", "tanks", "items", "draft_m", "trim_m", "vessel"}
    parts = {one["id"]: one for one in found["parts"]}
    assert parts["us-draft-trim"]["outcome"] == parts["us-items"]["outcome"] == "present"
    assert parts["us-schedule"]["outcome"] == parts["us-persons"]["outcome"] == "missing"
    wanted = {one["pointer"] for one in parts["imo-weights"]["missing"]}
    assert wanted >= {"#/weights/0/kind", "#/weights/0/certificate", "#/handling"}
    assert {one["pointer"] for one in parts["us-tanks"]["missing"]} == {"#/tanks/0/liquid"}


def test_what_is_given_wins_over_the_plan(plain_http: TestClient) -> None:
    weights = [{"id": "B", "kind": "steel block", "certificate": "C", "mass_t": 7.6}, {"id": "Z", "mass_t": 1.0}]
    tanks = [{"name": "fuel", "liquid": "gas oil"}]
    found = post(plain_http, {"plan": PLAN, "weights": weights, "tanks": tanks, "items": [], "trim_m": 0.0}).json()
    rows = {one["id"]: one for one in found["contents"]["weights"]}
    assert list(rows) == ["A", "B", "C", "D", "Z"]
    assert (rows["B"]["mass_t"], rows["B"]["kind"], rows["B"]["z_m"]) == (7.6, "steel block", rows["A"]["z_m"])
    assert found["contents"]["tanks"][0]["fill_percent"] == 50.0
    assert found["contents"]["items"] == []
    assert found["contents"]["trim_m"] == 0.0
    assert not {"items", "trim_m"} & set(found["from_plan"])


def test_faults_of_the_plan_are_placed_in_it(plain_http: TestClient) -> None:
    heavy = {**PLAN, "lightship": {**PLAN["lightship"], "mass_t": 1e6}}
    refused = post(plain_http, {"plan": heavy})
    assert refused.status_code == 422
    assert all(one["pointer"].startswith("#/plan") for one in refused.json()["errors"])
    other = post(plain_http, {"plan": PLAN, "axes": {"y": "starboard"}})
    assert [one["code"] for one in other.json()["errors"]] == ["axes-differ"]
    twice = post(plain_http, {"plan": PLAN, "tanks": [{"name": "fuel"}, {"name": "fuel"}]})
    assert [(one["code"], one["pointer"]) for one in twice.json()["errors"]] == [("duplicate-id", "#/tanks/1/name")]
    turned = post(plain_http, {"plan": {**PLAN, "axes": {"y": "starboard"}}}).json()
    assert turned["contents"]["axes"]["y"] == "starboard"


def test_regulations_and_rules_are_chosen(plain_http: TestClient) -> None:
    found = post(plain_http, {**EXAMPLE, "regulations": ["us"], "rules": ["us-46-cfr-170"]}).json()
    assert {one["regulation"] for one in found["parts"]} == {"us"}
    assert {one["rule_set"] for one in found["checks"]} == {"us-46-cfr-170"}
    assert found["missing"] == ["us-tanks"]


@pytest.mark.parametrize(
    ("changed", "code", "pointer"),
    [
        ({"day": "2026-13-01"}, "wrong-text", "#/day"),
        ({"day": None}, "wrong-type", "#"),
        ({"weights": [{"id": "W", "mass_t": -1.0}]}, "out-of-bounds", "#/weights/0/mass_t"),
        ({"weights": [{"id": "W", "mass_t": "3"}]}, "quantity-no-unit", "#/weights/0/mass_t"),
        ({"instruments": [{"id": "P", "kind": "plumb"}]}, "not-a-choice", "#/instruments/0/kind"),
        ({"tanks": [{"name": "A", "condition": "half"}]}, "not-a-choice", "#/tanks/0/condition"),
        ({"items": [{"action": "remove"}]}, "missing-field", "#/items/0/name"),
        ({"heel_port_deg": -1.0}, "out-of-bounds", "#/heel_port_deg"),
        ({"regulations": []}, "wrong-count", "#/regulations"),
        ({"regulations": ["house"]}, "not-a-choice", "#/regulations/0"),
        ({"rules": ["house"]}, "rule-set-unknown", "#/rules/0"),
        ({"captain": "x"}, "unknown-field", "#"),
    ],
)
def test_refusals(plain_http: TestClient, changed: dict[str, Any], code: str, pointer: str) -> None:
    refused = post(plain_http, {**EXAMPLE, **changed})
    assert refused.status_code == 422
    faults = [(one["code"], one["pointer"]) for one in refused.json()["errors"]]
    assert any(found == code and place.startswith(pointer) for found, place in faults), faults
