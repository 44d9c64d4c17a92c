"""GET /v1/hulls"""

import json
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from service.app import create_app
from service.resources.tanks import TANK
from service.schemas.hull import BOX_BARGE
from service.settings import Settings


def test_no_library(plain_http: TestClient) -> None:
    hulls = plain_http.get("/v1/hulls").json()["hulls"]
    assert [(one["name"], one["tanks"]) for one in hulls] == [("example-barge", ["fuel"])]


def test_listed_with_their_tanks(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    (tmp_path / "barge.json").write_text(json.dumps(BOX_BARGE))
    (tmp_path / "barge.tanks.json").write_text(json.dumps({"tanks": [TANK]}))
    (tmp_path / "odd.json").write_text("{}")
    with TestClient(create_app(Settings(hull_library=tmp_path))) as http:
        hulls = http.get("/v1/hulls").json()["hulls"]
        asked = {"density_t_per_m3": 1.0, "waterplanes": [{"draft_m": 1.0}]}
        odd = http.post("/v1/hydrostatics", json={"hull": {"kind": "library", "name": "odd"}, **asked})
        sent = http.post("/v1/hydrostatics", json={"hull": BOX_BARGE, **asked})
    assert [(one["name"], one["kind"], one["length_bp_m"], one["tanks"]) for one in hulls] == [
        ("barge", "offsets", 60.0, ["fuel"])
    ]
    assert hulls[0]["hull_sha256"] == sent.json()["provenance"]["hull_sha256"]
    assert (odd.status_code, odd.json()["type"]) == (422, "/problems/library-file")
    assert "cannot be read" in caplog.text


def test_unknown_parameter(plain_http: TestClient) -> None:
    answer = plain_http.get("/v1/hulls?colour=red")
    assert (answer.status_code, answer.json()["type"]) == (422, "/problems/query")
