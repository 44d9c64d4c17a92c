"""What is answered while the application is still being loaded. Layer: service.edge.

Importing the application takes longer than a process may stay silent. So the server listens at once; ``/health/live``
is answered, ``/health/ready`` says that it is not, and everything else waits until the application is there, which
then gets every request as it came. docs/decisions/start_up.md has the measurements.
"""

import asyncio
import logging
import time
from collections.abc import Callable
from contextlib import AsyncExitStack
from dataclasses import dataclass, field
from typing import NoReturn

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Match, Route
from starlette.types import ASGIApp, Receive, Scope, Send

from service.edge.context import RequestContext, http_handler, problem_handler
from service.edge.media import refuse_unknown_query
from service.edge.problems import ProblemError
from service.edge.telemetry import Metrics

log = logging.getLogger("service")

LIVE, READY = "/health/live", "/health/ready"


async def live(request: Request) -> Response:
    """Return at once."""
    refuse_unknown_query(request, ())
    return JSONResponse({"status": "live"}, headers={"Cache-Control": "no-store"})


async def not_ready(request: Request) -> NoReturn:
    """Refuse at once."""
    refuse_unknown_query(request, ())
    raise ProblemError("starting", headers={"Retry-After": "1"})


async def _nothing_more(scope: Scope, receive: Receive, send: Send) -> NoReturn:
    """Refuse what waited for an application that cannot be loaded."""
    raise ProblemError("starting", "the service cannot be started", headers={"Retry-After": "10"})


class _Named(Route):
    """A route that tells the log and the metrics its template, as the application's do."""

    def matches(self, scope: Scope) -> tuple[Match, Scope]:
        match, found = super().matches(scope)
        return match, found if match is Match.NONE else {**found, "route": self}


def _small(metrics: Metrics) -> ASGIApp:
    """Return the application that answers meanwhile."""
    app = Starlette(
        routes=[_Named(LIVE, live, methods=["GET"]), _Named(READY, not_ready, methods=["GET"])],
        exception_handlers={ProblemError: problem_handler, HTTPException: http_handler},
    )
    app.router.default = _nothing_more
    app.router.redirect_slashes = False
    return RequestContext(app, routes=lambda: app.router.routes, metrics=metrics)


@dataclass
class Loading:
    """An ASGI application that becomes another one when that is loaded.

    Attributes
    ----------
    load : callable
        Makes the application, with these figures; called in a thread once the server runs.
    give_up : callable
        Called with the error where that fails; has to stop the server.
    loaded : callable
        Called when the application is there.
    """

    load: Callable[[Metrics], Starlette]
    give_up: Callable[[Exception], None]
    loaded: Callable[[], None]
    metrics: Metrics = field(default_factory=Metrics)
    _app: ASGIApp | None = None

    def __post_init__(self) -> None:
        self._meanwhile = _small(self.metrics)
        self._decided = asyncio.Event()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request, or the process's life."""
        if self._app is None:
            if scope["type"] == "lifespan":
                await self._live_through(receive, send)
                return
            if scope["type"] != "http" or scope["path"] not in (LIVE, READY):
                scope.setdefault("state", {})["arrived"] = time.perf_counter()
                await self._decided.wait()
        await (self._app or self._meanwhile)(scope, receive, send)

    async def _live_through(self, receive: Receive, send: Send) -> None:
        """Load, let the application live, and end it when told to; what waits for it is answered before."""
        await receive()
        told_to_stop = asyncio.ensure_future(receive())
        await send({"type": "lifespan.startup.complete"})
        async with AsyncExitStack() as life:
            try:
                app = await asyncio.to_thread(self.load, self.metrics)
                await life.enter_async_context(app.router.lifespan_context(app))
                self._app = app
                self.loaded()
            except Exception as error:
                log.critical("the application cannot be loaded", exc_info=error)
                self.give_up(error)
            self._decided.set()
            await told_to_stop
        await send({"type": "lifespan.shutdown.complete"})
