"""Memory and start-up of the served service, as ratios, for ``tests/performance/run.py``."""

import http.client
import json
import statistics
import subprocess
import sys
import time

from tests.performance.capacity import ask, hydrostatics, mesh, mesh_file, peak_mib
from tests.performance.load import BARE
from tests.performance.served import served

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
    ours, bare = [], []
    for _ in range(repeats):
        begun = time.perf_counter()
        with served() as at:
            _first_answer(at.port, "/health/live")
            ours.append(time.perf_counter() - begun)
        begun = time.perf_counter()
        process = subprocess.Popen([sys.executable, "-c", BARE], stdout=subprocess.PIPE, text=True)
        assert process.stdout is not None
        _first_answer(int(process.stdout.readline()), "/bare")
        bare.append(time.perf_counter() - begun)
        process.terminate()
        process.wait(60)
        process.stdout.close()
    mine, its = 1e3 * statistics.median(ours), 1e3 * statistics.median(bare)
    return "serve to /health/live / a bare application", mine / its, "<= 2.5", mine, its


def _first_answer(port: int, path: str) -> None:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    connection.request("GET", path)
    answer = connection.getresponse()
    assert answer.status == 200, json.dumps(answer.read().decode())
    answer.read()
    connection.close()
