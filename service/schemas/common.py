"""Field types every noun uses. Layer: service.schemas."""

from collections.abc import Callable, Sequence
from typing import Annotated, Literal, TypeVar

import numpy as np
from pydantic import Field

from engine.checks import Floats
from engine.errors import EngineError, InputError, NotDeterminedError
from engine.findings import Finding as EngineFinding
from service.edge.axes import XYZ, X, Y
from service.edge.model import Model
from service.edge.quantities import Measured, MeasuredIn, Survey
from service.schemas.terms import in_terms

Noun = TypeVar("Noun")
Made = TypeVar("Made")

Label = Annotated[str, Field(min_length=1, max_length=200)]
Length = Annotated[Measured, MeasuredIn("m", ge=-1e4, le=1e4)]
PositiveLength = Annotated[Measured, MeasuredIn("m", gt=0, le=1e4)]
PositionX = Annotated[Measured, MeasuredIn("m", ge=-1e4, le=1e4), X]
PositionY = Annotated[Measured, MeasuredIn("m", ge=-1e4, le=1e4), Y]
Mass = Annotated[Measured, MeasuredIn("t", ge=0, le=1e7)]
SignedMass = Annotated[Measured, MeasuredIn("t", ge=-1e7, le=1e7)]
Density = Annotated[Measured, MeasuredIn("t/m³", gt=0.1, le=20)]
Volume = Annotated[Measured, MeasuredIn("m³", ge=0, le=1e7)]
LengthBP = Annotated[float, Survey("m", ge=0.1, le=1000)]
CAUTIONS = (
    "Preliminary until reviewed by a licensed naval architect and accepted by the authority; local codes prevail.",
)


class Finding(Model):
    """What was noticed about the data without refusing them."""

    code: str
    message: str
    field: str | None = None
    """Place in the request, where it has one."""
    finding_count: int | None = None
    """How many."""
    place_m: Annotated[tuple[float, float, float], XYZ] | None = None
    """x, y, z of one of them."""


class NotDetermined(Model):
    """A step that could not be done, and why."""

    outcome: Literal["not_determined"] = "not_determined"
    findings: tuple[Finding, ...]


def not_determined(error: NotDeterminedError, *more: EngineFinding) -> NotDetermined:
    """Return the step that an error kept from being done, and what else is known of it."""
    why = Finding(code=error.code, message=in_terms(str(error)), field=error.field or None)
    return NotDetermined(findings=(why, *findings(more)))


def findings(found: tuple[EngineFinding, ...]) -> tuple[Finding, ...]:
    """Return the engine's findings as the answer has them."""
    return tuple(
        Finding(code=one.code, message=in_terms(one.message), finding_count=one.count, place_m=one.place_m)
        for one in found
    )


def column(values: Floats) -> tuple[float | None, ...]:
    """Return an array as a column, NaN as null and −0 as 0."""
    return tuple(None if np.isnan(value) else float(value) + 0.0 for value in values)


def unique(noun: str, names: Sequence[str]) -> None:
    """Refuse an id that is given twice."""
    for i, name in enumerate(names):
        first = names.index(name)
        if first < i:
            words = f"this id is taken already, by entry {first}, counted from 0"
            raise InputError(words, code="duplicate-id", field=f"{noun}/{i}/id")


def each(nouns: Sequence[Noun], make: Callable[[Noun], Made], field: str) -> tuple[Made, ...]:
    """Make each, a fault placed at its number."""
    made = []
    for i, noun in enumerate(nouns):
        try:
            made.append(make(noun))
        except EngineError as error:
            raise error.at(f"{field}/{i}") from error
    return tuple(made)
