"""Tanks over HTTP: a box tank by closed forms, and what is refused."""

import copy

import numpy as np
import pytest
from starlette.testclient import TestClient

from fixtures.demo import demo_record as noiseless_record
from service.app import create_app
from service.demo import demo_record
from service.resources import flotation, incline, survey_only
from service.resources.plan import EXAMPLE as PLAN
from service.resources.tanks import EXAMPLE, TANK


@pytest.fixture(scope="module")
def client():
    with TestClient(create_app()) as one:
        yield one


def test_capacity_of_a_box(client):
    found = client.post("/v1/tanks/capacity", json={**EXAMPLE, "step_m": 0.5}).json()
    assert found["capacity_m3"] == pytest.approx(80.0, rel=1e-12)
    columns = found["columns"]
    assert columns["volume_m3"] == pytest.approx([0, 20, 40, 60, 80], abs=1e-10)  # 10 × 4 × sounding
    assert columns["mass_t"][2] == pytest.approx(40 * 0.86, rel=1e-12)
    assert columns["vcg_m"][2] == pytest.approx(0.5, abs=1e-12)
    # ρ l b³/12, and none where empty or full
    assert columns["free_surface_moment_tm"] == pytest.approx([0, *[0.86 * 10 * 64 / 12] * 3, 0], abs=1e-9)


def test_true_shift_of_a_box_is_wall_sided(client):
    found = client.post("/v1/tanks/free-surface", json={**EXAMPLE, "heel_deg": [0.0, 10.0]}).json()
    small = 0.86 * 10 * 64 / 12
    assert found["free_surface_moment_tm"] == pytest.approx(small, rel=1e-11)
    # wall-sided: ρ i (1 + tan²/2) sin φ about the upright centre (closed form)
    angle = np.radians(10.0)
    assert found["shift_moment_tm"][1] == pytest.approx(small * (1 + np.tan(angle) ** 2 / 2) * np.sin(angle), rel=1e-9)


@pytest.mark.parametrize(
    ("path", "change", "code", "pointer"),
    [
        ("capacity", {}, "soundings-or-step", "#"),
        ("capacity", {"soundings_m": [9.0]}, "out-of-range", "#"),
        (
            "free-surface",
            {"tank": {**TANK, "contents": {"kind": "volume", "volume_m3": 81.0}}},
            "volume-beyond-capacity",
            "#/tank/contents/volume_m3",
        ),
        ("free-surface", {"tank": {**TANK, "shape": {**TANK["shape"], "z_max_m": -1.0}}}, "box-ends", "#/tank/shape"),
        ("free-surface", {"heel_deg": [81.0]}, None, "#/heel_deg/0"),
    ],
)
def test_refusals(client, path, change, code, pointer):
    refused = client.post(f"/v1/tanks/{path}", json={**EXAMPLE, **change})
    assert refused.status_code == 422
    faults = refused.json()["errors"]
    assert code is None or code in [one["code"] for one in faults], faults
    assert any(one["pointer"].startswith(pointer) for one in faults), faults


def with_pipe(*points, **changes):
    return {**EXAMPLE, "tank": {**TANK, "sounding_pipe": {"points_m": [list(one) for one in points]}, **changes}}


def columns(client, body):
    answer = client.post("/v1/tanks/capacity", json=body)
    assert answer.status_code == 200, answer.text
    return answer.json()["columns"]


LEANING = ([22.0, -1.5, 0.0], [25.0, -1.5, 4.0])  # 3-4-5: 0.8 m up for a metre along it


def test_a_plumb_pipe_of_points_is_the_sounding_point(client):
    point = {**EXAMPLE, "tank": {**TANK, "sounding_point": {"x_m": 28.0, "y_m": 1.0}}}
    lying = {"heel_deg": 4.0, "trim_m": 0.6, "step_m": 0.25}
    points = with_pipe([28.0, 1.0, 0.0], [28.0, 1.0, 2.0])
    one, other = columns(client, {**point, **lying}), columns(client, {**points, **lying})
    assert one.keys() == other.keys()
    for name, values in one.items():
        assert other[name] == pytest.approx(values, rel=1e-12, abs=1e-12, nan_ok=False), name


def test_an_inclined_pipe_by_its_cosine(client):
    """Upright: depth = sounding × 0.8 (3-4-5); volume 10 × 4 × depth, full where the pipe has left the tank."""
    found = columns(client, {**with_pipe(*LEANING), "soundings_m": [0.0, 0.5, 1.0, 2.0, 2.5, 4.0]})
    assert found["volume_m3"] == pytest.approx([0.0, 16.0, 32.0, 64.0, 80.0, 80.0], abs=1e-11)
    assert found["ullage_m"] == pytest.approx([5.0, 4.5, 4.0, 3.0, 2.5, 1.0], abs=1e-12)


def test_an_inclined_pipe_heeled_and_trimmed_by_its_point(client):
    """The level passes through the pipe's point: depth in the middle = z + y tan φ + (x − 25) t/L (closed form)."""
    heel, trim, sounding = 3.0, 0.3, 1.5
    x, y, z = 22.0 + 0.6 * sounding, -1.5, 0.8 * sounding
    depth = z + y * np.tan(np.radians(heel)) + (x - 25.0) * trim / 60.0
    body = {**with_pipe(*LEANING), "soundings_m": [sounding], "heel_deg": heel, "trim_m": trim}
    assert columns(client, body)["volume_m3"] == pytest.approx([40.0 * depth], rel=1e-12)


def test_a_bent_pipe_and_its_ullage(client):
    """1 m plumb, then 3-4-5 to 1.0 + 0.8 (s − 1) m; an ullage of 0.5 leaves 2.25 − 0.5 = 1.75 m along it."""
    contents = {"kind": "ullage", "ullage_m": 0.5}
    bent = with_pipe([22.0, 0.0, 0.0], [22.0, 0.0, 1.0], [22.75, 0.0, 2.0], contents=contents)
    found = client.post("/v1/tanks/free-surface", json=bent).json()
    assert found["volume_m3"] == pytest.approx(40.0 * (1.0 + 0.8 * 0.75), rel=1e-12)


def test_a_pipe_in_feet_and_inches(client):
    feet = with_pipe(["72 ft", "-4 ft 11 1/16 in", 0], ["25000 mm", "-4 ft 11 1/16 in", "13 ft 1 1/2 in"])
    metres = with_pipe([72 * 0.3048, -59.0625 * 0.0254, 0], [25.0, -59.0625 * 0.0254, 157.5 * 0.0254])
    asked = {"step_m": 0.5, "heel_deg": 2.0}
    found, wanted = columns(client, {**feet, **asked}), columns(client, {**metres, **asked})
    assert found["volume_m3"] == pytest.approx(wanted["volume_m3"], rel=1e-13)
    written = client.post("/v1/tanks/capacity?format=html&units=us", json={**feet, **asked})
    assert written.status_code == 200


@pytest.mark.parametrize(
    ("points", "place"),
    [
        ([[22.0, 0.0, 0.1], [22.0, 0.0, 2.0]], None),  # its foot stands on a striking plate
        ([[19.97, 0.0, 0.0], [19.97, 0.0, 2.0]], None),  # within 0.05 m
        ([[22.0, 0.0, 0.0], [22.0, 0.0, 2.0], [10.0, 9.0, 6.0]], None),  # above the tank it may run anywhere
        ([[22.0, 0.0, 0.0], [22.0, 2.5, 1.0], [22.0, 0.0, 2.0]], [22.0, 2.5, 1.0]),
        ([[22.0, 0.0, -0.2], [22.0, 0.0, 2.0]], [22.0, 0.0, -0.2]),
        ([[22.0, 0.0, 3.0], [22.0, 0.0, 4.0]], [22.0, 0.0, 3.0]),
    ],
)
def test_a_pipe_outside_its_tank_is_a_finding(client, points, place):
    found = client.post("/v1/tanks/capacity", json={**with_pipe(*points), "soundings_m": [0.5]}).json()["findings"]
    assert [one["place_m"] for one in found if one["code"] == "sounding-pipe-outside"] == ([place] if place else [])


def test_a_sounding_point_outside_its_tank_is_a_finding_in_every_answer_about_tanks(client):
    """One finding, whichever operation reads the tank."""
    outside = {**TANK, "sounding_point": {"x_m": 58.0, "y_m": 0.0}}
    box = {**survey_only.EXAMPLE["tanks"][0], "sounding_point": {"x_m": 58.0, "y_m": 0.0}}
    whole = {name: part for name, part in demo_record().items() if name not in ("loading_conditions", "stability")}
    whole["tanks"][0]["sounding_point"] = {"x_m": 0.0, "y_m": 40.0}
    for path, body in (
        ("tanks/free-surface", {**EXAMPLE, "tank": outside}),
        ("flotation", {**flotation.EXAMPLE, "tanks": [outside]}),
        ("stability-tests/survey", {**survey_only.EXAMPLE, "tanks": [box]}),
        ("stability-tests/incline", {**incline.example(), "tanks": [outside]}),
        ("stability-tests/plan", {**PLAN, "tanks": [outside]}),
        ("stability-tests", whole),
    ):
        answer = client.post(f"/v1/{path}", json=body)
        assert answer.status_code == 200, answer.text
        assert "sounding-pipe-outside" in [one["code"] for one in answer.json()["findings"]], path


TABLE = {
    "kind": "table",
    "sounding_m": [0.0, 1.0, 2.0],
    "volume_m3": [0.0, 40.0, 80.0],
    "x_m": [25.0, 25.0, 25.0],
    "y_m": [0.0, 0.0, 0.0],
    "z_m": [0.0, 0.5, 1.0],
    "free_surface_moment_m4": [53.3, 53.3, 53.3],
}


def test_a_sounding_point_beside_a_table_is_said_to_be_unused(client):
    """The answer without the point, and the finding."""
    table = {**TANK, "shape": TABLE}
    body = {**EXAMPLE, "tank": table, "step_m": 0.5}
    without = client.post("/v1/tanks/capacity", json=body).json()
    body["tank"] = {**table, "sounding_point": {"x_m": 25.0, "y_m": 0.0}}
    found = client.post("/v1/tanks/capacity", json=body).json()
    assert found["columns"] == without["columns"]
    assert [one["code"] for one in without["findings"]] == ["tank-as-table"]
    assert [one["code"] for one in found["findings"]] == ["tank-as-table", "sounding-point-not-used"]


@pytest.mark.parametrize(
    ("change", "code", "pointer"),
    [
        ({"sounding_pipe": {"points_m": [[22, 0, 2], [22, 0, 0]]}}, "pipe-not-rising", "/points_m/1"),
        ({"sounding_pipe": {"points_m": [[22, 0, 0], [23, 0, 0]]}}, "pipe-not-rising", "/points_m/1"),
        ({"sounding_pipe": {"points_m": [[22, 0, 0]]}}, "wrong-count", "/points_m"),
        ({"sounding_pipe": {"points_m": [[22, 0], [22, 1]]}}, "missing-field", "/points_m/0/2"),
        ({"sounding_pipe": {"points_m": [[22, 0, 0], ["22", 0, 1]]}}, "quantity-no-unit", "/points_m/1/0"),
        ({"sounding_pipe": {"points_m": [[22, 0, 0], [22, 0, 2e4]]}}, "out-of-bounds", "/points_m/1/2"),
        ({"sounding_pipe": {"points_m": [[22, 0, 0], [22, 0, {"value": 1}]]}}, "wrong-type", "/points_m/1/2"),
        ({"sounding_pipe": {"points_m": [[22, 0, 0], [22, 0, 1]], "foot": 1}}, "unknown-field", ""),
        (
            {"sounding_pipe": {"points_m": LEANING}, "sounding_point": {"x_m": 25, "y_m": 0}},
            "sounding-point-or-pipe",
            "",
        ),
        ({"sounding_pipe": {"points_m": LEANING}, "shape": TABLE}, "table-with-pipe", ""),
    ],
)
def test_what_is_no_pipe_is_refused_wherever_tanks_are(client, change, code, pointer):
    tank = {**TANK, **change}
    for path, body, place in (
        ("tanks/capacity", {**EXAMPLE, "step_m": 0.5, "tank": tank}, "#/tank"),
        ("stability-tests/plan", {**PLAN, "tanks": [tank]}, "#/tanks/0"),
        ("stability-tests", {**demo_record(), "tanks": [tank]}, "#/tanks/0"),
    ):
        refused = client.post(f"/v1/{path}", json=copy.deepcopy(body))
        assert refused.status_code == 422
        faults = [(one["code"], one["pointer"]) for one in refused.json()["errors"]]
        assert (code, f"{place}/sounding_pipe{pointer}") in faults, faults


def test_a_pipe_that_falls_at_the_heel_asked_is_refused(client):
    """It leans forward 3 in 5, so trimmed by the head by more than 4 in 3 it falls."""
    body = {**with_pipe(*LEANING), "soundings_m": [1.0], "trim_m": 60.0 * -1.3}
    assert client.post("/v1/tanks/capacity", json=body).status_code == 200
    refused = client.post("/v1/tanks/capacity", json={**body, "trim_m": 60.0 * -1.4})
    assert refused.status_code == 422
    assert refused.json()["errors"][0]["code"] == "pipe-not-rising"


def test_a_record_sounded_by_an_inclined_pipe_is_the_record_with_the_volume(client):
    """Demo tank 0 sounded along a 3-4-5 pipe over its middle, at her own survey plane: the volume comes back."""
    record = noiseless_record(instruments="three_kinds")
    del record["loading_conditions"], record["stability"]
    tank = record["tanks"][0]
    box, volume = tank["shape"], tank["contents"]["volume_m3"]
    at = client.post("/v1/stability-tests", json=record).json()
    plane, length = at["waterline"], record["hull"]["length_bp_m"]
    lx, ly = box["x_max_m"] - box["x_min_m"], box["y_max_m"] - box["y_min_m"]
    x0, y0 = 0.5 * (box["x_min_m"] + box["x_max_m"]), 0.5 * (box["y_min_m"] + box["y_max_m"])
    depth = volume / tank.get("permeability_ratio", 1.0) / (lx * ly)  # in the middle, whatever heel and trim
    # the pipe runs (−0.6, 0, 0.8) s from the middle of the bottom; z − depth = −(x − x0) t/L: s (0.8 − 0.6 t/L) = depth
    sounding = depth / (0.8 - 0.6 * plane["trim_m"] / length)
    tank["sounding_pipe"] = {"points_m": [[x0, y0, box["z_min_m"]], [x0 - 1.5, y0, box["z_min_m"] + 2.0]]}
    tank["contents"] = {"kind": "sounding", "sounding_m": {"value": sounding, "standard_uncertainty": 0.002}}
    found = client.post("/v1/stability-tests", json=record).json()
    assert found["deadweight"]["liquids"][0]["volume_m3"] == pytest.approx(volume, rel=1e-9)
    for name in ("mass_t", "x_m", "y_m", "z_m"):
        assert found["lightship"][name] == pytest.approx(at["lightship"][name], rel=1e-9, abs=1e-9)


def test_a_permeability_beside_a_table_is_said_to_be_unused(client):
    body = {**EXAMPLE, "tank": {**TANK, "shape": TABLE, "permeability_ratio": 1.0}, "step_m": 0.5}
    without = client.post("/v1/tanks/capacity", json=body).json()
    body["tank"]["permeability_ratio"] = 0.95
    found = client.post("/v1/tanks/capacity", json=body).json()
    assert found["columns"] == without["columns"]
    assert [one["code"] for one in found["findings"]] == ["tank-as-table", "permeability-not-used"]
