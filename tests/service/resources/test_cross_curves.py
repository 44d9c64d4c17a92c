"""Cross curves over HTTP: the box barge by closed form, and what is refused."""

import csv
import io

import numpy as np
import pytest

from service.resources.cross_curves import EXAMPLE
from service.resources.righting_arms import EXAMPLE as ARMS
from tests.service.resources.test_righting_arms import OPEN_BARGE


def post(http, query="", **change):
    return http.post("/v1/cross-curves" + query, json={k: v for k, v in {**EXAMPLE, **change}.items() if v is not None})


def answer(http, **more):
    reply = post(http, **more)
    assert reply.status_code == 200, reply.text
    return reply.json()


@pytest.mark.parametrize("trim", ["free", "fixed"])
def test_barge_by_the_wall_sided_formula(plain_http, trim):
    found = answer(plain_http, displacement_t=None, draft_m=[3.0, 3.5], heel_deg=[-10, 0, 10, 25], trim=trim)
    columns = found["columns"]
    # KN = (T/2 + B²/12T (1 + tan²/2)) sin φ; heel fastest
    turn = np.radians([-10, 0, 10, 25])
    expected = [(t / 2 + 12 / t * (1 + np.tan(turn) ** 2 / 2)) * np.sin(turn) for t in (3.0, 3.5)]
    np.testing.assert_allclose(columns["kn_m"], np.concatenate(expected), atol=1e-11)
    assert columns["heel_deg"] == [-10, 0, 10, 25] * 2
    np.testing.assert_allclose(columns["displacement_t"], np.repeat([2214.0, 2583.0], 4))
    assert columns["draft_m"][1] == pytest.approx(3.0)
    assert found["column_notes"] == []


def test_gz_follows_from_kn(plain_http):
    heels = [-60, 20, 100]
    found = answer(plain_http, displacement_t=[2583.0], heel_deg=heels, lcg_m=29.0, assumed_vcg_m=4.5)
    arms = plain_http.post(
        "/v1/righting-arms",
        json={
            "hull": ARMS["hull"],
            "density_t_per_m3": 1.025,
            "loading": {"displacement_t": 2583.0, "lcg_m": 29.0, "vcg_m": 4.5},
            "heel_deg": heels,
        },
    ).json()
    expected = np.array(found["columns"]["kn_m"]) - 4.5 * np.sin(np.radians(heels))
    np.testing.assert_allclose(arms["columns"]["righting_arm_m"], expected, atol=1e-10)
    assert found["columns"]["draft_m"][2] is None
    assert {"column": "draft_m", "row": 2, "code": "not-defined-here"} in found["column_notes"]


def test_axes_turn_x_in_and_out(plain_http):
    ours = answer(plain_http, lcg_m=29.0)["columns"]
    theirs = answer(plain_http, lcg_m=31.0, axes={"x": "aft_from_fp", "y": "starboard"})["columns"]
    np.testing.assert_allclose(ours["kn_m"], theirs["kn_m"], atol=1e-10)
    np.testing.assert_allclose(60 - np.array(ours["lcb_m"]), theirs["lcb_m"], atol=1e-9)
    np.testing.assert_allclose(ours["tcb_m"], -np.array(theirs["tcb_m"]), atol=1e-9)


def test_rows_without_a_position_are_empty_and_say_why(plain_http):
    found = answer(plain_http, hull=OPEN_BARGE, displacement_t=[2583.0], heel_deg=[20, 60])
    assert found["columns"]["kn_m"][0] > 0
    assert found["columns"]["kn_m"][1] is None
    assert any(one["column"] == "kn_m" and one["row"] == 1 for one in found["column_notes"])
    assert post(plain_http, "?format=csv", hull=OPEN_BARGE, heel_deg=[20, 60]).text.splitlines()[2].split(",")[2] == ""


def test_csv_in_both_units(plain_http):
    si = list(csv.DictReader(io.StringIO(post(plain_http, "?format=csv").text)))
    us = list(csv.DictReader(io.StringIO(post(plain_http, "?format=csv&units=us").text)))
    assert len(si) == 18
    assert float(us[4]["kn_ft"]) == pytest.approx(float(si[4]["kn_m"]) / 0.3048, rel=1e-12)
    assert float(us[4]["displacement_lt"]) == pytest.approx(2000 / 1.0160469088, rel=1e-12)


@pytest.mark.parametrize(
    ("change", "code", "pointer"),
    [
        ({"draft_m": [3.0]}, "displacements-or-drafts", "#/displacement_t"),
        ({"displacement_t": None}, "displacements-or-drafts", "#"),
        ({"displacement_t": [2000.0, 6000.0]}, "sinks", "#/displacement_t/1"),
        ({"displacement_t": None, "draft_m": [3.0, 8.5]}, "sinks", "#/draft_m/1"),
        ({"displacement_t": None, "draft_m": [-3.0]}, "waterplane-below-hull", "#/draft_m/0"),
        ({"displacement_t": [-1.0]}, "out-of-bounds", "#/displacement_t/0"),
        ({"displacement_t": []}, "wrong-count", "#/displacement_t"),
        ({"heel_deg": []}, "wrong-count", "#/heel_deg"),
        ({"heel_deg": [0.1] * 362}, "wrong-count", "#/heel_deg"),
        ({"heel_deg": [0.1] * 361, "displacement_t": [2000.0] * 28}, "too-many-rows", "#/heel_deg"),
        ({"lcg_m": 30.0, "trim": "fixed"}, "lcg-with-trim", "#/lcg_m"),
        ({"lcg_m": 30.0, "trim_m": 0.5}, "lcg-with-trim", "#/lcg_m"),
        ({"hull": OPEN_BARGE, "heel_deg": [80]}, "volume-beyond-capacity", "#/heel_deg"),
        ({"kg_m": 1}, "unknown-field", "#"),
    ],
)
def test_refusals(plain_http, change, code, pointer):
    refused = post(plain_http, **change)
    assert refused.status_code == 422
    faults = refused.json()["errors"]
    assert code in [one["code"] for one in faults], faults
    assert pointer in [one["pointer"] for one in faults], faults
