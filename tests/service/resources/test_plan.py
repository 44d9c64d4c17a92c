"""A plan over HTTP, its rehearsal sent back as a test, and what is refused or told to be impossible."""

import copy

import numpy as np
import pytest

from fixtures.demo.vessel import LIGHTSHIP, demo_record
from service.resources.plan import EXAMPLE

PATH = "/v1/stability-tests/plan"


@pytest.fixture(scope="module")
def planned(plain_http):
    return plain_http.post(PATH, json=EXAMPLE).json()


def plan(http, **change):
    answer = http.post(PATH, json={**EXAMPLE, **change})
    assert answer.status_code == 200, answer.json()
    return answer.json()


def solved(http, record):
    answer = http.post("/v1/stability-tests", json=record)
    assert answer.status_code == 200, answer.json()
    return answer.json()


def codes(found):
    return {one["code"] for one in found}


def test_the_example_is_a_plan_that_can_be_done(planned):
    assert planned["possible"]
    assert planned["impossible"] == []
    assert planned["means"] == "weights"
    moments = [row["moment_tm"] for row in planned["moves"]]
    assert moments == pytest.approx(
        [sign * planned["weights"]["moment_tm"] for sign in (0, 0.5, 1, 0.5, 0, -0.5, -1, -0.5, 0)]
    )
    tangents = np.array([row["tangent_ratio"] for row in planned["moves"]])
    for one in planned["instruments"]:
        assert min(one["starboard_deflection_m"], one["port_deflection_m"]) >= 0.15
        assert one["deflections_m"] == pytest.approx((tangents - tangents[0]) * one["length_m"], abs=1e-12)
    assert 1 <= planned["weights"]["port_heel_deg"] <= 4
    assert [one["id"] for one in planned["instruments"]] == ["forward", "midship", "aft"]
    assert len(planned["freeboards"]) == 10
    assert planned["tanks"][0]["name"] == "fuel"
    assert "other_means" not in planned


def test_the_predicted_condition_is_that_of_flotation(plain_http, planned):
    # the same ship by POST /v1/flotation: lightship, party and weights as one mass
    parts = [(1500.0, 29.8, 0.01, 4.6), (0.9, 30.0, 0.0, 9.0)]
    parts += [(g["mass_t"], g["x_m"], g["y_m"], g["z_m"]) for g in planned["weights"]["groups"]]
    table = np.array(parts)
    x, y, z = table[:, 0] @ table[:, 1:] / table[:, 0].sum()
    tank = {name: value for name, value in EXAMPLE["tanks"][0].items() if name not in ("position", "use")}
    body = {"hull": EXAMPLE["hull"], "density_t_per_m3": 1.025, "tanks": [tank]}
    afloat = plain_http.post("/v1/flotation", json={**body, "mass_t": table[:, 0].sum(), "x_m": x, "y_m": y, "z_m": z})
    for name in ("displacement_t", "draft_m", "trim_m", "heel_deg", "gm_solid_m", "gm_fluid_m", "vcg_m"):
        assert planned["predicted"][name] == pytest.approx(afloat.json()[name], rel=1e-9, abs=1e-10), name


def test_the_rehearsal_sent_as_it_is_gives_the_estimate_back(plain_http, planned):
    lightship = solved(plain_http, planned["rehearsal"])["lightship"]
    assert lightship["mass_t"] == pytest.approx(1500.0, rel=1e-9)
    assert [lightship[name] for name in ("x_m", "y_m", "z_m")] == pytest.approx([29.8, 0.01, 4.6], abs=1e-7)


def test_the_first_order_budget_is_near_that_of_the_whole_chain(plain_http, planned):
    # 10 %: the whole chain also knows the trim's own height, the hull's bend and the cubic of the tangent
    whole = solved(plain_http, planned["rehearsal"])["lightship"]["standard_uncertainty"]
    first = planned["expected_uncertainty"]["standard_uncertainty"]
    assert first["lightship_mass_t"] == pytest.approx(whole["mass_t"], rel=0.01)
    assert first["lightship_vcg_m"] == pytest.approx(whole["z_m"], rel=0.10)


def test_the_budget_as_after_the_test_is_that_of_the_rehearsal_but_for_its_readings(plain_http, planned):
    """A rehearsal without error shows no scatter, which counts as half of what is assumed; the plan has all of it."""
    ship = solved(plain_http, planned["rehearsal"])["lightship"]
    whole = planned["expected_as_after_the_test"]

    def of_kind(budget):
        return {(one["result"], one["name"]): one["value"] for one in budget if one["name"] != "readings"}

    assert of_kind(whole["budget"]) == pytest.approx(of_kind(ship["budget"]), rel=1e-9)
    readings = {one["result"]: one["value"] for one in whole["budget"] if one["name"] == "readings"}
    assert readings["z_m"] > 0
    rest = [one["value"] for one in ship["budget"] if (one["result"], one["name"] != "readings") == ("z_m", True)]
    assert whole["standard_uncertainty"]["z_m"] == pytest.approx(
        np.hypot(np.linalg.norm(rest), readings["z_m"]), rel=1e-9
    )
    first = planned["expected_uncertainty"]["standard_uncertainty"]
    assert first["lightship_vcg_m"] == pytest.approx(whole["standard_uncertainty"]["z_m"], rel=0.10)


def spoiled(record, what):
    """Return a record with one standard uncertainty of one source."""
    record = copy.deepcopy(record)
    if what == "weights/masses":
        for weight in record["weights"]:
            weight["mass_t"] *= 1.0025
    if what == "freeboards/common":
        for one in record["freeboards"]:
            one["freeboard_m"] -= 0.002
    if what == "water/density":
        record["water"]["samples"][0]["density_t_per_m3"] += 0.0003
    if what == "instruments/1/length_m":
        record["instruments"][1]["length_m"] += 0.003
    if what == "tanks/0/volume":
        record["tanks"][0]["contents"]["volume_m3"] *= 1.02
    if what == "items/0/mass":
        record["items"][0]["mass_t"] *= 1.05
    return record


@pytest.mark.parametrize(
    "source",
    [
        "weights/masses",
        "freeboards/common",
        "water/density",
        "instruments/1/length_m",
        "tanks/0/volume",
        "items/0/mass",
    ],
)
def test_each_row_is_what_the_lightship_really_moves_by(plain_http, planned, source):
    budget = planned["expected_uncertainty"]["budget"]
    row = next(row for row in budget if (row["result"], row["source"]) == ("lightship_vcg_m", source))
    if source == "tanks/0/volume":
        assert planned["tanks"][0]["vcg_uncertainty_share_percent"] == row["share_percent"]
    moved = solved(plain_http, spoiled(planned["rehearsal"], source))["lightship"]["z_m"] - 4.6
    assert moved == pytest.approx(row["value"], rel=0.02, abs=2e-6)


def test_noise_is_drawn_from_its_seed(plain_http):
    noisy = {"seed": 5, "reading_m": 0.001, "freeboard_m": 0.005}
    one, same = (plan(plain_http, rehearsal=noisy)["rehearsal"] for _ in range(2))
    other = plan(plain_http, rehearsal={**noisy, "seed": 6})["rehearsal"]
    assert one == same
    assert one["instruments"] != other["instruments"]
    found = solved(plain_http, one)["lightship"]
    assert 0 < abs(found["z_m"] - 4.6) < 4 * found["standard_uncertainty"]["z_m"]


@pytest.mark.parametrize(
    "axes", [{"x": "aft_from_fp", "y": "starboard"}, {"x": "forward_from_midship", "y": "port"}, {"y": "starboard"}]
)
def test_other_axes_say_the_same_plan(plain_http, planned, axes):
    x = {"aft_from_fp": lambda v: 60.0 - v, "forward_from_midship": lambda v: v - 30.0}.get(axes.get("x"), lambda v: v)
    side = -1.0 if axes.get("y") == "starboard" else 1.0
    given = copy.deepcopy(EXAMPLE)
    for part in (given["lightship"], given["items"][0], *given["deck"]["lanes"]):
        part["x_m"] = x(part["x_m"])
    for part in (given["lightship"], given["items"][0]):
        part["y_m"] *= side
    for station in given["hull"]["stations"]:
        station["x_m"] = x(station["x_m"])
        station["points_m"] = [[side * y, z] for y, z in station["points_m"]]
    given["hull"]["stations"].sort(key=lambda station: station["x_m"])
    box = given["tanks"][0]["shape"]
    box["x_min_m"], box["x_max_m"] = sorted((x(box["x_min_m"]), x(box["x_max_m"])))
    turned = plan(plain_http, **given, axes=axes)
    assert turned["predicted"]["lcg_m"] == pytest.approx(x(planned["predicted"]["lcg_m"]), abs=1e-9)
    assert turned["predicted"]["heel_deg"] == pytest.approx(planned["predicted"]["heel_deg"], abs=1e-9)
    for one, plain in zip(turned["weights"]["groups"], planned["weights"]["groups"], strict=True):
        assert (one["x_m"], one["y_m"]) == pytest.approx((x(plain["x_m"]), side * plain["y_m"]), abs=1e-9)
    for one, plain in zip(turned["moves"], planned["moves"], strict=True):
        assert one["tangent_ratio"] == pytest.approx(plain["tangent_ratio"], abs=1e-10)
        if plain["move"]:
            assert one["to_y_m"] == pytest.approx(side * plain["to_y_m"], abs=1e-9)
    lightship = solved(plain_http, turned["rehearsal"])["lightship"]
    wanted = [x(29.8), side * 0.01, 4.6]
    assert [lightship[name] for name in ("x_m", "y_m", "z_m")] == pytest.approx(wanted, abs=1e-7)


@pytest.mark.parametrize("kind", ["offsets", "mesh"])
def test_a_plan_of_the_demo_vessel_rehearses_to_her_lightship(plain_http, kind):
    record = demo_record(hull=kind)
    lanes = [
        {"id": str(x), "x_m": x, "z_m": 5.8, "y_min_m": -5.0, "y_max_m": 5.0, "length_m": 2.5} for x in (9.0, 13.0)
    ]
    made = plan(
        plain_http,
        hull=record["hull"],
        density_t_per_m3=1.025,
        lightship={"mass_t": LIGHTSHIP.mass_t, "x_m": LIGHTSHIP.x_m, "y_m": LIGHTSHIP.y_m, "z_m": LIGHTSHIP.z_m},
        items=record["items"],
        tanks=record["tanks"],
        weights_on_hand=[
            {"id": "a", "mass_t": 2.6, "pieces_count": 8, "length_m": 1.2, "breadth_m": 0.8, "height_m": 0.7}
        ],
        deck={"lanes": lanes},
        freeboards={
            "deck_edge_m": [[row["x_m"], row["y_m"], row["reference_z_m"]] for row in record["freeboards"][::2]]
        },
        instrument_places=[
            {"id": "a", "head_room_m": 5.0},
            {"id": "b", "head_room_m": 4.7},
            {"id": "c", "spread_m": 9.0},
        ],
    )
    assert made["means"] == "weights"
    assert len({one["x_m"] for one in made["freeboards"]}) == 5
    assert all(one["from_deck_edge"] for one in made["freeboards"])
    lightship = solved(plain_http, made["rehearsal"])["lightship"]
    assert lightship["mass_t"] == pytest.approx(LIGHTSHIP.mass_t, rel=1e-8)
    wanted = [LIGHTSHIP.x_m, LIGHTSHIP.y_m, LIGHTSHIP.z_m]
    assert [lightship[name] for name in ("x_m", "y_m", "z_m")] == pytest.approx(wanted, abs=1e-6)


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"weights_on_hand": []}, "no-weights"),
        ({"deck": {}}, "no-place-for-weights"),
        (
            {"deck": {**EXAMPLE["deck"], "crane": {"x_m": 30, "y_m": 0, "reach_m": 20, "lift_t": 2}}},
            "no-place-for-weights",
        ),
        ({"weights_on_hand": [{**EXAMPLE["weights_on_hand"][0], "pieces_count": 2}]}, "heel-not-reached"),
        ({"instrument_places": EXAMPLE["instrument_places"][:1]}, "deflection-not-reached"),
        ({"instrument_places": [{"id": "a", "spread_m": 9.0}]}, "no-pendulum"),
    ],
)
def test_an_impossible_plan_is_answered_with_what_is_impossible_and_the_nearest(plain_http, change, code):
    made = plan(plain_http, **change)
    assert not made["possible"]
    assert code in codes(made["impossible"])
    assert len(made["freeboards"]) == 10
    assert made["water_depth"]["needed_depth_m"] > 2
    if code == "heel-not-reached":
        assert made["other_means"]["needed_moment_tm"] > made["weights"]["moment_tm"]
        (needed,) = made["other_means"]["pieces"]
        assert needed["id"] == "blocks"
        assert needed["pieces_count"] > 2
        more = [{**EXAMPLE["weights_on_hand"][0], "pieces_count": needed["pieces_count"]}]
        assert plan(plain_http, weights_on_hand=more)["means"] == "weights"


def test_other_means_name_the_tanks_and_list_ten_conditions(plain_http):
    wing = EXAMPLE["tanks"][0] | {"use": "ballast", "position": "deep"}
    tanks = [
        {**wing, "name": name, "shape": {**wing["shape"], "y_min_m": low, "y_max_m": low + 3}}
        for name, low in (("starboard wing", -5.5), ("port wing", 2.5))
    ]
    made = plan(plain_http, weights_on_hand=[], tanks=tanks, people={"people_count": 40, "arm_m": 4.0})
    (transfer,) = made["other_means"]["ballast_transfers"]
    assert (transfer["port_tank"], transfer["starboard_tank"]) == ("port wing", "starboard wing")
    assert len(transfer["conditions"]) == 10
    assert made["other_means"]["people"]["moment_tm"] == pytest.approx(40 * 0.075 * 4)
    assert "rehearsal" not in made
    assert made["moves"] == []


def test_a_tank_that_breaks_a_rule_comes_with_its_swap(plain_http):
    slack = EXAMPLE["tanks"][0]
    tanks = [
        {**slack, "contents": {"kind": "volume", "volume_m3": 52.0}},
        {**slack, "name": "fuel forward", "shape": {**slack["shape"], "x_min_m": 40, "x_max_m": 50}},
    ]
    made = plan(plain_http, tanks=tanks)
    assert "tank-breaks-rule" in codes(made["findings"])
    broken = made["tanks"][0]
    assert "fill-out-of-range" in broken["breaks"]
    assert broken["proposal"]["volume_change_m3"] < 0
    assert broken["proposal"]["with_tank"] == "fuel forward"
    both = sum(one["free_surface_share_percent"] for one in made["tanks"])
    assert both == pytest.approx(100)


def test_a_list_is_levelled_and_optimising_takes_the_smallest_set(plain_http):
    made = plan(
        plain_http,
        lightship={**EXAMPLE["lightship"], "y_m": 0.05},
        optimise={"vcg_standard_uncertainty_m": 0.02},
    )
    assert "list-beyond-limit" in codes(made["findings"])
    assert made["levelling"]["moment_tm"] == pytest.approx(75, rel=0.01)
    assert {one["lane"] for one in made["levelling"]["weights"]} == {"aft", "forward"}
    assert made["optimum"]["reached"]
    assert made["optimum"]["vcg_standard_uncertainty_m"] <= 0.02
    assert made["optimum"]["mass_t"] == pytest.approx(
        sum(mass for group in made["optimum"]["pieces_t"] for mass in group)
    )


HALF_PIECES = {**EXAMPLE["weights_on_hand"][0], "pieces_count": 2.5}


def test_quantities_may_carry_their_units(plain_http, planned):
    places = [{**one, "head_room_m": f"{one['head_room_m'] * 1000} mm"} for one in EXAMPLE["instrument_places"]]
    blocks = [{**EXAMPLE["weights_on_hand"][0], "mass_t": "2500 kg", "length_m": "120 cm"}]
    made = plan(plain_http, instrument_places=places, weights_on_hand=blocks, density_t_per_m3="1025 kg/m3")
    assert made["weights"] == planned["weights"]
    assert made["instruments"] == planned["instruments"]


BAD_LANE = {**EXAMPLE["deck"]["lanes"][0], "y_min_m": 6.0, "y_max_m": 5.0}


@pytest.mark.parametrize(
    ("change", "code", "pointer"),
    [
        ({"lightship": {**EXAMPLE["lightship"], "mass_t": 60_000.0}}, "sinks", "#/lightship/mass_t"),
        ({"lightship": {**EXAMPLE["lightship"], "z_m": 12.0}}, "predicted-not-upright", "#/lightship"),
        ({"lightship": {**EXAMPLE["lightship"], "mass_t": -1.0}}, "out-of-bounds", "#/lightship/mass_t"),
        ({"items": [{**EXAMPLE["items"][0], "action": "add", "mass_t": 2000.0}]}, "lightship-not-positive", "#/items"),
        ({"deck": {"lanes": [BAD_LANE]}}, "box-ends", "#/deck/lanes/0/y_min_m"),
        ({"heel": {"least_deg": 3.9}}, "no-heel-left", "#/heel"),
        ({"heel": {"least_deg": 0.0}}, "out-of-bounds", "#/heel/least_deg"),
        (
            {"tanks": [{**EXAMPLE["tanks"][0], "contents": {"kind": "volume", "volume_m3": 81}}]},
            "volume-beyond-capacity",
            "#/tanks/0/contents/volume_m3",
        ),
        ({"tanks": [{**EXAMPLE["tanks"][0], "position": "high"}]}, "not-a-choice", "#/tanks/0/position"),
        ({"freeboards": {"deck_edge_m": [[1, 2, 3]]}}, "too-few-points", "#/freeboards/deck_edge_m"),
        ({"freeboards": {"side_count": 1}}, "out-of-bounds", "#/freeboards/side_count"),
        ({"weights_on_hand": [HALF_PIECES]}, "wrong-type", "#/weights_on_hand/0/pieces_count"),
        ({"rehearsal": {"seed": -1}}, "out-of-bounds", "#/rehearsal/seed"),
        ({"optimise": {"vcg_standard_uncertainty_m": 0}}, "out-of-bounds", "#/optimise/vcg_standard_uncertainty_m"),
        ({"instrument_places": [EXAMPLE["instrument_places"][0]] * 2}, "duplicate-id", "#/instrument_places/1/id"),
        ({"weights_on_hand": EXAMPLE["weights_on_hand"] * 2}, "duplicate-id", "#/weights_on_hand/1/id"),
        ({"deck": {"lanes": [EXAMPLE["deck"]["lanes"][0]] * 2}}, "duplicate-id", "#/deck/lanes/1/id"),
        ({"vessel": {"name": "other", "length_bp_m": 61.0}}, "length-mismatch", "#/vessel/length_bp_m"),
        ({"surprise": 1}, "unknown-field", "#"),
    ],
)
def test_refusals(plain_http, change, code, pointer):
    refused = plain_http.post(PATH, json={**EXAMPLE, **change})
    assert refused.status_code == 422
    faults = refused.json()["errors"]
    assert code in [one["code"] for one in faults], faults
    assert pointer in [one["pointer"] for one in faults], faults


def test_water_no_ship_is_tested_in_is_refused(plain_http):
    answer = plain_http.post(PATH, json={**EXAMPLE, "density_t_per_m3": 0.5})
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["pointer"] == "#/density_t_per_m3"
