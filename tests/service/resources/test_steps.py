"""The steps of a test, each alone: they agree with the whole, and refuse what they cannot use."""

import numpy as np
import pytest
from starlette.testclient import TestClient

from fixtures.demo import demo_record as noiseless_record
from service.app import create_app
from service.demo import demo_record
from tests.service.resources.test_righting_arms_tables import TABLES

BASE = "/v1/stability-tests"


@pytest.fixture(scope="module")
def client():
    with TestClient(create_app()) as one:
        yield one


@pytest.fixture
def record():
    """The demo without reading errors: her liquids and weights as they really are."""
    return noiseless_record(instruments="three_kinds")


@pytest.fixture(scope="module")
def whole(client):
    return client.post(BASE, json=noiseless_record(instruments="three_kinds")).json()


def post(client, step, body, status=200):
    answer = client.post(f"{BASE}/{step}", json=body)
    assert answer.status_code == status, answer.text
    return answer.json()


def refused(client, step, body):
    return [(one["code"], one["pointer"]) for one in post(client, step, body, 422)["errors"]]


def part(record, *names):
    return {name: record[name] for name in names}


def test_waterline_alone_is_that_of_the_whole(client, record, whole):
    found = post(client, "waterline", part(record, "hull", "water", "freeboards"))["waterline"]
    assert found == whole["waterline"]
    assert [one["kind"] for one in found["heights"]] == ["freeboard"] * 10
    assert found["draft_aft_m"] - found["draft_forward_m"] == pytest.approx(found["trim_m"], abs=1e-12)


def test_waterline_says_how_far_each_height_is_off(client, record):
    """A tape 40 mm long on the port side amidships: that residual is the largest, about 40 mm × (1 − its leverage)."""
    record["freeboards"][4]["freeboard_m"] += 0.040
    found = post(client, "waterline", part(record, "hull", "water", "freeboards"))["waterline"]
    off = [abs(one["residual_m"]) / one["residual_standard_uncertainty_m"] for one in found["heights"]]
    assert int(np.argmax(off)) == 4
    assert off[4] > 5


@pytest.mark.parametrize(
    ("spoil", "expected"),
    [
        (lambda b: b.update(freeboards=[]), ("no-heights", "#/freeboards")),
        (lambda b: b.update(freeboards=b["freeboards"][:2]), ("plane-not-determined", "#")),
        (lambda b: [one.update(reference_z_m=20.0) for one in b["freeboards"]], ("waterplane-misses-hull", "#/hull")),
        (lambda b: b.pop("water"), ("missing-field", "#/water")),
    ],
)
def test_waterline_refuses(client, record, spoil, expected):
    body = part(record, "hull", "water", "freeboards")
    spoil(body)
    assert expected in refused(client, "waterline", body)


def test_deadweight_alone_sums_the_ledger(client, record):
    body = part(record, "items", "tanks", "weights")
    found = post(client, "deadweight", {**body, "lightship_mass_t": 1162.4, "lightship_vcg_m": 5.08})
    sums = found["deadweight"]["sums"]
    by_action = {
        action: sum(one["mass_t"] for one in record["items"] if one["action"] == action)
        for action in ("remove", "add", "relocate")
    }
    # liquids of the demo: 17.4 × 1.025 + 12.6 × 1.0 + a full tank of 4 × 1.4 × 2 m at 0.86
    liquids = 17.4 * 1.025 + 12.6 + 4 * 1.4 * 2 * 0.86
    assert sums["removed_mass_t"] == pytest.approx(by_action["remove"], abs=1e-9)
    assert sums["added_mass_t"] == pytest.approx(by_action["add"], abs=1e-9)
    assert sums["relocated_mass_t"] == pytest.approx(by_action["relocate"], abs=1e-9)
    assert sums["liquids_mass_t"] == pytest.approx(liquids, abs=1e-9)
    assert sums["inclining_weights_mass_t"] == pytest.approx(5.2 + 5.04 + 5.12 + 5.26, abs=1e-9)
    share = 100 * (by_action["remove"] + liquids) / 1162.4
    assert found["deadweight"]["deadweight_over_lightship_percent"] == pytest.approx(share, rel=1e-12)
    assert found["review"]["shares"]["deadweight_percent"] == pytest.approx(share, rel=1e-9)
    assert found["review"]["to_land"][0]["name"] == "towing gear on deck"  # the heaviest to remove


def test_deadweight_names_what_looks_wrong(client, record):
    items = [{"name": "generator, port", "action": "remove", "mass_t": 1.0, "x_m": 20.0, "y_m": -2.0, "z_m": 4.0}]
    items += [{"name": "anchor ashore", "action": "add", "mass_t": 2.0, "x_m": 90.0, "y_m": 0.0, "z_m": 4.0}]
    body = {"items": items, "hull": record["hull"], "lightship_mass_t": 1160.0}
    found = post(client, "deadweight", body)["review"]["suspicions"]
    assert ("side-against-name", 0) in [(one["code"], one["index"]) for one in found]
    assert ("outside-ship", 1) in [(one["code"], one["index"]) for one in found]


def test_deadweight_of_a_hull_known_by_tables_looks_at_no_bounds(client):
    item = {"name": "anchor ashore", "action": "add", "mass_t": 2.0, "x_m": 900.0, "y_m": 0.0, "z_m": 4.0}
    body = {"items": [item], "hull": TABLES, "lightship_mass_t": 1160.0}
    found = post(client, "deadweight", body)
    assert found["deadweight"]["sums"]["added_mass_t"] == pytest.approx(2.0)
    assert found["review"]["suspicions"] == []


def test_deadweight_liquid_lies_as_the_ship_heels(client, record):
    tank = record["tanks"][1]  # 4 × 3.6 × 1.8 m, 12.6 m³ of fresh water: i = l b³/12, moved by tan φ i/v
    assert tank["shape"]["kind"] == "box"
    body = {"tanks": [tank], "heel_deg": 2.0}
    liquid = post(client, "deadweight", body)["deadweight"]["liquids"][0]
    inertia = 4.0 * 3.6**3 / 12
    assert liquid["y_m"] == pytest.approx(-np.tan(np.radians(2.0)) * inertia / 12.6, rel=1e-9)  # to starboard
    assert liquid["free_surface_tm"] == pytest.approx(inertia / np.cos(np.radians(2.0)) ** 3, rel=1e-9)


@pytest.mark.parametrize(
    ("body", "expected"),
    [
        ({"trim_m": 1.0}, ("length-missing", "#")),
        ({"axes": {"x": "aft_from_fp"}}, ("length-missing", "#")),
        ({"lightship_mass_t": 0.0}, ("out-of-bounds", "#/lightship_mass_t")),
        (
            {"items": [{"name": "a", "action": "relocate", "mass_t": 1, "x_m": 0, "y_m": 0, "z_m": 0}]},
            ("relocation-place", "#/items/0"),
        ),
    ],
)
def test_deadweight_refuses(client, body, expected):
    assert expected in refused(client, "deadweight", body)


def test_incline_with_the_hull_is_that_of_the_whole(client, record, whole):
    names = ("hull", "water", "freeboards", "tanks", "weights", "moves", "instruments")
    found = post(client, "incline", part(record, *names))
    ours, theirs = found["incline"], whole["incline"]
    for name in ("gm_fluid_m", "gm_solid_m", "slope_per_tm", "geometric_fit", "points"):
        assert ours[name] == theirs[name]
    assert ours["gm_standard_uncertainty_m"] == pytest.approx(theirs["gm_standard_uncertainty_m"], rel=1e-12)
    assert found["as_inclined"] == whole["as_inclined"]


def test_incline_with_a_displacement_is_the_straight_line(client):
    """25 t over 15 m, 8000 t, 0.20 m on 4 m: w d L/(W deflection) = 0.9375 m in closed form.

    The figures are an example of "Ship Stability for Masters and Mates", inclining chapter (from memory: 0.94 m).
    """
    body = {
        "displacement_t": 8000.0,
        "weights": [{"id": "w", "mass_t": 25.0, "x_m": 0.0, "y_m": 7.5, "z_m": 10.0}],
        "moves": [{"weight": "w", "to_y_m": -7.5}],
        "instruments": [
            {"kind": "pendulum", "id": "p", "length_m": 4.0, "positive": "starboard", "deflections_m": [0.0, 0.2]}
        ],
    }
    found = post(client, "incline", body)
    assert found["incline"]["gm_fluid_m"] == pytest.approx(0.9375, rel=1e-12)
    # u: weight 0.25 %, two places 5 mm each of 15 m, length 3 mm of 4 m, two readings 0.5 mm of 200 mm, in quadrature
    relative = np.sqrt(0.0025**2 + 2 * (0.005 / 15) ** 2 + (0.003 / 4) ** 2 + 2 * (0.0005 / 0.2) ** 2)
    assert found["incline"]["gm_standard_uncertainty_m"] == pytest.approx(0.9375 * relative, rel=1e-9)
    assert "geometric_fit" not in found["incline"]


@pytest.mark.parametrize("count", [0, 1, 2, 3])
def test_incline_while_the_test_is_running(client, record, count):
    names = ("hull", "water", "freeboards", "tanks", "weights", "moves", "instruments")
    body = part(record, *names)
    for one in body["instruments"]:
        for name in ("deflections_m", "angles_deg", "port_levels_m", "starboard_levels_m"):
            if name in one:
                one[name] = one[name][:count]
    found = post(client, "incline", body)
    if count < 2:
        assert found["incline"]["outcome"] == "not_determined"
        assert found["incline"]["findings"][0]["code"] == "too-few-readings"
    else:
        assert found["incline"]["gm_fluid_m"] > 0
        assert found["incline"]["gm_standard_uncertainty_m"] > 0


def test_incline_before_any_instrument_stands(client, record):
    body = part(record, "weights") | {"moves": [], "instruments": [], "displacement_t": 1228.0}
    found = post(client, "incline", body)
    assert found["incline"]["outcome"] == "not_determined"
    assert found["guidance"]["stop"] == "go_on"
    assert found["guidance"]["cannot_say"]
    body |= part(record, "hull", "water", "freeboards")
    del body["displacement_t"]
    found = post(client, "incline", body)
    assert found["incline"]["outcome"] == "not_determined"
    assert found["as_inclined"]["displacement_t"] > 1000


@pytest.mark.parametrize(
    ("spoil", "expected"),
    [
        (lambda b: b.pop("displacement_t"), ("displacement-or-hull", "#")),
        (lambda b: b.update(hull=demo_record()["hull"]), ("displacement-or-hull", "#/displacement_t")),
        (
            lambda b: (b.update(hull=demo_record()["hull"]), b.pop("displacement_t")),
            ("missing-field", "#"),
        ),
        (lambda b: b.update(displacement_t=-1.0), ("out-of-bounds", "#/displacement_t")),
        (lambda b: b["moves"][0].update(weight="no such"), ("unknown-weight", "#/moves/0/weight")),
        (lambda b: b["instruments"].append(b["instruments"][0]), ("duplicate-id", "#/instruments/3/id")),
        (lambda b: b.update(axes={"y": "starboard"}), ("length-missing", "#")),
    ],
)
def test_incline_refuses(client, record, spoil, expected):
    body = part(record, "weights", "moves", "instruments") | {"displacement_t": 1228.0}
    spoil(body)
    assert expected in refused(client, "incline", body)


def given_as_inclined(whole):
    at = whole["as_inclined"]
    return {name: at[name] for name in ("displacement_t", "heel_deg", "trim_m", "lcg_m", "tcg_m")}


def test_lightship_from_the_solid_centre_is_that_of_the_whole(client, record, whole):
    at = given_as_inclined(whole) | {"vcg_m": whole["as_inclined"]["vcg_m"]}
    body = {"as_inclined": at, "length_bp_m": 56.0} | part(record, "weights", "tanks", "items")
    found = post(client, "lightship", body)["lightship"]
    for name in ("mass_t", "x_m", "y_m", "z_m"):
        assert found[name] == pytest.approx(whole["lightship"][name], abs=1e-9)
    assert len(found["table"]) == len(whole["lightship"]["table"])


def test_lightship_by_km_and_gm_takes_the_free_surface_off_once(client, record, whole):
    """The regression-only route: KM and GM fluid of the whole answer give its lightship by regression."""
    at, incline = whole["as_inclined"], whole["incline"]
    by_numbers = given_as_inclined(whole) | {
        "km_transverse_m": at["km_transverse_m"],
        "gm_fluid_m": incline["gm_fluid_m"],
    }
    body = {"as_inclined": by_numbers, "length_bp_m": 56.0} | part(record, "weights", "tanks", "items")
    found = post(client, "lightship", body)["lightship"]
    # 0.2° of heel: cos φ is 6e-6 from 1, on BM − GM of about 3.4 m
    assert found["z_m"] == pytest.approx(whole["lightship"]["by_method"]["regression"]["z_m"], abs=1e-4)


def test_lightship_uncertainty_by_closed_form(client):
    """W 1000 t ± 3, KG 5 m ± 0.02, an exact item of 100 t at 15 m removed: two terms in quadrature, in closed form."""
    body = {
        "as_inclined": {
            "displacement_t": {"value": 1000.0, "standard_uncertainty": 3.0},
            "lcg_m": 30.0,
            "vcg_m": {"value": 5.0, "standard_uncertainty": 0.02},
        },
        "items": [{"name": "load", "action": "remove", "mass_t": 100.0, "x_m": 30.0, "y_m": 0.0, "z_m": 15.0}],
        "uncertainty": {"ledger_mass_percent": 0, "ledger_centre_m": 0},
    }
    found = post(client, "lightship", body)["lightship"]
    height = (1000 * 5.0 - 100 * 15.0) / 900
    assert found["z_m"] == pytest.approx(height, rel=1e-12)
    expected = np.hypot(1000 * 0.02 / 900, (5.0 - height) * 3.0 / 900)
    assert found["standard_uncertainty"]["z_m"] == pytest.approx(expected, rel=1e-12)
    assert found["standard_uncertainty"]["mass_t"] == pytest.approx(3.0, rel=1e-12)


@pytest.mark.parametrize(
    ("at", "expected"),
    [
        ({"displacement_t": 100, "lcg_m": 1}, ("vcg-or-km", "#/as_inclined")),
        ({"displacement_t": 100, "lcg_m": 1, "vcg_m": 1, "gm_fluid_m": 1}, ("vcg-or-km", "#/as_inclined/vcg_m")),
        ({"displacement_t": 0, "lcg_m": 1, "vcg_m": 1}, ("out-of-bounds", "#/as_inclined/displacement_t")),
        ({"displacement_t": 100, "lcg_m": 1, "vcg_m": 1, "trim_m": 1}, ("length-missing", "#")),
    ],
)
def test_lightship_refuses(client, at, expected):
    assert expected in refused(client, "lightship", {"as_inclined": at})


def test_lightship_of_less_than_nothing(client):
    body = {
        "as_inclined": {"displacement_t": 100, "lcg_m": 1, "vcg_m": 1},
        "items": [{"name": "load", "action": "remove", "mass_t": 100.0, "x_m": 30.0, "y_m": 0.0, "z_m": 15.0}],
    }
    assert ("lightship-not-positive", "#/items") in refused(client, "lightship", body)
