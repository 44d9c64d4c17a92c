"""Metrics and logs: what is told, and what never is."""

import io
import json
import logging
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi import FastAPI
from prometheus_client.parser import text_string_to_metric_families
from starlette.testclient import TestClient

from service.edge.telemetry import JsonLines, log_as_json
from tests.service.edge import small

MARK = "NobodyShallReadThis"


@pytest.fixture
def http() -> Iterator[TestClient]:
    with small.client() as one:
        yield one


def figures(http: TestClient) -> dict[tuple[str, tuple[str, ...]], float]:
    answer = http.get("/metrics")
    assert answer.headers["content-type"].startswith("text/plain; version=0.0.4")
    return {
        (sample.name, tuple(sample.labels.values())): sample.value
        for family in text_string_to_metric_families(answer.text)
        for sample in family.samples
    }


def test_counted_by_method_route_and_status(http: TestClient) -> None:
    http.post("/v1/area", json=small.EXAMPLE)
    http.post("/v1/area", json={})
    http.get(f"/problems/{MARK}")
    http.get(f"/{MARK}")
    http.request(MARK, "/")
    found = figures(http)
    assert found["sts_requests_total", ("POST", "/v1/area", "200")] == 1
    assert found["sts_requests_total", ("POST", "/v1/area", "422")] == 1
    assert found["sts_requests_total", ("GET", "/problems/{code}", "404")] == 1
    assert found["sts_requests_total", ("GET", "none", "404")] == 1
    assert found["sts_requests_total", ("other", "/", "405")] == 1
    assert found["sts_request_seconds_count", ("/v1/area",)] == 2
    assert found["sts_work_seconds_total", ("/v1/area",)] > 0
    assert found["sts_pending_requests", ()] == 0
    assert MARK not in http.get("/metrics").text


def test_server_timing(http: TestClient) -> None:
    timing = http.post("/v1/area", json=small.EXAMPLE).headers["server-timing"]
    assert [part.split(";")[0] for part in timing.split(", ")] == ["read", "wait", "work", "total"]


def test_log_lines_are_json_and_tell_no_body(http: TestClient) -> None:
    stream, root = io.StringIO(), logging.getLogger()
    before, level = root.handlers[:], root.level
    log_as_json("debug", stream)
    try:
        answer = http.post(f"/v1/area?format={MARK}", json={"name": MARK}, headers={"X-Other": MARK})
        http.post("/v1/area", json={**small.EXAMPLE, "name": MARK, "act": "crash"})
    finally:
        root.handlers[:] = before
        root.setLevel(level)
    lines = [json.loads(line) for line in stream.getvalue().splitlines()]
    own = [line for line in lines if line["logger"].startswith("service")]
    assert [line["message"] for line in own] == ["answered", "failed", "answered"]
    assert own[0]["request_id"] == answer.headers["x-request-id"]
    assert {"time", "level", "method", "route", "status", "duration_ms"} <= own[0].keys()
    assert own[1]["error"] == "RuntimeError"
    assert any(place.endswith(" area") for place in own[1]["places"])
    assert MARK not in json.dumps(own)  # the rest is the tests' own client, in the same process
    assert "secret text" not in stream.getvalue()


def test_a_plain_record() -> None:
    record = logging.LogRecord("a", logging.WARNING, "", 0, "%s things", (3,), None)
    line = json.loads(JsonLines().format(record))
    assert (line["level"], line["logger"], line["message"]) == ("warning", "a", "3 things")


def test_several_processes_tell_one_sum(tmp_path: Path) -> None:
    """Two processes count one request each into the same folder; either tells two."""
    code = (
        "from service.edge.telemetry import Metrics\n"
        "metrics = Metrics()\n"
        "metrics.requests.labels('GET', '/', '200').inc()\n"
        "print(metrics.text().decode())\n"
    )
    environment = {"PROMETHEUS_MULTIPROC_DIR": str(tmp_path), "PYTHONPATH": "."}
    told = ""
    for _ in range(2):
        done = subprocess.run(
            [sys.executable, "-c", code], env=environment, check=True, capture_output=True, text=True, timeout=60
        )
        told = done.stdout
    assert 'sts_requests_total{method="GET",route="/",status="200"} 2.0' in told


class Spans:
    """Stands for a tracer provider an operator has set up for the whole process."""

    def __init__(self) -> None:
        self.tracers: list[str] = []

    def get_tracer(self, name: str, *_: object, **__: object) -> object:
        """Note who asks."""
        self.tracers.append(name)
        raise LookupError


def test_no_trace_is_made_of_a_request(monkeypatch: pytest.MonkeyPatch) -> None:
    """The framework would put a cell's query, and so its key, into one."""
    spans = Spans()
    monkeypatch.setattr("opentelemetry.trace.get_tracer_provider", lambda: spans)
    bare = FastAPI()
    bare.get("/here")(lambda: None)
    with pytest.raises(LookupError):  # that it would, is why it is turned off
        TestClient(bare).get("/here?key=secret")
    assert spans.tracers
    spans.tracers.clear()
    with small.client() as http:
        assert http.get("/health/live").status_code == 200
    assert not spans.tracers
