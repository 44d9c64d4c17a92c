"""The archived case as a document. Layer: service.cases."""

import json
import sys
from functools import partial
from typing import Annotated, Literal, Self

from pydantic import AfterValidator, Field, JsonValue, model_validator

from engine.errors import InputError
from service.cases.pointers import PATTERN
from service.edge import strict_json
from service.edge.model import Model, fault
from service.edge.operation import names_of
from service.schemas.common import Label


def _finite(value: JsonValue) -> JsonValue:
    """Refuse NaN and infinities anywhere below; the reader of free JSON lets them pass."""
    below: list[JsonValue] = [value]
    while below:
        one = below.pop()
        if isinstance(one, (int, float)) and not abs(one) <= sys.float_info.max:
            raise fault("not-finite", "every number must be finite")
        below.extend(one.values() if isinstance(one, dict) else one if isinstance(one, list) else ())
    return value


Pointer = Annotated[str, Field(pattern=PATTERN, max_length=1000)]
Json = Annotated[JsonValue, AfterValidator(_finite)]
Positive = Annotated[float, Field(ge=0, le=1e9)]


class MadeWith(Model):
    """What made the case."""

    service_version: Label
    engine_version: Label


class ArchivedRequest(Model):
    """What was asked of the service."""

    path: Annotated[str, Field(pattern="^/v[0-9]+(?:/[a-z0-9-]+)+$", max_length=200)]
    """Where the body goes, by POST."""
    body: dict[str, Json]
    """The body, as it was sent."""


class InStandardUncertainties(Model):
    """So many of the standard uncertainties the answer itself states."""

    coverage_factor: Annotated[float, Field(gt=0, le=100)]
    """Number of standard uncertainties."""
    pointer: Pointer
    """Where the answer states the standard uncertainty."""


class Tolerance(Model):
    """How far a number may lie from the expected one: exactly one of the three ways to say it."""

    absolute: Positive | None = None
    """In the value's own unit."""
    relative: Positive | None = None
    """As a share of the expected value's magnitude."""
    standard_uncertainties: InStandardUncertainties | None = None

    model_config = Model.model_config | {"json_schema_extra": {"minProperties": 1, "maxProperties": 1}}

    @model_validator(mode="after")
    def _one(self) -> Self:
        given = [self.absolute, self.relative, self.standard_uncertainties]
        if sum(one is not None for one in given) != 1:
            raise InputError("exactly one of absolute, relative, standard_uncertainties", code="tolerance-form")
        return self


class Expectation(Model):
    """One value expected of the answer."""

    pointer: Pointer
    """JSON pointer (RFC 6901) into the answer."""
    value: Json
    """What must stand there: a number, a text, true or false, or an array or object of them."""
    tolerance: Tolerance | None = None
    """For the numbers of ``value``; left out, they must be equal to the last digit."""
    origin: Label
    """Where the value comes from: a simulator's truth, a closed form, a publication, or the answer of a version."""


class ExpectedProblem(Model):
    """The refusal a faulty request must meet."""

    status: Annotated[int, Field(ge=400, le=599)]
    """HTTP status."""
    code: Annotated[str, Field(pattern="^[a-z0-9]+(?:-[a-z0-9]+)*$", max_length=100)]
    """Code of the problem, the end of its ``type``."""


class ArchivedCase(Model):
    """A request and what its answer must hold, kept to be asked again."""

    format_version: Literal["1"]
    """Version of this form."""
    name: Label
    description: Annotated[str, Field(min_length=1, max_length=2000)] | None = None
    made_with: MadeWith
    request: ArchivedRequest
    problem: ExpectedProblem | None = None
    """Given where the request must be refused; the pointers of ``expected`` then lead into the problem document."""
    expected: Annotated[tuple[Expectation, ...], Field(max_length=10_000)]

    @model_validator(mode="after")
    def _something(self) -> Self:
        if not self.expected and self.problem is None:
            raise InputError("neither a value nor a problem is expected", code="nothing-expected", field="expected")
        return self


def read_case(content: bytes) -> ArchivedCase:
    """Return the case in the bytes of a file; raise a ``ProblemError`` with every fault."""
    return strict_json.parse(ArchivedCase, content, partial(names_of, ArchivedCase))


def case_schema() -> str:
    """Return the JSON Schema of a case as it is published."""
    head = {"$schema": "https://json-schema.org/draft/2020-12/schema"}
    return json.dumps(head | ArchivedCase.model_json_schema(), indent=1, ensure_ascii=False) + "\n"


def text_of(case: ArchivedCase) -> str:
    """Return a case as it is kept in a file: an entry a line, so that a change shows as a change of lines."""
    return _rendered(case.model_dump(exclude_none=True), "") + "\n"


def _rendered(value: object, indent: str) -> str:
    """Return JSON; arrays and objects that hold no object below an array's entry are kept on one line."""
    inner = indent + " "
    if isinstance(value, dict) and value and not _short(value):
        rows = [f"{inner}{json.dumps(name)}: {_rendered(below, inner)}" for name, below in value.items()]
        return "{\n" + ",\n".join(rows) + f"\n{indent}}}"
    if isinstance(value, (list, tuple)) and value and not _short(value):
        rows = [inner + json.dumps(below, ensure_ascii=False) for below in value]
        return "[\n" + ",\n".join(rows) + f"\n{indent}]"
    return json.dumps(value, ensure_ascii=False)


def _short(value: dict[str, object] | list[object] | tuple[object, ...]) -> bool:
    """Return whether nothing below is worth a line of its own."""
    if isinstance(value, dict):
        return not any(isinstance(below, (dict, list, tuple)) for below in value.values())
    return not any(isinstance(below, (dict, list, tuple)) for below in value)
