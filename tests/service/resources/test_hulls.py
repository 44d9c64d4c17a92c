"""Inspection of hulls over HTTP: a tetrahedron's volume, an inverted skin, and what is refused."""

import pytest
from starlette.testclient import TestClient

from service.app import create_app

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
