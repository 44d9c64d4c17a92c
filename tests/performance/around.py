"""Memory and start-up of the served service, as ratios, for ``tests/performance/run.py``.

``python -m tests.performance.around`` prints the start alone, the time until ready too.
"""

import http.client
import json
import os
import socket
import statistics
import subprocess
import sys
import time

from tests.performance.capacity import ask, hydrostatics, mesh, mesh_file, peak_mib
from tests.performance.load import BARE
from tests.performance.served import ROOT, served

Line = tuple[str, float, str, float, float]


def memory_ratios() -> list[Line]:
    """Return what large bodies take above what the service holds at rest, over their size. [MiB]"""
    lines = []
    for made, triangles, most in ((mesh_file, 1_000_000, 8), (mesh, 200_000, 20)):
        request = hydrostatics(made(triangles))
        size = len(request[2] or b"") / 2**20
        with served(body_limit_bytes=80 * 2**20, bodies_limit_bytes=160 * 2**20) as at:
            connection = http.client.HTTPConnection(at.host, at.port, timeout=300)
            ask(connection, hydrostatics(made(1000)))  # loads what is loaded on first use
            rest = peak_mib(at, lambda: None)
            most_held = peak_mib(at, lambda connection=connection, request=request: ask(connection, request)) - rest
            connection.close()
        lines.append(
            (f"memory, {made.__name__} of {triangles} / body", most_held / size, f"<= {most}", most_held, size)
        )
    return lines


def start_ratio(repeats: int) -> Line:
    """Return the time to the first answer of /health/live over that of a bare application. [ms by the clock]"""
    return start_ratios(repeats)[0]


def start_ratios(repeats: int) -> list[Line]:
    """Return the times to the first answer of /health/live, and to that of a request which needs the application."""
    live, whole, bare = [], [], []
    for _ in range(repeats):
        with socket.create_server(("127.0.0.1", 0)) as free:
            port = free.getsockname()[1]
        begun = time.perf_counter()
        process = _started("-m", "service", "serve", "--port", str(port))
        _first_answer(port, "/health/live")
        live.append(time.perf_counter() - begun)
        _first_answer(port, "/v1/version")  # waits until the application is loaded
        whole.append(time.perf_counter() - begun)
        _first_answer(port, "/health/ready")
        _ended(process)
        begun = time.perf_counter()
        process = _started("-c", BARE)
        assert process.stdout is not None
        _first_answer(int(process.stdout.readline()), "/bare")
        bare.append(time.perf_counter() - begun)
        _ended(process)
    its = 1e3 * statistics.median(bare)
    mine, ready = 1e3 * statistics.median(live), 1e3 * statistics.median(whole)
    return [
        ("serve to /health/live / a bare application", mine / its, "<= 2.5", mine, its),
        ("serve until ready / a bare application", ready / its, "", ready, its),
    ]


def _started(*arguments: str) -> "subprocess.Popen[str]":
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "STS_LOG_LEVEL": "error"}
    return subprocess.Popen([sys.executable, *arguments], cwd=ROOT, env=environment, stdout=subprocess.PIPE, text=True)


def _ended(process: "subprocess.Popen[str]") -> None:
    process.terminate()
    process.wait(60)
    if process.stdout is not None:
        process.stdout.close()


def _first_answer(port: int, path: str) -> None:
    """Ask until the port is there, a millisecond between, and have the answer."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    until = time.perf_counter() + 60
    while connection.sock is None:
        try:
            connection.connect()
        except ConnectionRefusedError:
            assert time.perf_counter() < until
            time.sleep(0.001)
    connection.request("GET", path)
    answer = connection.getresponse()
    assert answer.status == 200, json.dumps(answer.read().decode())
    answer.read()
    connection.close()


if __name__ == "__main__":
    for line in start_ratios(9):
        print("{:45} {:6.3g} {:7} {:8.0f} / {:.0f} ms".format(*line))
