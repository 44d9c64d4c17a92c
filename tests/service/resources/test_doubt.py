"""Errors that leave every reading on its line: the verdict is not plain while one part of a record denies another."""

import copy

import pytest
from starlette.testclient import TestClient

from service.app import create_app
from service.demo import demo_record


@pytest.fixture(scope="module")
def client():
    with TestClient(create_app()) as one:
        yield one


@pytest.fixture
def record():
    """The demo by the rules whose text was read, so that nothing but the doubt keeps the test from being sound."""
    return demo_record() | {"rules": ["our-choices"]}


def answered(client, record):
    answer = client.post("/v1/stability-tests", json=record)
    assert answer.status_code == 200, answer.text
    return answer.json()


def disagreeing(answer):
    return [one["name"] for one in answer["cross_checks"] if not one["agrees"]]


def in_doubt(sound, doubted, clause):
    """Hold a doubted verdict against the same record's without the doubt, as far as the words go."""
    assert sound["verdict"]["test_is_sound"]["answer"] == "yes"
    assert doubted["verdict"]["test_is_sound"]["answer"] == "not_known"
    assert doubted["verdict"]["test_is_sound"]["statement"].startswith(f"Not known: {clause}")
    for name in ("differs_from_approved", "conditions_meet_criteria"):
        assert sound["verdict"][name]["answer"] == "yes"
        assert doubted["verdict"][name]["answer"] == "not_known"
        assert doubted["verdict"][name]["statement"].startswith(f"Not known while {clause}")
        assert "As computed: " in doubted["verdict"][name]["statement"]


def test_nothing_of_the_demo_disagrees(client, record):
    answer = answered(client, record)
    assert disagreeing(answer) == []
    names = {one["name"] for one in answer["cross_checks"]}
    assert {"displacement-against-predicted", "lcg-against-predicted", "vcg-against-predicted"} <= names


def test_weights_in_short_tons_show_in_the_vcg_alone(client, record):
    spoiled = copy.deepcopy(record)
    for one in spoiled["weights"]:
        one["mass_t"] = round(one["mass_t"] / 0.90718474, 3)  # 2,000 lb in tonnes
    answer = answered(client, spoiled)
    assert disagreeing(answer) == ["vcg-against-predicted"]
    in_doubt(answered(client, record), answer, "VCG differs from the prediction by more than the uncertainty of both")


def test_heights_measured_from_the_wrong_plate_show_in_the_displacement(client, record):
    """2 cm on every height against a prediction of the mass known to 0.4 %."""
    known = {"mass_t": 4.6, "x_m": 0.28, "y_m": 0.0, "z_m": 0.05}
    record["predicted"]["standard_uncertainty"] = known
    spoiled = copy.deepcopy(record)
    for one in spoiled["freeboards"]:
        one["reference_z_m"] += 0.02
    answer = answered(client, spoiled)
    assert disagreeing(answer) == ["displacement-against-predicted"]
    in_doubt(answered(client, record), answer, "displacement differs from the prediction")


def test_a_prediction_that_is_no_ship_of_hers_says_nothing_of_the_test(client, record):
    record["predicted"]["x_m"] -= 28.0  # from midship
    answer = answered(client, record)
    assert "lcg-against-predicted" in disagreeing(answer)
    assert "reference-not-of-ship" in {one["code"] for one in answer["findings"]}
    assert "prediction" not in answer["verdict"]["test_is_sound"]["statement"]


def test_a_point_a_metre_off_its_station_puts_the_hull_in_doubt(client, record):
    spoiled = copy.deepcopy(record)
    spoiled["hull"]["stations"][30]["points_m"][13][0] -= 1.0
    in_doubt(answered(client, record), answered(client, spoiled), "1 input is in doubt")


def test_an_item_listed_twice_puts_the_ledger_in_doubt(client, record):
    spoiled = copy.deepcopy(record)
    spoiled["items"].append(dict(spoiled["items"][0]))
    in_doubt(answered(client, record), answered(client, spoiled), "1 input is in doubt")
