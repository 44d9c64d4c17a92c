"""The assembled service: what HTTP asks of every path."""

import logging
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from service.__main__ import main
from service.app import create_app
from service.settings import Settings

PAGES = ["/", "/health/live", "/health/ready", "/v1/version", "/problems", "/problems/schema", "/openapi.json", "/docs"]


@pytest.fixture(scope="module")
def http() -> Iterator[TestClient]:
    with TestClient(create_app(Settings())) as one:
        yield one


@pytest.mark.parametrize("page", PAGES)
def test_head_is_get_without_content(http: TestClient, page: str) -> None:
    got, head = http.get(page), http.head(page)
    assert (got.status_code, head.status_code) == (200, 200)
    assert head.content == b""
    same = {"content-type", "content-length"}
    assert {k: head.headers[k] for k in same} == {k: got.headers[k] for k in same}


@pytest.mark.parametrize("page", PAGES)
def test_options_tells_the_methods(http: TestClient, page: str) -> None:
    answer = http.options(page)
    assert (answer.status_code, answer.headers["allow"], answer.content) == (204, "GET, HEAD, OPTIONS", b"")


@pytest.mark.parametrize("page", PAGES)
def test_wrong_method(http: TestClient, page: str) -> None:
    answer = http.post(page)
    assert (answer.status_code, answer.json()["type"]) == (405, "/problems/method")
    assert answer.headers["allow"] == "GET, HEAD, OPTIONS"
    assert answer.headers["content-type"] == "application/problem+json"


@pytest.mark.parametrize("method", ["GET", "POST", "HEAD", "OPTIONS", "DELETE"])
@pytest.mark.parametrize("path", ["/nowhere", "/v2/version", "/v1/version/", "/problems/a/b", "/%00"])
def test_unknown_path(http: TestClient, method: str, path: str) -> None:
    answer = http.request(method, path)
    assert answer.status_code == 404
    assert answer.headers["content-type"] == "application/problem+json"
    assert "nowhere" not in answer.text


@pytest.mark.parametrize("page", ["/", "/health/live", "/health/ready", "/v1/version", "/problems", "/problems/schema"])
def test_unknown_query_parameter(http: TestClient, page: str) -> None:
    answer = http.get(page + "?colour=red")
    assert (answer.status_code, answer.json()["type"]) == (422, "/problems/query")


def test_every_request_has_its_own_name(http: TestClient) -> None:
    first, second = (http.get("/health/live").headers for _ in range(2))
    assert first["x-request-id"] != second["x-request-id"]
    assert re.fullmatch(r"total;dur=[0-9.]+", first["server-timing"])


def test_docs_need_no_other_host(http: TestClient) -> None:
    page = http.get("/docs").text
    assert "https://" not in page
    for asset in re.findall(r'(?:src|href)="([^"]+)"', page):
        assert http.get(asset).status_code == 200


def test_a_fault_is_logged_under_the_request_name(caplog: pytest.LogCaptureFixture) -> None:
    app = create_app(Settings())

    @app.get("/crash")
    async def crash() -> None:
        raise RuntimeError("secret text")

    with TestClient(app) as http, caplog.at_level(logging.ERROR, logger="service"):
        answer = http.get("/crash")
    assert (answer.status_code, answer.json()["type"]) == (500, "/problems/internal")
    assert [one.facts["request_id"] for one in caplog.records] == [answer.headers["x-request-id"]]  # type: ignore[attr-defined]
    assert "secret" not in answer.text


def test_apps_are_independent() -> None:
    first, second = create_app(Settings(threads=1)), create_app(Settings(threads=2))
    assert (first.state.settings.threads, second.state.settings.threads) == (1, 2)


def test_settings_come_from_the_environment(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("STS_BODY_LIMIT_BYTES", "4096")
    monkeypatch.setenv("HULL_LIBRARY", str(tmp_path))
    settings = Settings()
    assert (settings.body_limit_bytes, settings.hull_library, settings.rule_sets) == (4096, tmp_path, None)
    assert Settings.model_fields["body_limit_bytes"].default == 64 * 1024 * 1024


def test_importing_the_service_makes_nothing() -> None:
    """No environment is read and no heavy library loaded before ``create_app``."""
    code = (
        "import sys, service.app; "
        "assert not {'scipy.stats', 'scipy.optimize', 'trimesh', 'shapely'} & set(sys.modules), 'loaded'"
    )
    subprocess.run([sys.executable, "-c", code], check=True, env={"STS_THREADS": "none", "PYTHONPATH": "."}, timeout=60)


def test_main_without_a_command_explains_itself(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as caught:
        main([])
    assert caught.value.code == 2
    assert "serve" in capsys.readouterr().err
