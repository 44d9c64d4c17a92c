"""How many requests a worker answers and how much memory it takes: ``python -m tests.performance.capacity``.

Clients keep asking one worker; the figures are its own processor time, so they hold on a busy machine too, and are
printed beside those of the cheapest request (/health/live). Memory is the most it held at once, asked of the system.
The settings are those of deploy/kubernetes, then the defaults.
"""

import argparse
import base64
import http.client
import json
import os
import statistics
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from service.demo import demo_record
from tests.engine.geometry.meshes import ellipsoid
from tests.performance.served import Served, served

CLIENTS = 4
SETTINGS = {"body_limit_bytes": 16 * 2**20, "bodies_limit_bytes": 64 * 2**20, "hull_cache_bytes": 64 * 2**20}
PLANES = {"draft_m": [2.0 + 0.02 * i for i in range(60)]}
Request = tuple[str, str, bytes | None]


def mesh(triangles: int) -> dict[str, Any]:
    """Return an ellipsoid of about so many triangles as a hull."""
    rows = round(triangles**0.5 / 4) * 4
    vertices, faces = ellipsoid(rows, a=30.0, b=6.0, c=4.0, draft=3.0)
    return {"kind": "mesh", "length_bp_m": 60.0, "vertices_m": vertices.round(6).tolist(), "faces": faces.tolist()}


def mesh_file(triangles: int) -> dict[str, Any]:
    """Return the same as a binary STL file."""
    made = mesh(triangles)
    corners = np.array(made["vertices_m"], dtype="<f4")[np.array(made["faces"])]
    facets = np.zeros(len(corners), dtype=[("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
    facets["corners"] = corners
    data = bytes(80) + len(facets).to_bytes(4, "little") + facets.tobytes()
    text = base64.b64encode(data).decode("ascii")
    return {"kind": "mesh_file", "length_bp_m": 60.0, "format": "stl", "data_base64": text}


def hydrostatics(hull: dict[str, Any], heels: int = 1) -> Request:
    """Return a request of 60 waterplanes at each heel."""
    body = {"hull": hull, "density_t_per_m3": 1.025, "grid": {**PLANES, "heel_deg": [0.1 * i for i in range(heels)]}}
    return "POST", "/v1/hydrostatics", json.dumps(body).encode()


def requests() -> dict[str, Request]:
    """Return what is asked."""
    record = demo_record()
    return {
        "/health/live": ("GET", "/health/live", None),
        "a cell": ("GET", "/v1/cells/list?heeling_moment_tm=40&displacement_t=2000&gm_m=1.25", None),
        "60 waterplanes, offsets": hydrostatics(record["hull"]),
        "4,020 waterplanes, offsets": hydrostatics(record["hull"], heels=67),
        "60 waterplanes, 10,000 triangles": hydrostatics(mesh(10_000)),
        "a whole test (the demo)": ("POST", "/v1/stability-tests", json.dumps(record).encode()),
        "the same as PDF": ("POST", "/v1/stability-tests?format=pdf", json.dumps(record).encode()),
        "the same as Word": ("POST", "/v1/stability-tests?format=docx", json.dumps(record).encode()),
    }


def ask(connection: http.client.HTTPConnection, request: Request) -> None:
    """Send one request and read its answer."""
    method, path, body = request
    connection.request(method, path, body, {"Content-Type": "application/json"} if body else {})
    answer = connection.getresponse()
    content = answer.read()
    assert answer.status == 200, (path, answer.status, content[:300])


def processor_s(at: Served) -> float:
    """Return the processor time the worker has taken."""
    fields = Path(f"/proc/{at.process.pid}/stat").read_text(encoding="ascii").rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def peak_mib(at: Served, work: Callable[[], object]) -> float:
    """Return the most memory the worker held while ``work()`` ran. [MiB]"""
    Path(f"/proc/{at.process.pid}/clear_refs").write_text("5", encoding="ascii")
    work()
    lines = Path(f"/proc/{at.process.pid}/status").read_text(encoding="ascii").splitlines()
    return next(int(line.split()[1]) / 1024 for line in lines if line.startswith("VmHWM"))


def together(at: Served, request: Request, clients: int, until: float | None) -> list[float]:
    """Have clients ask, once or until a time; return how long each answer took. [s]"""
    took: list[float] = []

    def client() -> None:
        connection = http.client.HTTPConnection(at.host, at.port, timeout=120)
        while True:
            begun = time.monotonic()
            ask(connection, request)
            took.append(time.monotonic() - begun)
            if until is None or time.monotonic() > until:
                return

    threads = [threading.Thread(target=client) for _ in range(clients)]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    assert len(took) >= clients, "a client failed"
    return took


def speed(at: Served, seconds: float) -> None:
    """Print processor time a request."""
    heads = f"{'answers':>8s} {'ms of a processor':>18s} {'a second and processor':>23s} {'x live':>7s} median ms"
    print(f"{'request':36s} {heads}")
    live = None
    for name, request in requests().items():
        together(at, request, CLIENTS, None)
        before = processor_s(at)
        took = together(at, request, CLIENTS, time.monotonic() + seconds)
        each = (processor_s(at) - before) / len(took)
        live = live or each
        median = 1000 * statistics.median(took)
        print(f"{name:36s} {len(took):8d} {1000 * each:18.2f} {1 / each:23.1f} {each / live:7.1f} {median:9.1f}")


def memory(at: Served, largest: tuple[tuple[Callable[[int], dict[str, Any]], int], ...]) -> None:
    """Print the most memory held."""
    print(f"\n{'':58s} most held MiB")
    print(f"{'at the start':58s} {peak_mib(at, lambda: None):8.0f}")
    for name, request in requests().items():
        told = f"{CLIENTS} at once: {name}"
        print(f"{told:58s} {peak_mib(at, lambda request=request: together(at, request, CLIENTS, None)):8.0f}")
    for made, triangles in largest:
        request = hydrostatics(made(triangles))
        for clients in (1, 2, 4):
            size = len(request[2] or b"") / 2**20
            told = f"{clients} at once: {made.__name__}, {triangles:,} triangles, body {size:.1f} MiB"
            print(f"{told:58s} {peak_mib(at, lambda n=clients, r=request: together(at, r, n, None)):8.0f}")
    print(f"{'afterwards':58s} {peak_mib(at, lambda: None):8.0f}")


def main() -> None:
    """Measure one worker."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=5.0, help="for each kind of request")
    seconds = parser.parse_args().seconds
    with served(**SETTINGS) as at:
        speed(at, seconds)
    with served(**SETTINGS) as at:
        memory(at, ((mesh, 50_000), (mesh, 200_000), (mesh_file, 230_000)))
    print("\nwith the limits by default")
    with served() as at:
        memory(at, ((mesh_file, 880_000),))


if __name__ == "__main__":
    main()
