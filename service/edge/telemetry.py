"""What the operator sees: metrics, and a log of one JSON object a line. Layer: service.edge.

Neither holds anything of a body, of a query or of a path's variable part. A request is named by its route's template.
"""

import json
import logging
import os
import sys
import time
import traceback
from functools import cache
from typing import Any, TextIO

from prometheus_client import CollectorRegistry, Counter, Gauge, Histogram, generate_latest
from prometheus_client.multiprocess import MultiProcessCollector, mark_process_dead
from starlette.types import Scope

PROCESSES_FOLDER = "PROMETHEUS_MULTIPROC_DIR"
"""Environment variable of the metrics library: the folder where several processes keep their figures together."""
METHODS = frozenset({"DELETE", "GET", "HEAD", "OPTIONS", "PATCH", "POST", "PUT"})
SECONDS = (0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0, 30.0, 60.0)

log = logging.getLogger("service.requests")


class Metrics:
    """The figures of one service; independent of any other in the process."""

    def __init__(self) -> None:
        self.registry = CollectorRegistry()
        several: dict[str, Any] = {"multiprocess_mode": "livesum"} if PROCESSES_FOLDER in os.environ else {}
        self.requests = Counter(
            "sts_requests", "Requests answered.", ["method", "route", "status"], registry=self.registry
        )
        self.seconds = Histogram(
            "sts_request_seconds",
            "From the request's headers to the end of its answer.",
            ["route"],
            buckets=SECONDS,
            registry=self.registry,
        )
        self.work_seconds = Counter(
            "sts_work_seconds", "Processor time of computations.", ["route"], registry=self.registry
        )
        # To find the figure of some labels takes longer than to count in it; the labels are few.
        self.requests_of, self.seconds_of = cache(self.requests.labels), cache(self.seconds.labels)
        self.work_seconds_of = cache(self.work_seconds.labels)
        self.pending = Gauge(
            "sts_pending_requests", "Requests that have a place now.", registry=self.registry, **several
        )
        self.held_bytes = Gauge(
            "sts_held_body_bytes", "Bytes of their bodies held now.", registry=self.registry, **several
        )

    def text(self) -> bytes:
        """Return all figures in the text format 0.0.4, those of the other processes too where there are several."""
        registry = self.registry
        if PROCESSES_FOLDER in os.environ:
            registry = CollectorRegistry()
            MultiProcessCollector(registry)  # type: ignore[no-untyped-call]
        return generate_latest(registry)

    def close(self) -> None:
        """Take this process out of the gauges."""
        if PROCESSES_FOLDER in os.environ:
            mark_process_dead(os.getpid())  # type: ignore[no-untyped-call]


def told(
    metrics: Metrics, scope: Scope, *, method: str, status: int, took_s: float, request_id: str, work_s: float
) -> None:
    """Count and log one answered request."""
    route = getattr(scope.get("route"), "path", "none")
    name = method if method in METHODS else "other"
    metrics.requests_of(name, route, str(status)).inc()
    metrics.seconds_of(route).observe(took_s)
    if work_s:
        metrics.work_seconds_of(route).inc(work_s)
    if log.isEnabledFor(logging.INFO):
        facts = {"request_id": request_id, "method": name, "route": route, "status": status}
        log.info("answered", extra={"facts": {**facts, "duration_ms": round(1000 * took_s, 2)}})


class JsonLines(logging.Formatter):
    """One JSON object a line; of an exception its type and its places, never its text, which may quote a request."""

    def format(self, record: logging.LogRecord) -> str:
        """Return the line."""
        line: dict[str, object] = {
            "time": time.strftime("%Y-%m-%dT%H:%M:%S", time.gmtime(record.created)) + f".{int(record.msecs):03d}Z",
            "level": record.levelname.lower(),
            "logger": record.name,
            "message": record.getMessage(),
            **getattr(record, "facts", {}),
        }
        if record.exc_info and record.exc_info[1] is not None:
            error = record.exc_info[1]
            places = traceback.extract_tb(error.__traceback__)
            line["error"] = type(error).__name__
            line["places"] = [f"{place.filename}:{place.lineno} {place.name}" for place in places]
        return json.dumps(line)


def log_as_json(level: str, stream: TextIO | None = None) -> None:
    """Have everything the process logs written as JSON lines, to standard error unless told otherwise."""
    handler = logging.StreamHandler(stream or sys.stderr)
    handler.setFormatter(JsonLines())
    root = logging.getLogger()
    root.handlers[:] = [handler]
    root.setLevel(level.upper())
    for name in ("uvicorn", "uvicorn.error"):
        logging.getLogger(name).handlers.clear()
        logging.getLogger(name).propagate = True
    logging.getLogger("uvicorn.access").disabled = True  # it would write whole URLs, a cell's key included
