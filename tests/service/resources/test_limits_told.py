"""Bad input is told where it is, what was given and what is allowed. The limits are the schema's own."""

import copy
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from starlette.testclient import TestClient

from engine.lightship.triggers import trigger_sets
from engine.rules import built_in_sets
from service.app import create_app
from service.demo import demo_record
from service.resources import hydrostatics, incline, readiness, requirement, schedule

Body = dict[str, Any]
Change = Callable[[Body], object]
WHOLE, STEP = "/v1/stability-tests", "/v1/stability-tests/incline"
SECRET = "tell-nobody"


@pytest.fixture(scope="module")
def client() -> Iterator[TestClient]:
    with TestClient(create_app()) as one:
        yield one


def made(example: object) -> Body:
    return copy.deepcopy(example() if callable(example) else example)  # type: ignore[no-any-return]


def told(client: TestClient, path: str, body: Body, pointer: str, code: str) -> str:
    """Return the one fault at the pointer, which must resolve in the body but for a field that is missing."""
    answer = client.post(path, json=body)
    assert answer.status_code == 422, answer.text
    assert SECRET not in answer.text
    (detail,) = (one["detail"] for one in answer.json()["errors"] if (one["pointer"], one["code"]) == (pointer, code))
    return str(detail)


def lengthen(count: int) -> Change:
    return lambda body: body["instruments"][0]["deflections_m"].extend([0.1] * count)


WEIGHT = "#/weights/1/mass_t"
READINGS = "#/instruments/0/deflections_m"


@pytest.mark.parametrize(
    ("change", "pointer", "code", "words"),
    [
        (
            lambda b: b["weights"][1].update(mass_t="4 m"),
            WEIGHT,
            "quantity-unit",
            "the unit of a mass must be one of t, kg, LT, ST, lb",
        ),
        (lambda b: b["weights"][1].update(mass_t="4"), WEIGHT, "quantity-no-unit", "one of t, kg, LT, ST, lb"),
        (lambda b: b["weights"][1].update(mass_t=SECRET), WEIGHT, "quantity-text", "one of t, kg, LT, ST, lb"),
        (lambda b: b["weights"][1].update(mass_t="-400 kg"), WEIGHT, "quantity-range", "above 0 t, is -0.4 t"),
        (lambda b: b["weights"][1].update(mass_t=2e5), WEIGHT, "out-of-bounds", "at most 100000 t, is 200000 t"),
        (
            lambda b: b["weights"][1].update(mass_t={"value": 4, "standard_uncertainty": "5 mm"}),
            f"{WEIGHT}/standard_uncertainty",
            "quantity-unit",
            "one of t, kg, LT, ST, lb",
        ),
        (
            lambda b: b["instruments"][0]["deflections_m"].__setitem__(2, [0.1, 2000.0]),
            f"{READINGS}/2/1",
            "out-of-bounds",
            "at most 1000 m, is 2000 m",
        ),
        (
            lambda b: b["instruments"][0]["deflections_m"].__setitem__(2, [0.1] * 1001),
            f"{READINGS}/2",
            "measured-form",
            "1 to 1000 values, not 1001",
        ),
        (lengthen(3), "#/instruments/0", "too-many-readings", "12 readings, but 8 moves give at most 9"),
        (lengthen(192), READINGS, "wrong-count", "200 entries at most, not 201"),
        (
            lambda b: b["weights"][1].update(id="x" * 201),
            "#/weights/1/id",
            "wrong-text",
            "200 characters at most, not 201",
        ),
        (lambda b: b["weights"][1].update(id=""), "#/weights/1/id", "wrong-text", "1 characters at least, not 0"),
        (
            lambda b: b["weights"][1].update(id=b["weights"][0]["id"]),
            "#/weights/1/id",
            "duplicate-id",
            "by entry 0, counted from 0",
        ),
        (
            lambda b: b["moves"][0].update(weight=SECRET),
            "#/moves/0/weight",
            "unknown-weight",
            "no weight has this id, of 4 given",
        ),
        (
            lambda b: b["instruments"].append(
                {
                    "kind": "u_tube",
                    "id": "u",
                    "spread_m": 8,
                    "port_levels_m": [0.1] * 5,
                    "starboard_levels_m": [0.1] * 4,
                }
            ),
            "#/instruments/3/starboard_levels_m",
            "unequal-lengths",
            "4 starboard levels, but 5 port levels",
        ),
        (
            lambda b: b["instruments"][0].update(positive=SECRET),
            "#/instruments/0/positive",
            "not-a-choice",
            "must be 'starboard' or 'port'",
        ),
        (
            lambda b: b["instruments"][0].update(kind=SECRET),
            "#/instruments/0",
            "unknown-kind",
            "kind must be one of 'pendulum', 'u_tube', 'inclinometer'",
        ),
    ],
)
def test_incline(client: TestClient, change: Change, pointer: str, code: str, words: str) -> None:
    body = incline.example()
    change(body)
    assert words in told(client, STEP, body, pointer, code)


@pytest.mark.parametrize(
    ("draft_m", "code", "side"), [(99.0, "waterplane-above-hull", "above"), (-3.0, "waterplane-below-hull", "below")]
)
def test_a_draft_beyond_the_hull(client: TestClient, draft_m: float, code: str, side: str) -> None:
    """The heights are those of the points given."""
    body = made(hydrostatics.EXAMPLE)
    heights = [z for station in body["hull"]["stations"] for _, z in station["points_m"]]
    body.pop("grid", None)
    body["waterplanes"] = [{"draft_m": 0.5 * max(heights)}, {"draft_m": draft_m, "trim_m": 0.25}]
    words = told(client, "/v1/hydrostatics", body, "#/waterplanes/1", code)
    assert words.startswith(f"draft {draft_m:.6g} m, heel 0 deg, trim 0.25 m: lies {side} the hull, ")
    assert words.endswith(f"from z = {min(heights):.6g} to {max(heights):.6g} m")


def test_a_number_out_of_bounds_is_told(client: TestClient) -> None:
    body = made(hydrostatics.EXAMPLE)
    body.pop("grid", None)
    body["waterplanes"] = [{"draft_m": 1, "heel_deg": 85.5}, {"draft_m": 10**400}]
    assert "80 or less, is 85.5" in told(client, "/v1/hydrostatics", body, "#/waterplanes/0/heel_deg", "out-of-bounds")


def test_a_draft_beyond_the_hull_in_a_cell(client: TestClient) -> None:
    text = client.get("/v1/cells/hydrostatic?hull=example-barge&quantity=lcb_m&draft_m=99").text
    assert text.startswith("#ERR waterplane-above-hull: draft 99 m, heel 0 deg, trim 0 m: lies above the hull, ")
    assert "from z = 0 to " in text


def test_names_of_rule_sets(client: TestClient) -> None:
    body = demo_record()
    body["rules"] = [SECRET]
    words = told(client, WHOLE, body, "#/rules/0", "rule-set-unknown")
    assert all(one.name in words for one in built_in_sets("test"))
    assert "GET /v1/rule-sets" in words
    body = demo_record()
    body["rules"] = [built_in_sets("stability")[0].name]
    assert built_in_sets("test")[0].name in told(client, WHOLE, body, "#/rules/0", "rule-set-subject")


def test_names_of_trigger_sets(client: TestClient) -> None:
    body = {**made(requirement.EXAMPLE), "rules": [SECRET]}
    words = told(client, "/v1/stability-tests/requirement", body, "#/rules/0", "rule-set-not-known")
    assert all(one.name in words for one in trigger_sets())


@pytest.mark.parametrize(
    ("change", "pointer", "code", "words"),
    [
        (
            lambda b: b.update(changes=[{"task": SECRET, "duration_working_days": 3}]),
            "#/changes/0/task",
            "unknown-task",
            "engage, ",
        ),
        (
            lambda b: b.update(done=[{"task": "engage", "finished": "2026-05-14"}]),
            "#/done/0/finished",
            "done-after-today",
            "by 3 d",
        ),
        (
            lambda b: b.update(changes=[{"task": "engage", "duration_working_days": 0}]),
            "#/changes/0/duration_working_days",
            "out-of-bounds",
            "1 or more, is 0",
        ),
    ],
)
def test_schedule(client: TestClient, change: Change, pointer: str, code: str, words: str) -> None:
    body = made(schedule.EXAMPLE)
    change(body)
    assert words in told(client, "/v1/stability-tests/schedule", body, pointer, code)


def test_readiness(client: TestClient) -> None:
    """Names of the caller's own needs are not told, names of ours are."""
    body = made(readiness.EXAMPLE)
    body["deviations"] = [{"precondition": SECRET, "state": "requested"}]
    words = told(client, "/v1/stability-tests/readiness", body, "#/deviations/0/precondition", "unknown-precondition")
    assert "tide-window" in words


def test_needs(client: TestClient) -> None:
    body = made(readiness.EXAMPLE)
    body["who_brings_changes"] = [{"need": SECRET}]
    words = told(client, "/v1/stability-tests/readiness", body, "#/who_brings_changes/0/need", "unknown-need")
    assert "; it has " in words
    assert "weights" in words


@pytest.mark.parametrize(
    ("count", "words"),
    [(2, "three places not on one line are needed, 2 are given"), (4, "4 are given, on one line")],
)
def test_too_few_freeboards(client: TestClient, count: int, words: str) -> None:
    body = demo_record()
    body = {name: body[name] for name in ("hull", "water", "freeboards")}
    first = body["freeboards"][0]
    body["freeboards"] = [{**first, "x_m": 10.0 + 2 * i} for i in range(count)]
    answer = client.post("/v1/stability-tests/waterline", json=body)
    assert answer.status_code == 422
    assert answer.json()["type"] == "/problems/plane-not-determined"
    assert words in answer.json()["detail"]


def test_a_sag_asked_of_too_few(client: TestClient) -> None:
    body = demo_record()
    body = {name: body[name] for name in ("hull", "water", "freeboards")} | {"deflection": "apply"}
    body["freeboards"] = body["freeboards"][:4]
    answer = client.post("/v1/stability-tests/waterline", json=body)
    assert answer.json()["type"] == "/problems/deflection-not-determined"
    at = len({one["x_m"] for one in body["freeboards"]})
    assert f"five readings at three different x are needed, 4 at {at} are given" in answer.json()["detail"]
