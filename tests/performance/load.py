"""Load and overhead, printed.

    python -m tests.performance.load [--seconds 20] [--path /v1/stability-tests]

Load: the capacity is what closed-loop clients, as many as computing threads, get done. Then an open-loop client sends
at four times that, each request at its time whether or not earlier ones are answered. At the end SIGTERM comes in the
middle of it.

Overhead: one client, one request at a time: the median over HTTP less the median of the same call in process, against
the median of a bare FastAPI route that answers a small object. In process the request is read already and the answer
stays an object, so reading, checking, writing and sending are all overhead.
"""

import argparse
import asyncio
import contextlib
import http.client
import json
import os
import signal
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from typing import NamedTuple

from tests.performance.served import ROOT, Served, served

THREADS, QUEUE = 2, 8
BARE = """
import socket, uvicorn
from fastapi import FastAPI
app = FastAPI()
@app.get("/bare")
async def bare() -> dict[str, float]:
    return {"value": 1.5}
listening = socket.create_server(("127.0.0.1", 0))
print(listening.getsockname()[1], flush=True)
config = uvicorn.Config(app, access_log=False, log_level="error", timeout_keep_alive=600)
uvicorn.Server(config).run(sockets=[listening])
"""


class Answer(NamedTuple):
    """One request: when it was due and answered, and how; status 0 where no answer came."""

    sent_s: float
    took_s: float
    status: int


def request_bytes(method: str, path: str, body: bytes = b"") -> bytes:
    """Return a request on a connection that is closed after it."""
    head = f"{method} {path} HTTP/1.1\r\nHost: test\r\nConnection: close\r\n"
    if method == "POST":
        head += f"Content-Type: application/json\r\nContent-Length: {len(body)}\r\n"
    return head.encode() + b"\r\n" + body


async def ask(at: Served, data: bytes) -> Answer:
    """Send one request on a connection of its own."""
    begun, status = time.perf_counter(), 0
    with contextlib.suppress(OSError, asyncio.IncompleteReadError):
        reader, writer = await asyncio.open_connection(at.host, at.port)
        try:
            writer.write(data)
            await writer.drain()
            answer = await reader.read()
            status = int(answer[9:12]) if len(answer) > 12 else 0
        finally:
            writer.close()
            with contextlib.suppress(OSError):
                await writer.wait_closed()
    return Answer(begun, time.perf_counter() - begun, status)


def quantile(values: list[float], share: float) -> float:
    """Return the value below which so much of the rest lies."""
    ordered = sorted(values)
    return ordered[min(int(share * len(ordered)), len(ordered) - 1)] if ordered else float("nan")


async def closed_loop(at: Served, data: bytes, *, clients: int, seconds: float) -> list[Answer]:
    """Return what so many clients got, each sending its next request when the last was answered."""
    end = time.perf_counter() + seconds

    async def client() -> list[Answer]:
        found = []
        while time.perf_counter() < end:
            found.append(await ask(at, data))
        return found

    return [one for found in await asyncio.gather(*(client() for _ in range(clients))) for one in found]


async def open_loop(at: Served, data: bytes, *, rate: float, seconds: float) -> tuple[list[Answer], list[Answer]]:
    """Return what requests sent at a rate got, and what /health/live answered meanwhile, ten times a second."""
    begun = time.perf_counter()
    tasks, live = [], []
    for i in range(int(rate * seconds)):
        await asyncio.sleep(max(begun + i / rate - time.perf_counter(), 0))
        tasks.append(asyncio.ensure_future(ask(at, data)))
        if i % max(int(rate / 10), 1) == 0:
            live.append(asyncio.ensure_future(ask(at, request_bytes("GET", "/health/live"))))
    return list(await asyncio.gather(*tasks)), list(await asyncio.gather(*live))


async def stopped(at: Served, data: bytes, *, rate: float) -> str:
    """Stop the server under load; say whether everything it had admitted was answered."""
    tasks = []
    for _ in range(int(rate * 2)):
        tasks.append(asyncio.ensure_future(ask(at, data)))
        await asyncio.sleep(1 / rate)
    pending = await asyncio.to_thread(figure, at, "sts_pending_requests")
    at_stop = time.perf_counter()
    at.process.send_signal(signal.SIGTERM)
    answers = await asyncio.gather(*tasks)
    after = sum(one.status == 200 and one.sent_s + one.took_s > at_stop for one in answers)
    return f"SIGTERM: {pending:.0f} admitted when it was read, {after} of them and of later ones answered after it"


def figure(at: Served, name: str) -> float:
    """Return one of the service's figures."""
    connection = http.client.HTTPConnection(at.host, at.port, timeout=30)
    connection.request("GET", "/metrics")
    lines = connection.getresponse().read().decode().splitlines()
    connection.close()
    return next(float(line.split()[1]) for line in lines if line.startswith(name + " "))


def load(path: str, body: bytes, seconds: float) -> None:
    """Measure and print the load."""
    data = request_bytes("POST", path, body)
    with served(threads=THREADS, queue_limit=QUEUE) as at:
        alone = asyncio.run(closed_loop(at, data, clients=1, seconds=4))
        assert all(one.status == 200 for one in alone), {one.status for one in alone}
        median, p99 = statistics.median(one.took_s for one in alone), quantile([one.took_s for one in alone], 0.99)
        full = asyncio.run(closed_loop(at, data, clients=THREADS, seconds=5))
        capacity = len(full) / 5
        answers, live = asyncio.run(open_loop(at, data, rate=4 * capacity, seconds=seconds))
        done = [one.took_s for one in answers if one.status == 200]
        refused = [one.took_s for one in answers if one.status == 503]
        lost = len(answers) - len(done) - len(refused)
        length = max(one.sent_s + one.took_s for one in answers) - min(one.sent_s for one in answers)
        allowed = 2 * (1 + QUEUE / THREADS) * p99
        share = len(done) / length / capacity
        print(f"{path}: alone median {1e3 * median:.1f} ms, p99 {1e3 * p99:.1f} ms; capacity {capacity:.1f} a second")
        print(
            f"at 4 times that for {seconds:.0f} s: {len(done)} done, {len(refused)} refused, {lost} without an answer"
        )
        row("completions over capacity", share, ">=", 0.8)
        row("p99 of admitted [ms]", 1e3 * quantile(done, 0.99), "<=", 1e3 * allowed)
        row("median refusal [ms]", 1e3 * quantile(refused, 0.5), "<=", 1e3 * median / 4)
        row("live answered, share", sum(one.status == 200 for one in live) / len(live), ">=", 1.0)
        slowest = max(one.took_s for one in live)
        print(f"slowest live answer {1e3 * slowest:.0f} ms; memory {at.resident_bytes() / 1e6:.0f} MB")
        print(asyncio.run(stopped(at, data, rate=4 * capacity)))


def row(what: str, value: float, sign: str, limit: float) -> None:
    """Print one figure against its limit."""
    met = value >= limit if sign == ">=" else value <= limit
    print(f"  {what:32} {value:10.3f} {sign} {limit:10.3f}  {'met' if met else 'NOT MET'}")


def medians(calls: dict[str, Callable[[], object]], repeats: int) -> dict[str, float]:
    """Return the median time of each call, taken in turns so that a slow moment falls on all."""
    times: dict[str, list[float]] = {name: [] for name in calls}
    for _ in range(repeats):
        for name, call in calls.items():
            begun = time.perf_counter()
            call()
            times[name].append(time.perf_counter() - begun)
    return {name: statistics.median(found) for name, found in times.items()}


def overhead(repeats: int, pairs: int = 5) -> None:
    """Measure and print the overhead, for a cell and for POST computations.

    All on one processor where the system allows it, with several pairs of servers, one after the other: a process is
    some per cent quicker or slower than the next by where its memory lies, and another machine's load on one of the
    processors would fall on one side only.
    """
    if hasattr(os, "sched_setaffinity"):
        os.sched_setaffinity(0, {max(os.sched_getaffinity(0))})
    found: dict[str, list[dict[str, float]]] = {}
    for _ in range(pairs):
        for name, one in overhead_of_pair(repeats // pairs).items():
            found.setdefault(name, []).append(one)
    for name, several in found.items():
        shares = [1e3 * (one["http"] - one["engine"]) for one in several]
        limits = [2e3 * one["bare"] for one in several]
        middle = {key: 1e3 * statistics.median(one[key] for one in several) for key in several[0]}
        print(f"{name}: HTTP {middle['http']:.3f} ms, engine {middle['engine']:.3f} ms, ", end="")
        print(f"bare route {middle['bare']:.3f} ms; of {pairs} pairs", end=" ")
        print(f"{sum(share <= limit for share, limit in zip(shares, limits, strict=True))} met")
        row("overhead [ms]", statistics.median(shares), "<=", statistics.median(limits))


def overhead_of_pair(repeats: int) -> dict[str, dict[str, float]]:
    """Return the medians over HTTP, in process and of the bare route, of each that is measured. [s]"""
    from service.app import ROUTERS
    from service.cells.incline import ListParameters, list_deg
    from service.edge.openapi import operations
    from service.edge.shelf import Shelf

    wanted = ("/v1/stability-tests/incline", "/v1/stability-tests", "/v1/hydrostatics")
    posts = {one.path: one for one in operations(r for router in ROUTERS for r in router.routes) if one.path in wanted}
    found = {}
    bare_server = subprocess.Popen([sys.executable, "-c", BARE], stdout=subprocess.PIPE, text=True, cwd=ROOT)
    try:
        assert bare_server.stdout is not None
        bare = http.client.HTTPConnection("127.0.0.1", int(bare_server.stdout.readline()), timeout=30)
        with served() as at:
            connection = http.client.HTTPConnection(at.host, at.port, timeout=30)
            cell = ListParameters(heeling_moment_tm=40.0, displacement_t=2000.0, gm_m=1.25)
            query = "heeling_moment_tm=40&displacement_t=2000&gm_m=1.25"
            sent: dict[str, tuple[str, str, bytes]] = {"cell": ("GET", f"/v1/cells/list?{query}", b"")}
            engine: dict[str, Callable[[], object]] = {"cell": lambda: list_deg(cell, Shelf(limit_bytes=0))}
            for path, one in posts.items():
                body = json.dumps(one.example).encode()
                request = one.request.model_validate_json(body)
                sent[path] = ("POST", path, body)
                engine[path] = lambda one=one, request=request: one.compute(request)
            for name, (method, path, body) in sent.items():
                times = 1 if name == "cell" else 10 if name == "/v1/stability-tests" else 3
                calls = {
                    "bare": lambda: exchange(bare, "GET", "/bare", b""),
                    "http": lambda m=method, p=path, b=body: exchange(connection, m, p, b),
                    "engine": engine[name],
                }
                medians(calls, 5)
                found[name] = medians(calls, max(repeats // times, 10))
    finally:
        bare_server.terminate()
        bare_server.wait(30)
    return found


def exchange(connection: http.client.HTTPConnection, method: str, path: str, body: bytes) -> bytes:
    """Send one request on a kept connection; return the answer."""
    connection.request(method, path, body or None, {"Content-Type": "application/json"} if body else {})
    answer = connection.getresponse()
    content = answer.read()
    assert answer.status == 200, content[:200]
    return content


def main() -> None:
    """Measure."""
    parser = argparse.ArgumentParser(description="Load and overhead, printed.")
    parser.add_argument("--seconds", type=float, default=20.0)
    parser.add_argument("--path", default="/v1/stability-tests")
    parser.add_argument("--repeats", type=int, default=1000)
    options = parser.parse_args()
    document = json.loads((ROOT / "openapi" / "openapi.json").read_text(encoding="utf-8"))
    example = document["paths"][options.path]["post"]["requestBody"]["content"]["application/json"]["example"]
    print("load average of the machine at the start:", " ".join(f"{one:.1f}" for one in os.getloadavg()))
    load(options.path, json.dumps(example).encode(), options.seconds)
    overhead(options.repeats)  # last: it keeps to one processor from then on


if __name__ == "__main__":
    main()
