"""The main job over HTTP against the lightship the simulator started from, and what is refused."""

import copy
import json
from pathlib import Path

import numpy as np
import pytest
from starlette.testclient import TestClient

from fixtures.demo import demo_record as noiseless_record
from service.app import create_app
from service.demo import demo_record

ROOT = Path(__file__).parents[3]
TRUTH = json.loads((ROOT / "fixtures/demo/truth.json").read_text())  # made by fixtures/demo, independent of engine


@pytest.fixture(scope="module")
def client():
    with TestClient(create_app()) as one:
        yield one


@pytest.fixture
def record():
    """The demo without reading errors, and without her loading conditions, which have tests of their own."""
    whole = noiseless_record(instruments="three_kinds")
    del whole["loading_conditions"], whole["stability"]
    return whole


def post(client, record):
    return client.post("/v1/stability-tests", json=record)


def lightship(client, record):
    answer = post(client, record)
    assert answer.status_code == 200, answer.text
    found = answer.json()["lightship"]
    return {name: found[name] for name in ("mass_t", "x_m", "y_m", "z_m")}


def test_the_known_lightship_comes_back_from_noiseless_readings(client, record):
    found, truth = lightship(client, record), TRUTH["lightship"]
    assert found["mass_t"] == pytest.approx(truth["mass_t"], rel=2e-4)
    for axis in ("x_m", "y_m", "z_m"):
        assert found[axis] == pytest.approx(truth[axis], abs=0.001)


def test_the_regression_comes_near_the_known_lightship_too(client, record):
    """LCG and TCG to a millimetre; VCG to the few millimetres by which a line misses a real hull at 2.6 degrees."""
    found, truth = post(client, record).json()["lightship"]["by_method"]["regression"], TRUTH["lightship"]
    assert found["x_m"] == pytest.approx(truth["x_m"], abs=0.001)
    assert found["y_m"] == pytest.approx(truth["y_m"], abs=0.001)
    assert found["z_m"] == pytest.approx(truth["z_m"], abs=0.006)


def test_gm_solid_is_gm_fluid_raised_by_the_free_surfaces(client, record):
    """Demo: a 7 × 5 m and a 4 × 3.6 m slack tank; i = l b³/12 each, at 0.2° of heel upright to 2e-5."""
    answer = post(client, record).json()
    surfaces = 1.025 * 7 * 5**3 / 12 + 1.0 * 4 * 3.6**3 / 12
    raised = answer["incline"]["gm_solid_m"] - answer["incline"]["gm_fluid_m"]
    assert raised == pytest.approx(surfaces / answer["as_inclined"]["displacement_t"], rel=1e-4)
    assert sum(one["free_surface_tm"] for one in answer["deadweight"]["liquids"]) == pytest.approx(surfaces, rel=1e-4)


def test_three_kinds_of_instrument_agree_with_three_pendulums(client, record):
    other = json.loads((ROOT / "fixtures/demo/record_pendulums.json").read_text())
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


@pytest.mark.parametrize(
    ("spoil", "code", "pointer"),
    [
        (lambda r: r["moves"].append({"weight": "no such", "to_y_m": 0.0}), "unknown-weight", "#/moves/8/weight"),
        (lambda r: r["weights"].append(r["weights"][0]), "duplicate-id", "#/weights/4/id"),
        (lambda r: r["instruments"][0]["deflections_m"].append(0.1), "too-many-readings", "#/instruments/0"),
        (lambda r: r["tanks"][0]["contents"].update(volume_m3=1e4), "volume-beyond-capacity",
         "#/tanks/0/contents/volume_m3"),
        (lambda r: r["tanks"][0]["shape"].update(x_max_m=1.0), "box-ends", "#/tanks/0/shape/x_min_m"),
        (lambda r: r.update(freeboards=[]), "no-heights", "#/freeboards"),
        (lambda r: r.update(vessel={"name": "V", "length_bp_m": 1.0}), "length-mismatch", "#/vessel/length_bp_m"),
        (lambda r: r["items"][0].update(to={"x_m": 1.0, "y_m": 0.0, "z_m": 0.0}), "relocation-place", "#/items/0/to"),
        (lambda r: r["freeboards"][0].update(surprise=1), "unknown-field", "#/freeboards/0"),
        (lambda r: r["hull"].update(stations=r["hull"]["stations"][:1]), "too-few-stations", "#/hull/stations"),
        (lambda r: r["weights"][0].update(mass_t=-1.0), "out-of-bounds", "#/weights/0/mass_t"),
        (lambda r: r["water"]["samples"][0].update(density_t_per_m3=-1.0), "out-of-bounds",
         "#/water/samples/0/density_t_per_m3"),
        (lambda r: r["instruments"][1]["port_levels_m"].pop(), "unequal-lengths",
         "#/instruments/1/starboard_levels_m"),
        (lambda r: r.update(rules=["no-such-set"]), "rule-set-unknown", "#/rules/0"),
        (lambda r: r.update(uncertainty={"arm_m": -0.001}), "out-of-bounds", "#/uncertainty/arm_m"),
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


def turned(record):
    """Every reading turned over: she then heels against the moments."""
    for one in record["instruments"]:
        if one["kind"] == "u_tube":
            one["port_levels_m"], one["starboard_levels_m"] = one["starboard_levels_m"], one["port_levels_m"]
        else:
            one["positive"] = {"port": "starboard", "starboard": "port"}[one["positive"]]


def unmoved(record):
    for move in record["moves"]:
        move["to_y_m"] = next(one["y_m"] for one in record["weights"] if one["id"] == move["weight"])


def on_one_line(record):
    for one in record["freeboards"]:
        one["y_m"] = 0.0


def nothing_read(record):
    record["moves"] = []
    for one in record["instruments"]:
        for name in ("deflections_m", "angles_deg", "port_levels_m", "starboard_levels_m"):
            if name in one:
                one[name] = one[name][:1]


@pytest.mark.parametrize(
    ("spoil", "step", "code", "done"),
    [
        (turned, "incline", "gm-not-positive", ["waterline", "as_inclined", "deadweight"]),
        (unmoved, "incline", "moments-equal", ["waterline", "as_inclined", "deadweight"]),
        (nothing_read, "incline", "too-few-readings", ["waterline", "as_inclined", "deadweight"]),
        (on_one_line, "waterline", "plane-not-determined", ["deadweight"]),
        (
            lambda r: r["items"][0].update(mass_t=5000.0),
            "lightship",
            "lightship-not-positive",
            ["waterline", "as_inclined", "incline", "deadweight"],
        ),
    ],
)
def test_what_cannot_be_known_is_said_and_the_rest_is_done(client, record, spoil, step, code, done):
    spoil(record)
    answer = post(client, record)
    assert answer.status_code == 200, answer.text
    found = answer.json()
    assert found[step]["outcome"] == "not_determined"
    assert found[step]["findings"][0]["code"] == code
    assert found["lightship"]["outcome"] == "not_determined"
    for name in done:
        assert "outcome" not in found[name], name
    assert found["checks"]


def test_nothing_can_be_done(client, record):
    on_one_line(record)
    del record["items"]
    answer = post(client, record)
    assert answer.status_code == 422
    assert [one["code"] for one in answer.json()["errors"]] == ["plane-not-determined"]


def test_a_missed_reading_and_a_repeated_one(client, record):
    whole = lightship(client, record)
    record["instruments"][0]["deflections_m"][0] = None  # its zero is found from the others
    record["instruments"][2]["angles_deg"][4] = None
    value = record["instruments"][1]["port_levels_m"][3]
    record["instruments"][1]["port_levels_m"][3] = [value - 0.001, {"value": value + 0.001}]
    answer = post(client, record).json()
    assert "reading-zero-missed" in [one["code"] for one in answer["findings"]]
    assert answer["lightship"]["z_m"] == pytest.approx(whole["z_m"], abs=1e-5)


def test_stated_uncertainties_and_groups_are_used(client, record):
    def spread():
        return post(client, record).json()["lightship"]["standard_uncertainty"]

    assumed = spread()
    record["uncertainty"] = dict.fromkeys(
        (
            "freeboard_m", "weight_percent", "arm_m", "length_m", "density_t_per_m3", "hull_volume_percent",
            "tank_volume_percent", "ledger_mass_percent", "ledger_centre_m", "reading_m", "reading_deg",
        ),
        0,
    )  # fmt: skip
    scatter_alone = spread()
    assert scatter_alone["mass_t"] == 0
    assert 0 < scatter_alone["z_m"] < 1e-5 < assumed["z_m"]  # noiseless: what the two geometries leave
    item = record["items"][0]
    item["mass_t"] = {"value": item["mass_t"], "standard_uncertainty": 0.3}
    assert spread()["mass_t"] == pytest.approx(0.3, rel=1e-12)
    other = record["items"][1]
    other["mass_t"] = {"value": other["mass_t"], "standard_uncertainty": 0.4}
    assert spread()["mass_t"] == pytest.approx(0.5, rel=1e-12)  # independent: 3-4-5
    for one in (item, other):
        one["mass_t"]["group"] = "one scale"
    assert spread()["mass_t"] == pytest.approx(0.7, rel=1e-12)  # fully correlated


def test_the_budget_adds_up(client, record):
    ship = post(client, record).json()["lightship"]
    for summary in ship["budget_summary"]:
        rows = [one for one in ship["budget"] if one["result"] == summary["result"]]
        assert sum(one["share_percent"] for one in rows) == pytest.approx(100.0, abs=1e-9)
        combined = sum(one["value"] ** 2 for one in rows) ** 0.5
        assert combined == pytest.approx(summary["standard_uncertainty"], rel=1e-9)
        assert rows[0]["name"] == summary["dominating"]
    by_result = {one["result"]: one for one in ship["budget_summary"]}
    for name, value in ship["standard_uncertainty"].items():
        assert by_result[name]["standard_uncertainty"] == value
        assert ship["expanded"][name] == pytest.approx(by_result[name]["coverage_factor_ratio"] * value, rel=1e-12)


def test_the_table_sums_to_the_lightship(client, record):
    answer = post(client, record).json()
    ship, at = answer["lightship"], answer["as_inclined"]
    table = [{"mass_t": at["displacement_t"], "x_m": at["lcg_m"], "y_m": at["tcg_m"], "z_m": at["vcg_m"]}]
    table += ship["table"]
    mass = sum(one["mass_t"] for one in table)
    assert mass == pytest.approx(ship["mass_t"], rel=1e-12)
    for axis in ("x_m", "y_m", "z_m"):
        assert sum(one["mass_t"] * one[axis] for one in table) / mass == pytest.approx(ship[axis], abs=1e-9)


def test_checks_carry_clause_and_source(client, record):
    checks = post(client, record).json()["checks"]
    by_rule = {(one["rule_set"], one["rule"]): one for one in checks}
    assert by_rule["imo-2008-is-code", "heel-each-side"]["outcome"] == "met"
    assert by_rule["common-practice", "deadweight"]["outcome"] == "not_met"  # 4.2 % is aboard, by the record's own sums
    for one in checks:
        assert one["clause"], one
        assert one["source"], one
        assert one["reason"] if one["outcome"] == "not_assessed" else True
    record["rules"] = ["imo-2008-is-code"]
    answer = post(client, record).json()
    assert {one["rule_set"] for one in answer["checks"]} == {"imo-2008-is-code"}
    assert len(answer["provenance"]["rule_sets"]) == 1


def mirrored(record):
    """The same ship seen in a mirror: port is starboard."""
    sides = {"port": "starboard", "starboard": "port"}

    def turn(node):
        if isinstance(node, dict):
            for key, value in node.items():
                if key in ("y_m", "to_y_m"):
                    node[key] = -value
                elif key == "positive":
                    node[key] = sides[value]
                else:
                    turn(value)
            if "y_min_m" in node:
                node["y_min_m"], node["y_max_m"] = -node["y_max_m"], -node["y_min_m"]
            if "port_levels_m" in node:
                node["port_levels_m"], node["starboard_levels_m"] = node["starboard_levels_m"], node["port_levels_m"]
        elif isinstance(node, list):
            for one in node:
                turn(one)

    turn({key: value for key, value in record.items() if key != "hull"})
    return record


def test_a_mirrored_record_is_a_mirrored_ship(client, record):
    expected, found = lightship(client, record), lightship(client, mirrored(copy.deepcopy(record)))
    assert found["y_m"] == pytest.approx(-expected["y_m"], abs=1e-9)
    assert [found[n] for n in ("mass_t", "x_m", "z_m")] == pytest.approx(
        [expected[n] for n in ("mass_t", "x_m", "z_m")], abs=1e-9
    )


def test_a_moved_origin_of_heights_is_the_same_ship(client, record):
    """The base line 0.5 m lower: every z grows by 0.5 m, the ship does not change."""
    moved = copy.deepcopy(record)

    def lift(node):
        if isinstance(node, dict):
            for key, value in node.items():
                if key in ("z_m", "to_z_m", "reference_z_m", "z_min_m", "z_max_m"):
                    node[key] = value + 0.5
                elif key == "points_m":
                    node[key] = [[y, z + 0.5] for y, z in value]
                else:
                    lift(value)
        elif isinstance(node, list):
            for one in node:
                lift(one)

    lift(moved)
    expected, found = lightship(client, record), lightship(client, moved)
    assert found["z_m"] - 0.5 == pytest.approx(expected["z_m"], abs=1e-9)
    assert [found[n] for n in ("mass_t", "x_m", "y_m")] == pytest.approx(
        [expected[n] for n in ("mass_t", "x_m", "y_m")], abs=1e-9
    )


def test_the_order_of_the_moves_does_not_matter(client, record):
    """The two pairs of weights change turns, and their readings with them: noiseless, it is the same test."""
    other = copy.deepcopy(record)
    other["moves"] = record["moves"][4:] + record["moves"][:4]
    order = [0, 5, 6, 7, 8, 1, 2, 3, 4]  # both halves start and end at the moment of reading 0
    for one in other["instruments"]:
        for name in ("deflections_m", "angles_deg", "port_levels_m", "starboard_levels_m"):
            if name in one:
                one[name] = [one[name][k] for k in order]
    assert lightship(client, other) == pytest.approx(lightship(client, record), abs=1e-9)


def test_the_whole_record_in_feet_and_long_tons_as_texts(client, record):
    units = {"_m": (0.3048, "ft"), "_t": (1.0160469088, "LT")}  # exact by definition
    number_only = ("hull", "vessel", "uncertainty")

    def say(node):
        if isinstance(node, dict):
            for key, value in node.items():
                factor = units.get(key[-2:])
                if factor and isinstance(value, (int, float)) and key not in ("x_min_m", "x_max_m"):
                    node[key] = f"{value / factor[0]!r} {factor[1]}"
                elif factor and isinstance(value, list):
                    node[key] = [f"{one / factor[0]!r} {factor[1]}" for one in value]
                elif key not in ("shape", *number_only):
                    say(value)
        elif isinstance(node, list):
            for one in node:
                say(one)

    said = copy.deepcopy(record)
    say(said)
    assert said["items"][0]["x_m"].endswith(" ft")
    assert lightship(client, said) == pytest.approx(lightship(client, record), rel=1e-9)


def test_instruments_reversed_are_named_though_no_gm_follows(client, record):
    turned(record)
    found = post(client, record).json()["incline"]
    assert found["outcome"] == "not_determined"
    assert found["findings"][0]["code"] == "gm-not-positive"


def test_a_move_logged_to_the_wrong_side_is_named_and_nothing_is_dropped(client, record):
    sound = post(client, record).json()
    assert sound["incline"]["diagnoses"] == []
    weight = record["moves"][4]["weight"]
    for move in record["moves"]:
        if move["weight"] == weight and move is record["moves"][4]:
            move["to_y_m"] = -abs(move["to_y_m"]) if move["to_y_m"] > 0 else abs(move["to_y_m"])
    answer = post(client, record).json()
    first = answer["incline"]["diagnoses"][0]
    assert "move-wrong-side" in first["members"]
    assert first["gm_with_m"] != first["gm_without_m"]
    assert first["gm_without_m"] == pytest.approx(sound["incline"]["gm_fluid_m"], rel=5e-3)
    assert len(answer["incline"]["points"]) == 27
    assert answer["verdict"]["test_is_sound"]["answer"] == "no"


CONDITION = {
    "name": "departure",
    "items": [{"name": "stores", "mass_t": 20, "x_m": 20, "y_m": 0, "z_m": 6.5}],
    "tanks": [{"tank": "fresh water", "fill_percent": 98, "use": "fresh_water"}],
}


def test_loading_conditions_and_the_three_statements(client, record):
    record["loading_conditions"] = [CONDITION]
    record["stability"] = {"openings": [], "rules": ["imo-2008-is-code-a-2-2"]}
    answer = post(client, record).json()
    found = answer["loading_conditions"][0]
    assert found["name"] == "departure"
    assert found["outcome"] == "met"
    assert found["vcg_margin_m"] == pytest.approx(found["vcg_limit_m"] - found["vcg_m"], abs=1e-9)
    assert "standard uncertainties" in found["statement"]
    verdict = answer["verdict"]
    assert verdict["conditions_meet_criteria"]["answer"] == "yes"
    assert found["statement"] in verdict["conditions_meet_criteria"]["evidence"][0]
    approved = next(one for one in answer["comparisons"] if one["against"] == "approved")
    ship = answer["lightship"]
    assert approved["deviation"]["mass_t"] == pytest.approx(ship["mass_t"] - record["approved"]["mass_t"], abs=1e-9)


def test_the_demo_is_judged_in_both_her_conditions(client):
    answer = post(client, demo_record()).json()
    found = answer["loading_conditions"]
    assert [one["name"] for one in found] == ["departure", "arrival, a tenth of the consumables left"]
    for one in found:
        assert {check["rule_set"] for check in one["criteria"]} == {
            "imo-2008-is-code-a-2-2",
            "us-46-cfr-170-170-exposed-si",
        }
        assert "not_assessed" not in {check["outcome"] for check in one["criteria"]}
        assert one["statement"] in " ".join(answer["verdict"]["conditions_meet_criteria"]["evidence"])


def test_without_conditions_or_approval_nothing_is_claimed(client, record):
    del record["approved"], record["predicted"]
    verdict = post(client, record).json()["verdict"]
    assert verdict["differs_from_approved"]["answer"] == "not_known"
    assert verdict["conditions_meet_criteria"]["answer"] == "not_known"


@pytest.mark.parametrize(
    ("more", "code"),
    [
        (
            {"loading_conditions": [{"name": "x", "tanks": [{"tank": "none such", "fill_percent": 5}]}]},
            "condition-tank",
        ),
        ({"loading_conditions": [CONDITION], "stability": {"rules": ["no such"]}}, "rule-set-unknown"),
        ({"loading_conditions": [CONDITION], "stability": {"rules": ["imo-2008-is-code"]}}, "rule-set-subject"),
    ],
)
def test_loading_conditions_are_refused(client, record, more, code):
    answer = post(client, {**record, **more})
    assert answer.status_code == 422
    assert code in [one["code"] for one in answer.json()["errors"]]


# -- doubtful input is never turned into a confident number ---------------------------------------------------------


def findings_of(client, record):
    answer = post(client, record)
    assert answer.status_code == 200, answer.text
    return answer.json(), {one["code"] for one in answer.json()["findings"]}


def test_millimetres_typed_as_metres_leave_the_survey_standing(client, record):
    record["instruments"][0]["deflections_m"] = [1000 * one for one in record["instruments"][0]["deflections_m"]]
    answer, _ = findings_of(client, record)
    why = answer["incline"]["findings"][0]
    assert (why["code"], why["field"]) == ("heel-implausible", "instruments/0")
    assert answer["waterline"]["displacement_t"] > 1000
    one_slip = demo_record()
    del one_slip["loading_conditions"], one_slip["stability"]
    one_slip["instruments"][0]["deflections_m"][2] += 3.0  # a digit slipped: the cause is named beside the refusal
    named = {one["code"] for one in findings_of(client, one_slip)[0]["incline"]["findings"]}
    assert "heel-implausible" in named
    assert len(named) > 1


@pytest.mark.parametrize("density", [0.5, 1.25])
def test_water_no_ship_floats_in_is_refused(client, record, density):
    record["water"]["samples"][0]["density_t_per_m3"] = density
    assert post(client, record).json()["errors"][0]["code"] == "out-of-bounds"


def test_samples_that_differ_widen_the_displacement(client, record):
    def spread():
        return post(client, record).json()["lightship"]["standard_uncertainty"]["mass_t"]

    before = spread()
    for sample, density in zip(record["water"]["samples"], (1.010, 1.025, 1.040), strict=True):
        sample["density_t_per_m3"] = density
    # s/√n of the samples over the density, on the displacement: 0.015/√3/1.025 × 1228 t = 10.4 t
    assert spread() == pytest.approx(np.hypot(before, 0.015 / 3**0.5 / 1.025 * 1228), rel=0.03)


def test_readings_rounded_to_a_millimetre_are_no_fault(client, record):
    one = record["instruments"][0]
    one["deflections_m"] = [round(value, 3) for value in one["deflections_m"]]
    answer, _ = findings_of(client, record)
    assert [found for found in answer["incline"]["diagnoses"] if found["is_fault"]] == []


def test_a_weight_and_a_tank_outside_the_ship_put_the_test_in_question(client, record):
    record["weights"][0]["y_m"] = 40.0
    answer, codes = findings_of(client, record)
    assert "outside-ship" in codes
    assert answer["verdict"]["test_is_sound"]["answer"] == "no"


def test_lightship_liquid_that_is_not_aboard_is_said(client, record):
    record["tanks"][1]["lightship_volume_m3"] = record["tanks"][1]["contents"]["volume_m3"] + 5.0
    answer, codes = findings_of(client, record)
    assert "lightship-liquid-not-aboard" in codes
    assert answer["verdict"]["test_is_sound"]["answer"] == "no"


def test_one_misread_freeboard_does_not_bend_the_hull(client, record):
    record["freeboards"][4]["freeboard_m"] += 0.10
    answer, codes = findings_of(client, record)
    assert "deflection-applied" not in codes
    assert answer["waterline"]["sag_m"] == 0
    assert "heights-scatter-more-than-stated" in codes


def test_perfect_readings_are_not_known_better_than_they_can_be_read(client, record):
    rows = post(client, record).json()["lightship"]["budget"]
    readings = next(one["value"] for one in rows if (one["result"], one["name"]) == ("z_m", "readings"))
    assert readings > 1e-4  # half of 0.5 mm a reading, on nine readings of three instruments


def test_a_criterion_out_of_its_range_is_no_pass(client, record):
    record["loading_conditions"] = [CONDITION]
    basis = demo_record()["stability"]
    record["stability"] = basis | {"rules": ["imo-2008-is-code-a-2-3"]}
    answer = post(client, record).json()
    assert "weather-criterion-range" in {one["code"] for one in answer["loading_conditions"][0]["findings"]}
    assert answer["verdict"]["conditions_meet_criteria"]["answer"] == "not_known"


def test_a_test_in_doubt_gives_no_confident_verdict(client):
    record = demo_record()
    assert post(client, record).json()["verdict"]["conditions_meet_criteria"]["answer"] == "yes"
    record["instruments"][0]["positive"] = "port"  # it hangs the other way round than the others say
    verdict = post(client, record).json()["verdict"]
    assert verdict["test_is_sound"]["answer"] == "no"
    for name in ("differs_from_approved", "conditions_meet_criteria"):
        assert verdict[name]["answer"] == "not_known", name
    assert verdict["conditions_meet_criteria"]["statement"].startswith("Not known while ")


def test_an_uncertainty_that_no_budget_follows_is_said_to_be_unused(client, record):
    record["tanks"][0]["sounding_point"] = {"x_m": 29.5, "y_m": 0.0}
    _, codes = findings_of(client, record)
    assert "stated-uncertainty-not-used" not in codes
    record["tanks"][0]["sounding_point"]["y_m"] = {"value": 0.0, "standard_uncertainty": 0.1}
    answer, codes = findings_of(client, record)
    assert "stated-uncertainty-not-used" in codes
    said = next(one for one in answer["findings"] if one["code"] == "stated-uncertainty-not-used")
    assert "tanks/0/sounding_point/y_m" in said["message"]


def test_what_this_service_assumed_and_nobody_stated_is_said_where_it_decides(client, record):
    _, codes = findings_of(client, record)
    assert "assumed-uncertainty-dominates" in codes
    record["uncertainty"] = {"hull_volume_percent": 0.2}
    for one in record["weights"]:
        one["mass_t"] = {"value": one["mass_t"], "standard_uncertainty": 0.0125, "group": "one scale"}
    answer, _ = findings_of(client, record)
    messages = [one["message"] for one in answer["findings"] if one["code"] == "assumed-uncertainty-dominates"]
    assert not any("masses of the weights" in one for one in messages)
