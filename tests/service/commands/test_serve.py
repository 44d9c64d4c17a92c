"""The server as a process: says where it is, serves, and ends well when told to."""

import argparse
import contextlib
import http.client
import json
import re
import signal
import socket
import subprocess
import sys
import urllib.request
from concurrent.futures import ThreadPoolExecutor

import pytest

from service.__main__ import main
from service.commands import serve
from service.schemas.hull import BOX_BARGE


def test_serves_on_a_free_port_and_stops() -> None:
    command = [sys.executable, "-m", "service", "serve", "--port", "0"]
    server = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
    try:
        assert server.stdout is not None
        line = server.stdout.readline()
        found = re.fullmatch(r"serving on (http://127\.0\.0\.1:[1-9][0-9]*/)\n", line)
        assert found, line
        with urllib.request.urlopen(found[1] + "health/ready", timeout=30) as answer:
            assert json.loads(answer.read()) == {"status": "ready"}
        connection = http.client.HTTPConnection("127.0.0.1", int(found[1].split(":")[2].strip("/")), timeout=30)
        cell = "/v1/cells/list?heeling_moment_tm=1&displacement_t=1&gm_m=1"
        for path, told in (("/v1/version", True), (cell, False)):
            connection.request("HEAD", path)  # a real server holds the length it is told against the content
            head = connection.getresponse()
            assert (head.status, head.read(), "content-length" in head.headers) == (200, b"", told)
        connection.close()
    finally:
        server.send_signal(signal.SIGTERM)
        server.communicate(timeout=30)
    assert server.returncode == 0


def test_a_port_in_use_is_said_so(capsys: pytest.CaptureFixture[str]) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        assert main(["serve", "--port", str(taken.getsockname()[1])]) == 1
    assert "cannot listen" in capsys.readouterr().err


def test_told_to_stop_it_finishes_what_it_admitted() -> None:
    """Four computations are admitted, two of them still waiting, when SIGTERM comes; each is answered whole."""
    grid = {"draft_m": [0.5 + 7 * i / 999 for i in range(1000)], "heel_deg": [0.5 * i for i in range(20)]}
    body = json.dumps({"hull": BOX_BARGE, "density_t_per_m3": 1.025, "grid": grid}).encode()
    command = [sys.executable, "-m", "service", "serve", "--port", "0"]
    server = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
    try:
        assert server.stdout is not None
        address = server.stdout.readline().split()[-1]

        def ask(_: int) -> int:
            request = urllib.request.Request(
                address + "v1/hydrostatics", data=body, headers={"Content-Type": "application/json"}
            )
            with urllib.request.urlopen(request, timeout=60) as answer:
                return len(json.loads(answer.read())["columns"]["volume_m3"])

        with ThreadPoolExecutor(4) as pool:
            asked = [pool.submit(ask, i) for i in range(4)]
            while not all(one.done() for one in asked):
                with urllib.request.urlopen(address + "metrics", timeout=60) as answer:
                    if b"sts_pending_requests 4.0" in answer.read():
                        break
            assert not any(one.done() for one in asked), "make the work longer"
            server.send_signal(signal.SIGTERM)
            assert [one.result(60) for one in asked] == [20000] * 4
    finally:
        server.send_signal(signal.SIGTERM)
        server.communicate(timeout=60)
    assert server.returncode == 0


def connected(port: int, server: "subprocess.Popen[str]") -> http.client.HTTPConnection:
    """Return a connection, made as soon as the server listens."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    while server.poll() is None:
        with contextlib.suppress(ConnectionRefusedError):
            connection.connect()
            return connection
    raise AssertionError("the server ended")


def test_told_to_stop_while_loading_it_answers_what_waits() -> None:
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = free.getsockname()[1]
    command = [sys.executable, "-m", "service", "serve", "--port", str(port)]
    server = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
    try:
        early = connected(port, server)
        early.request("GET", "/v1/version")
        live = connected(port, server)
        live.request("GET", "/health/live")  # the earlier request is there when this one is answered
        assert live.getresponse().status == 200
        live.close()
        server.send_signal(signal.SIGTERM)
        assert early.getresponse().status == 200
        early.close()
    finally:
        server.send_signal(signal.SIGTERM)
        server.communicate(timeout=60)
    assert server.returncode == 0


def test_an_application_that_cannot_be_loaded_ends_the_process() -> None:
    code = """
import sys
from service.__main__ import main
from service.commands import serve

def broken(figures):
    raise ValueError("no such thing")

serve.logging_app = broken
sys.exit(main(["serve", "--port", "0"]))
"""
    ended = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=False)
    assert ended.returncode == 1
    assert "cannot start: ValueError: no such thing\n" in ended.stderr
    assert "Traceback" not in ended.stderr


@pytest.mark.parametrize(
    ("name", "value", "words"),
    [
        ("STS_THREADS", "0", "setting threads: Input should be greater than or equal to 1"),
        ("STS_API_KEY", "Basalt", "setting api_key: Value should have at least 16 items after validation"),
        ("HULL_LIBRARY", "/nowhere", "the folder of hulls (HULL_LIBRARY) cannot be read: No such file or directory"),
    ],
)
@pytest.mark.parametrize("workers", ["1", "2"])
def test_what_is_set_wrongly_is_said_in_one_line(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], name: str, value: str, words: str, workers: str
) -> None:
    monkeypatch.setenv(name, value)
    assert main(["serve", "--port", "0", "--workers", workers]) == 1
    told = capsys.readouterr()
    assert (told.out, told.err.count("\n")) == ("", 1)
    assert words in told.err
    assert "Basalt" not in told.err


def test_this_machine_alone_unless_told_otherwise() -> None:
    parser = argparse.ArgumentParser()
    serve.add_arguments(parser)
    assert parser.parse_args([]).host == "127.0.0.1"
