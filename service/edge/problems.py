"""RFC 9457 problem documents: what they hold, and what becomes one. Layer: service.edge."""

import json
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from starlette.requests import Request
from starlette.responses import Response

from engine.errors import EngineError, InputError, LimitError, NotDeterminedError
from service.edge.model import Model
from service.edge.problem_texts import Text, texts

MEDIA_TYPE = "application/problem+json"
FAULT_LIMIT = 50
"""Faults told of at most in one reply."""

STATUS_BY_ERROR: dict[type[EngineError], int] = {InputError: 422, NotDeterminedError: 422, LimitError: 422}
"""The one place where an error of the engine gets its HTTP status."""


UNTOLD = Text("Refused", "The request cannot be computed.", "See the detail.", "See the detail.")
"""Stands in for a code that the table lacks."""


class Fault(NamedTuple):
    """One fault: where in the request (JSON pointer as a fragment, RFC 6901), which, and in words."""

    pointer: str
    code: str
    detail: str


class FaultModel(Model):
    """One fault of the request."""

    pointer: str
    """Where it is in the request, a JSON pointer."""
    code: str
    """Stable name of the fault; `/problems/{code}` explains it."""
    detail: str
    """The fault in words, with the numbers."""


class Problem(Model):
    """RFC 9457 problem document."""

    type: str
    """`/problems/{code}`, relative to this service."""
    title: str
    """The problem in a few words."""
    status: int
    """The HTTP status."""
    detail: str
    """What is wrong with this request."""
    instance: str
    """Names this one request, `urn:uuid:…`."""
    errors: tuple[FaultModel, ...] | None = None
    """Every fault found, up to a limit."""


class ProblemError(Exception):
    """Ends a request with a problem document; code, status and title come from the table of problems."""

    def __init__(
        self,
        code: str,
        detail: str = "",
        *,
        faults: Sequence[Fault] = (),
        headers: Mapping[str, str] | None = None,
        status: int | None = None,
    ) -> None:
        super().__init__(code)
        self.code = code
        self.detail = detail
        self.faults = tuple(faults)
        self.headers = dict(headers or {})
        self.status = status


def pointer(parts: Sequence[str | int]) -> str:
    """Return the JSON pointer of ``parts`` as a URI fragment."""
    return "#" + "".join("/" + str(part).replace("~", "~0").replace("/", "~1") for part in parts)


def gather(faults: Sequence[Fault], *, mixed: str) -> ProblemError:
    """Return one problem for several faults: their common code, or ``mixed`` where they differ."""
    codes = {fault.code for fault in faults}
    code = codes.pop() if len(codes) == 1 else mixed
    detail = faults[0].detail if len(faults) == 1 else f"{len(faults)} faults"
    if len(faults) > FAULT_LIMIT:
        detail += f"; the first {FAULT_LIMIT} are listed, {len(faults) - FAULT_LIMIT} more are not"
    return ProblemError(code, detail, faults=faults[:FAULT_LIMIT])


def from_engine(error: EngineError | ExceptionGroup[EngineError], request: Model | None = None) -> ProblemError:
    """Return the problem of an engine error, or of several in an exception group.

    A pointer is cut back to the part of ``request`` that exists, so it always resolves there.
    """
    if isinstance(error, ExceptionGroup):
        errors = [e for e in error.exceptions if isinstance(e, EngineError)]
    else:
        errors = [error]
    faults = [Fault(pointer(_existing(e.field, request)), e.code, e.message) for e in errors]
    problem = gather(faults, mixed="input")
    problem.status = max(_status(e) for e in errors)
    return problem


def _status(error: EngineError) -> int:
    return next(status for kind, status in STATUS_BY_ERROR.items() if isinstance(error, kind))


def _existing(field: str, request: Model | None) -> list[str | int]:
    """Return the leading parts of ``field`` that name something given in ``request``."""
    parts: list[str | int] = []
    here: object = request
    for part in field.split("/") if field else ():
        if isinstance(here, Model) and part in here.model_fields_set:
            parts.append(part)
            here = getattr(here, part)
        elif isinstance(here, (tuple, list)) and part.isascii() and part.isdigit() and int(part) < len(here):
            parts.append(int(part))
            here = here[int(part)]
        else:
            break
    return parts


def instance_of(request: Request) -> str:
    """Return the name of this request."""
    return f"urn:uuid:{request.state.request_id}"


def respond(problem: ProblemError, *, instance: str) -> Response:
    """Return the problem document as an answer."""
    text = texts().get(problem.code, UNTOLD)  # a test keeps every code in the table
    status = problem.status or text.status or 422
    document: dict[str, object] = {
        "type": f"/problems/{problem.code}",
        "title": text.title,
        "status": status,
        "detail": problem.detail or text.meaning,
        "instance": instance,
    }
    if problem.faults:
        document["errors"] = [fault._asdict() for fault in problem.faults]
    headers = {"Cache-Control": "no-store", **problem.headers}
    return Response(json.dumps(document), status_code=status, media_type=MEDIA_TYPE, headers=headers)
