"""Around every request: its name and clock, HEAD and OPTIONS, the net under all. Layer: service.edge."""

import asyncio
import contextlib
import logging
import time
import uuid
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import partial

from starlette.datastructures import Headers
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect, Request
from starlette.responses import Response
from starlette.routing import BaseRoute, Match
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service.edge.problems import ProblemError, instance_of, respond
from service.edge.telemetry import Metrics, told

log = logging.getLogger("service")

DROPPED_BYTES = 256 * 1024
DROPPED_S = 1.0
_METHODS = ("DELETE", "GET", "PATCH", "POST", "PUT")


@dataclass(frozen=True)
class RequestContext:
    """Gives each request an id and a Server-Timing, and turns what nobody caught into a bare 500.

    HEAD is answered as GET without the content (RFC 9110, 9.3.2), OPTIONS with 204 and Allow.
    """

    app: ASGIApp
    routes: Callable[[], Iterable[BaseRoute]]
    metrics: Metrics

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        state = scope.setdefault("state", {})
        start = state.setdefault("arrived", time.perf_counter())  # earlier where it waited for the application
        request_id = state["request_id"] = str(uuid.uuid4())
        rest = Rest(receive, scope)
        method, begun, status = scope["method"], False, 499  # 499: gone before an answer

        async def tell(message: Message) -> None:
            nonlocal begun, status
            if message["type"] == "http.response.start":
                if not rest.ended:
                    await rest.taken()
                begun, status = True, message["status"]
                spent = {**state.get("timings", {}), "total": time.perf_counter() - start}
                timing = ", ".join([f"{name};dur={1000 * s:.1f}" for name, s in spent.items()])
                message["headers"] = [
                    *message["headers"],
                    (b"x-request-id", request_id.encode()),
                    (b"x-content-type-options", b"nosniff"),
                    (b"server-timing", timing.encode()),
                ]
            elif method == "HEAD":
                message = {**message, "body": b""}
            await send(message)

        request, inner = Request(scope, rest), scope
        try:
            if method == "OPTIONS" and (methods := allowed(self.routes(), scope)):
                await Response(status_code=204, headers={"Allow": ", ".join(methods)})(scope, receive, tell)
                return
            if method == "HEAD":  # in a copy: the server must still see a HEAD, whose answer has no content
                inner = {**scope, "method": "GET"}
                scope["state"]["head"] = True
            await self.app(inner, rest, tell)
        except ClientDisconnect:
            log.info("the client went away", extra={"facts": {"request_id": request_id}})
        except Exception:
            log.exception("failed", extra={"facts": {"request_id": request_id}})
            if begun:
                raise
            await respond(ProblemError("internal"), instance=instance_of(request))(scope, receive, tell)
        finally:
            tell_of_it = partial(
                told,
                self.metrics,
                inner,
                method=method,
                status=status,
                took_s=time.perf_counter() - start,
                request_id=request_id,
                work_s=scope["state"].get("timings", {}).get("work", 0.0),
            )
            asyncio.get_running_loop().call_soon(tell_of_it)  # the answer is sent first, the next request read after


class Rest:
    """The rest of a body that nobody read; it is taken and dropped before the answer, where it is short.

    A server that closes a connection on which bytes lie unread resets it, and the client loses the answer with it.

    Attributes
    ----------
    ended : bool
        Whether there is none left, or too much to be taken.
    """

    def __init__(self, receive: Receive, scope: Scope) -> None:
        self._receive = receive
        headers = Headers(scope=scope)
        announced = headers.get("content-length", "0")
        short = announced.isascii() and announced.isdigit() and 0 < int(announced[:9]) <= DROPPED_BYTES
        self.ended = not short or len(announced) > 9 or "expect" in headers  # who expects a word sends nothing before

    async def __call__(self) -> Message:
        """Return the next message of the client."""
        message = await self._receive()
        if message["type"] != "http.request" or not message.get("more_body", False):
            self.ended = True
        return message

    async def taken(self) -> None:
        """Drop what is left, for a moment at most."""
        with contextlib.suppress(TimeoutError):
            async with asyncio.timeout(DROPPED_S):
                while not self.ended:
                    await self()


def allowed(routes: Iterable[BaseRoute], scope: Scope) -> list[str]:
    """Return the methods the path of ``scope`` answers to; none for a path that does not exist."""
    here = list(routes)
    found = {
        method
        for method in _METHODS
        if any(route.matches({**scope, "method": method})[0] is Match.FULL for route in here)
    }
    if "GET" in found:
        found.add("HEAD")
    return sorted(found | {"OPTIONS"}) if found else []


async def problem_handler(request: Request, error: Exception) -> Response:
    """Answer a ``ProblemError``."""
    assert isinstance(error, ProblemError)
    return respond(error, instance=instance_of(request))


async def http_handler(request: Request, error: Exception) -> Response:
    """Answer what the framework itself refuses: unknown paths, wrong methods, and the rest by status."""
    assert isinstance(error, HTTPException)
    if error.status_code == 404:
        problem = ProblemError("not-found")
    elif error.status_code == 405:
        methods = allowed(request.app.router.routes, request.scope)
        problem = ProblemError("method", f"allowed: {', '.join(methods)}", headers={"Allow": ", ".join(methods)})
    else:
        problem = ProblemError("http", status=error.status_code, headers=error.headers)
    return respond(problem, instance=instance_of(request))
