"""The process answers before the application is there, and nothing is lost or told twice in between."""

import threading
import time
from collections.abc import AsyncIterator, Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import asynccontextmanager, contextmanager
from typing import Any

import pytest
from starlette.applications import Starlette
from starlette.testclient import TestClient
from starlette.types import Receive, Scope, Send

from service.app import create_app
from service.edge.loading import Loading
from service.edge.telemetry import Metrics
from service.settings import Settings

WAIT_S = 30.0


class Slow:
    """A service whose application comes when it is let; who waits for it can be waited for."""

    def __init__(self, make: Callable[[Metrics], Starlette]) -> None:
        self.let, self.waits = threading.Event(), threading.Event()
        self.given_up: list[Exception] = []
        self.loaded = 0

        def load(metrics: Metrics) -> Starlette:
            assert self.let.wait(WAIT_S)
            return make(metrics)

        def loaded() -> None:
            self.loaded += 1

        self.loading = Loading(load, self.given_up.append, loaded)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve."""
        if scope["type"] == "http" and scope["path"] == "/v1/version":
            self.waits.set()
        await self.loading(scope, receive, send)


@contextmanager
def slow(make: Callable[[Metrics], Starlette]) -> Iterator[tuple[Slow, TestClient]]:
    service = Slow(make)
    with TestClient(service) as http:
        try:
            yield service, http
        finally:
            service.let.set()


def whole(metrics: Metrics) -> Starlette:
    return create_app(Settings(), figures=metrics)


def told(answer: Any) -> tuple[int, dict[str, str], bytes]:
    """Return an answer without what names the one request."""
    own = ("x-request-id", "server-timing")
    same = {name: value for name, value in answer.headers.items() if name not in own}
    assert all(name in answer.headers for name in own)
    content = answer.content.split(b'"instance"')[0]
    return answer.status_code, same, content


@pytest.mark.parametrize("method", ["GET", "HEAD", "OPTIONS", "POST"])
@pytest.mark.parametrize("query", ["", "?colour=red"])
def test_live_says_the_same_before_and_after(method: str, query: str) -> None:
    with slow(whole) as (service, http):
        before = told(http.request(method, f"/health/live{query}"))
        service.let.set()
        assert http.get("/v1/version").status_code == 200
        assert told(http.request(method, f"/health/live{query}")) == before


def test_ready_only_when_it_is() -> None:
    with slow(whole) as (service, http):
        answer = http.get("/health/ready")
        assert (answer.status_code, answer.headers["retry-after"]) == (503, "1")
        assert answer.headers["content-type"] == "application/problem+json"
        assert answer.json()["type"] == "/problems/starting"
        assert service.loaded == 0
        service.let.set()
        assert http.get("/v1/version").status_code == 200
        assert http.get("/health/ready").json() == {"status": "ready"}
    assert (service.loaded, service.given_up) == (1, [])


def test_what_comes_early_is_answered_and_its_waiting_counted() -> None:
    with slow(whole) as (service, http), ThreadPoolExecutor(1) as pool:
        early = pool.submit(http.get, "/v1/version")
        assert service.waits.wait(WAIT_S)
        begun = time.perf_counter()
        assert http.get("/health/live").status_code == 200
        held_s = time.perf_counter() - begun
        assert not early.done()
        service.let.set()
        answer = early.result(WAIT_S)
        assert answer.json()["api_version"] == "v1"
        lines = http.get("/metrics").text.splitlines()
    figures = dict(line.rsplit(" ", 1) for line in lines if not line.startswith("#"))
    assert float(figures['sts_request_seconds_sum{route="/v1/version"}']) > held_s
    assert figures['sts_requests_total{method="GET",route="/health/live",status="200"}'] == "1.0"


def test_the_application_lives_and_ends_within() -> None:
    seen: list[str] = []

    @asynccontextmanager
    async def lifespan(_: Starlette) -> AsyncIterator[None]:
        seen.append("begins")
        yield
        seen.append("ends")

    with slow(lambda _: Starlette(lifespan=lifespan)) as (service, http):
        assert seen == []
        service.let.set()
        assert http.get("/v1/version").status_code == 404
        assert seen == ["begins"]
    assert seen == ["begins", "ends"]


def test_an_application_that_cannot_be_loaded_is_given_up() -> None:
    fault = RuntimeError("broken")

    def broken(_: Metrics) -> Starlette:
        raise fault

    with slow(broken) as (service, http), ThreadPoolExecutor(1) as pool:
        early = pool.submit(http.post, "/v1/version", json={})
        assert service.waits.wait(WAIT_S)
        service.let.set()
        answer = early.result(WAIT_S)
        assert (answer.status_code, answer.json()["type"]) == (503, "/problems/starting")
        assert (service.loaded, service.given_up) == (0, [fault])
