"""Names out of a record: nothing of the owner's left, everything computed left as it was."""

import json
from typing import Any, Literal

from service.cases.anonymise import anonymised
from service.demo import demo_record
from service.edge.model import Model
from service.schemas.record import StabilityTest

# Every name is invented; each begins with a word that occurs nowhere else.
RECORD: dict[str, Any] = {
    "vessel": {"name": "Zebra Star", "length_bp_m": 60.0},
    "hull": {"kind": "mesh_file", "format": "stl", "data_base64": "AAAA", "length_bp_m": "12 ft 6 3/8 in"},
    "axes": {"x": "aft_from_fp", "y": "starboard"},
    "weights": [{"id": "Zebra weight", "mass_t": 5.0}, {"id": "B", "mass_t": "5.02 LT"}],
    "moves": [{"weight": "B", "to_y_m": 1.0}, {"weight": "Zebra weight", "to_y_m": 2.0}],
    "instruments": [{"kind": "pendulum", "id": "B", "positive": "port"}, {"kind": "u_tube", "id": "Zebra tube"}],
    "items": [{"name": "Zebra's locker", "action": "remove", "mass_t": {"value": 1.0, "group": "zebra scale"}}],
    "freeboards": [{"time": "09:30"}, {"time": "Zebra noon"}, {"time": "2021-05-03T09:30"}, {"time": "2021-05-04"}],
    "notes": "by Zebra and sons",
    "unheard_of": {"deep": ["zebra", {"kind": "zebra"}]},
    "rules": ["basic"],
}


def test_labels_say_what_they_name_and_are_the_same_everywhere() -> None:
    found = anonymised(RECORD, StabilityTest)
    assert found["vessel"] == {"name": "vessel 1", "length_bp_m": 60.0}
    assert [weight["id"] for weight in found["weights"]] == ["weight 1", "weight 2"]
    assert [move["weight"] for move in found["moves"]] == ["weight 2", "weight 1"]
    assert [one["id"] for one in found["instruments"]] == ["weight 2", "instrument 1"]  # the same text, the same label
    assert found["items"][0]["mass_t"] == {"value": 1.0, "group": "group 1"}


def test_nothing_of_the_owner_is_left() -> None:
    assert "zebra" not in json.dumps(anonymised(RECORD, StabilityTest)).lower()
    assert "notes" not in anonymised(RECORD, StabilityTest)


def test_choices_quantities_and_data_stay() -> None:
    found = anonymised(RECORD, StabilityTest)
    assert found["hull"] == RECORD["hull"]
    assert found["axes"] == RECORD["axes"]
    assert found["rules"] == ["basic"]
    assert found["weights"][1]["mass_t"] == "5.02 LT"
    assert found["instruments"][0]["positive"] == "port"
    assert found["items"][0]["action"] == "remove"


def test_times_of_day_stay_and_days_move_together() -> None:
    times = [one["time"] for one in anonymised(RECORD, StabilityTest)["freeboards"]]
    assert times == ["09:30", "time 1", "2000-01-01T09:30", "2000-01-02"]


def test_a_choice_counts_in_its_own_field_only() -> None:
    class Noun(Model):
        kind: Literal["barge"]
        name: str

    assert anonymised({"kind": "barge", "name": "barge"}, Noun) == {"kind": "barge", "name": "text 1"}


def test_different_names_stay_different() -> None:
    record = demo_record()
    found = anonymised(record, StabilityTest)
    names = [item["name"] for item in record["items"]]
    assert len({item["name"] for item in found["items"]}) == len(set(names))
    for noun, key in (("items", "name"), ("weights", "id"), ("instruments", "id"), ("tanks", "name")):
        originals = {entry[key] for entry in record[noun]}
        assert not originals & {entry[key] for entry in found[noun]}, noun


def test_the_record_given_is_not_changed() -> None:
    before = json.dumps(RECORD)
    anonymised(RECORD, StabilityTest)
    assert json.dumps(RECORD) == before
