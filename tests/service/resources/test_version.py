"""GET /v1/version."""

import numpy as np
from starlette.testclient import TestClient

import engine
import service


def test_version(plain_http: TestClient) -> None:
    document = plain_http.get("/v1/version").json()
    assert document["service_version"] == service.__version__
    assert document["engine_version"] == engine.__version__
    assert document["api_version"] == "v1"
    assert document["libraries"]["numpy"] == np.__version__
