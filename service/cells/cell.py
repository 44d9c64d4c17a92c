"""The one way a cell is served. Layer: service.cells.

A spreadsheet's formula sends no header and shows no body of an error. So format and key sit in the URL, and an error is
by default a text with 200, ``#ERR code: words``; with ``errors=status`` it is a problem document with its status.
HEAD costs nothing: spreadsheets ask it before every GET.
"""

import inspect
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Any, Generic, Literal, TypeVar

from fastapi import APIRouter, Request, Response
from starlette.responses import PlainTextResponse

from engine.errors import EngineError
from service.cells import parameters
from service.cells.table import Table, written
from service.edge import access, etag, media
from service.edge.model import Model
from service.edge.openapi import problem_answer
from service.edge.problem_texts import texts
from service.edge.problems import ProblemError, from_engine
from service.edge.shelf import Shelf, at_hand
from service.edge.workers import Workers
from service.schemas.library import stamp

P = TypeVar("P", bound=Model)

URL_LIMIT_CHARACTERS = 2000
"""Path and query together; the strictest of the spreadsheets takes little more."""
TEXT = "text/plain; charset=utf-8"
TABLE_TYPES = {"csv": "text/csv; charset=utf-8; header=present", "xml": "application/xml; charset=utf-8"}
TABLE_FORMATS = {name: content_type.split(";")[0] for name, content_type in TABLE_TYPES.items()}
ERRORS: tuple[Literal["text", "status"], ...] = ("text", "status")
UNITS: tuple[Literal["si", "us"], ...] = ("si", "us")


Answer = float | str | Table


@dataclass(frozen=True)
class Cell(Generic[P]):
    """A cell and its face."""

    path: str
    parameters: type[P]
    compute: Callable[[P, Shelf], Answer]
    operation_id: str
    summary: str
    example: Mapping[str, str]
    gives: Literal["number", "text", "table"]
    in_thread: bool
    """Whether it takes long enough to be computed off the event loop."""
    description: str = field(repr=False, default="")

    @property
    def known(self) -> list[str]:
        """The names of its query parameters."""
        more = ["format", "units"] if self.gives == "table" else []
        return [*self.parameters.model_fields, *more, "errors", access.PARAMETER]

    async def __call__(self, http: Request) -> Response:
        """Answer one request."""
        as_text = http.query_params.get("errors", "text") == "text"
        try:
            return await self._answered(http)
        except ProblemError as problem:
            if not as_text:
                raise
            return error_text(problem)

    async def _answered(self, http: Request) -> Response:
        settings = http.app.state.settings
        access.require(settings.api_key, http.headers.get(access.HEADER) or http.query_params.get(access.PARAMETER))
        length = len(http.url.path) + len(http.url.query)
        if length > URL_LIMIT_CHARACTERS:
            words = f"path and query have {length} characters, {URL_LIMIT_CHARACTERS} are allowed"
            raise ProblemError("url-too-long", words)
        media.refuse_unknown_query(http, self.known)
        media.one_of(http, "errors", ERRORS)
        units = media.one_of(http, "units", UNITS)
        chosen = media.choose(http, TABLE_FORMATS) if self.gives == "table" else "text"
        given = parameters.read(self.parameters, http.query_params)
        shelf: Shelf = http.app.state.shelf
        tag = etag.tag_of(
            self.path,
            given.model_dump_json(),
            chosen,
            units,
            stamp(shelf.library, str(getattr(given, "hull", ""))),
        )
        headers = {**etag.headers_of(tag), "Content-Type": TABLE_TYPES.get(chosen, TEXT)}
        if etag.is_known(http, tag):
            return Response(status_code=304, headers=etag.headers_of(tag))
        if http.scope["state"].get("head"):
            head = Response(headers=headers)
            del head.headers["content-length"]  # not known without computing
            return head
        work = partial(self._computed, given, shelf, chosen, units)
        workers: Workers = http.app.state.workers
        return Response(await workers.run(work) if self.in_thread else work(), headers=headers)

    def _computed(self, given: P, shelf: Shelf, chosen: str, units: Literal["si", "us"]) -> bytes:
        try:
            with at_hand(shelf):
                answer = self.compute(given, shelf)
        except EngineError as error:
            raise from_engine(error) from error
        if isinstance(answer, str):
            return answer.encode()
        if isinstance(answer, float):
            if answer != answer or abs(answer) == float("inf"):
                raise ProblemError("not-defined-here")
            return repr(answer + 0.0).encode()
        return written(answer, chosen, units)


def error_text(problem: ProblemError) -> Response:
    """Return an error as a cell shows it; not to be kept."""
    text = texts().get(problem.code)
    words = problem.detail or (text.meaning if text else "")
    headers = {name: value for name, value in problem.headers.items() if name == "Retry-After"}
    line = f"#ERR {problem.code}: {' '.join(words.split())}"
    return PlainTextResponse(line, headers={**headers, "Cache-Control": "no-store"})


def cell(
    router: APIRouter,
    path: str,
    *,
    parameters: type[P],
    operation_id: str,
    summary: str,
    example: Mapping[str, str],
    gives: Literal["number", "text", "table"] = "number",
    in_thread: bool = False,
) -> Callable[[Callable[[P, Shelf], Answer]], Callable[[P, Shelf], Answer]]:
    """Serve a function at ``GET /v1/cells/path``.

    Parameters
    ----------
    parameters : type of Model
        The query parameters: numbers, lists of numbers, texts.
    example : mapping
        A query that is answered; a test sends it.
    gives : {"number", "text", "table"}
        What the function returns.
    """

    def serve(compute: Callable[[P, Shelf], Answer]) -> Callable[[P, Shelf], Answer]:
        served = Cell(
            path=access.CELLS + path,
            parameters=parameters,
            compute=compute,
            operation_id=operation_id,
            summary=summary,
            example=example,
            gives=gives,
            in_thread=in_thread,
            description=inspect.getdoc(compute) or "",
        )
        endpoint: Any = partial(_endpoint, served)
        endpoint.cell = served
        router.add_api_route(
            served.path,
            endpoint,
            methods=["GET"],
            response_class=Response,
            operation_id=operation_id,
            summary=summary,
            description=served.description,
            tags=["cells"],
            responses=_responses(served),
            openapi_extra={"parameters": _documented(served)},
        )
        return compute

    return serve


async def _endpoint(cell: Cell[Any], request: Request) -> Response:
    return await cell(request)


def _responses(served: Cell[Any]) -> dict[int | str, dict[str, Any]]:
    schema: dict[str, Any] = {"schema": {"type": "string"}}
    content = {"text/plain": schema}
    if served.gives == "table":
        content |= {"text/csv": schema, "application/xml": schema}
    refusals: dict[int | str, dict[str, Any]] = {
        406: problem_answer("The table is CSV or XML."),
        414: problem_answer("The URL is too long."),
        422: problem_answer("A parameter does not fit, or the answer does not follow from them."),
        503: problem_answer("The service is busy or was too slow. Try again after `Retry-After` seconds.", retry=True),
    }
    return {
        200: {"description": "The answer, or `#ERR code: words` unless `errors=status`.", "content": content},
        304: {"description": "As the client has it."},
        **refusals,
    }


def _documented(served: Cell[Any]) -> list[dict[str, Any]]:
    """Return the parameters as OpenAPI has them."""
    properties = served.parameters.model_json_schema().get("properties", {})
    found = []
    for name, facts in served.parameters.model_fields.items():
        schema = {key: value for key, value in properties[name].items() if key not in ("description", "x-unit")}
        words = properties[name].get("description", "")
        if parameters.is_list(facts):
            words += " Numbers with `;` between them."
            number = parameters.NUMBER.pattern
            schema = {"type": "string", "pattern": f"^{number}(?:;{number})*$"}
        one: dict[str, Any] = {"name": name, "in": "query", "required": facts.is_required()}
        one |= {"description": words.strip()} if words.strip() else {}
        if name in served.example:
            text = served.example[name]
            one["example"] = float(text) if schema.get("type") == "number" else text
        found.append({**one, "schema": schema})
    choices: dict[str, tuple[Sequence[str], str]] = {
        "format": (list(TABLE_TYPES), "Format of the table; wins over `Accept`."),
        "units": (UNITS, "Units of the table."),
        "errors": (ERRORS, "How an error is told: as `#ERR code: words` with 200, or as a problem with its status."),
    }
    for name in served.known:
        if name in choices:
            values, words = choices[name]
            schema = {"type": "string", "enum": list(values)}
            found.append({"name": name, "in": "query", "required": False, "description": words, "schema": schema})
    return found
