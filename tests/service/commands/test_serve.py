"""The server as a process: says where it is, serves, and ends well when told to."""

import json
import re
import signal
import socket
import subprocess
import sys
import urllib.request

import pytest

from service.__main__ import main


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
    finally:
        server.send_signal(signal.SIGTERM)
        server.communicate(timeout=30)
    assert server.returncode in (0, -signal.SIGTERM)


def test_a_port_in_use_is_said_so(capsys: pytest.CaptureFixture[str]) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        assert main(["serve", "--port", str(taken.getsockname()[1])]) == 1
    assert "cannot listen" in capsys.readouterr().err
