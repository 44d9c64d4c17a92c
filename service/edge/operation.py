"""The one way a POST computation is served. Layer: service.edge."""

import asyncio
import hashlib
import inspect
import json
import math
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache, cached_property, partial
from typing import Any, Generic, Literal, NoReturn, TypeVar

from fastapi import APIRouter, Request, Response
from fastapi.routing import APIRoute
from starlette.types import Receive, Scope, Send

from engine.errors import EngineError
from service.edge import body, media, strict_json
from service.edge.model import Model
from service.edge.problems import ProblemError, from_engine
from service.edge.provenance import Provenance
from service.edge.rule_folder import RuleSets, in_force
from service.edge.shelf import Shelf, at_hand
from service.edge.workers import Place, Workers

RequestT = TypeVar("RequestT", bound=Model)
ResponseT = TypeVar("ResponseT", bound=Model)
Units = Literal["si", "us"]
UNITS: tuple[Units, ...] = ("si", "us")


@dataclass(frozen=True)
class Rendering(Generic[ResponseT]):
    """One more form an answer can be had in, beside JSON.

    Attributes
    ----------
    media_type : str
        Without parameters, as ``Accept`` names it.
    write : callable
        ``write(answer, units)`` writes the answer, its provenance signed, in the units asked for: text, sent as UTF-8,
        or bytes.
    parameters : str
        What follows the media type in Content-Type, "charset=utf-8" for a text.
    in_units : bool
        Whether ``?units=`` changes anything.
    binary : bool
        Whether ``write`` returns bytes that are no text; said in the OpenAPI document.
    of_request : bool
        Whether the request is written too: ``write(request, answer, units)``, the request with its hull in full.
    """

    media_type: str
    write: Callable[..., str | bytes]
    parameters: str = ""
    in_units: bool = True
    binary: bool = False
    of_request: bool = False

    def written(self, request: Model, answer: ResponseT, units: Units) -> bytes:
        """Return the form's bytes."""
        made = self.write(request, answer, units) if self.of_request else self.write(answer, units)
        return made.encode() if isinstance(made, str) else made

    @property
    def content_type(self) -> str:
        """The Content-Type header."""
        return f"{self.media_type}; {self.parameters}" if self.parameters else self.media_type


@dataclass(frozen=True)
class Operation(Generic[RequestT, ResponseT]):
    """A computation and its face: the OpenAPI document and the endpoint are both made from this."""

    path: str
    request: type[RequestT]
    response: type[ResponseT]
    compute: Callable[[RequestT], ResponseT]
    operation_id: str
    summary: str
    description: str
    examples: Callable[[], Mapping[str, Any]]
    tag: str
    renderings: Mapping[str, Rendering[ResponseT]]
    expected_work_s: Callable[[RequestT], float] | None = None

    @property
    def example(self) -> Mapping[str, Any]:
        """A body that is answered with 200."""
        return self.examples()

    @cached_property
    def formats(self) -> dict[str, str]:
        """The formats the answer comes in: name → media type."""
        return {"json": media.JSON} | {name: one.media_type for name, one in self.renderings.items()}

    @cached_property
    def query(self) -> dict[str, list[str]]:
        """The query parameters and what they may be."""
        in_units = any(one.in_units for one in self.renderings.values())
        return {"format": list(self.formats)} | ({"units": list(UNITS)} if in_units else {})

    async def __call__(self, http: Request) -> Response:
        """Answer one request."""
        media.refuse_unknown_query(http, self.query)
        units: Units = media.one_of(http, "units", UNITS)
        chosen = media.choose(http, self.formats)
        media.require_json(http)
        state = http.app.state
        settings, workers = state.settings, state.workers
        with workers.admit() as place:  # from the headers alone: a body that cannot be computed is not read
            begun = time.perf_counter()
            content = await body.read(
                http, limit_bytes=settings.body_limit_bytes, within_s=settings.body_s, hold=place.hold
            )
            read_s = time.perf_counter() - begun
            work = partial(
                self.answer,
                content,
                chosen,
                units,
                work_limit_s=workers.work_limit_s,
                shelf=state.shelf,
                sets=state.rule_sets,
            )
            try:
                data = await _unless_gone(http, workers, work, place)
            finally:
                http.state.timings = {"read": read_s, "wait": place.waited_s, "work": place.worked_s}
        headers = {"Cache-Control": "no-store", "Vary": "Accept"}
        content_type = self.renderings[chosen].content_type if chosen in self.renderings else media.JSON
        return Response(data, headers={**headers, "Content-Type": content_type})

    def answer(
        self,
        content: bytes,
        chosen: str = "json",
        units: Units = "si",
        work_limit_s: float = math.inf,
        shelf: Shelf | None = None,
        sets: RuleSets | None = None,
    ) -> bytes:
        """Return the answer's bytes for the body's bytes: everything but HTTP."""
        sent = strict_json.parse(self.request, content, partial(names_of, self.request))
        request, digests = sent, {"request_sha256": hashlib.sha256(content).hexdigest()}
        hull = getattr(sent, "hull", None)
        if shelf is not None and isinstance(hull, Model):
            whole, digests["hull_sha256"] = shelf.whole(hull)
            request = sent if whole is hull else sent.model_copy(update={"hull": whole})
        expected_s = self.expected_work_s(request) if self.expected_work_s else 0.0
        if expected_s > work_limit_s:
            detail = f"at least {expected_s:.6g} s of processor time expected, {work_limit_s:.6g} s allowed"
            raise ProblemError("work-over-limit", detail)
        try:
            with at_hand(shelf), in_force(sets):
                answer = self.compute(request)
        except EngineError as error:
            raise from_engine(error, sent) from error
        except ExceptionGroup as errors:
            if errors.split(EngineError)[1] is not None:
                raise
            raise from_engine(errors, sent) from errors
        made_by = getattr(answer, "provenance", None)
        if isinstance(made_by, Provenance):
            answer = answer.model_copy(update={"provenance": made_by.model_copy(update=digests)})
        if chosen not in self.renderings:
            return finite_json(answer)
        with at_hand(shelf):  # a report draws the hull
            return self.renderings[chosen].written(request, answer, units)


def finite_json(answer: Model) -> bytes:
    """Return the answer as JSON, absent fields left out; raise if a number in it is not finite."""
    text = answer.model_dump_json(exclude_none=True)
    if "NaN" in text or "Infinity" in text:  # a name may hold the word: let a reader decide
        json.loads(text, parse_constant=_refuse_constant)
    return text.encode()


def _refuse_constant(_: str) -> NoReturn:
    raise ArithmeticError("a number of the answer is not finite")


WATCHED_AFTER_S = 0.02
"""A computation done sooner is over before it could be stopped: its client's connection is not watched."""


async def _unless_gone(http: Request, workers: Workers, work: Callable[[], bytes], place: Place) -> bytes:
    """Return ``work()``, done by the workers, but have them stop when the client closes the connection."""
    loop, watches = asyncio.get_running_loop(), list[asyncio.Task[None]]()
    gone: asyncio.Future[None] = loop.create_future()
    timer = loop.call_later(WATCHED_AFTER_S, lambda: watches.append(loop.create_task(_watch(http, gone))))
    try:
        return await workers.run(work, place, unless=gone)
    except asyncio.CancelledError:
        task = asyncio.current_task()
        if gone.done() and task is not None and not task.cancelling():
            raise body.ClientDisconnect from None
        raise
    finally:
        timer.cancel()
        for watch in watches:
            watch.cancel()


async def _watch(http: Request, gone: "asyncio.Future[None]") -> None:
    while (await http.receive())["type"] != "http.disconnect":
        pass
    gone.set_result(None)


def operation(
    router: APIRouter,
    path: str,
    *,
    request: type[RequestT],
    response: type[ResponseT],
    operation_id: str,
    summary: str,
    example: Mapping[str, Any] | Callable[[], Mapping[str, Any]],
    tag: str,
    description: str = "",
    csv: Callable[[ResponseT, Units], str] | None = None,
    renderings: Mapping[str, Rendering[ResponseT]] | None = None,
    expected_work_s: Callable[[RequestT], float] | None = None,
) -> Callable[[Callable[[RequestT], ResponseT]], Callable[[RequestT], ResponseT]]:
    """Serve a pure function at ``POST path``; the function itself stays as it is.

    Parameters
    ----------
    request, response : type of Model
        What the function takes and returns. A field ``provenance: Provenance = Provenance()`` of the response is
        filled in with the body's digest.
    operation_id : str
        Verb first; it becomes the client's method.
    example : mapping, or callable that returns one
        A body that is answered with 200; a test sends it. A callable is asked when the example is first wanted.
    csv : callable, optional
        Writes the response as CSV in the units asked for.
    renderings : mapping of str to Rendering, optional
        Further forms by the name ``?format=`` has for them; without these and ``csv`` the operation offers JSON alone.
    expected_work_s : callable, optional
        Processor time a request is sure to need, estimated from its sizes; over the limit it is refused uncomputed. [s]
    """
    table: dict[str, Rendering[ResponseT]] = (
        {} if csv is None else {"csv": Rendering(media.CSV, csv, "charset=utf-8; header=present")}
    )

    def serve(compute: Callable[[RequestT], ResponseT]) -> Callable[[RequestT], ResponseT]:
        served = Operation(
            path=path,
            request=request,
            response=response,
            compute=compute,
            operation_id=operation_id,
            summary=summary,
            description=description or inspect.getdoc(compute) or "",
            examples=example if callable(example) else lambda: example,
            tag=tag,
            renderings={**table, **(renderings or {})},
            expected_work_s=expected_work_s,
        )
        endpoint: Any = partial(_endpoint, served)
        endpoint.operation = served
        router.add_api_route(
            path,
            endpoint,
            methods=["POST"],
            response_class=Response,
            operation_id=operation_id,
            summary=summary,
            tags=[tag],
            route_class_override=_Direct,
        )
        return compute

    return serve


async def _endpoint(operation: Operation[Any, Any], request: Request) -> Response:
    return await operation(request)


class _Direct(APIRoute):
    """Hands the request to an operation as it is: there are no parameters or dependencies for the framework to find."""

    def __init__(self, path: str, endpoint: Any, **facts: Any) -> None:
        super().__init__(path, endpoint, **facts)
        served: Operation[Any, Any] = endpoint.operation

        async def app(scope: Scope, receive: Receive, send: Send) -> None:
            response = await served(Request(scope, receive, send))
            await response(scope, receive, send)

        self.app = app


@cache
def names_of(model: type[Model]) -> frozenset[str]:
    """Return the names of all fields in ``model`` and below, as its schema has them."""
    names: set[str] = set()

    def walk(node: object) -> None:
        if isinstance(node, dict):
            properties = node.get("properties")
            names.update(properties if isinstance(properties, dict) else ())
            for below in node.values():
                walk(below)
        elif isinstance(node, list):
            for below in node:
                walk(below)

    walk(model.model_json_schema())
    return frozenset(names)
