"""Limits of VCG over HTTP: the box barge by closed form, rows without a limit, CSV, what is refused."""

import csv
import io

import pytest
from starlette.testclient import TestClient

from service.resources.vcg_limits import EXAMPLE
from tests.service.resources.test_righting_arms_tables import TABLES

KM = 3.5 / 2 + 144 / (12 * 3.5)


def post(http: TestClient, path="/v1/vcg-limits", **change):
    return http.post(path, json={**EXAMPLE, **change})


def test_the_example_is_limited_by_gm(plain_http):
    found = post(plain_http).json()
    columns = found["columns"]
    assert columns["displacement_t"] == [2000.0, 2000.0, 2583.0, 2583.0]
    assert columns["trim_m"] == pytest.approx([0.0, 0.5, 0.0, 0.5])
    assert columns["vcg_limit_m"][2] == pytest.approx(KM - 0.15, abs=1e-8)  # T/2 + B²/12T − 0.15 m
    assert columns["governing_rule"] == ["gm"] * 4
    assert columns["governing_rule_set"] == ["imo-2008-is-code-a-2-2"] * 4
    assert (found["column_notes"], found["not_assessed"]) == ([], [])
    assert found["provenance"]["rule_sets"] == ["imo-2008-is-code-a-2-2 1"]


def test_a_row_without_a_limit_is_null_and_says_why(plain_http):
    found = post(plain_http, displacement_t=[2583.0, 6000.0], trim_m=[0.0]).json()
    assert found["columns"]["vcg_limit_m"][1] is None
    assert found["columns"]["governing_rule"][1] is None
    (note,) = found["column_notes"]
    assert (note["column"], note["row"], note["code"]) == ("vcg_limit_m", 1, "sinks")
    assert "5904" in note["reason"]  # 1.025 × 60 × 12 × 8 t


def test_no_vcg_meets_a_criterion_that_floods_at_once(plain_http):
    low = {"openings": [{"name": "hatch", "x_m": 30, "y_m": 5.9, "z_m": 3.6, "kind": "unprotected"}]}
    found = post(plain_http, displacement_t=[2583.0], trim_m=[0.0], rules=["us-46-cfr-174-185"], stability=low).json()
    assert found["columns"]["vcg_limit_m"] == [None]
    assert found["column_notes"][0]["code"] == "no-vcg-meets"


def test_criteria_without_their_data_are_told(plain_http):
    found = post(plain_http, stability={}, trim_m=[0.0]).json()
    assert [(one["rule"], one["rows"]) for one in found["not_assessed"]] == [
        ("area-to-40", [0, 1]),
        ("area-30-to-40", [0, 1]),
    ]
    assert "openings are not stated" in found["not_assessed"][0]["reason"]


def test_findings_of_a_row(plain_http):
    wind = {"draft_m": [3.5], "area_m2": [300.0], "centroid_z_m": [7.0]}
    data = {**EXAMPLE["stability"], "wind": wind}
    rules = ["imo-2008-is-code-a-2-3"]
    found = post(plain_http, displacement_t=[2000.0], trim_m=[0.0], rules=rules, stability=data).json()
    assert {(one["row"], one["code"]) for one in found["row_findings"]} == {(0, "weather-criterion-range")}  # B/d 4.4


def test_lcg_turns_with_the_axes_of_the_document(plain_http):
    body = {k: v for k, v in EXAMPLE.items() if k != "trim_m"}
    plain = plain_http.post("/v1/vcg-limits", json={**body, "lcg_m": [29.5]}).json()["columns"]
    axes = {"x": "aft_from_fp", "y": "port"}
    hull = {**body["hull"], "stations": [{**one, "x_m": 60.0 - one["x_m"]} for one in body["hull"]["stations"]]}
    stability = {"openings": [{**EXAMPLE["stability"]["openings"][0], "x_m": 48.0}]}
    turned = {**body, "axes": axes, "hull": hull, "stability": stability, "lcg_m": [30.5]}
    other = plain_http.post("/v1/vcg-limits", json=turned).json()["columns"]
    assert other["lcg_m"] == pytest.approx([30.5, 30.5])
    assert other["vcg_limit_m"] == pytest.approx(plain["vcg_limit_m"], abs=1e-7)
    assert other["trim_m"] == pytest.approx(plain["trim_m"], abs=1e-7)


def test_csv(plain_http):
    text = post(plain_http, "/v1/vcg-limits?format=csv", displacement_t=[2583.0, 6000.0], trim_m=[0.0]).text
    first, second = csv.DictReader(io.StringIO(text))
    assert float(first["vcg_limit_m"]) == pytest.approx(KM - 0.15, abs=1e-8)
    assert first["governing_rule"] == "gm"
    assert (second["vcg_limit_m"], second["governing_rule"]) == ("", "")
    us = next(csv.DictReader(io.StringIO(post(plain_http, "/v1/vcg-limits?format=csv&units=us").text)))
    assert float(us["displacement_lt"]) == pytest.approx(2000 / 1.0160469088, rel=1e-9)


@pytest.mark.parametrize(
    ("change", "code", "pointer"),
    [
        ({"lcg_m": [30.0]}, "trim-or-lcg", "#/trim_m"),
        ({"rules": ["imo-2008-is-code-a-2-9"]}, "rule-set-unknown", "#/rules/0"),
        ({"rules": ["us-46-cfr-28-570", "common-practice"]}, "rule-set-subject", "#/rules/1"),
        ({"rules": ["us-46-cfr-28-570", "us-46-cfr-28-570"]}, "rule-set-duplicate", "#/rules/1"),
        ({"rules": []}, "wrong-count", "#/rules"),
        ({"displacement_t": [0.0]}, "out-of-bounds", "#/displacement_t/0"),
        ({"rules": ["imo-2008-is-code-a-2-3"]}, "no-criterion-assessed", "#/rules"),
        (
            {"displacement_t": [2000.0 + i for i in range(101)], "trim_m": [0.0] * 5},
            "too-many-rows",
            "#/displacement_t",
        ),
        (
            {"stability": {"wind": {"draft_m": [3.0, 2.0], "area_m2": [1.0, 1.0], "centroid_z_m": [5.0, 5.0]}}},
            "not-increasing",
            "#/stability/wind/draft_m",
        ),
    ],
)
def test_refusals(plain_http, change, code, pointer):
    refused = post(plain_http, **change)
    assert refused.status_code == 422
    faults = [(one["code"], one["pointer"]) for one in refused.json()["errors"]]
    assert (code, pointer) in faults, faults


def by_tables(**change):
    """The example's box by her tables, cross curves to 30°, at 3.5 m of draft, a row."""
    hull = {name: part for name, part in {**TABLES, **change}.items() if part is not None}
    return {"hull": hull, "displacement_t": [2583.0, 9000.0], "trim_m": [0.0, 0.5]}


def test_tables_in_place_of_the_hull(plain_http):
    found = post(plain_http, **by_tables()).json()
    limit = found["columns"]["vcg_limit_m"]
    assert limit[0] == pytest.approx(KM - 0.15, abs=1e-8)  # T/2 + B²/12T − 0.15 m
    assert found["columns"]["governing_rule"] == ["gm", "gm", None, None]
    assert limit[2:] == [None, None]
    assert [(one["row"], one["code"]) for one in found["column_notes"]] == [(2, "beyond-tables"), (3, "beyond-tables")]
    assert [one["code"] for one in found["findings"]] == ["tables-no-geometry", "cross-curves-mirrored"]
    assert {(one["row"], one["code"]) for one in found["row_findings"]} == {(1, "trim-off-tables")}
    left_out = {one["rule"]: one["reason"] for one in found["not_assessed"]}
    assert set(left_out) == {"area-to-40", "area-30-to-40"}
    assert "tables hold no geometry" in left_out["area-to-40"]  # the example has an opening


def test_tables_without_cross_curves_limit_gm_alone(plain_http):
    found = post(plain_http, **by_tables(cross_curves=None)).json()
    assert found["columns"]["vcg_limit_m"][0] == pytest.approx(KM - 0.15, abs=1e-8)
    assert len(found["not_assessed"]) == 5
    assert all("no cross curves" in one["reason"] for one in found["not_assessed"])


def test_tables_at_fault_are_placed(plain_http):
    rows = {**TABLES["tables"][0], "draft_m": [3.25, 3.75, 3.5]}
    reply = post(plain_http, **by_tables(tables=[rows]))
    assert reply.status_code == 422
    assert [one["pointer"] for one in reply.json()["errors"]] == ["#/hull/tables/0/draft_m/2"]
