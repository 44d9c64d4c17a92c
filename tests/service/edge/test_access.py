"""The optional key."""

from collections.abc import Iterator

import pytest
from pydantic import SecretStr, ValidationError
from starlette.testclient import TestClient

from service.app import create_app
from service.settings import Settings
from tests.service.edge import small

KEY = "Quartz-0123456789-Basalt"


@pytest.fixture(scope="module")
def http() -> Iterator[TestClient]:
    with TestClient(create_app(Settings(api_key=SecretStr(KEY)), routers=(*small.ROUTERS, small.router))) as one:
        yield one


@pytest.mark.parametrize("headers", [{}, {"X-API-Key": ""}, {"X-API-Key": KEY[:-1]}, {"X-API-Key": KEY + " x"}])
def test_refused_without_the_key(http: TestClient, headers: dict[str, str]) -> None:
    answer = http.post("/v1/area", json=small.EXAMPLE, headers=headers)
    assert (answer.status_code, answer.json()["type"]) == (401, "/problems/api-key")
    assert answer.headers["www-authenticate"].startswith("ApiKey")
    assert KEY[:6] not in answer.text


def test_answered_with_the_key(http: TestClient) -> None:
    assert http.post("/v1/area", json=small.EXAMPLE, headers={"X-API-Key": KEY}).status_code == 200


def test_every_path_below_v1_asks_it(http: TestClient) -> None:
    """Whatever the document lists below /v1, and what it does not, but no page for the operator."""
    document = http.get("/openapi.json").json()
    below = [path for path in document["paths"] if path.startswith("/v1/") and not path.startswith("/v1/cells/")]
    assert len(below) > 5
    for path in [*below, "/v1/nowhere"]:
        for method in document["paths"].get(path, {"get": None}):
            assert http.request(method, path).status_code == 401, path
    for path in ("/", "/health/live", "/health/ready", "/metrics", "/docs", "/problems", "/openapi.json"):
        assert http.get(path).status_code == 200, path


def test_declared_always() -> None:
    document = create_app(Settings()).openapi()
    assert document["components"]["securitySchemes"]["apiKey"]["in"] == "header"
    for path, item in document["paths"].items():
        for operation in item.values():
            assert operation["security"][0] == {}
            assert ({"apiKey": []} in operation["security"]) == path.startswith("/v1/")


def test_a_short_key_is_refused_by_the_settings() -> None:
    with pytest.raises(ValidationError):
        Settings(api_key=SecretStr("short"))
    assert KEY not in repr(Settings(api_key=SecretStr(KEY)))
