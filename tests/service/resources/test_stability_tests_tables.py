"""A whole record whose hull is a set of approved tables: its loading conditions over HTTP, each as far as it goes."""

import json
from copy import deepcopy

import pytest

from service.demo import demo_record
from service.edge.axes import Axes, from_ship_frame
from service.schemas.record import StabilityTest
from tests.service.schemas.test_loading_tables import tables

HULL = tables(step_deg=10.0)
WITHOUT = {name: part for name, part in HULL.items() if name != "cross_curves"}
DEEP = {"name": "deep", "items": [{"name": "cargo", "mass_t": 900, "x_m": 26, "y_m": 0, "z_m": 5}]}
CODE = "imo-2008-is-code-a-2-2"


def answer(http, hull=HULL, *, more=(), form="", **stability):
    record = demo_record()
    record |= {"hull": hull, "loading_conditions": [*record["loading_conditions"], *more]}
    record["stability"] |= stability
    reply = http.post(f"/v1/stability-tests{form}", json=record)
    assert reply.status_code == 200, reply.text
    return reply if form else reply.json()


def outcomes(condition):
    return {one["rule"]: one["outcome"] for one in condition["criteria"]}


def test_conditions_by_tables_and_cross_curves(plain_http):
    whole = plain_http.post("/v1/stability-tests", json=demo_record()).json()
    found = answer(plain_http, openings=[])
    assert found["lightship"]["method"] == "regression"
    for one, other in zip(found["loading_conditions"], whole["loading_conditions"], strict=True):
        assert one["name"] == other["name"]
        assert outcomes(one) == {**dict.fromkeys(outcomes(one), "met"), "weather-gm": "not_assessed"}
        assert (one["outcome"], one["statement"]) == ("not_assessed", "not assessed")
        # 3 mm of VCG between regression and geometric fit and as much of GM; the rest as in test_loading_tables
        assert one["gm_fluid_m"] == pytest.approx(other["gm_fluid_m"], abs=0.006)
        assert one["draft_m"] == pytest.approx(other["draft_m"], abs=0.001)
        assert one["trim_m"] == pytest.approx(other["trim_m"], abs=0.005)
        assert one["vcg_margin_standard_uncertainty_m"] == pytest.approx(
            other["vcg_margin_standard_uncertainty_m"], rel=0.1
        )
        assert max(one["righting_arms"]["heel_deg"]) == pytest.approx(60.0)
        codes = [item["code"] for item in one["findings"]]
        assert {"tables-no-geometry", "cross-curves-mirrored", "trim-off-tables"} <= set(codes)
    meets = found["verdict"]["conditions_meet_criteria"]
    assert meets["answer"] == "not_known"
    assert "deck edge" in meets["evidence"][0]


def test_openings_are_not_followed(plain_http):
    for one in answer(plain_http)["loading_conditions"]:
        assert {rule for rule, found in outcomes(one).items() if found == "not_assessed"} == {
            "area-to-40",
            "area-30-to-40",
            "weather-gm",
        }


def test_tables_alone_give_gm_and_leave_the_arms_out(plain_http):
    for one in answer(plain_http, WITHOUT, openings=[])["loading_conditions"]:
        found = outcomes(one)
        assert found.pop("gm") == "met"
        assert set(found.values()) == {"not_assessed"}
        assert one["righting_arms"] == {"heel_deg": [], "righting_arm_m": [], "area_m_rad": []}
        assert one["vcg_margin_m"] == pytest.approx(one["gm_fluid_m"] - 0.15, abs=1e-4)  # the limit is KM − 0.15 m
        assert "cross-curves-missing" in [item["code"] for item in one["findings"]]


def test_a_condition_beyond_the_tables_does_not_stop_the_others(plain_http):
    found = answer(plain_http, more=[DEEP])["loading_conditions"]
    assert [one["outcome"] for one in found] == ["not_assessed", "not_assessed", "not_determined"]
    assert found[2]["findings"][0]["code"] == "beyond-tables"


def test_tables_of_one_trim_are_told_of_the_survey_too(plain_http):
    found = answer(plain_http, {**HULL, "tables": [one for one in HULL["tables"] if one["trim_m"] == 0.0]})
    told = [item["message"] for item in found["findings"] if item["code"] == "trim-off-tables"]
    assert len(told) == 1
    assert f"trimmed by {found['waterline']['trim_m']:.6g} m" in told[0]
    assert "trim-off-tables" not in [item["code"] for item in answer(plain_http)["findings"]]


@pytest.mark.parametrize("hull", [HULL, WITHOUT], ids=["cross curves", "tables alone"])
def test_the_report_shows_what_there_is(plain_http, hull):
    page = answer(plain_http, hull, more=[DEEP], form="?format=html").text
    assert ("Righting arms, departure." in page) is (hull is HULL)
    assert "deep" in page


def test_cross_curves_at_fault_are_placed(plain_http):
    hull = deepcopy(HULL)
    hull["cross_curves"]["kn_m"][2].pop()
    reply = plain_http.post("/v1/stability-tests", json={**demo_record(), "hull": hull})
    assert reply.status_code == 422
    assert [one["pointer"] for one in reply.json()["errors"]] == ["#/hull/cross_curves/kn_m/2"]


def test_a_documents_own_axes_turn_the_tables_and_the_answer(plain_http):
    record = StabilityTest.model_validate_json(json.dumps(demo_record() | {"hull": HULL}))
    turned = from_ship_frame(record, Axes(x="aft_from_fp", y="starboard"), length_bp_m=56.0)
    document = turned.model_dump(mode="json", exclude_none=True) | {"axes": {"x": "aft_from_fp", "y": "starboard"}}
    reply = plain_http.post("/v1/stability-tests", json=document)
    assert reply.status_code == 200, reply.text
    for one, plain in zip(reply.json()["loading_conditions"], answer(plain_http)["loading_conditions"], strict=True):
        assert one["lcg_m"] == pytest.approx(56.0 - plain["lcg_m"], abs=1e-9)
        assert one["tcg_m"] == pytest.approx(-plain["tcg_m"], abs=1e-9)
        for name in ("heel_deg", "trim_m", "gm_fluid_m", "vcg_limit_m"):
            assert one[name] == pytest.approx(plain[name], abs=1e-9), name


@pytest.mark.parametrize("inclined", [True, False], ids=["inclined", "not inclined yet"])
@pytest.mark.parametrize("hull", [None, HULL], ids=["geometry", "tables"])
def test_a_tank_not_known_is_refused_at_its_very_entry(plain_http, hull, inclined):
    record = demo_record()
    if not inclined:
        record |= {"moves": [], "instruments": []}
    if hull is not None:
        record["hull"] = hull
    record["loading_conditions"][1]["tanks"][2]["tank"] = "no such tank"
    reply = plain_http.post("/v1/stability-tests", json=record)
    assert reply.status_code == 422
    (fault,) = reply.json()["errors"]
    assert (fault["code"], fault["pointer"]) == ("condition-tank", "#/loading_conditions/1/tanks/2/tank")
    assert f"it has {len(record['tanks'])}" in fault["detail"]
    assert "no such tank" not in reply.text
