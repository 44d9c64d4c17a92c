"""The validator's findings as faults with pointers, free of the request's strings. Layer: service.edge."""

import sys
from collections.abc import Mapping, Sequence
from typing import Any

from pydantic import ValidationError
from pydantic_core import from_json

from engine.errors import EngineError
from service.edge.problems import Fault, ProblemError, gather, pointer

READ_LIMIT = 2000
"""Faults looked at one by one at most."""

Loc = Sequence[str | int]

DATE = "must be a date of the calendar, YYYY-MM-DD"

SCHEMA_FAULTS: dict[str, tuple[str, str]] = {
    "missing": ("missing-field", "a required field is missing"),
    "extra_forbidden": ("unknown-field", "a field is not known here"),
    "finite_number": ("not-finite", "every number must be finite"),
    "greater_than": ("out-of-bounds", "must be above {gt:.6g}"),
    "greater_than_equal": ("out-of-bounds", "must be {ge:.6g} or more"),
    "less_than": ("out-of-bounds", "must be below {lt:.6g}"),
    "less_than_equal": ("out-of-bounds", "must be {le:.6g} or less"),
    "multiple_of": ("out-of-bounds", "must be a multiple of {multiple_of:.6g}"),
    "too_short": ("wrong-count", "{min_length} entries at least"),
    "too_long": ("wrong-count", "{max_length} entries at most"),
    "string_too_short": ("wrong-text", "{min_length} characters at least"),
    "string_too_long": ("wrong-text", "{max_length} characters at most"),
    "string_pattern_mismatch": ("wrong-text", "the text is not of the form {pattern}"),
    "literal_error": ("not-a-choice", "must be {expected}"),
    "enum": ("not-a-choice", "must be {expected}"),
    "union_tag_invalid": ("unknown-kind", "kind must be one of {expected_tags}"),
    "union_tag_not_found": ("missing-field", "kind is missing or not a text"),
    "float_type": ("wrong-type", "must be a number"),
    "int_type": ("wrong-type", "must be a whole number"),
    "int_from_float": ("wrong-type", "must be a whole number"),
    "bool_type": ("wrong-type", "must be true or false"),
    "string_type": ("wrong-type", "must be a text"),
    "tuple_type": ("wrong-type", "must be an array"),
    "list_type": ("wrong-type", "must be an array"),
    "dict_type": ("wrong-type", "must be an object"),
    "model_type": ("wrong-type", "must be an object"),
    "model_attributes_type": ("wrong-type", "must be an object"),
    "date_type": ("wrong-type", DATE),
    "date_parsing": ("wrong-text", DATE),
    "date_from_datetime_parsing": ("wrong-text", DATE),
    "date_from_datetime_inexact": ("wrong-text", DATE),
    "none_required": ("wrong-type", "must be null"),
}
"""The validator's type → our code and words. Limits, choices and patterns come from our schema, never from the
request; of that only a number, or how many entries or characters there are, is told after them."""

BEYOND_SCHEMA = frozenset({"not-finite"})
"""Codes above that a JSON schema cannot tell; so is every code of our own validators."""


def problem_of(error: ValidationError, body: bytes, known_names: frozenset[str]) -> ProblemError:
    """Return the problem for a body that is JSON but not what the model wants.

    The code is ``schema`` as soon as one fault shows in the published schema; otherwise the faults' own.
    """
    if error.error_count() > READ_LIMIT:
        detail = f"{error.error_count()} faults, too many to list"
        return ProblemError("schema", detail, faults=[Fault("#", "too-many-faults", detail)])
    data = from_json(body)
    found = error.errors(include_url=False, include_input=False)
    faults = [fault for one in found for fault in _faults(one, data, known_names)]
    problem = gather(faults, mixed="input")
    in_schema = {code for code, _ in SCHEMA_FAULTS.values()} - BEYOND_SCHEMA
    if any(fault.code in in_schema for fault in faults):
        problem.code = "schema"
    return problem


def _faults(one: Any, data: object, known_names: frozenset[str]) -> list[Fault]:
    kind: str = one["type"]
    context: Mapping[str, Any] = one.get("ctx", {})
    place = parts_in(data, one["loc"], known_names, missing=kind == "missing")
    if kind == "too_short" and _length(data, place) >= context["min_length"]:
        return []  # the validator counts the entries without fault; those with one are told by themselves
    if kind == "int_type" and _at(data, place) == _whole(_at(data, place)):
        return [Fault(pointer(place), "whole-number-form", "a whole number is written without a decimal point")]
    if kind == "extra_forbidden":
        place = parts_in(data, one["loc"][:-1], known_names)
        return [Fault(pointer(place), "unknown-field", _which(data, place, one["loc"][-1]))]
    if kind in SCHEMA_FAULTS:
        code, words = SCHEMA_FAULTS[kind]
        said = words.format_map(context)
        told = code in ("out-of-bounds", "wrong-count") or kind in ("string_too_short", "string_too_long")
        return [Fault(pointer(place), code, said + _given(_at(data, place)) if told else said)]
    if kind == "value_error" and isinstance(context.get("error"), EngineError):
        inner: EngineError = context["error"]
        deeper = parts_in(data, [*place, *(_number(p) for p in inner.field.split("/") if p)], known_names)
        return [Fault(pointer(deeper), inner.code, inner.message)]
    if "-" in kind:  # a fault() of our own validators
        return [Fault(pointer(place), kind, one["msg"])]
    return [Fault(pointer(place), "wrong-type", "the value is not of the type the schema gives")]


def _at(data: object, place: Loc) -> Any:
    here: Any = data
    for part in place:
        here = here[part]
    return here


def _given(value: object) -> str:
    """Return the number that was given, or how many entries or characters."""
    if isinstance(value, (int, float)):
        return f", is {value:.6g}" if abs(value) <= sys.float_info.max else ", is larger than any"
    return f", not {len(value)}" if isinstance(value, (str, list)) else ""


def _length(data: object, place: Loc) -> int:
    here = _at(data, place)
    return len(here) if isinstance(here, list) else 0


def _whole(value: object) -> object:
    """Return a whole number that was written as 1.0, which JSON Schema takes for an integer; else nothing equal."""
    return value if isinstance(value, float) and value.is_integer() else ...


def _number(part: str) -> str | int:
    return int(part) if part.isascii() and part.isdigit() else part


def _which(data: object, place: Loc, name: object) -> str:
    """Say which field of an object is unknown, by its rank: its name is the client's."""
    here: Any = data
    for part in place:
        here = here[part]
    rank = list(here).index(name) + 1 if isinstance(here, dict) and name in here else 0
    return f"field {rank} of this object, counted from 1, is not known here"


def parts_in(data: object, loc: Loc, known_names: frozenset[str], *, missing: bool = False) -> list[str | int]:
    """Return the parts of the pointer for the validator's ``loc``: what exists in ``data``, tags of unions left out.

    It stops above a name that is not in ``known_names``, as that would be the client's own string. With ``missing``
    the last part is kept though it does not exist.
    """
    parts: list[str | int] = []
    here: Any = data
    tag_seen = False
    for rank, item in enumerate(loc):
        last = rank == len(loc) - 1
        if isinstance(here, dict) and not tag_seen and item == here.get("kind") and not (last and missing):
            tag_seen = True
        elif isinstance(here, dict) and isinstance(item, str) and item in here:
            if item not in known_names:
                break
            parts.append(item)
            here, tag_seen = here[item], False
        elif isinstance(here, list) and isinstance(item, int) and 0 <= item < len(here):
            parts.append(item)
            here, tag_seen = here[item], False
        elif last and missing and (isinstance(item, int) or item in known_names):
            parts.append(item)
    return parts
