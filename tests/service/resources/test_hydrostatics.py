"""Hydrostatics over HTTP: a box barge by closed form, a grid's order, and what is refused."""

import base64
import csv
import io

import pytest
from starlette.testclient import TestClient

from service.app import create_app
from service.resources.hydrostatics import EXAMPLE
from tests.service.resources.test_righting_arms_tables import TABLES


@pytest.fixture(scope="module")
def client():
    with TestClient(create_app()) as one:
        yield one


def post(client, **change):
    return client.post("/v1/hydrostatics", json={**EXAMPLE, **change})


def test_the_example_is_the_box_barge_of_the_closed_forms(client):
    columns = post(client).json()["columns"]
    assert columns["volume_m3"] == pytest.approx([2520.0, 2520.0], rel=1e-12)  # LBT
    assert columns["km_transverse_m"][0] == pytest.approx(1.75 + 144 / 42, rel=1e-12)  # T/2 + B²/12T
    assert columns["tcb_m"][1] == pytest.approx(-0.6045496481433, abs=1e-11)  # (B²/12T) tan 10°, to starboard


def test_a_grid_runs_heel_fastest_then_trim_then_draft(client):
    body = {k: v for k, v in EXAMPLE.items() if k != "waterplanes"}
    body["grid"] = {"draft_m": [2.0, 3.0], "heel_deg": [0.0, 5.0], "trim_m": [0.0, 0.5]}
    columns = client.post("/v1/hydrostatics", json=body).json()["columns"]
    rows = list(zip(columns["draft_m"], columns["trim_m"], columns["heel_deg"], strict=True))
    assert [tuple(round(v, 9) for v in row) for row in rows] == [
        (d, t, h) for d in (2.0, 3.0) for t in (0.0, 0.5) for h in (0.0, 5.0)
    ]


def test_a_plane_off_the_hull_marks_a_grid_and_refuses_a_list(client):
    body = {k: v for k, v in EXAMPLE.items() if k != "waterplanes"}
    answer = client.post("/v1/hydrostatics", json={**body, "grid": {"draft_m": [3.0, 9.0]}}).json()
    assert answer["columns"]["volume_m3"] == [pytest.approx(2160.0), None]
    assert {"column": "volume_m3", "row": 1, "code": "waterplane-above-hull"} in answer["column_notes"]
    for draft, code in ((9.0, "waterplane-above-hull"), (-1.0, "waterplane-below-hull")):
        refused = post(client, waterplanes=[{"draft_m": 3.0}, {"draft_m": draft}])
        assert refused.status_code == 422
        assert [(e["code"], e["pointer"]) for e in refused.json()["errors"]] == [(code, "#/waterplanes/1")]


TETRAHEDRON = "OFF\n4 4 0\n0 0 0\n6 0 0\n0 6 0\n0 0 6\n3 0 2 1\n3 0 1 3\n3 1 2 3\n3 0 3 2\n"


def test_a_mesh_file(client):
    hull = {
        "kind": "mesh_file",
        "length_bp_m": 6.0,
        "format": "off",
        "data_base64": base64.b64encode(TETRAHEDRON.encode()).decode(),
    }
    columns = post(client, hull=hull, waterplanes=[{"draft_m": 3.0}]).json()["columns"]
    assert columns["volume_m3"][0] == pytest.approx(36.0 * (1 - 1 / 8), rel=1e-12)  # 6³/6 less the tip above, an eighth


def test_a_mesh_of_arrays_open_below_the_water_is_refused(client):
    hull = {
        "kind": "mesh",
        "length_bp_m": 6.0,
        "vertices_m": [[0, 0, 0], [6, 0, 0], [0, 6, 0], [0, 0, 6]],
        "faces": [[0, 1, 3], [1, 2, 3], [0, 3, 2]],
    }
    refused = post(client, hull=hull, waterplanes=[{"draft_m": 3.0}])
    assert refused.status_code == 422
    assert refused.json()["errors"][0]["code"] == "open-below-water"


@pytest.mark.parametrize(
    ("change", "code", "pointer"),
    [
        ({"density_t_per_m3": -1.0}, None, "#/density_t_per_m3"),
        ({"grid": {"draft_m": [1.0]}}, "waterplanes-or-grid", "#/waterplanes"),
        ({"hull": {**EXAMPLE["hull"], "kind": "unheard"}}, None, "#/hull"),
        ({"hull": {"kind": "mesh_file", "length_bp_m": 6.0, "format": "off", "data_base64": "!"}}, "not-base64",
         "#/hull/data_base64"),
        ({"waterplanes": [{"draft_m": 1.0, "heel_deg": 81.0}]}, None, "#/waterplanes/0/heel_deg"),
    ],
)  # fmt: skip
def test_refusals(client, change, code, pointer):
    refused = post(client, **change)
    assert refused.status_code == 422
    faults = refused.json()["errors"]
    assert pointer in [one["pointer"] for one in faults], faults
    assert code is None or code in [one["code"] for one in faults]


def test_too_many_planes(client):
    body = {k: v for k, v in EXAMPLE.items() if k != "waterplanes"}
    body["grid"] = {"draft_m": [0.001 * i for i in range(1, 1001)], "heel_deg": [0.1 * i for i in range(30)]}
    refused = client.post("/v1/hydrostatics", json=body)
    assert (refused.status_code, refused.json()["errors"][0]["code"]) == (422, "too-many-planes")


def test_as_csv_in_si_and_us_units(client):
    head, first, _ = client.post("/v1/hydrostatics?format=csv", json=EXAMPLE).text.strip().split("\r\n")
    row = dict(zip(head.split(","), first.split(","), strict=True))
    assert float(row["volume_m3"]) == pytest.approx(2520.0, rel=1e-12)
    head, first, _ = client.post("/v1/hydrostatics?format=csv&units=us", json=EXAMPLE).text.strip().split("\r\n")
    row = dict(zip(head.split(","), first.split(","), strict=True))
    assert float(row["draft_ft"]) == pytest.approx(3.5 / 0.3048, rel=1e-12)  # 1 ft = 0.3048 m exactly


def test_appendages_and_shell(client):
    keel = {"kind": "box", "x_min_m": 10, "x_max_m": 50, "y_min_m": -0.2, "y_max_m": 0.2, "z_min_m": -1, "z_max_m": 0}
    well = {"kind": "box", "x_min_m": 25, "x_max_m": 30, "y_min_m": -2, "y_max_m": 2, "z_min_m": -0.0, "z_max_m": 8}
    hull = {
        **EXAMPLE["hull"],
        "appendages": [{"shape": keel}, {"shape": well, "effect": "remove"}],
        "shell_mm": 10.0,
    }
    columns = post(client, hull=hull, waterplanes=[{"draft_m": 3.5}]).json()["columns"]
    # LBT + keel 40 × 0.4 × 1 − well 5 × 4 × 3.5 + 0.010 × wetted 1224 m² of the moulded box
    assert columns["volume_m3"][0] == pytest.approx(2520 + 16 - 70 + 12.24, rel=1e-10)
    assert columns["waterplane_area_m2"][0] == pytest.approx(720 - 20, rel=1e-10)


def test_a_bad_appendage_is_refused_at_its_place(client):
    flat = {"kind": "box", "x_min_m": 1, "x_max_m": 1, "y_min_m": 0, "y_max_m": 1, "z_min_m": 0, "z_max_m": 1}
    refused = post(client, hull={**EXAMPLE["hull"], "appendages": [{"shape": flat}]})
    assert refused.json()["errors"][0]["pointer"] == "#/hull/appendages/0/shape/x_min_m"


def test_half_sections_may_be_those_of_either_side(client):
    starboard = [{**s, "points_m": [[-y, z] for y, z in s["points_m"]]} for s in EXAMPLE["hull"]["stations"]]
    expected = post(client).json()["columns"]
    assert post(client, hull={**EXAMPLE["hull"], "stations": starboard}).json()["columns"] == expected
    turned = post(client, axes={"y": "starboard"}).json()["columns"]
    assert turned["tcb_m"][1] == pytest.approx(-expected["tcb_m"][1], abs=1e-12)
    assert turned["volume_m3"] == expected["volume_m3"]


def test_a_mesh_by_skin_and_by_sections(client):
    hull = {
        "kind": "mesh_file",
        "length_bp_m": 6.0,
        "format": "off",
        "data_base64": base64.b64encode(TETRAHEDRON.encode()).decode(),
    }
    both = post(client, hull=hull, waterplanes=[{"draft_m": 3.0}], method="both").json()
    assert both["columns"]["volume_m3"][0] == pytest.approx(31.5, rel=1e-12)  # 36 m³ less an eighth
    assert both["sections_columns"]["volume_m3"][0] == pytest.approx(31.5, rel=1e-3)
    assert both["largest_volume_difference_ratio"] < 1e-3
    alone = post(client, hull=hull, waterplanes=[{"draft_m": 3.0}], method="sections").json()
    assert alone["columns"] == both["sections_columns"]
    refused = post(client, method="both")
    assert [(e["code"], e["pointer"]) for e in refused.json()["errors"]] == [("method-needs-mesh", "#/method")]


def test_by_tables_as_by_the_hull_itself(client):
    """At a row of the box's tables, trimmed and heeled: trim and heel carried exactly while the sides are parallel."""
    planes = [{"draft_m": 3.5}, {"draft_m": 3.5, "trim_m": 0.5, "heel_deg": 2.0}]
    found, whole = (post(client, waterplanes=planes, hull=hull).json() for hull in (TABLES, EXAMPLE["hull"]))
    for name in ("volume_m3", "displacement_t", "lcb_m", "tcb_m", "vcb_m", "lcf_m"):
        assert found["columns"][name] == pytest.approx(whole["columns"][name], rel=1e-9, abs=1e-9), name
    assert found["columns"]["km_transverse_m"][0] == pytest.approx(1.75 + 144 / 42, rel=1e-12)  # T/2 + B²/12T
    lacking = {name for name, values in found["columns"].items() if values == [None, None]}
    assert lacking == {
        "waterplane_area_m2",
        "tcf_m",
        "wetted_area_m2",
        "immersion_t_per_cm",
        "block_coefficient",
        "prismatic_coefficient",
        "midship_coefficient",
        "waterplane_coefficient",
    }
    assert {(one["column"], one["code"]) for one in found["column_notes"]} == {
        (name, "tables-no-geometry") for name in lacking
    }
    (told,) = found["findings"]
    assert told["code"] == "trim-off-tables"
    assert "trimmed by 0.5 m" in told["message"]


def test_a_plane_beyond_the_tables_marks_a_grid_and_refuses_a_list(client):
    body = {k: v for k, v in EXAMPLE.items() if k != "waterplanes"} | {"hull": TABLES}
    grid = {"draft_m": [3.5, 9.0], "heel_deg": [0.0, 5.0]}
    reply = client.post("/v1/hydrostatics", json={**body, "grid": grid})
    assert reply.json()["columns"]["volume_m3"] == [pytest.approx(2520.0), None, None, None]
    codes = {one["row"]: one["code"] for one in reply.json()["column_notes"] if one["column"] == "volume_m3"}
    assert codes == {1: "heel-needs-hull", 2: "beyond-tables", 3: "heel-needs-hull"}
    refused = post(client, hull=TABLES, waterplanes=[{"draft_m": 3.5}, {"draft_m": 9.0}])
    assert [(e["code"], e["pointer"]) for e in refused.json()["errors"]] == [
        ("beyond-tables", "#/waterplanes/1/draft_m")
    ]
    for change, pointer in (({"sag_m": 0.02}, "#/sag_m"), ({"method": "sections"}, "#/method")):
        reply = post(client, hull=TABLES, waterplanes=[{"draft_m": 3.5}], **change)
        assert [(e["code"], e["pointer"]) for e in reply.json()["errors"]] == [("tables-no-geometry", pointer)]


def test_by_tables_in_other_forms(client):
    body = {k: v for k, v in EXAMPLE.items() if k != "waterplanes"} | {"hull": TABLES}
    body["grid"] = {"draft_m": [3.3, 3.5, 3.7]}
    page, sheet = (client.post(f"/v1/hydrostatics?format={form}", json=body) for form in ("html", "csv"))
    assert (page.status_code, sheet.status_code) == (200, 200)
    assert "3.5" in page.text
    rows = list(csv.DictReader(io.StringIO(sheet.text)))
    assert float(rows[1]["displacement_t"]) == pytest.approx(2583.0)  # 1.025 × 60 × 12 × 3.5 t
    assert rows[1]["wetted_area_m2"] == ""
