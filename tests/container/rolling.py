"""Two instances behind the proxy, restarted one after the other under load: ``rolling.py IMAGE PROXY_CFG``.

Clients send GETs and POSTs all the while, over connections they keep, and never repeat one. Each restart: drain by the
proxy's socket, SIGTERM, a new container in its place, back in turn. Afterwards no request may have failed, and the logs
of the instances must hold each POST exactly once. Then an instance is killed in the middle of requests: that must lose
some, or the check could not fail.
"""

import http.client
import json
import os
import socket
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

CLIENTS = 4
WAIT_S = 120.0
BARGE = {
    "kind": "offsets",
    "length_bp_m": 60.0,
    "stations": [{"x_m": x, "points_m": [[0, 0], [6, 0], [6, 8]]} for x in (0.0, 60.0)],
}
HARDENED = (
    *("--read-only", "--read-only-tmpfs=false", "--tmpfs", "/tmp:rw,size=16m,mode=1777,nosuid,nodev,noexec"),
    *("--cap-drop", "ALL", "--security-opt", "no-new-privileges", "--pids-limit", "64", "--cpus", "1"),
    *("--memory", "512m", "--memory-swap", "512m"),
)


def podman(*arguments: str) -> str:
    """Return what podman prints."""
    done = subprocess.run(["podman", *arguments], capture_output=True, text=True, check=False)
    if done.returncode:
        raise RuntimeError(f"podman {' '.join(arguments)}: {done.stderr[-500:]}")
    return done.stdout


def free_port() -> int:
    """Return a port nothing listens on."""
    with socket.create_server(("127.0.0.1", 0)) as one:
        return int(one.getsockname()[1])


def until(what: str, holds: Any) -> None:
    """Wait until ``holds()``."""
    begun = time.monotonic()
    while not holds():
        if time.monotonic() - begun > WAIT_S:
            raise TimeoutError(what)
        time.sleep(0.05)


def status_of(port: int, path: str) -> int:
    """Return the status of a GET, 0 where there is no answer."""
    try:
        return ask(http.client.HTTPConnection("127.0.0.1", port, timeout=20), "GET", path)[0]
    except (OSError, http.client.HTTPException):
        return 0


def ask(connection: http.client.HTTPConnection, method: str, path: str, body: Any = None) -> tuple[int, bytes]:
    """Return status and content."""
    headers = {"Content-Type": "application/json"} if body is not None else {}
    connection.request(method, path, None if body is None else json.dumps(body), headers)
    answer = connection.getresponse()
    return answer.status, answer.read()


def hydrostatics(planes: int) -> dict[str, Any]:
    """Return a request of so many waterplanes."""
    grid = {"draft_m": [1 + 5 * i / (planes // 20) for i in range(planes // 20)], "heel_deg": list(range(20))}
    return {"hull": BARGE, "density_t_per_m3": 1.025, "grid": grid}


class Load:
    """Clients that ask until told to stop."""

    def __init__(self, port: int) -> None:
        self.port = port
        self.answers: Counter[tuple[str, str]] = Counter()
        self._stop = threading.Event()
        self._lock = threading.Lock()
        self._threads = [threading.Thread(target=self._client) for _ in range(CLIENTS)]
        for one in self._threads:
            one.start()

    def _client(self) -> None:
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        while not self._stop.is_set():
            for method, path, body in (
                ("GET", "/v1/cells/list?heeling_moment_tm=40&displacement_t=2000&gm_m=1.25", None),
                ("POST", "/v1/hydrostatics", hydrostatics(20)),
                ("POST", "/v1/hydrostatics", hydrostatics(200)),
            ):
                try:
                    result = str(ask(connection, method, path, body)[0])
                except (OSError, http.client.HTTPException) as error:
                    result = type(error).__name__
                    connection.close()
                with self._lock:
                    self.answers[method, result] += 1

    def sent(self, method: str) -> int:
        """Return how many were sent."""
        return sum(count for (one, _), count in self.answers.items() if one == method)

    def end(self) -> None:
        """Let every client finish its request, and stop."""
        self._stop.set()
        for one in self._threads:
            one.join()


class Stand:
    """The proxy and its instances."""

    def __init__(self, image: str, config: str, folder: str) -> None:
        self.image, self.config, self.admin = image, config, f"{folder}/admin"
        self.ports = {"one": free_port(), "two": free_port()}
        self.number = 0
        self.running: dict[str, str] = {}
        self.all: list[str] = []

    def start(self, place: str) -> None:
        """Start an instance and wait until it is ready."""
        self.number += 1
        name = f"{place}-{self.number}"
        port = self.ports[place]
        podman("run", "-d", "--name", name, "-p", f"127.0.0.1:{port}:8000", *HARDENED, self.image)
        self.running[place] = name
        self.all.append(name)
        until(f"{name} ready", lambda: status_of(port, "/health/ready") == 200)

    @contextmanager
    def proxy(self, per_minute: int) -> Iterator[int]:
        """Have the proxy run, both its instances up; yield its port."""
        port = free_port()
        servers = {f"SERVER_{place.upper()}": f"127.0.0.1:{at}" for place, at in self.ports.items()}
        environment = {"BIND": f"127.0.0.1:{port}", "ADMIN_SOCKET": self.admin, "REQUESTS_PER_MINUTE": str(per_minute)}
        process = subprocess.Popen(
            ["haproxy", "-f", self.config],
            env={**os.environ, **environment, **servers},
            stderr=subprocess.DEVNULL,
        )
        try:
            until("the proxy", lambda: Path(self.admin).exists() and status_of(port, "/v1/version") == 200)
            yield port
        finally:
            process.terminate()
            process.wait(30)
            Path(self.admin).unlink(missing_ok=True)

    def tell(self, command: str) -> str:
        """Send a command to the proxy."""
        with socket.socket(socket.AF_UNIX) as line:
            line.connect(self.admin)
            line.sendall(command.encode() + b"\n")
            return b"".join(iter(lambda: line.recv(65536), b"")).decode()

    def figures(self, place: str) -> dict[str, str]:
        """Return what the proxy knows of an instance."""
        head, *rows = self.tell("show stat").removeprefix("# ").splitlines()
        names = head.split(",")
        found = [dict(zip(names, row.split(","), strict=False)) for row in rows]
        return next(one for one in found if one["pxname"] == "service" and one["svname"] == place)

    def restart(self, place: str) -> None:
        """Drain, stop, start, and put back in turn."""
        self.tell(f"set server service/{place} state drain")
        until(f"{place} drained", lambda: self.figures(place)["scur"] == "0")
        name = self.running[place]
        podman("stop", "-t", "75", name)
        code = podman("wait", name).strip()
        assert code == "0", f"{name} ended with {code}"
        self.start(place)
        self.tell(f"set server service/{place} state ready")
        until(f"{place} up", lambda: self.figures(place)["status"].startswith("UP"))

    def posts(self) -> Counter[int]:
        """Return the POSTs the instances answered, by status, from their logs."""
        found: Counter[int] = Counter()
        for name in self.all:
            done = subprocess.run(["podman", "logs", name], capture_output=True, text=True, check=True)
            for line in (done.stdout + done.stderr).splitlines():
                if line.startswith("{") and (told := json.loads(line)).get("method") == "POST":
                    found[told["status"]] += 1
        return found


def rolled(stand: Stand) -> None:
    """Restart both under load; nothing may be lost, nothing done twice."""
    with stand.proxy(10**6) as port:
        load = Load(port)
        try:
            for place in ("one", "two"):
                before = sum(load.answers.values())
                until("load", lambda before=before: sum(load.answers.values()) > before + 20)
                begun = time.monotonic()
                stand.restart(place)
                meanwhile = sum(load.answers.values()) - before
                print(f"{place} replaced in {time.monotonic() - begun:.1f} s; {meanwhile} requests answered meanwhile")
        finally:
            load.end()
    told = ", ".join(f"{method} {result}: {count}" for (method, result), count in sorted(load.answers.items()))
    print(f"answers: {told}")
    assert {result for _, result in load.answers} == {"200"}, told
    answered = stand.posts()
    print(f"POSTs sent {load.sent('POST')}, in the logs of the four instances {answered.total()}")
    assert answered == Counter({200: load.sent("POST")}), answered


def killed(stand: Stand) -> None:
    """Kill one instance while each works on a request: that request is lost, and not sent to the other."""
    before = stand.posts().total()
    results: list[str] = []

    def long_request(port: int) -> None:
        try:
            connection = http.client.HTTPConnection("127.0.0.1", port, timeout=100)
            results.append(str(ask(connection, "POST", "/v1/hydrostatics", hydrostatics(20_000))[0]))
        except (OSError, http.client.HTTPException) as error:
            results.append(type(error).__name__)

    with stand.proxy(10**6) as port:
        threads = [threading.Thread(target=long_request, args=(port,)) for _ in stand.ports]
        for one in threads:
            one.start()
        until("both at work", lambda: all(stand.figures(place)["scur"] == "1" for place in stand.ports))
        podman("kill", "-s", "KILL", stand.running["two"])
        for one in threads:
            one.join()
    print(f"two killed in the middle of a request: {' and '.join(sorted(results))}")
    assert sorted(results) == ["200", "502"], results
    assert stand.posts().total() == before + 1, "the lost POST was sent again"


def limited(stand: Stand) -> None:
    """See what the proxy itself answers."""
    with stand.proxy(6) as port:
        inside = {path: status_of(port, path) for path in ("/metrics", "/health/ready")}
        statuses = [status_of(port, "/v1/version") for _ in range(8)]
    print(f"from outside: {inside}; of 8 requests where 6 a minute are allowed: {statuses.count(429)} times 429")
    assert set(inside.values()) == {404}, inside
    assert statuses[0] == 200, statuses
    assert statuses[-2:] == [429, 429], statuses  # the seventh and the eighth at the latest


def main(image: str, config: str) -> None:
    """Run all."""
    with tempfile.TemporaryDirectory() as folder:
        stand = Stand(image, config, folder)
        for place in stand.ports:
            stand.start(place)
        rolled(stand)
        limited(stand)
        killed(stand)


if __name__ == "__main__":
    main(*sys.argv[1:])
