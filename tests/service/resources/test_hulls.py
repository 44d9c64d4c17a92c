"""Inspection of hulls over HTTP: a tetrahedron's volume, an inverted skin, and what is refused."""

import base64

import pytest
from starlette.testclient import TestClient

from service.app import create_app
from service.schemas.hull import BOX_BARGE

FACES = [[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]]


def mesh(faces=FACES, **change):
    vertices = [[0, 0, 0], [6, 0, 0], [0, 6, 0], [0, 0, 6]]
    return {"hull": {"kind": "mesh", "length_bp_m": 6.0, "vertices_m": vertices, "faces": faces, **change}}


@pytest.fixture(scope="module")
def client():
    with TestClient(create_app()) as one:
        yield one


def inspect(client, body):
    return client.post("/v1/hulls/inspection", json=body)


def test_a_tetrahedron(client):
    found = inspect(client, mesh()).json()
    assert found["volume_m3"] == pytest.approx(36.0, rel=1e-12)  # 6³/6
    assert (found["lowest_corner_m"], found["highest_corner_m"]) == ([0, 0, 0], [6, 6, 6])
    assert found["findings"] == []


def test_a_skin_turned_inside_out_is_turned_and_said_so(client):
    found = inspect(client, mesh([face[::-1] for face in FACES])).json()
    assert found["volume_m3"] == pytest.approx(36.0, rel=1e-12)
    assert [one["code"] for one in found["findings"]] == ["inverted-turned"]


def test_an_open_skin_is_a_finding_and_has_no_volume(client):
    found = inspect(client, mesh(FACES[:3])).json()
    assert "volume_m3" not in found
    assert "open-skin" in [one["code"] for one in found["findings"]]


@pytest.mark.parametrize(
    ("body", "code"),
    [
        (mesh([]), "empty-mesh"),
        (mesh([[0, 2, 9], *FACES[1:]]), "face-index"),
        (mesh([FACES[0][::-1], *FACES[1:]]), "inconsistent-orientation"),
        (mesh([[0, 0, 1], [1, 0, 0]]), "degenerate-triangles"),
    ],
)
def test_refusals(client, body, code):
    refused = inspect(client, body)
    assert refused.status_code == 422
    faults = refused.json()["errors"]
    assert code in [one["code"] for one in faults], faults
    assert faults[0]["pointer"].startswith("#/hull")


def block(x, y, z, first=0):
    """Vertices and twelve triangles of a box between two x, two y and two z."""
    vertices = [[a, b, c] for c in z for b in y for a in x]
    sides = [(0, 2, 3, 1), (4, 5, 7, 6), (0, 1, 5, 4), (2, 6, 7, 3), (0, 4, 6, 2), (1, 3, 7, 5)]
    faces = [[first + i for i in t] for a, b, c, d in sides for t in ((a, b, c), (a, c, d))]
    return vertices, faces


def two_blocks(x, y, z):
    """Return a barge of 60 × 12 × 8 m and another box, as one mesh."""
    one, other = block((0, 60), (-6, 6), (0, 8)), block(x, y, z, first=8)
    return {"kind": "mesh", "length_bp_m": 60.0, "vertices_m": one[0] + other[0], "faces": one[1] + other[1]}


def as_file(hull):
    lines = [f"v {x} {y} {z}" for x, y, z in hull["vertices_m"]]
    lines += ["f " + " ".join(str(i + 1) for i in face) for face in hull["faces"]]
    data = base64.b64encode("\n".join(lines).encode()).decode()
    return {"kind": "mesh_file", "format": "obj", "length_bp_m": 60.0, "data_base64": data}


@pytest.mark.parametrize("given", [lambda hull: hull, as_file], ids=["mesh", "mesh_file"])
def test_a_deckhouse_pushed_through_the_deck_is_counted_twice_and_said_so(client, given):
    found = inspect(client, {"hull": given(two_blocks((12, 22), (-4, 4), (7.5, 11)))}).json()
    assert found["volume_m3"] == pytest.approx(60 * 12 * 8 + 10 * 8 * 3.5)  # 40 m³ of it twice
    (told,) = found["findings"]
    assert told["code"] == "self-intersection"
    assert told["finding_count"] == 10  # four walls of two triangles; two of the walls cross the deck's diagonal
    assert told["place_m"][2] == pytest.approx(8.0)  # in the deck
    assert "counted twice" in told["message"]


def test_the_place_of_an_intersection_turns_with_the_axes(client):
    hull = two_blocks((10, 12), (1, 3), (7.5, 11))
    x, y, z = inspect(client, {"hull": hull}).json()["findings"][0]["place_m"]
    hull["vertices_m"] = [[a, -b, c] for a, b, c in hull["vertices_m"]]
    hull["faces"] = [face[::-1] for face in hull["faces"]]
    axes = {"y": "starboard"}
    mirrored = inspect(client, {"hull": hull, "axes": axes}).json()["findings"][0]["place_m"]
    assert mirrored == pytest.approx([x, -y, z])


@pytest.mark.parametrize(
    ("other", "codes"),
    [
        (((10, 20), (-4, 4), (8, 11)), []),  # stands on the deck
        (((60, 80), (-6, 6), (0, 8)), ["edges-shared"]),  # end to end
        (((10, 20), (-4, 4), (1, 3)), ["body-within-another"]),
        (((40, 80), (-6, 6), (0, 8)), ["self-intersection"]),  # sides, deck and bottom flush
    ],
)
def test_two_bodies_in_one_mesh(client, other, codes):
    found = inspect(client, {"hull": two_blocks(*other)}).json()["findings"]
    assert [one["code"] for one in found if one["code"] != "vertices-merged"] == codes


def test_an_appendage_that_reaches_into_a_mesh_hull(client):
    vertices, faces = block((0, 60), (-6, 6), (0, 8))
    hull = {"kind": "mesh", "length_bp_m": 60.0, "vertices_m": vertices, "faces": faces}
    skeg = {"kind": "box", "x_min_m": 2, "x_max_m": 8, "y_min_m": -0.2, "y_max_m": 0.2, "z_min_m": -1, "z_max_m": 0}
    for z_max, effect, codes in ((0.0, "add", []), (0.1, "add", ["self-intersection"]), (0.1, "remove", [])):
        appendages = [{"shape": {**skeg, "z_max_m": z_max}, "effect": effect}]
        found = inspect(client, {"hull": {**hull, "appendages": appendages}}).json()
        assert [one["code"] for one in found["findings"]] == codes


DRAFTS = [2.0, 3.0, 4.0]
BOX_TABLES = {
    "kind": "tables",
    "length_bp_m": 60.0,
    "tables": [
        {
            "draft_m": DRAFTS,
            "displacement_t": [738.0 * t for t in DRAFTS],  # 1.025 × 60 × 12 × T
            "lcb_m": [30.0] * 3,
            "vcb_m": [t / 2 for t in DRAFTS],
            "lcf_m": [30.0] * 3,
            "km_transverse_m": [t / 2 + 12 / t for t in DRAFTS],  # B²/12T, B = 12 m
            "km_longitudinal_m": [t / 2 + 300 / t for t in DRAFTS],
        }
    ],
}
CURVES = {
    "displacement_t": [1476.0, 2952.0],
    "heel_deg": [0.0, 10.0],
    # (KM + BM tan²φ/2) sin φ of the box at 2 and 4 m of draft: no corner is immersed or emerges at 10°
    "kn_m": [[0.0, (t / 2 + 12 / t + 6 / t * 0.0310912041) * 0.1736481777] for t in (2.0, 4.0)],
}


def held(client, change=None, cross_curves=None, axes=None, **rows):
    tables = {**BOX_TABLES, "tables": [{**BOX_TABLES["tables"][0], **rows}], **(change or {})}
    if cross_curves:
        tables["cross_curves"] = cross_curves
    body = {"hull": BOX_BARGE, "approved_tables": tables} | ({"axes": axes} if axes else {})
    return inspect(client, body)


def test_tables_of_the_hull_itself(client):
    found = held(client, cross_curves=CURVES).json()
    against = found["approved_tables"]
    assert against["outcome"] == "within"
    assert (against["source"], against["source_status"]) == ("MSC.1/Circ.1229", "published")
    by_name = {one["quantity"]: one for one in against["quantities"]}
    assert set(by_name) == {*BOX_TABLES["tables"][0], "moment_to_trim_tm_per_cm", "kn_m"} - {"draft_m"}
    assert max(one["worst_deviation_over_tolerance_ratio"] for one in by_name.values()) < 1e-6
    assert by_name["vcb_m"]["tolerance_percent"] == 1.0
    assert by_name["vcb_m"]["tolerance_m"] == 0.05
    assert by_name["kn_m"]["tolerance_m"] == 0.05
    assert by_name["kn_m"]["assessed_count"] == 4
    assert against["deviations"]["draft_m"] == DRAFTS
    assert against["deviations"]["lcb_m"] == pytest.approx([0.0] * 3, abs=1e-9)
    assert against["kn_deviations"]["heel_deg"] == [0.0, 10.0, 0.0, 10.0]
    assert "tables-beyond-tolerance" not in [one["code"] for one in found["findings"]]


def test_tables_from_another_base_line_are_beyond_tolerance(client):
    found = held(client, vcb_m=[t / 2 + 0.3 for t in DRAFTS], km_transverse_m=[t / 2 + 12 / t + 0.3 for t in DRAFTS])
    against = found.json()["approved_tables"]
    assert against["outcome"] == "exceeded"
    by_name = {one["quantity"]: one for one in against["quantities"]}
    assert by_name["vcb_m"]["exceeded_count"] == 3
    assert by_name["displacement_t"]["outcome"] == "within"
    assert by_name["vcb_m"]["worst_draft_m"] == 2.0
    assert by_name["vcb_m"]["worst_deviation_over_tolerance_ratio"] == pytest.approx(0.3 / 0.013)  # 1 % of 1.3 m
    assert against["deviations"]["vcb_m"] == pytest.approx([-0.3] * 3)  # geometry less table
    (told,) = (one for one in found.json()["findings"] if one["code"] == "tables-beyond-tolerance")
    assert told["finding_count"] == sum(one["exceeded_count"] for one in against["quantities"])


def test_cross_curves_off_by_more_than_five_centimetres(client):
    for off, outcome in ((0.049, "within"), (0.051, "exceeded")):
        curves = {**CURVES, "kn_m": [[0.0, kn + off] for _, kn in CURVES["kn_m"]]}
        assert held(client, cross_curves=curves).json()["approved_tables"]["outcome"] == outcome


def test_deviations_turn_with_the_axes(client):
    plain = held(client, lcb_m=[29.9] * 3).json()["approved_tables"]["deviations"]["lcb_m"]
    turned = held(client, lcb_m=[30.1] * 3, axes={"x": "aft_from_fp"}).json()["approved_tables"]["deviations"]["lcb_m"]
    assert plain == pytest.approx([0.1] * 3)
    assert turned == pytest.approx([-0.1] * 3)


def test_a_draft_above_the_hull_is_not_assessed(client):
    high = held(client, draft_m=[2.0, 3.0, 8.5]).json()["approved_tables"]
    assert high["deviations"]["lcf_m"][2] is None
    assert {one["quantity"]: one["assessed_count"] for one in high["quantities"]}["lcf_m"] == 2


@pytest.mark.parametrize(
    ("change", "code", "pointer"),
    [
        ({"change": {"length_bp_m": 61.0}}, "length-mismatch", "#/approved_tables/length_bp_m"),
        ({"draft_m": [2.0, 4.0, 3.0]}, "tables-not-monotone", "#/approved_tables/tables/0/draft_m/2"),
        ({"vcb_m": [1.0, 9.0, 2.0]}, "tables-bm", "#/approved_tables/tables/0/km_transverse_m/1"),
        (
            {"cross_curves": {**CURVES, "kn_m": [[0.0], [0.0, 1.0]]}},
            "columns-differ",
            "#/approved_tables/cross_curves/kn_m/0",
        ),
        (
            {"cross_curves": {**CURVES, "displacement_t": [1476.0, 9000.0]}},
            "sinks",
            "#/approved_tables/cross_curves/displacement_t/1",
        ),
        (
            {
                "cross_curves": {
                    "displacement_t": list(range(1000, 2000)),
                    "heel_deg": list(range(30)),
                    "kn_m": [[0.0] * 30] * 1000,
                }
            },
            "too-many-rows",
            "#/approved_tables/tables",
        ),
    ],
)
def test_tables_that_are_refused(client, change, code, pointer):
    refused = held(client, **change)
    assert refused.status_code == 422, refused.text
    assert (code, pointer) in [(one["code"], one["pointer"]) for one in refused.json()["errors"]], refused.json()
