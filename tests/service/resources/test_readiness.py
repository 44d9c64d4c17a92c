"""Readiness over HTTP: the answer, what is computed from what is given, and what is refused."""

import math
from typing import Any

import pytest
from starlette.testclient import TestClient

from service.resources.readiness import EXAMPLE

PATH = "/v1/stability-tests/readiness"


def post(http: TestClient, **changed: Any) -> Any:
    return http.post(PATH, json={key: value for key, value in {**EXAMPLE, **changed}.items() if value is not None})


def rows(found: dict[str, Any]) -> dict[str, dict[str, Any]]:
    return {row["id"]: row for row in found["preconditions"]}


def test_answer(plain_http: TestClient) -> None:
    found = post(plain_http).json()
    assert found["verdict"] == "not_ready"
    assert found["blocking"] == ["tanks-empty-dry"]  # the missing profiles are an accepted deviation
    listed = rows(found)
    assert listed["tanks-empty-dry"]["clause"] == "Annex 1, 2.1.4"
    assert listed["tanks-empty-dry"]["source_status"] == "from memory"
    assert (listed["tanks-empty-dry"]["due"], listed["tanks-empty-dry"]["begin_by"]) == ("2026-06-15", "2026-06-11")
    assert listed["drawing-profiles"]["deviation"] == "accepted"
    assert listed["deviation-0"]["deviates_from"] == "drawing-profiles"
    assert listed["moorings-slack"]["outcome"] == "not_yet_known"
    assert "moorings-slack" in found["unknown"]


def test_numbers_are_worked_out(plain_http: TestClient) -> None:
    found = post(plain_http).json()
    listed = rows(found)
    assert listed["class-practice/trim"]["value"] == round(100 * 0.4 / 60, 9)
    assert listed["us-46-cfr-170/trim"]["value"] == 0.0  # hydrostatics at the actual trim
    assert listed["common-practice/deadweight"]["value"] == 1.8  # (21 + 6) of 1500 t
    assert listed["us-46-cfr-170/completeness"]["value"] == 99.8
    assert listed["us-46-cfr-170/procedure-notice"]["value"] == 19.0  # 29 May to 17 June
    # (3.2 + 0.2) cos 3° + 5.5 sin 3°, half a metre clear, over the least sounding of 3.9 m
    needed = 3.4 * math.cos(math.radians(3)) + 5.5 * math.sin(math.radians(3)) + 0.5 - 3.9
    assert found["tide_needed_m"] == pytest.approx(needed, rel=1e-12)
    start, end = found["tide_windows"][0]["start_min"], found["tide_windows"][0]["end_min"]
    assert start == pytest.approx(300 + 360 * (needed - 0.2) / 1.6, rel=1e-12)
    assert end == pytest.approx(1030 - 370 * (needed - 0.1) / 1.7, rel=1e-12)
    assert listed["tide-window"]["outcome"] == "met"
    even = {"trim_m": 0.4, "length_bp_m": 60.0, "hydrostatics_at_actual_trim": False}
    assert rows(post(plain_http, afloat=even).json())["us-46-cfr-170/trim"]["outcome"] == "not_yet_known"
    tables = {**even, "trim_m": 0.8, "hydrostatics_trim_m": 0.1}
    off = rows(post(plain_http, afloat=tables).json())["us-46-cfr-170/trim"]
    assert (off["value"], off["outcome"]) == (round(100 * 0.7 / 60, 9), "not_met")


def test_who_brings_what(plain_http: TestClient) -> None:
    """Common practice, no source, but for what the request sets."""
    extra = {"id": "lamp", "kind": "equipment", "title": "Lamp for the night", "party": "yard"}
    found = {one["id"]: one for one in post(plain_http, extra_needs=[extra]).json()["who_brings"]}
    assert (found["pendulums"]["party"], found["pendulums"]["need_count"]) == ("coordinator", 3)
    assert found["fenders"]["party"] == "owner"
    assert (found["weights"]["party"], found["weights"]["party_set"]) == ("yard", True)
    assert found["crane-operator"]["party"] == "owner"
    assert found["lamp"]["title"] == "Lamp for the night"


def test_names_given_come_back(plain_http: TestClient) -> None:
    assert rows(post(plain_http).json())["certificate-0"]["name"] == "W1"


def test_nothing_known(plain_http: TestClient) -> None:
    answer = plain_http.post(PATH, json={"today": "2026-06-08", "test_date": "2026-06-17"})
    assert answer.status_code == 200
    assert answer.json()["verdict"] == "not_yet_known"
    assert {row["outcome"] for row in answer.json()["preconditions"]} == {"not_yet_known"}


def test_rule_sets_are_chosen_and_named(plain_http: TestClient) -> None:
    found = post(plain_http, rules=["imo-2008-is-code"]).json()
    assert found["provenance"]["rule_sets"] == ["imo-2008-is-code 1"]
    assert {one.split("/")[0] for one in rows(found) if "/" in one} == {"imo-2008-is-code"}


@pytest.mark.parametrize(
    ("changed", "code", "pointer"),
    [
        ({"test_date": None}, "missing-field", "#/test_date"),
        ({"test_date": "soon"}, "wrong-text", "#/test_date"),
        ({"statements": [{"precondition": "dance", "met": True}]}, "unknown-precondition", "#/statements/0"),
        ({"statements": [{"precondition": "decks-dry", "met": "yes"}]}, "wrong-type", "#/statements/0/met"),
        ({"statements": [{"precondition": "decks-dry", "met": True}] * 2}, "duplicate-id", "#/statements/1"),
        ({"deviations": [{"precondition": "dance", "state": "accepted"}]}, "unknown-precondition", "#/deviations/0"),
        ({"deviations": [{"precondition": "wind", "state": "maybe"}]}, "not-a-choice", "#/deviations/0/state"),
        ({"who_brings_changes": [{"need": "band"}]}, "unknown-need", "#/who_brings_changes/0/need"),
        ({"berth": {"tide": {"time_min": [0], "height_m": [1.0]}}}, "too-few-points", "#/berth/tide"),
        ({"berth": {"tide": {"time_min": [0, 1], "height_m": [1.0]}}}, "unequal-lengths", "#/berth/tide/height_m"),
        ({"berth": {"tide": {"time_min": [1, 0], "height_m": [1.0, 2.0]}}}, "not-increasing", "#/berth/tide/time_min"),
        ({"rules": ["house"]}, "rule-set-unknown", "#/rules/0"),
        ({"wind": {"forecast_m_per_s": -1.0}}, "out-of-bounds", "#/wind/forecast_m_per_s"),
        ({"deadweight": {"surplus_t": 1.0}}, "missing-field", "#/deadweight/lightship_t"),
        ({"certificates": [{"kind": "cook", "name": "c"}]}, "not-a-choice", "#/certificates/0/kind"),
    ],
)
def test_refusals(plain_http: TestClient, changed: dict[str, Any], code: str, pointer: str) -> None:
    refused = post(plain_http, **changed)
    assert refused.status_code == 422
    faults = [(one["code"], one["pointer"]) for one in refused.json()["errors"]]
    assert any(found == code and place.startswith(pointer) for found, place in faults), faults
