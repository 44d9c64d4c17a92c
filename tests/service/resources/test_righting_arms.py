"""Righting arms over HTTP: the box barge by closed form, tanks both ways, sides, findings and refusals."""

import csv
import io
from copy import deepcopy

import numpy as np
import pytest

from service.resources.righting_arms import EXAMPLE

BM, GM = 144 / 42, 1.75 + 144 / 42 - 4.5
PLAIN = {key: value for key, value in EXAMPLE.items() if key not in ("tanks", "openings", "deck_edge_m")}
OPEN_BARGE = {
    "kind": "mesh",
    "length_bp_m": 60.0,
    "vertices_m": [[x, y, z] for x in (0, 60) for y in (-6, 6) for z in (0, 8)],
    "faces": [
        [0, 1, 3],
        [0, 3, 2],
        [4, 6, 7],
        [4, 7, 5],
        [0, 4, 5],
        [0, 5, 1],
        [2, 3, 7],
        [2, 7, 6],
        [0, 2, 6],
        [0, 6, 4],
    ],
}
"""The barge without its deck."""


def post(http, query="", base=PLAIN, **change):
    return http.post("/v1/righting-arms" + query, json={**deepcopy(base), **change})


def answer(http, **more):
    reply = post(http, **more)
    assert reply.status_code == 200, reply.text
    return reply.json()


def loading(**change):
    return {**PLAIN["loading"], **change}


def codes(found):
    return [one["code"] for one in found["findings"]]


def test_barge_by_closed_forms(plain_http):
    found = answer(plain_http, heel_deg=[-30, 0, 10, 30, 90])
    # (GM + BM tan² φ/2) sin φ: 0.625 m at 30°, 0.1270880021675 m at 10°
    arms = found["columns"]["righting_arm_m"]
    np.testing.assert_allclose(arms[:4], [-0.625, 0.0, 0.1270880021675, 0.625], atol=1e-12)
    assert found["gm_solid_m"] == found["gm_fluid_m"] == pytest.approx(GM, abs=1e-11)
    assert found["liquids"] == "correction"
    assert "righting_arm_moving_m" not in found["columns"]
    assert found["columns"]["righting_arm_solid_m"] == arms
    starboard, port = found["starboard"], found["port"]
    assert starboard["range_deg"] == 90.0
    assert port["range_deg"] == 30.0
    by_span = {(one["from_deg"], one["to_deg"], one["ends_at"]): one["area_m_rad"] for one in starboard["areas"]}
    assert by_span[0, 30, "angle"] == pytest.approx(0.126441519713, abs=1e-12)  # GM (1−c) + BM (1/c + c − 2)/2
    assert by_span[0, 40, "angle"] - by_span[30, 40, "angle"] == pytest.approx(by_span[0, 30, "angle"], abs=1e-12)
    assert found["columns"]["area_from_upright_m_rad"][:2] == pytest.approx([0.126441519713, 0.0], abs=1e-12)
    assert starboard["slope_at_rest"]["slope_m_per_rad"] == pytest.approx(GM, abs=1e-8)
    assert starboard["intercepts"][0] == {"at_deg": 0.0, "kind": "stable"}
    assert starboard["vanishing_deg"] == starboard["intercepts"][1]["at_deg"]
    assert 40 < starboard["maximum_deg"] < starboard["vanishing_deg"] < 90
    # beyond 80° the plane is told by its normal and a point
    columns = found["columns"]
    assert columns["draft_m"][4] is columns["trim_m"][4] is None
    assert {"column": "draft_m", "row": 4, "code": "not-defined-here"} in found["column_notes"]
    assert columns["normal_y_ratio"][4] == pytest.approx(1.0)
    assert columns["draft_m"][1] == pytest.approx(3.5)


@pytest.mark.parametrize("heel", [45.0, 60.0, 90.0, 120.0])
def test_barge_by_sections_with_deck_edge_and_bilge_through_the_water(plain_http, heel):
    # over height u below mid-depth she is wet over a breadth w0 + u/tan φ, w0 = 42 m²/8 m: y_B = −6 + ∫ w²/2 du / 42,
    # z_B = 4 − ∫ u w du / 42, u from −4 to 4
    turn = np.radians(heel)
    cotangent = 1 / np.tan(turn)
    y, z = -6 + (8 * 5.25**2 + cotangent**2 * 128 / 3) / 84, 4 - cotangent * 128 / 126
    expected = -y * np.cos(turn) - (4.5 - z) * np.sin(turn)
    found = answer(plain_http, heel_deg=[heel, -heel])
    np.testing.assert_allclose(found["columns"]["righting_arm_m"], [expected, -expected], atol=1e-10)


def test_openings_and_deck_edge_come_back_with_their_names(plain_http):
    openings = [
        {"name": "vent", "x_m": 20.0, "y_m": -5.0, "z_m": 5.5, "kind": "unprotected"},
        {"name": "hatch", "x_m": 30.0, "y_m": 4.0, "z_m": 4.5, "kind": "weathertight"},
        {"name": "far", "x_m": 99.0, "y_m": 0.0, "z_m": 90.0, "kind": "unprotected"},
    ]
    edge = [[x, y, 6.4] for x in (0, 60) for y in (-6, 6)]
    found = answer(plain_http, openings=openings, deck_edge_m=edge, heel_deg=[-40, 40])
    # she turns about the middle of her waterline: tan φ = height over distance
    flooding, hatch = np.degrees(np.arctan(2 / 5)), np.degrees(np.arctan(1 / 4))
    assert found["starboard"]["flooding_deg"] == pytest.approx(flooding, abs=1e-9)
    assert found["port"]["weathertight_deg"] == pytest.approx(hatch, abs=1e-9)
    assert "flooding_deg" not in found["port"]
    assert found["starboard"]["deck_edge_deg"] == pytest.approx(np.degrees(np.arctan(2.9 / 6)), abs=1e-9)
    assert [one["name"] for one in found["openings"]] == ["vent", "hatch", "far"]
    assert found["openings"][0]["immersion_starboard_deg"] == found["starboard"]["flooding_deg"]
    assert "immersion_port_deg" not in found["openings"][0]
    assert found["openings"][2] == {"name": "far", "kind": "unprotected"}
    flooded = [one for one in found["starboard"]["areas"] if one["ends_at"] == "flooding"]
    assert [one["to_deg"] for one in flooded] == [pytest.approx(flooding)]
    assert "opening-outside-hull" in codes(found)


def test_tanks_are_answered_both_ways_and_either_may_be_in_use(plain_http):
    moving = answer(plain_http, base=EXAMPLE)
    corrected = answer(plain_http, base=EXAMPLE, liquids="correction")
    surface = 0.86 * 10 * 4**3 / 12  # ρ l b³/12
    for found, used in ((moving, "moving"), (corrected, "correction")):
        assert found["liquids"] == used
        assert found["free_surface_tm"] == pytest.approx(surface, rel=1e-12)
        assert found["free_surface_correction_m"] == pytest.approx(surface / 2583, rel=1e-12)
        assert found["columns"]["righting_arm_m"] == found["columns"][f"righting_arm_{used}_m"]
        assert found["displacement_t"] == 2583.0
        assert found["gm_solid_m"] - found["gm_fluid_m"] == pytest.approx(surface / 2583, abs=1e-11)
    for name in ("righting_arm_moving_m", "righting_arm_correction_m", "righting_arm_solid_m"):
        np.testing.assert_allclose(moving["columns"][name], corrected["columns"][name], atol=1e-12)
    columns = moving["columns"]
    sine = np.sin(np.radians(columns["heel_deg"]))
    solid = np.array(columns["righting_arm_solid_m"])
    # solid: the centre given, (GM + BM tan²/2) sin; the correction takes ρ i/Δ sin off
    assert solid[columns["heel_deg"].index(30.0)] == pytest.approx(0.625, abs=1e-11)
    np.testing.assert_allclose(columns["righting_arm_correction_m"], solid - surface / 2583 * sine, atol=1e-12)
    # at 10° the tank is wall-sided (1 m deep, 2 m half breadth): the moving liquid takes ρ i/Δ (1 + tan²/2) sin
    row, turn = columns["heel_deg"].index(10.0), np.radians(10)
    expected = solid[row] - surface / 2583 * (1 + np.tan(turn) ** 2 / 2) * np.sin(turn)
    assert columns["righting_arm_moving_m"][row] == pytest.approx(expected, abs=1e-6)  # trim moves it a little


def test_free_surface_as_a_moment(plain_http):
    found = answer(plain_http, loading=loading(free_surface_tm=258.3), heel_deg=[0, 30])
    assert found["columns"]["righting_arm_m"][1] == pytest.approx(0.625 - 0.1 * 0.5, abs=1e-12)
    assert found["gm_fluid_m"] == pytest.approx(GM - 0.1, abs=1e-11)
    assert found["columns"]["righting_arm_solid_m"][1] == pytest.approx(0.625, abs=1e-12)


def test_fixed_trim_is_held_and_by_default_that_at_no_heel(plain_http):
    held = answer(plain_http, trim="fixed", trim_m=0.9, heel_deg=[0, 20, 40])
    np.testing.assert_allclose(held["columns"]["normal_x_ratio"], held["columns"]["normal_x_ratio"][0], atol=1e-15)
    assert held["columns"]["trim_m"][0] == pytest.approx(0.9, abs=1e-12)
    by_itself = answer(plain_http, trim="fixed", loading=loading(lcg_m=29.0), heel_deg=[0, 40])
    free = answer(plain_http, loading=loading(lcg_m=29.0), heel_deg=[0, 40])
    assert by_itself["columns"]["trim_m"][0] == pytest.approx(free["columns"]["trim_m"][0], abs=1e-10)
    assert by_itself["columns"]["normal_x_ratio"][1] != pytest.approx(free["columns"]["normal_x_ratio"][1], abs=1e-6)


def test_other_axes_give_the_same_ship(plain_http):
    ours = answer(plain_http, base=EXAMPLE, loading=loading(lcg_m=29.0, tcg_m=0.1))
    turned = deepcopy(EXAMPLE)
    turned["axes"] = {"x": "aft_from_fp", "y": "starboard"}
    turned["loading"] = loading(lcg_m=31.0, tcg_m=-0.1)
    turned["tanks"][0]["shape"].update(x_min_m=30, x_max_m=40)
    turned["openings"][0].update(x_m=40.0, y_m=5.0)
    theirs = answer(plain_http, base=turned)
    for name in ("righting_arm_m", "heel_deg", "draft_m", "vcb_m", "normal_z_ratio"):
        np.testing.assert_allclose(ours["columns"][name], theirs["columns"][name], atol=1e-9)
    np.testing.assert_allclose(60 - np.array(ours["columns"]["lcb_m"]), theirs["columns"]["lcb_m"], atol=1e-9)
    for name in ("normal_x_ratio", "normal_y_ratio", "tcg_m"):
        np.testing.assert_allclose(ours["columns"][name], -np.array(theirs["columns"][name]), atol=1e-9)
    assert ours["starboard"]["flooding_deg"] == pytest.approx(theirs["starboard"]["flooding_deg"], abs=1e-9)


def test_mirrored_list_is_the_other_side(plain_http):
    one = answer(plain_http, loading=loading(tcg_m=-0.05))
    other = answer(plain_http, loading=loading(tcg_m=0.05), heel_deg=[-heel for heel in PLAIN["heel_deg"]])
    np.testing.assert_allclose(
        one["columns"]["righting_arm_m"], -np.array(other["columns"]["righting_arm_m"]), atol=1e-11
    )
    assert one["starboard"]["start_deg"] == pytest.approx(other["port"]["start_deg"], abs=1e-9)
    assert one["starboard"]["start_deg"] > 1.0
    assert one["port"]["start_deg"] == 0.0
    assert one["starboard"]["areas"][0]["from_deg"] == one["starboard"]["start_deg"]


def test_an_open_hull_gives_what_it_can(plain_http):
    found = answer(plain_http, hull=OPEN_BARGE, heel_deg=[0, 20, 60])
    assert found["columns"]["righting_arm_m"][2] is None
    note = next(one for one in found["column_notes"] if one["column"] == "righting_arm_m")
    assert (note["row"], note["code"]) in [(2, "volume-beyond-capacity"), (2, "open-below-water")]
    assert "curve-ends" in codes(found)
    assert found["starboard"]["range_deg"] == 35.0
    assert found["columns"]["area_from_upright_m_rad"][1] > 0
    assert found["columns"]["area_from_upright_m_rad"][2] is None


def test_a_ship_that_cannot_stand(plain_http):
    found = answer(plain_http, loading=loading(vcg_m=9.0))
    assert codes(found).count("no-righting-arm") == 2
    assert found["starboard"]["areas"] == []
    assert "maximum_deg" not in found["starboard"]
    assert found["gm_fluid_m"] < 0


def test_heels_to_one_side_and_none(plain_http):
    assert "port" not in answer(plain_http, heel_deg=[0, 10])
    upright = answer(plain_http, heel_deg=[0])
    assert "starboard" not in upright
    assert "port" not in upright
    assert (
        len(
            answer(plain_http, base={key: value for key, value in PLAIN.items() if key != "heel_deg"})["columns"][
                "heel_deg"
            ]
        )
        == 37
    )


def test_csv_in_both_units(plain_http):
    si = list(csv.DictReader(io.StringIO(post(plain_http, "?format=csv").text)))
    us = list(csv.DictReader(io.StringIO(post(plain_http, "?format=csv&units=us").text)))
    assert [float(row["heel_deg"]) for row in si] == PLAIN["heel_deg"]
    assert float(us[7]["righting_arm_ft"]) == pytest.approx(float(si[7]["righting_arm_m"]) / 0.3048, rel=1e-12)
    assert float(us[7]["area_from_upright_ft_rad"]) * 0.3048 == pytest.approx(0.126441519713, abs=1e-11)
    assert "righting_arm_moving_m" not in si[0]
    assert "righting_arm_moving_m" in post(plain_http, "?format=csv", base=EXAMPLE).text.splitlines()[0].split(",")


@pytest.mark.parametrize(
    ("change", "code", "pointer"),
    [
        ({"loading": loading(displacement_t=6000.0)}, "sinks", "#/loading/displacement_t"),
        (
            {"loading": loading(displacement_t=5904.0)},
            "sinks",
            "#/loading/displacement_t",
        ),  # no reserve: 1.025 × 5760 m³
        ({"loading": loading(displacement_t=0)}, "not-positive", "#/loading/displacement_t"),
        ({"loading": loading(displacement_t=-5)}, "out-of-bounds", "#/loading/displacement_t"),
        ({"loading": loading(free_surface_tm=-1)}, "out-of-bounds", "#/loading/free_surface_tm"),
        (
            {"loading": loading(free_surface_tm=1), "tanks": EXAMPLE["tanks"]},
            "free-surface-twice",
            "#/loading/free_surface_tm",
        ),
        (
            {"loading": loading(displacement_t=30.0), "tanks": EXAMPLE["tanks"]},
            "liquids-over-displacement",
            "#/loading/displacement_t",
        ),
        ({"loading": loading(kg_m=4.0)}, "unknown-field", "#/loading"),
        ({"trim_m": 0.5}, "trim-is-free", "#/trim_m"),
        ({"trim": "loose"}, "not-a-choice", "#/trim"),
        ({"heel_deg": []}, "wrong-count", "#/heel_deg"),
        ({"heel_deg": [0.5] * 362}, "wrong-count", "#/heel_deg"),
        ({"heel_deg": [181]}, "out-of-bounds", "#/heel_deg/0"),
        ({"heel_deg": ["10"]}, "wrong-type", "#/heel_deg/0"),
        ({"deck_edge_m": [[1, 2]]}, "missing-field", "#/deck_edge_m/0/2"),
        (
            {"openings": [{"name": "a", "x_m": 1, "y_m": 1, "z_m": 1, "kind": "open"}]},
            "not-a-choice",
            "#/openings/0/kind",
        ),
        (
            {"hull": OPEN_BARGE, "heel_deg": [60, 70], "trim": "fixed", "trim_m": 0.0},
            "volume-beyond-capacity",
            "#/heel_deg",
        ),
        ({"surprise": 1}, "unknown-field", "#"),
    ],
)
def test_refusals(plain_http, change, code, pointer):
    refused = post(plain_http, **change)
    assert refused.status_code == 422
    faults = refused.json()["errors"]
    assert code in [one["code"] for one in faults], faults
    assert pointer in [one["pointer"] for one in faults], faults
