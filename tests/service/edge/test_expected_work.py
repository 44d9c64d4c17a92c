"""Work that is sure to be too much is refused before any of it is done."""

import time

from starlette.testclient import TestClient

from service.app import create_app
from service.resources.hydrostatics import HydrostaticsRequest, compute
from service.schemas.hull import BOX_BARGE, hull_from_json
from service.schemas.work import cutting_s
from service.settings import Settings

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
