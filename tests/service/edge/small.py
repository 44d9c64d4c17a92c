"""A small service for the tests of the edge: one operation that can be told to misbehave."""

import math
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Annotated, Literal

from fastapi import APIRouter
from pydantic import Field
from starlette.testclient import TestClient

from engine.deadline import checkpoint
from engine.errors import InputError, LimitError, NotDeterminedError
from service.app import ROUTERS, create_app
from service.edge.model import Model, fault
from service.edge.operation import Rendering, Units, operation
from service.edge.provenance import Provenance
from service.settings import Settings

EXAMPLE = {"shape": {"kind": "box", "length_m": 2.0, "breadth_m": 3.0}, "marks": [[1.0, 2.0], [3.0, 4.0]]}

gate = threading.Event()
started = threading.Event()


class Box(Model):
    """A box."""

    kind: Literal["box"]
    length_m: Annotated[float, Field(gt=0)]
    breadth_m: Annotated[float, Field(gt=0, le=100)]


class Disc(Model):
    """A disc."""

    kind: Literal["disc"]
    radius_m: Annotated[float, Field(gt=0)]


class AreaRequest(Model):
    """A shape and what to do with it."""

    shape: Annotated[Box | Disc, Field(discriminator="kind")]
    marks: Annotated[tuple[tuple[float, float], ...], Field(max_length=100)] = ()
    many: tuple[float, ...] = ()
    table: Annotated[tuple[Annotated[tuple[int, ...], Field(max_length=50)], ...], Field(max_length=50)] = ()
    name: Annotated[str, Field(max_length=20)] | None = None
    number_count: int | None = None
    free: dict[str, float] | None = None
    act: Literal["nan", "loop", "sleep", "wait", "input", "limit", "undetermined", "several", "crash"] | None = None


class AreaAnswer(Model):
    """The area."""

    area_m2: float
    name: str | None = None
    column: tuple[float | None, ...] = (1.0, None)
    provenance: Provenance = Provenance()


router = APIRouter()


def _csv(answer: AreaAnswer, units: Units) -> str:
    return f"area_m2\r\n{answer.area_m2}\r\n" if units == "si" else f"area_ft2\r\n{answer.area_m2 / 0.3048**2}\r\n"


def _signed_page(answer: AreaAnswer, units: Units) -> bytes:
    return f"%PDF {answer.area_m2} {units} {answer.provenance.request_sha256}".encode("latin-1") + b"\xff"


def _both(request: AreaRequest, answer: AreaAnswer, units: Units) -> str:
    return f"{request.shape.kind} {answer.area_m2} {units}"


RENDERINGS = {
    "txt": Rendering("text/plain", lambda answer, _: f"{answer.area_m2} m²", "charset=utf-8", in_units=False),
    "pdf": Rendering("application/pdf", _signed_page, binary=True),
    "log": Rendering("text/x-log", _both, of_request=True),
}


@operation(
    router,
    "/v1/area",
    request=AreaRequest,
    response=AreaAnswer,
    operation_id="compute_area",
    summary="Area of a shape",
    example=EXAMPLE,
    tag="test",
    csv=_csv,
    renderings=RENDERINGS,
)
def area(request: AreaRequest) -> AreaAnswer:
    """Return the area."""
    match request.act:
        case "nan":
            return AreaAnswer.model_construct(area_m2=math.nan, name="NaN")
        case "loop":
            while True:
                checkpoint()
        case "sleep":
            while True:
                time.sleep(0.001)
                checkpoint()
        case "wait":
            started.set()
            gate.wait(30)
        case "input":
            raise InputError("must be above 0", code="not-positive", field="shape/length_m/0").at("nowhere") from None
        case "limit":
            raise LimitError("too many", code="too-many-triangles", field="marks/1/0")
        case "undetermined":
            raise NotDeterminedError("she sinks", code="sinks", field="shape/length_m")
        case "several":
            errors = [
                InputError("first", code="not-positive", field="marks/0"),
                InputError("second", code="no-length", field="marks/1"),
            ]
            raise ExceptionGroup("faults", errors)
        case "crash":
            raise RuntimeError("secret text")
    shape = request.shape
    size = shape.length_m * shape.breadth_m if isinstance(shape, Box) else math.pi * shape.radius_m**2
    return AreaAnswer(area_m2=size, name=request.name)


@operation(
    router,
    "/v1/area-as-text",
    request=AreaRequest,
    response=AreaAnswer,
    operation_id="compute_area_as_text",
    summary="Area of a shape, in a form that has no units to choose",
    example=EXAMPLE,
    tag="test",
    renderings={"txt": RENDERINGS["txt"]},
)
def area_as_text(request: AreaRequest) -> AreaAnswer:
    """Return the area."""
    return area(request)


@contextmanager
def client(**settings: float) -> Iterator[TestClient]:
    """Serve the small service with these settings."""
    app = create_app(Settings(**settings), routers=(*ROUTERS, router))  # type: ignore[arg-type]
    with TestClient(app) as one:
        yield one


__all__ = ["EXAMPLE", "area", "client", "fault", "gate", "started"]
