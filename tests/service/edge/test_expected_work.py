"""Work that is sure to be too much is refused before any of it is done."""

import time

from starlette.testclient import TestClient

from engine.geometry.self_intersection import self_intersections
from service.app import create_app
from service.resources.hydrostatics import HydrostaticsRequest, compute
from service.schemas.hull import BOX_BARGE, hull_from_json
from service.schemas.work import SECONDS_PER_FACE_SEARCHED, cutting_s, searching_s
from service.settings import Settings
from tests.engine.geometry.meshes import ellipsoid

GRID = {"draft_m": [1 + i / 1000 for i in range(1000)], "heel_deg": [float(i) for i in range(20)]}
BODY = {"hull": BOX_BARGE, "density_t_per_m3": 1.025, "grid": GRID}


def test_refused_at_once() -> None:
    """20,000 planes × 12 points × 0.05 µs = 12 ms, which a limit of 1 ms does not allow."""
    with TestClient(create_app(Settings(work_limit_s=0.001))) as http:
        answer = http.post("/v1/hydrostatics", json=BODY)
    assert (answer.status_code, answer.json()["type"]) == (422, "/problems/work-over-limit")
    assert answer.json()["detail"].startswith("at least 0.012 s of processor time expected")


def test_the_bound_is_below_what_it_takes() -> None:
    """So nothing is refused that could have been done; and not so low that it never counts."""
    request = HydrostaticsRequest.model_validate(BODY, strict=False)
    expected = cutting_s(request.hull, 20_000)
    begun = time.thread_time()
    compute(request)
    assert 0 < expected < time.thread_time() - begun


def test_every_kind_has_its_size() -> None:
    mesh = b'{"kind": "mesh", "length_bp_m": 9, "vertices_m": [[0, 0, 0]], "faces": [[0, 0, 0], [0, 0, 0]]}'
    file = b'{"kind": "mesh_file", "length_bp_m": 9, "format": "stl", "data_base64": "AAAA"}'
    for data in (mesh, file):
        one = cutting_s(hull_from_json(data), 100)
        assert 0 < one < cutting_s(hull_from_json(data), 200)
        assert searching_s(hull_from_json(data)) > 0


def test_a_search_for_self_intersection_is_expected_before_it_is_begun() -> None:
    """100,000 triangles × 1.5 µs = 0.15 s, which a limit of 0.1 s does not allow; the search itself takes longer."""
    hull = {
        "kind": "mesh",
        "length_bp_m": 9,
        "vertices_m": [[0, 0, 0], [9, 0, 0], [0, 9, 0]],
        "faces": [[0, 1, 2]] * 100_000,
    }
    with TestClient(create_app(Settings(work_limit_s=0.1))) as http:
        answer = http.post("/v1/hulls/inspection", json={"hull": hull})
    assert (answer.status_code, answer.json()["type"]) == (422, "/problems/work-over-limit")
    assert answer.json()["detail"].startswith("at least 0.15 s of processor time expected")
    vertices, faces = ellipsoid(100, a=30.0, b=6.0, c=4.0, draft=2.5)
    begun = time.thread_time()
    self_intersections(vertices_m=vertices, faces=faces)
    assert len(faces) * SECONDS_PER_FACE_SEARCHED < time.thread_time() - begun
