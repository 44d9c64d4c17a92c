"""A service over HTTP as the one who answers; the services here are made for each test."""

import json
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, HTTPServer
from typing import Any

import pytest
import uvicorn

from service.app import create_app
from service.cases import over_http as module
from service.cases.over_http import ATTEMPTS, NoAnswerError, over_http
from service.settings import Settings

Reply = tuple[int, dict[str, str], bytes]


@contextmanager
def serving(*replies: Reply) -> Iterator[tuple[str, list[tuple[str, bytes]]]]:
    """Answer each request with the next reply, the last one for ever; keep what was sent."""
    sent: list[tuple[str, bytes]] = []

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["Content-Length"]))
            status, headers, content = replies[min(len(sent), len(replies) - 1)]
            sent.append((self.path, body))
            self.send_response(status)
            for name, value in headers.items():
                self.send_header(name, value)
            self.end_headers()
            self.wfile.write(content)

        def log_message(self, *_: Any) -> None:
            pass

    server = HTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever, args=(0.01,))
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}", sent
    finally:
        server.shutdown()
        thread.join()
        server.server_close()


@contextmanager
def really_serving(settings: Settings) -> Iterator[str]:
    """Serve the whole service in a thread."""
    server = uvicorn.Server(uvicorn.Config(create_app(settings), log_level="error"))
    with socket.create_server(("127.0.0.1", 0)) as listening:
        thread = threading.Thread(target=server.run, args=([listening],))
        thread.start()
        try:
            yield f"http://127.0.0.1:{listening.getsockname()[1]}"
        finally:
            server.should_exit = True
            thread.join()


@pytest.fixture(autouse=True)
def no_pauses(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    pauses: list[float] = []
    monkeypatch.setattr(module.time, "sleep", pauses.append)
    return pauses


def test_answers_and_refusals_come_with_their_status() -> None:
    with serving((200, {}, b'{"x": 1}'), (422, {}, b'{"type": "/problems/schema"}')) as (url, sent):
        ask = over_http(url + "/")
        assert ask("/v1/x", b"{}") == (200, {"x": 1})
        assert ask("/v1/x", b"[]") == (422, {"type": "/problems/schema"})
    assert sent == [("/v1/x", b"{}"), ("/v1/x", b"[]")]


def test_a_path_before_the_service_is_kept() -> None:
    with serving((200, {}, b"{}")) as (url, sent):
        over_http(url + "/stability/")("/v1/x", b"{}")
    assert sent[0][0] == "/stability/v1/x"


def test_a_busy_service_is_asked_again_when_it_says(no_pauses: list[float]) -> None:
    busy = (503, {"Retry-After": "2"}, b"{}")
    with serving(busy, (429, {}, b"{}"), (200, {}, b'{"x": 1}')) as (url, sent):
        assert over_http(url)("/v1/x", b"{}").status == 200
    assert no_pauses == [2.0, 1.0]
    assert len(set(sent)) == 1


def test_a_service_busy_for_ever_is_given_up(no_pauses: list[float]) -> None:
    with serving((503, {"Retry-After": "86400"}, b'{"type": "/problems/busy"}')) as (url, sent):
        assert over_http(url)("/v1/x", b"{}") == (503, {"type": "/problems/busy"})
    assert len(sent) == ATTEMPTS
    assert max(no_pauses) == module.LONGEST_PAUSE_S


def test_no_json_is_no_answer() -> None:
    with serving((502, {}, b"<html>")) as (url, _), pytest.raises(NoAnswerError, match="502"):
        over_http(url)("/v1/x", b"{}")


def test_nobody_there() -> None:
    with serving((200, {}, b"{}")) as (url, _):
        pass
    with pytest.raises(NoAnswerError, match="no answer"):
        over_http(url)("/v1/x", b"{}")


@pytest.mark.parametrize("url", ["file:///etc/hosts", "127.0.0.1:8000", "http://", "", "ftp://a/b"])
def test_what_is_no_address(url: str) -> None:
    with pytest.raises(NoAnswerError, match="http"):
        over_http(url)


def test_documents_are_read_as_json() -> None:
    with serving((200, {}, json.dumps({"x": 0.1, "y": None}).encode())) as (url, _):
        assert over_http(url)("/v1/x", b"{}").document == {"x": 0.1, "y": None}


@pytest.mark.parametrize("key", [None, "a key of the tests alone"])
def test_the_key_is_sent(key: str | None) -> None:
    with really_serving(Settings(api_key=key)) as url:
        answer = over_http(url, api_key=key)("/v1/tanks/free-surface", b"{}")
        assert answer.status == 422
        if key is not None:
            assert over_http(url)("/v1/tanks/free-surface", b"{}").status == 401
