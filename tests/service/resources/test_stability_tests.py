"""The main job over HTTP against the lightship the simulator started from, and what is refused."""

import copy
import json
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from service.app import create_app
from service.resources.stability_tests import demo_record

ROOT = Path(__file__).parents[3]
TRUTH = json.loads((ROOT / "fixtures/demo/truth.json").read_text())  # made by fixtures/demo, independent of engine


@pytest.fixture(scope="module")
def client():
    with TestClient(create_app()) as one:
        yield one


@pytest.fixture
def record():
    return demo_record()


def post(client, record):
    return client.post("/v1/stability-tests", json=record)


def lightship(client, record):
    answer = post(client, record)
    assert answer.status_code == 200, answer.text
    return {name: value for name, value in answer.json()["lightship"].items() if name != "method"}


def test_the_known_lightship_comes_back_from_noiseless_readings(client, record):
    found, truth = lightship(client, record), TRUTH["lightship"]
    assert found["mass_t"] == pytest.approx(truth["mass_t"], rel=5e-4)
    for axis in ("x_m", "y_m", "z_m"):
        assert found[axis] == pytest.approx(truth[axis], abs=0.010)


def test_three_kinds_of_instrument_agree(client, record):
    other = json.loads((ROOT / "fixtures/demo/record_three_kinds.json").read_text())
    assert lightship(client, other)["z_m"] == pytest.approx(lightship(client, record)["z_m"], abs=1e-4)


def test_the_state_at_reading_zero(client, record):
    found, truth = post(client, record).json()["as_inclined"], TRUTH["as_inclined"]
    assert found["displacement_t"] == pytest.approx(truth["displacement_t"], rel=1e-5)
    assert found["heel_deg"] == pytest.approx(truth["heel_deg"], abs=1e-9)
    assert found["lcg_m"] == pytest.approx(truth["lcg_m"], abs=0.002)


def test_gm_is_what_the_slope_says(client, record):
    answer = post(client, record).json()
    incline, at = answer["incline"], answer["as_inclined"]
    assert incline["gm_fluid_m"] == pytest.approx(1 / (incline["slope_per_tm"] * at["displacement_t"]), rel=1e-12)
    assert incline["gm_solid_m"] > incline["gm_fluid_m"]
    assert len(incline["points"]) == 27


def test_other_axes_give_the_same_ship(client, record):
    turned = copy.deepcopy(record)
    turned["axes"] = {"x": "aft_from_fp", "y": "starboard"}
    length = record["hull"]["length_bp_m"]

    def turn(node):
        if isinstance(node, dict):
            for key, value in node.items():
                if key in ("x_m", "to_x_m"):
                    node[key] = length - value
                elif key in ("y_m", "to_y_m"):
                    node[key] = -value
                elif key == "points_m":
                    node[key] = [[-y, z] for y, z in value]
                else:
                    turn(value)
            for low, high in (("x_min_m", "x_max_m"), ("y_min_m", "y_max_m")):
                if low in node:
                    a, b = node[low], node[high]
                    node[low], node[high] = (length - b, length - a) if low[0] == "x" else (-b, -a)
        elif isinstance(node, list):
            for one in node:
                turn(one)

    turn({k: v for k, v in turned.items() if k not in ("axes", "vessel")})
    found, expected = lightship(client, turned), lightship(client, record)
    assert found["x_m"] == pytest.approx(length - expected["x_m"], abs=1e-9)
    assert found["y_m"] == pytest.approx(-expected["y_m"], abs=1e-9)
    assert found["z_m"] == pytest.approx(expected["z_m"], abs=1e-9)


def test_feet_and_long_tons_as_texts_give_the_same_ship(client, record):
    said = copy.deepcopy(record)
    for freeboard in said["freeboards"]:
        freeboard["freeboard_m"] = f"{freeboard['freeboard_m'] / 0.3048!r} ft"
    for weight in said["weights"]:
        weight["mass_t"] = f"{weight['mass_t'] / 1.0160469088!r} LT"
    found, expected = lightship(client, said), lightship(client, record)
    assert found == pytest.approx(expected, rel=1e-9)


def test_survey_differences_are_the_weights_not_aboard_at_the_survey(client, record):
    """A mass taken on after the survey at its own place leaves the lightship where an item removed would put it."""
    extra = {"name": "late stores", "mass_t": 1e-6, "x_m": 20.0, "y_m": 1.0, "z_m": 6.0}
    said = {**record, "survey_differences": [extra]}
    assert lightship(client, said)["z_m"] == pytest.approx(lightship(client, record)["z_m"], abs=1e-6)


def relocate(record, **change):
    item = next(one for one in record["items"] if one["action"] == "relocate")
    item.update(change)
    return record


@pytest.mark.parametrize(
    ("spoil", "code", "pointer"),
    [
        (lambda r: r["moves"].append({"weight": "no such", "to_y_m": 0.0}), "unknown-weight", "#/moves/8/weight"),
        (lambda r: r["weights"].append(r["weights"][0]), "duplicate-id", "#/weights/4/id"),
        (lambda r: r["instruments"][0]["deflections_m"].append(0.1), "too-many-readings", "#/instruments/0"),
        (lambda r: [m.update(to_y_m=w["y_m"]) for m in r["moves"] for w in r["weights"] if w["id"] == m["weight"]],
         "moments-equal", "#/moves"),
        (lambda r: [i.update(positive="port") for i in r["instruments"] if i["positive"] == "starboard"] and
         r["instruments"][1].update(positive="starboard"), "gm-not-positive", "#/instruments"),
        (lambda r: r["tanks"][0]["contents"].update(volume_m3=1e4), "volume-beyond-capacity",
         "#/tanks/0/contents/volume_m3"),
        (lambda r: r["tanks"][0]["shape"].update(x_max_m=1.0), "box-ends", "#/tanks/0/shape/x_min_m"),
        (lambda r: r.update(freeboards=[]), "no-heights", "#/freeboards"),
        (lambda r: r.update(vessel={"name": "V", "length_bp_m": 1.0}), "length-mismatch", "#/vessel/length_bp_m"),
        (lambda r: r["items"][0].update(mass_t=5000.0), "lightship-not-positive", "#/items"),
        (lambda r: r["items"][0].update(to={"x_m": 1.0, "y_m": 0.0, "z_m": 0.0}), "relocation-place", "#/items/0/to"),
        (lambda r: r["freeboards"][0].update(surprise=1), "unknown-field", "#/freeboards/0"),
        (lambda r: r["hull"].update(stations=r["hull"]["stations"][:1]), "too-few-stations", "#/hull/stations"),
        (lambda r: r["instruments"][0]["deflections_m"].__setitem__(0, None), "reading-zero-missed",
         "#/instruments/0/deflections_m/0"),
    ],
)  # fmt: skip
def test_bad_records_are_refused_at_their_place(client, record, spoil, code, pointer):
    spoil(record)
    answer = post(client, record)
    assert answer.status_code == 422
    faults = answer.json()["errors"]
    assert (code, pointer) in [(one["code"], one["pointer"]) for one in faults], faults


def test_an_empty_record_names_every_missing_part(client):
    answer = post(client, {})
    assert answer.status_code == 422
    assert len(answer.json()["errors"]) == 5  # hull, water, weights, moves, instruments


def test_a_record_with_only_what_is_required(client, record):
    least = {k: record[k] for k in ("hull", "water", "freeboards", "weights", "moves", "instruments")}
    assert lightship(client, least)["mass_t"] > TRUTH["lightship"]["mass_t"]
