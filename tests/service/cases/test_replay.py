"""What comes of a case: the answer the same, deviating, or not to be compared."""

import copy
import json
from typing import Any

import pytest

from service.cases.case import ArchivedCase, read_case
from service.cases.replay import Answered, in_process, replay
from service.edge.openapi import operations
from service.resources import tanks
from service.resources.archived_cases import EXAMPLE

SERVED = operations(tanks.router.routes)
ASK = in_process(SERVED)


def case(**changes: Any) -> ArchivedCase:
    return read_case(json.dumps(copy.deepcopy(EXAMPLE) | changes).encode())


def row(pointer: str, value: Any) -> dict[str, Any]:
    return {"pointer": pointer, "value": value, "tolerance": {"relative": 1e-9}, "origin": "closed form"}


def request(**changes: Any) -> dict[str, Any]:
    return {"path": EXAMPLE["request"]["path"], "body": EXAMPLE["request"]["body"] | changes}  # type: ignore[index]


# ρ l b³ / 12 = 0.9 × 10 × 64 / 12 = 48 t·m, closed form
def test_same() -> None:
    found = replay(case(), ASK)
    assert (found.outcome, found.problem, found.deviations[0].within) == ("same", None, True)


def test_a_tank_sounded_by_an_inclined_pipe() -> None:
    """1.25 m along 3-4-5 is 1 m of depth in 10 × 4 m: 40 m³, and the same free surface (closed forms)."""
    tank = copy.deepcopy(request()["body"]["tank"])
    box = tank["shape"]
    x, y, z = box["x_min_m"] + 2.0, box["y_max_m"] - 1.0, box["z_min_m"]
    tank["sounding_pipe"] = {"points_m": [[x, y, z], [x + 1.5, y, z + 2.0]]}
    tank["contents"] = {"kind": "sounding", "sounding_m": 1.25}
    kept = case(request=request(tank=tank), expected=[row("/volume_m3", 40.0), row("/free_surface_moment_tm", 48.0)])
    assert replay(kept, ASK).outcome == "same"


def test_deviates() -> None:
    found = replay(case(expected=[row("/free_surface_moment_tm", 48.1), row("/volume_m3", 40.0)]), ASK)
    assert found.outcome == "deviates"
    assert [one.within for one in found.deviations] == [False, True]


def test_a_deviation_outweighs_what_cannot_be_compared() -> None:
    assert replay(case(expected=[row("/renamed", 1.0), row("/volume_m3", 41.0)]), ASK).outcome == "deviates"


@pytest.mark.parametrize("value", ["text", [1.0], None])
def test_a_pointer_that_leads_nowhere_or_elsewhere_is_told(value: Any) -> None:
    assert replay(case(expected=[row("/volume_m3", 40.0), row("/renamed", 1.0)]), ASK).outcome == "not_comparable"
    assert replay(case(expected=[row("/volume_m3", value)]), ASK).outcome == "not_comparable"


def test_a_field_of_the_request_unknown_today_is_told() -> None:
    found = replay(case(request=request(heel=0.0)), ASK)
    assert found.outcome == "not_comparable"
    assert found.problem is not None
    assert (found.problem.status, found.problem.code, found.problem.pointers) == (422, "schema", ("#",))
    assert [one.reason for one in found.deviations] == ["leads_nowhere"]


def test_a_path_not_served_is_told() -> None:
    found = replay(case(request={"path": "/v1/gone", "body": {}}), ASK)
    assert found.outcome == "not_comparable"
    assert found.problem is not None
    assert (found.problem.status, found.problem.code) == (404, "not-found")


REFUSED = request(trim_m=5000.0)
BOUNDS = {"pointer": "/errors/0/pointer", "value": "#/trim_m", "origin": "schema"}


@pytest.mark.parametrize(
    ("changes", "outcome"),
    [
        ({"request": REFUSED, "problem": {"status": 422, "code": "schema"}, "expected": []}, "same"),
        ({"request": REFUSED, "problem": {"status": 422, "code": "schema"}, "expected": [BOUNDS]}, "same"),
        (
            {
                "request": REFUSED,
                "problem": {"status": 422, "code": "schema"},
                "expected": [BOUNDS | {"value": "#/heel_deg"}],
            },
            "deviates",
        ),
        ({"request": REFUSED, "problem": {"status": 422, "code": "sinks"}, "expected": []}, "not_comparable"),
        ({"request": REFUSED, "problem": {"status": 400, "code": "schema"}, "expected": []}, "not_comparable"),
        ({"problem": {"status": 422, "code": "schema"}, "expected": []}, "not_comparable"),
    ],
)
def test_an_expected_refusal(changes: dict[str, Any], outcome: str) -> None:
    assert replay(case(**changes), ASK).outcome == outcome


def test_the_body_is_sent_as_it_was_given() -> None:
    sent: list[bytes] = []

    def ask(path: str, body: bytes) -> Answered:
        sent.append(body)
        return Answered(200, {})

    body = {"a": 0.1, "b": [1, None, 1e-300], "c": "é", "d": 1.0}
    replay(case(request={"path": "/v1/x", "body": body}), ask)
    assert json.loads(sent[0]) == body
    assert sent[0] == json.dumps(body).encode()


def test_a_crash_goes_on_or_is_answered_as_over_http(monkeypatch: pytest.MonkeyPatch) -> None:
    def crash(*_: object, **__: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr(type(SERVED[0]), "answer", crash)
    with pytest.raises(ZeroDivisionError):
        replay(case(), in_process(SERVED))
    found = replay(case(), in_process(SERVED, crash_is_answer=True))
    assert found.outcome == "not_comparable"
    assert found.problem is not None
    assert (found.problem.status, found.problem.code) == (500, "internal")
