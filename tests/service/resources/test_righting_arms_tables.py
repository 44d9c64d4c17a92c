"""Righting arms of a hull known by tables, over HTTP: against the same box with her geometry, and what is left out."""

from copy import deepcopy

import numpy as np
import pytest

from service.resources.righting_arms import EXAMPLE
from tests.engine.stability.test_table_arms import DRAFTS, HEELS, kn

MASS = 1.025 * 720 * DRAFTS
TABLES = {
    "kind": "tables",
    "length_bp_m": 60.0,
    "tables": [
        {
            "draft_m": DRAFTS.tolist(),
            "displacement_t": MASS.tolist(),
            "lcb_m": [30.0] * 3,
            "vcb_m": (DRAFTS / 2).tolist(),
            "lcf_m": [30.0] * 3,
            "km_transverse_m": (DRAFTS / 2 + 12 / DRAFTS).tolist(),  # T/2 + B²/12T of the box 60 × 12 m
            "km_longitudinal_m": (DRAFTS / 2 + 300 / DRAFTS).tolist(),
        }
    ],
    "cross_curves": {
        "displacement_t": MASS.tolist(),
        "heel_deg": HEELS.tolist(),
        "kn_m": kn(HEELS).tolist(),
    },
}
FULL = {**deepcopy(EXAMPLE), "heel_deg": [-30, -20, -10, 0, 10, 20, 30]}
PLAIN = {name: value for name, value in FULL.items() if name not in ("tanks", "openings", "deck_edge_m")}


def post(http, base=PLAIN, hull=TABLES, **change):
    return http.post("/v1/righting-arms", json={**deepcopy(base), "hull": hull, **change})


def answer(http, **more):
    reply = post(http, **more)
    assert reply.status_code == 200, reply.text
    return reply.json()


def codes(found):
    return [one["code"] for one in found["findings"]]


def test_the_same_arms_as_with_her_geometry(plain_http):
    found, whole = answer(plain_http), answer(plain_http, hull=EXAMPLE["hull"])
    for name in ("righting_arm_m", "righting_arm_correction_m", "righting_arm_solid_m"):
        np.testing.assert_allclose(found["columns"][name], whole["columns"][name], atol=1e-11)
    np.testing.assert_allclose(
        found["columns"]["area_from_upright_m_rad"], whole["columns"]["area_from_upright_m_rad"], atol=5e-5
    )
    for name in ("gm_solid_m", "gm_fluid_m"):
        assert found[name] == pytest.approx(whole[name], abs=1e-11)
    one, other = found["starboard"], whole["starboard"]
    assert one["slope_at_rest"]["slope_m_per_rad"] == pytest.approx(other["slope_at_rest"]["gm_fluid_m"], abs=2e-4)
    assert one["areas"][0]["area_m_rad"] == pytest.approx(other["areas"][0]["area_m_rad"], abs=5e-5)
    assert one["intercepts"] == other["intercepts"]
    assert "draft_m" not in found["columns"]
    assert found["column_notes"] == []
    assert codes(found)[:2] == ["tables-no-geometry", "cross-curves-mirrored"]


def test_tanks_are_corrected_for_and_what_needs_the_form_is_left_out_and_told(plain_http):
    found, whole = answer(plain_http, base=FULL), answer(plain_http, base=FULL, hull=EXAMPLE["hull"])
    assert found["liquids"] == "correction"
    assert found["free_surface_tm"] == pytest.approx(whole["free_surface_tm"], rel=1e-12)
    np.testing.assert_allclose(
        found["columns"]["righting_arm_m"], whole["columns"]["righting_arm_correction_m"], atol=1e-11
    )
    assert found["gm_fluid_m"] == pytest.approx(whole["gm_fluid_m"], abs=1e-11)
    assert found["openings"] == []
    assert "flooding_deg" not in found["starboard"]
    told = [one["message"] for one in found["findings"] if one["code"] == "tables-no-geometry"]
    assert any("flooding" in words for words in told)
    assert any("liquids" in words for words in told)
    asked = answer(plain_http, base=FULL, liquids="correction")
    assert codes(asked).count("tables-no-geometry") == 1


def test_a_moment_stated_lowers_the_arms(plain_http):
    loaded = {**PLAIN["loading"], "free_surface_tm": 258.3}
    found = answer(plain_http, loading=loaded)
    assert found["free_surface_correction_m"] == pytest.approx(0.1)  # 258.3/2583
    plain = answer(plain_http)
    np.testing.assert_allclose(
        np.subtract(plain["columns"]["righting_arm_m"], found["columns"]["righting_arm_m"]),
        0.1 * np.sin(np.radians(PLAIN["heel_deg"])),
        atol=1e-12,
    )
    assert found["columns"]["righting_arm_solid_m"] == pytest.approx(plain["columns"]["righting_arm_m"], abs=1e-12)


def test_heels_beyond_the_table_are_empty_and_say_why(plain_http):
    found = answer(plain_http, heel_deg=[0, 30, 60])
    assert found["columns"]["righting_arm_m"][2] is None
    assert {"column": "righting_arm_m", "row": 2, "code": "beyond-tables"} in found["column_notes"]
    assert found["starboard"]["range_deg"] == pytest.approx(30.0)
    assert "port" not in found
    csv = plain_http.post("/v1/righting-arms?format=csv", json={**PLAIN, "hull": TABLES})
    assert csv.status_code == 200
    assert "draft_m" not in csv.text


def test_gm_that_the_tables_cannot_give_is_left_out(plain_http):
    found = answer(plain_http, loading={**PLAIN["loading"], "tcg_m": -0.2})  # 0.2/0.68: a list beyond 3°
    assert "heel-needs-hull" in codes(found)
    assert "gm_fluid_m" not in found
    assert "slope_at_rest" not in found["starboard"]
    assert found["starboard"]["start_deg"] > 3


def test_cross_curves_that_do_not_belong_to_the_tables_are_found(plain_http):
    other = deepcopy(TABLES)
    other["tables"][0]["km_transverse_m"] = [km + 0.2 for km in other["tables"][0]["km_transverse_m"]]
    assert "slope-differs-from-gm" in codes(answer(plain_http, hull=other))
    assert "slope-differs-from-gm" not in codes(answer(plain_http))


def test_a_trim_off_the_table_is_told(plain_http):
    found = answer(plain_http, loading={**PLAIN["loading"], "lcg_m": 29.8})
    of_rows, of_curves = [one["message"] for one in found["findings"] if one["code"] == "trim-off-tables"]
    trim = 0.2 * 60 / (1.75 + 300 / 3.5 - 4.5)  # t = (30 − x_G) L/GM_L of the box, to the first order
    assert of_rows.startswith(f"she is trimmed by {trim:.5g} m")
    assert "of 0 m alone" in of_rows
    assert of_curves.startswith(f"she is trimmed by {trim:.5g} m")
    assert "trim-off-tables" not in codes(answer(plain_http))


def test_axes_turn_the_centre_and_the_tables(plain_http):
    turned = deepcopy(TABLES)
    axes = {"x": "aft_from_fp", "y": "starboard"}
    found = answer(plain_http, hull=turned, axes=axes, loading={**PLAIN["loading"], "tcg_m": 0.01})
    plain = answer(plain_http, loading={**PLAIN["loading"], "tcg_m": -0.01})
    assert found["columns"] == plain["columns"]


@pytest.mark.parametrize(
    ("change", "code", "pointer"),
    [
        ({"hull": {**TABLES, "cross_curves": None}}, "cross-curves-missing", "#/hull"),
        ({"trim": "fixed"}, "tables-no-geometry", "#/trim"),
        ({"sag_m": 0.02}, "tables-no-geometry", "#/sag_m"),
        ({"loading": {**PLAIN["loading"], "displacement_t": 1500.0}}, "beyond-tables", "#/loading/displacement_t"),
        (
            {
                "hull": {
                    **TABLES,
                    "cross_curves": {**TABLES["cross_curves"], "heel_deg": [0, 30], "kn_m": [[0.0, 2.0]] * 3},
                }
            },
            "too-few-points",
            "#/hull/cross_curves/heel_deg",
        ),
        (
            {"hull": {**TABLES, "cross_curves": {**TABLES["cross_curves"], "kn_m": [[0.0, 2.0]] * 3}}},
            "columns-differ",
            "#/hull/cross_curves/kn_m/0",
        ),
        ({"hull": {**TABLES, "tables": []}}, "wrong-count", "#/hull/tables"),
    ],
)
def test_refusals(plain_http, change, code, pointer):
    if change.get("hull", {}).get("cross_curves", "") is None:
        change = {"hull": {name: value for name, value in change["hull"].items() if name != "cross_curves"}}
    reply = post(plain_http, **change)
    assert reply.status_code == 422
    faults = [(one["code"], one["pointer"]) for one in reply.json()["errors"]]
    assert code in [one for one, _ in faults], faults
    assert any(place.startswith(pointer) for _, place in faults), faults
