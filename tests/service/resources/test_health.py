"""GET /health/…"""

import pytest
from starlette.testclient import TestClient


@pytest.mark.parametrize("status", ["live", "ready"])
def test_health(plain_http: TestClient, status: str) -> None:
    answer = plain_http.get(f"/health/{status}")
    assert (answer.status_code, answer.json()) == (200, {"status": status})
    assert answer.headers["cache-control"] == "no-store"
