"""Broken and mutated inputs against a served instance.

    python -m tests.performance.fuzz [--count 10000] [--first 0] [--clients 4]

Every input must be answered within its time, by no 5xx but a 503 with Retry-After; a 200 holds no NaN; the memory stays
bounded; and the service is ready at the end. Each input is made from its number, so a failure is run again by
``--first NUMBER --count 1``.
"""

import argparse
import contextlib
import http.client
import json
import sys
import threading
import time
from collections import Counter

from tests.performance.mutants import Mutants, Sent
from tests.performance.served import Served, served

ANSWER_S = 40.0
MEMORY_BYTES = 1_500_000_000
SETTINGS = {"work_limit_s": 5, "deadline_s": 15, "body_s": 1.5, "body_limit_bytes": 8_000_000}


class Run:
    """What came of the inputs so far."""

    def __init__(self, at: Served, mutants: Mutants, numbers: range) -> None:
        self.at, self.mutants = at, mutants
        self._numbers, self._lock = iter(numbers), threading.Lock()
        self.statuses: Counter[tuple[str, int]] = Counter()
        self.failures: list[str] = []
        self.slowest_s, self.peak_bytes = 0.0, 0

    def work(self) -> None:
        """Send inputs until there are none left."""
        while True:
            with self._lock:
                number = next(self._numbers, None)
            if number is None:
                return
            self._one(number)

    def _one(self, number: int) -> None:
        sent = self.mutants.one(number)
        begun = time.monotonic()
        try:
            status, headers, body = ask(self.at, sent)
        except (OSError, http.client.HTTPException) as error:
            status, headers, body = 0, {}, type(error).__name__.encode()
        took = time.monotonic() - begun
        fault = wrong(status, headers, body)
        with self._lock:
            self.statuses[sent.kind, status] += 1
            self.slowest_s = max(self.slowest_s, took)
            self.peak_bytes = max(self.peak_bytes, self.at.resident_bytes())
            if fault:
                self.failures.append(f"{number} {sent.kind} {sent.method} {sent.path[:80]}: {fault}")


def ask(at: Served, sent: Sent) -> tuple[int, dict[str, str], bytes]:
    """Send one input and return the answer."""
    connection = http.client.HTTPConnection(at.host, at.port, timeout=ANSWER_S)
    try:
        connection.putrequest(sent.method, sent.path, skip_accept_encoding=True)
        headers = {"Content-Length": str(len(sent.body)), **sent.headers} if sent.method == "POST" else sent.headers
        for name, value in headers.items():
            connection.putheader(name, value)
        connection.endheaders()
        with contextlib.suppress(BrokenPipeError, ConnectionResetError):  # refused unread: the answer is there
            connection.send(sent.body)
        answer = connection.getresponse()
        named = {name.lower(): value for name, value in answer.getheaders()}
        return answer.status, named, answer.read()
    finally:
        connection.close()


def wrong(status: int, headers: dict[str, str], body: bytes) -> str:
    """Return what is wrong with an answer; nothing where it is sound."""
    if status == 0:
        return f"no answer: {body.decode()}"
    if status >= 500 and not (status == 503 and "retry-after" in headers):
        return f"status {status}: {body[:200]!r}"
    media_type = headers.get("content-type", "")
    if media_type.startswith("application/") and "json" in media_type and body:
        try:
            json.loads(body, parse_constant=lambda word: 1 / 0)
        except (ValueError, ZeroDivisionError):
            return f"status {status}, not JSON"
    return ""


def main() -> int:
    """Run; return 1 if an input was not answered as it must be."""
    parser = argparse.ArgumentParser(description="Broken and mutated inputs against a served instance.")
    parser.add_argument("--count", type=int, default=10_000)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--clients", type=int, default=4)
    options = parser.parse_args()
    begun = time.monotonic()
    with served(**SETTINGS) as at:
        _, _, document = ask(at, Sent("document", "GET", "/openapi.json", {}, b""))
        run = Run(
            at,
            Mutants(json.loads(document)),
            range(options.first, options.first + options.count),
        )
        at_first = at.resident_bytes()
        threads = [threading.Thread(target=run.work) for _ in range(options.clients)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        ready, _, _ = ask(at, Sent("ready", "GET", "/health/ready", {}, b""))
    kinds = sorted({kind for kind, _ in run.statuses})
    for kind in kinds:
        counts = {status: count for (one, status), count in sorted(run.statuses.items()) if one == kind}
        print(f"{kind:8} {counts}")
    print(
        f"{options.count} inputs in {time.monotonic() - begun:.0f} s; slowest answer {run.slowest_s:.1f} s; "
        f"memory {at_first / 1e6:.0f} MB at first, {run.peak_bytes / 1e6:.0f} MB at most; ready at the end: {ready}"
    )
    for failure in run.failures[:40]:
        print("FAILED", failure)
    good = not run.failures and ready == 200 and run.peak_bytes < MEMORY_BYTES
    print("sound" if good else f"{len(run.failures)} failures")
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
