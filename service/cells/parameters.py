"""Query parameters of a cell, read from text. Layer: service.cells.

A number may have a decimal point or a decimal comma, one of the two and once: ``3,5`` is 3.5; ``1.234,5`` is refused,
as is any separator of thousands. A list has semicolons between its numbers.
"""

import re
import sys
from collections.abc import Mapping
from typing import Any, TypeVar, get_args, get_origin

from pydantic import ValidationError
from pydantic.fields import FieldInfo

from service.edge.model import Model
from service.edge.problems import ProblemError

P = TypeVar("P", bound=Model)

NUMBER = re.compile(r"[+-]?[0-9]{1,20}(?:[.,][0-9]{1,20})?(?:[eE][+-]?[0-9]{1,3})?")
LIST_LIMIT_COUNT = 400


def read(model: type[P], texts: Mapping[str, str]) -> P:
    """Return the parameters; raise the problem ``query`` with the name of the first that does not fit.

    Only names of the model's own fields are ever told.
    """
    values: dict[str, object] = {}
    for name, field in model.model_fields.items():
        if name in texts:
            values[name] = _value(name, field, texts[name].strip())
        elif field.is_required():
            raise ProblemError("query", f"{name} is missing")
    try:
        return model.model_validate(values)
    except ValidationError as error:
        first = error.errors(include_url=False, include_input=False)[0]
        raise ProblemError("query", _words(first, values)) from None


def is_list(field: FieldInfo) -> bool:
    """Return whether a parameter is a list of numbers."""
    return any(get_origin(one) is tuple for one in (field.annotation, *get_args(field.annotation)))


def is_number(field: FieldInfo) -> bool:
    """Return whether a parameter is one number."""
    return float in (field.annotation, *get_args(field.annotation)) and not is_list(field)


def _value(name: str, field: FieldInfo, text: str) -> object:
    if is_list(field):
        parts = text.split(";")
        if len(parts) > LIST_LIMIT_COUNT:
            raise ProblemError("query", f"{name} has {len(parts)} numbers, {LIST_LIMIT_COUNT} are allowed")
        return tuple(_number(name, part.strip(), "a list of numbers with ; between them") for part in parts)
    return _number(name, text, "a number") if is_number(field) else text


def _number(name: str, text: str, what: str) -> float:
    if not NUMBER.fullmatch(text):
        raise ProblemError("query", f"{name} must be {what}: a decimal point or comma, no separator of thousands")
    number = float(text.replace(",", "."))
    if abs(number) == float("inf"):
        raise ProblemError("query", f"{name} is over {sys.float_info.max:.6g}, the largest number")
    return number


def _words(error: Any, values: Mapping[str, Any]) -> str:
    """Say which parameter, which number of a list, what it must be and, of a number, what it is."""
    limits = error.get("ctx", {})
    name, *rank = error["loc"]
    given = values[name][rank[0]] if rank else values[name]
    which = f"number {rank[0] + 1} of {name}" if rank else name
    told = f", is {given:.6g}" if isinstance(given, float) else ""
    words = {
        "greater_than": "must be above {gt:.6g}",
        "greater_than_equal": "must be {ge:.6g} or more",
        "less_than": "must be below {lt:.6g}",
        "less_than_equal": "must be {le:.6g} or less",
        "literal_error": "must be {expected}",
        "string_too_long": "has {max_length} characters at most",
        "too_short": "needs {min_length} numbers at least, has {actual_length}",
        "string_pattern_mismatch": "must be of the form {pattern}",
    }
    said = words.get(error["type"], "is not of the form it must have").format_map(limits)
    return f"{which} {said}{told}"
