"""Replay over HTTP: the outcomes, and what is refused."""

import copy
from typing import Any

import pytest
from starlette.testclient import TestClient

from service.resources.archived_cases import EXAMPLE

PATH = "/v1/archived-cases/replay"


def test_same(plain_http: TestClient) -> None:
    found = plain_http.post(PATH, json=EXAMPLE).json()
    assert (found["name"], found["outcome"]) == ("box afloat", "same")
    (row,) = found["deviations"]
    assert (row["pointer"], row["within"]) == ("/free_surface_moment_tm", True)
    assert row["found"] == pytest.approx(48.0, rel=1e-12)  # ρ l b³ / 12, closed form
    assert "problem" not in found
    assert found["made_with"] == EXAMPLE["made_with"]


def test_an_answer_that_moved(plain_http: TestClient) -> None:
    case: dict[str, Any] = copy.deepcopy(EXAMPLE)
    case["request"]["body"]["tank"]["density_t_per_m3"] = 1.0
    found = plain_http.post(PATH, json=case).json()
    assert found["outcome"] == "deviates"
    row = found["deviations"][0]
    assert row["difference"] == pytest.approx(0.1 * 10 * 64 / 12, rel=1e-9)
    assert row["reason"] == "beyond_tolerance"


def test_a_refusal_inside_is_an_answer(plain_http: TestClient) -> None:
    case: dict[str, Any] = copy.deepcopy(EXAMPLE)
    del case["request"]["body"]["tank"]
    answer = plain_http.post(PATH, json=case)
    assert answer.status_code == 200
    found = answer.json()
    assert found["outcome"] == "not_comparable"
    assert found["problem"]["code"] == "schema"
    assert found["problem"]["pointers"] == ["#/tank"]
    case["problem"] = {"status": 422, "code": "schema"}
    case["expected"] = []
    assert plain_http.post(PATH, json=case).json()["outcome"] == "same"


def test_a_case_cannot_replay_itself(plain_http: TestClient) -> None:
    case = EXAMPLE | {"request": {"path": PATH, "body": EXAMPLE}}
    found = plain_http.post(PATH, json=case).json()
    assert (found["outcome"], found["problem"]["status"]) == ("not_comparable", 404)


@pytest.mark.parametrize(
    ("change", "code", "pointer"),
    [
        ({"expectation": []}, "unknown-field", "#"),
        ({"expected": []}, "nothing-expected", "#/expected"),
        ({"expected": [{"pointer": "x", "value": 1.0, "origin": "x"}]}, "wrong-text", "#/expected/0/pointer"),
        (
            {"expected": [{"pointer": "/x", "value": 1.0, "tolerance": {}, "origin": "x"}]},
            "tolerance-form",
            "#/expected/0/tolerance",
        ),
    ],
)
def test_refusals(plain_http: TestClient, change: dict[str, Any], code: str, pointer: str) -> None:
    refused = plain_http.post(PATH, json=EXAMPLE | change)
    assert refused.status_code == 422
    assert (pointer, code) in [(one["pointer"], one["code"]) for one in refused.json()["errors"]]
