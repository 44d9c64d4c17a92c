"""The body: counted, timed, unpacked within bounds, and not read where it cannot be computed."""

import asyncio
import gzip
import json
import tracemalloc
from typing import Any

import pytest
from starlette.requests import Request

from service.app import ROUTERS, create_app
from service.edge import body
from service.edge.problems import ProblemError
from service.settings import Settings
from tests.service.edge import small


def request(pieces: list[bytes], headers: dict[str, str] | None = None, *, stall: bool = False) -> Request:
    """Return a request whose body comes in these pieces, and then, with ``stall``, never ends."""
    left = list(pieces)

    async def receive() -> dict[str, Any]:
        if not left and stall:
            await asyncio.Event().wait()
        piece = left.pop(0)
        return {"type": "http.request", "body": piece, "more_body": bool(left) or stall}

    raw = [(name.lower().encode(), value.encode()) for name, value in (headers or {}).items()]
    return Request({"type": "http", "method": "POST", "path": "/", "headers": raw, "query_string": b""}, receive)


def read(one: Request, **options: Any) -> bytes:
    return asyncio.run(body.read(one, **{"limit_bytes": 10_000_000, **options}))


GZIP = {"Content-Encoding": "gzip"}


@pytest.mark.parametrize("size", [0, 1, 1000, body.UNPACKED_BYTES, body.UNPACKED_BYTES + 1, 5 * body.UNPACKED_BYTES])
@pytest.mark.parametrize("piece_size", [1 << 30, 1000])
def test_unpacks_whole(size: int, piece_size: int) -> None:
    plain = bytes(i * i % 251 for i in range(1000)) * (size // 1000) + bytes(size % 1000)
    packed = gzip.compress(plain)
    pieces = [packed[i : i + piece_size] for i in range(0, len(packed), piece_size)]
    assert read(request(pieces, GZIP)) == plain


@pytest.mark.parametrize("tail", [b"x", gzip.compress(b"more", mtime=0)])
def test_one_gzip_stream_and_nothing_after(tail: bytes) -> None:
    packed = gzip.compress(b"{}")
    for pieces in ([packed + tail], [packed, tail]):
        with pytest.raises(ProblemError) as caught:
            read(request(pieces, GZIP))
        assert (caught.value.code, caught.value.status) == ("content-encoding", 400)


def test_a_bomb_is_not_unpacked_beyond_the_limit() -> None:
    """A gigabyte of zeros in a megabyte: refused while no more than limit and one piece is held."""
    bomb = gzip.compress(bytes(1 << 28), compresslevel=1)
    tracemalloc.start()
    with pytest.raises(ProblemError) as caught:
        read(request([bomb], GZIP), limit_bytes=2_000_000)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert caught.value.code == "body-too-large"
    assert peak < 2_000_000 + 4 * body.UNPACKED_BYTES + len(bomb)


@pytest.mark.parametrize("length", ["10000001", "9" * 30, "0" * 5000 + "10000001"])
def test_an_announced_size_is_refused_unread(length: str) -> None:
    with pytest.raises(ProblemError) as caught:
        read(request([], {"Content-Length": length}))
    assert caught.value.code == "body-too-large"


def test_a_body_that_stalls() -> None:
    with pytest.raises(ProblemError) as caught:
        read(request([b"{"], stall=True), within_s=0.02)
    assert caught.value.code == "body-too-slow"


def test_what_is_held_is_what_came() -> None:
    held: list[int] = []
    read(request([b"ab", b"cd"], {"Content-Length": "4"}), hold=held.append)
    assert held == [4]
    held.clear()
    read(request([b"ab", b"cd"]), hold=held.append)
    assert sum(held) == 4


def ask(app: Any, headers: dict[str, str], receive: Any) -> list[Any]:
    sent: list[Any] = []
    raw = [(name.lower().encode(), value.encode()) for name, value in headers.items()]

    async def send(message: Any) -> None:
        sent.append(message)

    scope = {
        "type": "http",
        "method": "POST",
        "path": "/v1/area",
        "raw_path": b"/v1/area",
        "root_path": "",
        "scheme": "http",
        "query_string": b"",
        "headers": raw,
        "server": ("test", 80),
        "client": ("test", 1),
        "http_version": "1.1",
    }

    async def scene() -> None:
        async with app.router.lifespan_context(app):
            places = [app.state.workers.admit() for _ in range(2)]
            await app(scope, receive, send)
            for place in places:
                place.leave()
            assert (app.state.workers.pending, app.state.workers.held_bytes) == (0, 0)

    asyncio.run(scene())
    return sent


def test_busy_is_said_from_the_headers_alone() -> None:
    """With every place taken the body is not asked for; with its memory taken neither."""

    async def receive() -> Any:
        pytest.fail("the body was read")

    headers = {"Content-Type": "application/json", "Content-Length": "2000000"}
    for settings in (
        Settings(threads=1, queue_limit=1),
        Settings(threads=1, queue_limit=9, bodies_limit_bytes=1024, body_limit_bytes=4_000_000),
    ):
        sent = ask(create_app(settings, routers=(*ROUTERS, small.router)), headers, receive)
        assert sent[0]["status"] == 503
        assert (b"retry-after", b"2") in sent[0]["headers"]
        assert json.loads(sent[1]["body"])["type"] == "/problems/busy"


@pytest.mark.parametrize(("length", "expect", "dropped"), [(20, None, 2), (20, "100-continue", 0), (300_000, None, 0)])
def test_a_short_body_that_is_refused_is_dropped_first(length: int, expect: str | None, dropped: int) -> None:
    """Else a server that closes the connection resets it, and the client never sees why."""
    pieces = [{"type": "http.request", "body": b"x" * 10, "more_body": more} for more in (True, False)]

    async def receive() -> Any:
        return pieces.pop(0)

    headers = {"Content-Type": "application/json", "Content-Length": str(length)}
    app = create_app(Settings(threads=1, queue_limit=1), routers=(*ROUTERS, small.router))
    sent = ask(app, headers | ({"Expect": expect} if expect else {}), receive)
    assert sent[0]["status"] == 503
    assert len(pieces) == 2 - dropped


def test_a_slow_body_over_http() -> None:
    async def receive() -> Any:
        await asyncio.Event().wait()

    app = create_app(Settings(body_s=0.02), routers=(*ROUTERS, small.router))
    sent = ask(app, {"Content-Type": "application/json"}, receive)
    assert sent[0]["status"] == 408
    assert json.loads(sent[1]["body"])["type"] == "/problems/body-too-slow"
