"""A client of the container. The first argument says what to do, the second is the address.

ready    wait until it is ready
job      the main job; then comes the record's file
mounted  the library and the rule sets of deploy/kubernetes
stop     run a command in the middle of a long request, which must be answered whole; then come the record's file and
         the command
"""

import http.client
import json
import subprocess
import sys
import threading
import time
import urllib.request
from pathlib import Path
from typing import Any

READY_S = 120.0
LOST = 3
"""Exit status where the request got no answer."""
PLANES = 4000
"""Two seconds of work, so that there is a middle to stop in."""


def ask(address: str, body: Any = None) -> tuple[int, bytes]:
    """Return the answer of a GET, or of a POST where there is a body."""
    data = None if body is None else json.dumps(body).encode()
    request = urllib.request.Request(address, data, {"Content-Type": "application/json"} if data else {})
    with urllib.request.urlopen(request, timeout=120) as answer:
        return answer.status, answer.read()


def ready(address: str) -> None:
    """Wait until the service says so."""
    begun = time.monotonic()
    while True:
        try:
            ask(f"{address}/health/ready")
            break
        except (OSError, http.client.HTTPException):
            if time.monotonic() - begun > READY_S:
                raise
            time.sleep(0.1)
    print(f"ready {time.monotonic() - begun:.1f} s after this began to ask")


def job(address: str, record: str) -> None:
    """Ask the version, the library and the demonstration test."""
    version = json.loads(ask(f"{address}/v1/version")[1])
    print(
        f"engine {version['engine_version']}, Python {version['python_version']}, numpy {version['libraries']['numpy']}"
    )
    hulls = json.loads(ask(f"{address}/v1/hulls")[1])["hulls"]
    assert [one["name"] for one in hulls] == ["example-barge"], hulls
    status, body = ask(f"{address}/v1/stability-tests", json.loads(Path(record).read_text(encoding="utf-8")))
    lightship = json.loads(body)["lightship"]
    found = f"lightship {lightship['mass_t']:.2f} t, VCG {lightship['z_m']:.3f} m"
    print(f"POST of the demonstration record: {status}, {found}")
    assert lightship["mass_t"] > 0


def mounted(address: str) -> None:
    """Compute with a hull of the mounted library, and find the mounted rule set."""
    hull = {"kind": "library", "name": "example-barge"}
    asked = {"hull": hull, "density_t_per_m3": 1.0, "waterplanes": [{"draft_m": 3.5}]}
    volume = json.loads(ask(f"{address}/v1/hydrostatics", asked)[1])["columns"]["volume_m3"]
    assert abs(volume[0] - 60 * 12 * 3.5) < 1e-9, volume  # the example barge is a box
    assert b"example-of-a-firm" in ask(f"{address}/v1/rule-sets")[1]
    print("it computes with a hull of the mounted library and knows the mounted rule set")


def stop(address: str, record: str, command: list[str]) -> None:
    """Have a long request running, run the command, and see the request answered after it."""
    hull = json.loads(Path(record).read_text(encoding="utf-8"))["hull"]
    drafts = [1.5 + 1.5 * i / (PLANES // 20) for i in range(PLANES // 20)]
    grid = {"draft_m": drafts, "heel_deg": list(range(20))}
    answered: list[tuple[float, int, int]] = []

    def long_request() -> None:
        try:
            status, body = ask(f"{address}/v1/hydrostatics", {"hull": hull, "density_t_per_m3": 1.025, "grid": grid})
        except (OSError, http.client.HTTPException):
            return
        rows = len(json.loads(body)["columns"]["volume_m3"])
        answered.append((time.monotonic(), status, rows))

    thread = threading.Thread(target=long_request)
    thread.start()
    while "sts_pending_requests 1.0" not in ask(f"{address}/metrics")[1].decode():
        assert thread.is_alive(), "the long request was over before it was seen running"
    told = time.monotonic()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    assert not answered, "the long request was answered before the command"
    thread.join()
    if not answered:
        sys.exit(LOST)
    at, status, rows = answered[0]
    assert (status, rows) == (200, PLANES), answered
    print(f"answered {at - told:.1f} s after the command: {status}, {rows} rows")
    try:
        ask(f"{address}/health/live")
    except (OSError, http.client.HTTPException):
        return
    raise AssertionError("it still answers")


if __name__ == "__main__":
    what, where, *rest = sys.argv[1:]
    if what == "ready":
        ready(where)
    elif what == "job":
        job(where, rest[0])
    elif what == "mounted":
        mounted(where)
    else:
        stop(where, rest[0], rest[1:])
