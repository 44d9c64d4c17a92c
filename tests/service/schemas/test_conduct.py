"""How a test was conducted: kept as given, bounded, and without effect on any number."""

import copy
import json

import pytest
from starlette.testclient import TestClient

from service.app import create_app
from service.cases.anonymise import anonymised
from service.demo import demo_record
from service.resources.stability_tests import compute
from service.schemas.record import StabilityTest
from service.settings import Settings

# All invented.
CONDUCT = {
    "day": "2026-05-14",
    "start_time": "08:40",
    "end_time": "12:15:30",
    "place": "Invented Quay, north basin",
    "weather": "overcast, dry",
    "air_temperature_c": "53.6 F",
    "wind_speed_m_per_s": "6 kn",
    "wind_direction": "from the north-west, steady",
    "sea": "calm",
    "current_speed_m_per_s": 0.1,
    "current_direction": "setting south",
    "water_depth_m": 7.5,
    "mooring": "One line each forward and aft, slack at every reading.",
    "vessel_condition": "Complete but for the items listed; bilges dry.",
    "persons": [{"role": "for the authority", "name": "Person One"}, {"role": "reads the bridge pendulum"}],
    "documents": [{"title": "Lines plan", "reference": "INV-001 rev. B"}, {"title": "Hydrostatic tables"}],
    "remarks": "Reading 4 repeated after a gust.",
}


@pytest.fixture(scope="module")
def http():
    with TestClient(create_app(Settings())) as one:
        yield one


def untold():
    record = copy.deepcopy(demo_record())
    del record["conduct"]
    for one in record["weights"]:
        del one["certificate"]
    return record


def told():
    record = copy.deepcopy(demo_record())
    record["conduct"] = copy.deepcopy(CONDUCT)
    record["weights"][0]["certificate"] = "INV-W-17, 2026-04-02"
    return record


def test_quantities_may_have_their_own_units():
    conduct = StabilityTest.model_validate_json(json.dumps(told())).conduct
    assert conduct.wind_speed_m_per_s == pytest.approx(6 * 1852 / 3600)
    assert conduct.air_temperature_c == pytest.approx(12.0)  # (53.6 − 32) · 5/9
    assert (conduct.day.isoformat(), conduct.end_time, conduct.persons[1].name) == ("2026-05-14", "12:15:30", None)


def test_no_number_depends_on_it():
    bare, full = (compute(StabilityTest.model_validate_json(json.dumps(one))) for one in (untold(), told()))
    assert full == bare


@pytest.mark.parametrize(
    ("field", "value", "code", "pointer"),
    [
        ("day", "14 May", "wrong-text", "/day"),
        ("start_time", "24:00", "wrong-text", "/start_time"),
        ("start_time", "quarter past eight", "wrong-text", "/start_time"),
        ("place", "x" * 201, "wrong-text", "/place"),
        ("mooring", "x" * 2001, "wrong-text", "/mooring"),
        ("wind_speed_m_per_s", -1.0, "out-of-bounds", "/wind_speed_m_per_s"),
        ("wind_speed_m_per_s", "5 m", "quantity-unit", "/wind_speed_m_per_s"),
        ("water_depth_m", 0.0, "out-of-bounds", "/water_depth_m"),
        ("persons", [{"name": "Person One"}], "missing-field", "/persons/0/role"),
        ("documents", [{"title": ""}], "wrong-text", "/documents/0/title"),
        ("wind_m_per_s", 3.0, "unknown-field", ""),  # a name of the request is not repeated
    ],
)
def test_faults_are_placed(http, field, value, code, pointer):
    record = told()
    record["conduct"][field] = value
    answer = http.post("/v1/stability-tests", json=record)
    assert answer.status_code == 422
    assert [(one["code"], one["pointer"]) for one in answer.json()["errors"]] == [(code, f"#/conduct{pointer}")]


def test_names_do_not_stay_in_an_archived_case():
    found = anonymised(told(), StabilityTest)
    text = json.dumps(found)
    for word in ("Person One", "Invented Quay", "INV-", "Lines plan", "slack", "bilges", "gust"):
        assert word not in text
    assert found["conduct"]["day"] == "2000-01-01"
    assert found["conduct"]["persons"] == [{"role": "role 1", "name": "person 1"}, {"role": "role 2"}]
    assert found["conduct"]["wind_speed_m_per_s"] == "6 kn"
    StabilityTest.model_validate_json(json.dumps(found))
