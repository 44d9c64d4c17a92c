"""A client that goes away takes its computation with it."""

import asyncio
import json
import threading
from typing import Any

import pytest

from engine.deadline import checkpoint
from service.app import ROUTERS, create_app
from service.settings import Settings
from tests.service.edge import small


def test_the_computation_is_stopped(monkeypatch: pytest.MonkeyPatch) -> None:
    begun, ended = threading.Event(), threading.Event()

    def endless(_: small.AreaRequest) -> small.AreaAnswer:
        begun.set()
        try:
            while True:
                checkpoint()
        finally:
            ended.set()

    app = create_app(Settings(), routers=(*ROUTERS, small.router))
    served = next(route.endpoint.operation for route in small.router.routes)  # type: ignore[attr-defined]
    monkeypatch.setitem(served.__dict__, "compute", endless)
    body = json.dumps(small.EXAMPLE).encode()
    sent: list[Any] = []

    async def receive() -> dict[str, Any]:
        if not begun.is_set() and not sent:
            sent.append("body")
            return {"type": "http.request", "body": body, "more_body": False}
        await asyncio.to_thread(begun.wait, 30)
        return {"type": "http.disconnect"}

    async def send(message: Any) -> None:
        sent.append(message)

    scope = {
        "type": "http",
        "method": "POST",
        "path": "/v1/area",
        "raw_path": b"/v1/area",
        "query_string": b"",
        "root_path": "",
        "headers": [(b"content-type", b"application/json")],
        "http_version": "1.1",
        "scheme": "http",
        "server": ("test", 80),
        "client": ("test", 1),
    }

    async def scene() -> None:
        async with app.router.lifespan_context(app):
            await app(scope, receive, send)
            assert await asyncio.to_thread(ended.wait, 30)

    asyncio.run(scene())
    assert sent == ["body"]  # and nothing was answered
