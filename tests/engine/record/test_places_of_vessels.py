"""Eleven invented vessels, barge and catamaran among them: no finding on sound records, and which slips of x are seen.

The records are those of fixtures/simulator, whose freeboards are read at the deck edge.
"""

import json

import pytest

from engine.record.noticed import of_ship
from engine.record.of_this_ship import of_deck
from fixtures.simulator import simulate
from fixtures.simulator.vessels import trials
from service.schemas.record import StabilityTest

RECORDS = {f"{name}, {hull}": trial for hull in ("mesh", "offsets") for name, trial in trials(hull=hull).items()}


@pytest.mark.parametrize("name", RECORDS)
@pytest.mark.parametrize("rail_m", [0.0, 1.1])
def test_a_sound_record_is_free_of_them(name, rail_m):
    told = simulate(RECORDS[name])
    for one in told["freeboards"]:
        one["reference_z_m"] += rail_m
        one["freeboard_m"] += rail_m
    record, _ = StabilityTest.model_validate_json(json.dumps(told)).record()
    codes = [one.code for one in (*of_ship(record, None), *of_deck(record))]
    assert codes == ([] if rail_m == 0 else ["reference-above-hull"])


def exchanged(x, length):
    return [length - one for one in x]


def upside_down(x, length):
    return x[::-1]


def from_midship(x, length):
    return [one - length / 2 for one in x]


@pytest.mark.parametrize(
    ("slip", "unseen"),
    [
        (from_midship, set()),
        (
            exchanged,
            {"Barge 1", "Lighter", "Catamaran"},
        ),  # alike at both ends, or so slender that the side differs little
        (upside_down, {"Barge 1", "Barge 2", "Lighter", "Catamaran", "Launch", "Tug", "Cutter", "Knuckle"}),
    ],
)
def test_how_many_vessels_show_a_slip_of_x(slip, unseen):
    """What docs/methods/survey.md says of it; the slips are alike in all freeboards, so no residual shows them."""
    not_told = set()
    for name, trial in trials().items():
        told = simulate(trial)
        places = slip([one["x_m"] for one in told["freeboards"]], trial.vessel.length_bp_m)
        for one, x in zip(told["freeboards"], places, strict=True):
            one["x_m"] = x
        record, _ = StabilityTest.model_validate_json(json.dumps(told)).record()
        if "outside-ship" not in {one.code for one in of_ship(record, None)}:
            not_told.add(name.removeprefix("Invented "))
    assert not_told == unseen
