"""The rest of a swing over HTTP."""

import numpy as np
import pytest
from starlette.testclient import TestClient

from service.app import create_app
from service.demo import demo_record

PATH = "/v1/stability-tests/swing"


@pytest.fixture(scope="module")
def client():
    with TestClient(create_app()) as one:
        yield one


def test_extremes_of_an_undamped_swing_rest_at_their_middle(client):
    found = client.post(PATH, json={"extremes": [0.41, 0.39, 0.41, 0.39, 0.41]}).json()
    assert found["value"] == pytest.approx(0.40, abs=1e-12)  # closed form: the mean of the two sides


def test_a_logger_shows_rest_and_period(client):
    """A roll of 6.5 s and 10 mm about 0.4 m, logged five times a second for two minutes."""
    time = np.arange(0, 120, 0.2)
    values = (0.4 + 0.010 * np.sin(2 * np.pi * time / 6.5)).tolist()
    found = client.post(PATH, json={"series": values, "step_s": 0.2}).json()
    assert found["value"] == pytest.approx(0.4, abs=2e-4)
    assert found["period_s"] == pytest.approx(6.5, rel=2e-3)
    assert 1 <= found["effective_count"] <= len(values)


@pytest.mark.parametrize(
    ("body", "code"),
    [
        ({}, "extremes-or-series"),
        ({"extremes": [1.0, 2.0, 1.0], "series": [1.0]}, "extremes-or-series"),
        ({"series": [1.0, 2.0, 1.0]}, "missing-field"),
        ({"extremes": [1.0, 2.0]}, "too-few-extremes"),
        ({"extremes": [1.0, 2.0, 3.0]}, "extremes-not-alternate"),
        ({"series": [1.0] * 50, "step_s": 0.1}, "roll-period-not-determined"),
        ({"series": [], "step_s": 0.1}, "roll-period-not-determined"),
        ({"series": [1.0], "step_s": 0.1}, "roll-period-not-determined"),
        ({"extremes": []}, "too-few-extremes"),
        ({"extremes": [1.0], "step_s": -1}, "out-of-bounds"),
    ],
)
def test_refusals(client, body, code):
    answer = client.post(PATH, json=body)
    assert answer.status_code == 422
    assert code in [one["code"] for one in answer.json()["errors"]]


def test_timed_rolls_are_held_against_gm(client):
    """GM = (f B / T)², f = 0.88 (the national copy of the rolling test): that period agrees, half of it does not."""
    record = demo_record()
    body = {name: record[name] for name in ("hull", "water", "freeboards", "tanks", "weights", "moves", "instruments")}
    gm = client.post("/v1/stability-tests/incline", json=body).json()["incline"]["gm_fluid_m"]
    period = 0.88 * 12.0 / gm**0.5
    for factor, agrees in ((1.0, True), (0.5, False)):
        rolls = {"period_s": [period * factor] * 3, "breadth_m": 12.0}
        found = client.post("/v1/stability-tests/incline", json={**body, "roll_periods": rolls}).json()["roll_check"]
        assert found["gm_m"] == pytest.approx(gm / factor**2, rel=1e-9)
        assert found["agrees"] is agrees
    alone = {name: record[name] for name in ("weights", "moves", "instruments")} | {"displacement_t": 1228.0}
    answer = client.post("/v1/stability-tests/incline", json={**alone, "roll_periods": rolls})
    assert [one["code"] for one in answer.json()["errors"]] == ["length-missing"]
