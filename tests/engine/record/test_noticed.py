"""What a solved record must tell its reader, each finding provoked by a change of the demo that has none of them."""

import json

import pytest

from engine.record.budget import chain_of, uncertainty
from engine.record.diagnosed import diagnosis_left_out
from engine.record.noticed import noticed
from engine.record.solve import solve
from fixtures.demo import demo_record
from service.schemas.record import StabilityTest


def as_it_is(record):
    """Nothing is changed."""


def sagged(record):
    record["deflection"] = "apply"
    for row in record["freeboards"]:
        row["freeboard_m"] -= 0.02 * (1 - (2 * row["x_m"] / 56.0 - 1) ** 2)


def three_heights(record):
    record["freeboards"] = [record["freeboards"][row] for row in (0, 1, -1)]


def full_tanks(record):
    for tank in record["tanks"]:
        tank["contents"] = {"kind": "full"}


def scattered(record):
    for row, one in enumerate(record["freeboards"]):
        one["freeboard_m"] += 0.05 * (-1) ** (row // 2)  # ten times the 5 mm assumed


def two_readings(record):
    record["moves"] = record["moves"][:1]
    record["instruments"] = record["instruments"][:1]
    record["instruments"][0]["deflections_m"] = record["instruments"][0]["deflections_m"][:2]


def one_instrument_idle(record):
    one = record["instruments"][2]
    name = next(name for name in one if name.endswith(("_m", "_deg")) and isinstance(one[name], list))
    one[name] = one[name][:1]


def made(change):
    record = demo_record(instruments="three_kinds")
    change(record)
    return StabilityTest.model_validate_json(json.dumps(record)).record()[0]


@pytest.mark.parametrize(
    ("change", "code", "says"),
    [
        (as_it_is, None, ""),
        (sagged, "deflection-applied", "sagged by 0.02"),
        (three_heights, "heights-without-check", "no reading checks another"),
        (full_tanks, "no-free-surface", "full tanks"),
        (scattered, "heights-scatter-more-than-stated", "raised by that factor"),
        (two_readings, "scatter-not-shown", "assumed uncertainty stands"),
        (one_instrument_idle, "instrument-not-used", "instruments/2 has fewer than two readings"),
    ],
)
def test_each_finding_where_it_belongs_and_nowhere_else(change, code, says):
    record = made(change)
    solved = solve(record)
    found = {one.code: one.message for one in noticed(record, solved, uncertainty(chain_of(record, solved)))}
    here = {"deflection-applied", "heights-without-check", "no-free-surface", "heights-scatter-more-than-stated"}
    here |= {"scatter-not-shown", "instrument-not-used", "reading-zero-missed"}
    if code is None:
        assert not here & set(found)
    else:
        assert says in found[code]


def test_more_readings_than_a_diagnosis_is_made_of():
    def long(record):
        (tilt,) = (one for one in record["instruments"] if one["kind"] == "inclinometer")
        weight = record["weights"][0]
        record["moves"] = [{"weight": weight["id"], "to_y_m": (-1) ** k * weight["y_m"]} for k in range(1, 200)]
        record["instruments"] = [{**tilt, "id": f"tilt {k}", "angles_deg": [0.0]} for k in range(11)]

    (told,) = diagnosis_left_out(made(long))  # 11 instruments × 200 readings; 2000 is our choice
    assert told.code == "diagnosis-left-out"
    assert "2200 readings" in told.message
    assert not list(diagnosis_left_out(made(as_it_is)))
