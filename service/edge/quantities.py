"""What a person writes on a survey sheet: a number, a quantity with its unit, or a measured value. Layer: service.edge.

This is the one place where units are converted. Use in ``Annotated``::

    length_m: Annotated[float, Survey("m", gt=0)]
    freeboard_m: Annotated[Measured, MeasuredIn("m")]

Neither is a union for the validator, so the place of a fault is the field itself. A plain ``float`` field takes finite
numbers only.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any, NamedTuple, TypeVar

from pydantic import BaseModel, GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from engine.errors import InputError
from service.edge import units
from service.edge.model import fault

_WORDS = {
    "quantity-text": "the text cannot be read as a number with its unit, one of {}",
    "quantity-no-unit": "a quantity written as a text needs its unit, one of {}",
    "quantity-unit": "the unit of a {dimension} must be one of {}",
}

T = TypeVar("T")

GROUP_PATTERN = "^[A-Za-z0-9_. -]{1,40}$"


def unreadable_words(code: str, *, dimension: str) -> str:
    """Return what is wrong with a text that is no quantity, and the units it may have."""
    return _WORDS[code].format(", ".join(units.DIMENSIONS[dimension]), dimension=dimension)


class Measured(NamedTuple):
    """A measured value in the field's own unit.

    Attributes
    ----------
    value : float
        The value.
    standard_uncertainty : float or None
        Its standard uncertainty, None where the document's default holds.
    group : str or None
        Values of one group are fully correlated.
    """

    value: float
    standard_uncertainty: float | None = None
    group: str | None = None


@dataclass(frozen=True, kw_only=True)
class Bounds:
    """Bounds in the field's own unit."""

    gt: float | None = None
    ge: float | None = None
    lt: float | None = None
    le: float | None = None

    @cached_property
    def low(self) -> float:
        """What lies above it, and below ``high``, is within the bounds and needs no other look."""
        return max((limit for limit in (self.gt, self.ge) if limit is not None), default=-math.inf)

    @cached_property
    def high(self) -> float:
        """See ``low``."""
        return min((limit for limit in (self.lt, self.le) if limit is not None), default=math.inf)

    def check(self, number: float, *, unit: str, was_text: bool) -> float:
        """Return ``number`` if it is within; a text out of bounds is a fault no JSON schema shows."""
        if self.gt is not None and number <= self.gt:
            raise _out_of_bounds("above", self.gt, number, unit=unit, was_text=was_text)
        if self.ge is not None and number < self.ge:
            raise _out_of_bounds("at least", self.ge, number, unit=unit, was_text=was_text)
        if self.lt is not None and number >= self.lt:
            raise _out_of_bounds("below", self.lt, number, unit=unit, was_text=was_text)
        if self.le is not None and number > self.le:
            raise _out_of_bounds("at most", self.le, number, unit=unit, was_text=was_text)
        return number

    def schema(self) -> dict[str, float]:
        """Return the bounds as JSON schema has them."""
        names = {"gt": "exclusiveMinimum", "ge": "minimum", "lt": "exclusiveMaximum", "le": "maximum"}
        return {name: limit for key, name in names.items() if (limit := getattr(self, key)) is not None}


def _out_of_bounds(side: str, limit: float, number: float, *, unit: str, was_text: bool) -> PydanticCustomError:
    code = "quantity-range" if was_text else "out-of-bounds"
    named = "" if unit == "1" else f" {unit}"
    return fault(code, f"must be {side} {limit:.6g}{named}, is {number:.6g}{named}")


class _InUnit:
    """What ``Survey`` and ``MeasuredIn`` share: a unit and bounds."""

    def __init__(
        self,
        unit: str,
        *,
        gt: float | None = None,
        ge: float | None = None,
        lt: float | None = None,
        le: float | None = None,
    ) -> None:
        self.unit = unit
        self.dimension = units.OWN_UNITS[unit][0]
        self.bounds = Bounds(gt=gt, ge=ge, lt=lt, le=le)

    def number(self, given: Any, bounds: Bounds) -> float:
        """Return a number or a text with its unit as a number in the field's unit."""
        was_text = isinstance(given, str)
        if was_text:
            try:
                value = units.read(given, unit=self.unit)
            except units.UnreadableError as error:
                raise fault(error.code, unreadable_words(error.code, dimension=self.dimension)) from None
        elif isinstance(given, (int, float)) and not isinstance(given, bool):
            value = _as_float(given)
        else:
            raise fault("wrong-type", "must be a number, or a text with a number and its unit")
        return bounds.check(value, unit=self.unit, was_text=was_text)

    def quantity_schema(self, bounds: Bounds) -> JsonSchemaValue:
        """Return the JSON schema of a survey quantity."""
        text = {"type": "string", "pattern": units.pattern(self.dimension), "maxLength": units.TEXT_LENGTH}
        return {
            "title": "SurveyQuantity",
            "anyOf": [{"type": "number", **bounds.schema()}, text],
            "x-unit": self.unit,
        }


def _as_float(given: int | float) -> float:
    try:
        value = float(given)
    except OverflowError:
        value = math.inf
    if not math.isfinite(value):
        raise fault("not-finite", "every number must be finite")
    return value


class Survey(_InUnit):
    """Marks a ``float`` field that also takes a text with its unit."""

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Validate by ``number``; the field's type is ``float``."""
        return core_schema.no_info_plain_validator_function(lambda given: self.number(given, self.bounds))

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        """Return number or text, with the unit."""
        return self.quantity_schema(self.bounds)


class MeasuredIn(_InUnit):
    """Marks a ``Measured`` field: a survey quantity, or an object of value, standard_uncertainty and group."""

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Validate by ``measured``; the field's type is ``Measured``."""
        return core_schema.no_info_plain_validator_function(
            self.measured,
            serialization=core_schema.plain_serializer_function_ser_schema(_plain),
        )

    def measured(self, given: Any) -> Measured:
        """Return what was given as a ``Measured``."""
        if type(given) is float and self.bounds.low < given < self.bounds.high:
            return Measured(given)
        if isinstance(given, Measured):
            self.number(given.value, self.bounds)
            return given
        if not isinstance(given, dict):
            return Measured(self.number(given, self.bounds))
        if "value" not in given or not given.keys() <= {"value", "standard_uncertainty", "group"}:
            raise _form("an object of value and, if known, standard_uncertainty and group")
        spread, group = None, given.get("group")
        if "standard_uncertainty" in given:
            spread = _at("standard_uncertainty", self.number, given["standard_uncertainty"], Bounds(ge=0))
        if "group" in given and not (isinstance(group, str) and 0 < len(group) <= 40 and _is_group(group)):
            raise _form("group is a text of 1 to 40 letters, digits, spaces, dots, dashes and underscores")
        return Measured(_at("value", self.number, given["value"], self.bounds), spread, group)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        """Return number, text or object."""
        properties = {
            "value": self.quantity_schema(self.bounds),
            "standard_uncertainty": self.quantity_schema(Bounds(ge=0)),
            "group": {"type": "string", "pattern": GROUP_PATTERN},
        }
        simple = self.quantity_schema(self.bounds)
        measured = {
            "type": "object",
            "properties": properties,
            "required": ["value"],
            "additionalProperties": False,
        }
        return {"title": "Measured", "anyOf": [*simple["anyOf"], measured], "x-unit": self.unit}


class Repeated(NamedTuple):
    """One reading, taken once or several times.

    Attributes
    ----------
    values : tuple of Measured
        At least one.
    """

    values: tuple[Measured, ...]

    @property
    def value(self) -> float:
        """Their mean."""
        return math.fsum(one.value for one in self.values) / len(self.values)

    @property
    def standard_uncertainty(self) -> float | None:
        """Of the mean, where every value states its own: independent of one another."""
        stated = [one.standard_uncertainty for one in self.values if one.standard_uncertainty is not None]
        return math.hypot(*stated) / len(stated) if len(stated) == len(self.values) else None


class RepeatedIn(MeasuredIn):
    """Marks a ``Repeated | None`` field: a measured value, a list of them, or null where the reading was missed."""

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Validate by ``repeated``; the field's type is ``Repeated | None``."""
        return core_schema.no_info_plain_validator_function(
            self.repeated,
            serialization=core_schema.plain_serializer_function_ser_schema(_plain_repeated),
        )

    def repeated(self, given: Any) -> Repeated | None:
        """Return what was given as a ``Repeated``."""
        if type(given) is float and self.bounds.low < given < self.bounds.high:
            return Repeated((Measured(given),))
        if given is None or isinstance(given, Repeated):
            return given
        if not isinstance(given, (list, tuple)) or isinstance(given, Measured):
            return Repeated((self.measured(given),))
        if not 1 <= len(given) <= REPEATED_COUNT:
            words = f"a repeated reading is a list of 1 to {REPEATED_COUNT} values, not {len(given)}"
            raise fault("measured-form", words)
        return Repeated(tuple(_at(str(i), self.measured, one) for i, one in enumerate(given)))

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        """Return null, a measured value, or a list of them."""
        one = super().__get_pydantic_json_schema__(schema, handler)
        many = {"type": "array", "items": {"anyOf": one["anyOf"]}, "minItems": 1, "maxItems": REPEATED_COUNT}
        return {"title": "Measured", "anyOf": [*one["anyOf"], many, {"type": "null"}], "x-unit": self.unit}


REPEATED_COUNT = 1000


def _is_group(text: str) -> bool:
    return text.isascii() and all(letter.isalnum() or letter in "_. -" for letter in text)


def _at(place: str, read: Callable[..., T], *given: Any) -> T:
    """Return ``read(*given)``, a fault placed below the field."""
    try:
        return read(*given)
    except PydanticCustomError as error:
        raise InputError(error.message(), code=error.type, field=place) from None
    except InputError as error:
        raise error.at(place) from None


def _form(words: str) -> PydanticCustomError:
    return fault("measured-form", words)


def stated_values(model: BaseModel, path: str = "") -> Iterator[tuple[str, Measured | Repeated]]:
    """Yield the place and value of everything below a document that states a standard uncertainty or a group."""
    for name in type(model).model_fields:
        yield from _stated(getattr(model, name), f"{path}/{name}" if path else name)


def _stated(value: object, path: str) -> Iterator[tuple[str, Measured | Repeated]]:
    if isinstance(value, BaseModel):
        yield from stated_values(value, path)
    elif isinstance(value, Measured):
        if value.standard_uncertainty is not None or value.group is not None:
            yield path, value
    elif isinstance(value, Repeated):
        if value.standard_uncertainty is not None:
            yield path, value
    elif isinstance(value, tuple) and len(value) <= STATED_COUNT:
        for i, one in enumerate(value):
            if isinstance(one, (BaseModel, tuple)) and not _is_place(one):
                yield from _stated(one, f"{path}/{i}")


def _is_place(value: object) -> bool:
    """Tell whether a value is numbers, as a point of a table of offsets is: they state nothing."""
    return type(value) is tuple and bool(value) and type(value[0]) is float


STATED_COUNT = 5000
"""Longer arrays are geometry: they hold no measured values."""


def _plain(measured: Measured) -> object:
    given = {key: value for key, value in measured._asdict().items() if value is not None}
    return given if len(given) > 1 else measured.value


def _plain_repeated(repeated: Repeated | None) -> object:
    if repeated is None:
        return None
    return _plain(repeated.values[0]) if len(repeated.values) == 1 else [_plain(one) for one in repeated.values]
