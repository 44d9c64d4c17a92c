"""Contents of a procedure: whole, and with each single fact taken out in turn."""

import copy
from typing import Any

import pytest

from engine.errors import InputError
from engine.planning.procedure import Part, contents

WHOLE: dict[str, Any] = {
    "vessel": {"name": "Tern", "hull_number": "12"},
    "day": "2026-06-17",
    "time": "09:00",
    "place": "Quay 3",
    "weights": [
        {"id": "W1", "kind": "steel block", "mass_t": 2.0, "x_m": 30.0, "y_m": 4.0, "z_m": 6.0, "certificate": "C1"},
        {"id": "W2", "kind": "steel block", "mass_t": 2.0, "x_m": 30.0, "y_m": -4.0, "z_m": 6.0, "certificate": "C2"},
    ],
    "handling": "shore crane",
    "heel_port_deg": 2.5,
    "heel_starboard_deg": 2.5,
    "instruments": [
        {"id": "P1", "kind": "pendulum", "location": "hold", "length_m": 4.0},
        {"id": "U1", "kind": "u_tube", "x_m": 40.0, "spread_m": 8.0},
        {"id": "I1", "kind": "inclinometer", "location": "bridge", "approval": "A", "calibration": "K"},
    ],
    "draft_m": 3.1,
    "trim_m": 0.2,
    "tanks": [
        {"name": "Fuel P", "condition": "empty"},
        {"name": "Fuel S", "condition": "full", "liquid": "gas oil"},
        {"name": "Water", "condition": "slack", "liquid": "fresh water", "fill_percent": 50.0},
    ],
    "items": [
        {"name": "Drum", "action": "remove", "mass_t": 1.0, "x_m": 1.0, "y_m": 0.0, "z_m": 5.0},
        {
            "name": "Raft",
            "action": "relocate",
            "mass_t": 1.0,
            "x_m": 1.0,
            "y_m": 0.0,
            "z_m": 5.0,
            "to": {"x_m": 2.0, "y_m": 0.0, "z_m": 5.0},
        },
    ],
    "schedule": [{"event": "Survey", "day": "2026-06-16"}, {"event": "Test", "time": "09:00"}],
    "persons": [
        {"name": "A. Person", "role": "in charge", "telephone": "555 0100"},
        {"name": "B. Person", "role": "log"},
    ],
    "software": "none",
}


def parts(given: dict[str, Any]) -> dict[str, Part]:
    return {part.id: part for part in contents(given)}


def without(path: str) -> dict[str, Any]:
    given = copy.deepcopy(WHOLE)
    here: Any = given
    *above, last = path.split("/")
    for name in above:
        here = here[int(name)] if isinstance(here, list) else here[name]
    del here[last]
    return given


def test_whole() -> None:
    assert {part.outcome for part in contents(WHOLE)} == {"present"}
    assert sum(part.regulation == "us" for part in contents(WHOLE)) == 9  # 46 CFR 170.185(g), nine kinds of data
    assert {part.clause for part in contents(WHOLE)} == {"46 CFR 170.185(g)", "B/8.2.1.1"}


@pytest.mark.parametrize(
    ("path", "lacking"),
    [
        ("vessel/name", {"us-vessel", "imo-identification"}),
        ("vessel/hull_number", {"us-vessel", "imo-identification"}),
        ("day", {"us-date-place", "imo-date-place"}),
        ("time", {"imo-date-place"}),
        ("place", {"us-date-place", "imo-date-place"}),
        ("weights/1/mass_t", {"us-weights", "imo-weights"}),
        ("weights/0/kind", {"us-weights", "imo-weights"}),
        ("weights/0/y_m", {"us-weights"}),
        ("weights/1/certificate", {"imo-weights"}),
        ("handling", {"imo-weights"}),
        ("heel_port_deg", {"imo-weights"}),
        ("instruments/0/length_m", {"us-pendulums", "imo-instruments"}),
        ("instruments/0/location", {"us-pendulums", "imo-instruments"}),
        ("instruments/1/spread_m", {"us-pendulums", "imo-instruments"}),
        ("instruments/2/calibration", {"imo-instruments"}),
        ("draft_m", {"us-draft-trim"}),
        ("trim_m", {"us-draft-trim", "imo-trim"}),
        ("tanks", {"us-tanks", "imo-tanks"}),
        ("tanks/0/condition", {"us-tanks", "imo-tanks"}),
        ("tanks/1/liquid", {"us-tanks", "imo-tanks"}),
        ("tanks/2/fill_percent", {"us-tanks", "imo-tanks"}),
        ("items", {"us-items", "imo-items"}),
        ("items/0/mass_t", {"us-items", "imo-items"}),
        ("items/1/to", {"us-items", "imo-items"}),
        ("items/0/z_m", {"us-items"}),
        ("schedule", {"us-schedule"}),
        ("schedule/0/day", {"us-schedule"}),
        ("persons", {"us-persons", "imo-person"}),
        ("persons/0/telephone", {"imo-person"}),
        ("persons/1/role", {"us-persons"}),
        ("software", {"imo-software"}),
    ],
)
def test_each_fact_taken_out_is_named(path: str, lacking: set[str]) -> None:
    found = parts(without(path))
    assert {name for name, part in found.items() if part.outcome != "present"} == lacking
    named = {one.path for name in lacking for one in found[name].missing}
    if path == "persons/0/telephone":  # one telephone number is enough; without any, each person is named
        assert named == {"persons/0/telephone", "persons/1/telephone"}
    else:
        assert named == {path}


def test_nothing_given_is_all_missing() -> None:
    found = contents({})
    assert {part.outcome for part in found} == {"missing"}
    assert all(part.missing for part in found)


def test_none_is_an_answer_for_tanks_and_items_only() -> None:
    none = {**WHOLE, "tanks": [], "items": []}
    assert {part.outcome for part in contents(none)} == {"present"}
    for name, lacking in (("weights", "us-weights"), ("instruments", "us-pendulums"), ("persons", "us-persons")):
        assert parts({**WHOLE, name: []})[lacking].outcome != "present"


def test_incomplete_is_between() -> None:
    assert parts(without("place"))["us-date-place"].outcome == "incomplete"
    assert parts({"day": "2026-06-17"})["us-date-place"].outcome == "incomplete"
    assert parts({"time": "09:00"})["us-date-place"].outcome == "missing"


def test_blank_is_not_given() -> None:
    assert parts({**WHOLE, "place": "  "})["us-date-place"].outcome == "incomplete"


def test_any_of_several_numbers_identifies_her() -> None:
    for name in ("official_number", "imo_number"):
        assert parts({**WHOLE, "vessel": {"name": "Tern", name: "1"}})["us-vessel"].outcome == "present"


def test_zero_is_given() -> None:
    assert parts({**WHOLE, "trim_m": 0.0})["us-draft-trim"].outcome == "present"


def test_sources_are_not_better_than_known() -> None:
    """From memory: the weight and pendulum lines of 170.185(g), and the Code's list, which was read in part."""
    found = parts(WHOLE)
    assert found["us-weights"].source_status == found["us-pendulums"].source_status == "from memory"
    assert found["us-tanks"].source_status == "published"
    assert {part.source_status for part in found.values() if part.regulation == "imo"} == {"from memory"}


def test_regulations_are_chosen() -> None:
    assert {part.regulation for part in contents(WHOLE, regulations=["imo"])} == {"imo"}
    with pytest.raises(InputError) as refused:
        contents(WHOLE, regulations=[])
    assert (refused.value.code, refused.value.field) == ("no-regulation", "regulations")
