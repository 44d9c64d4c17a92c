"""From the bytes of a body to a validated model. Layer: service.edge.

The validator reads the bytes itself, in strict JSON mode: no intermediate Python objects, lone surrogates and broken
UTF-8 refused, nesting beyond 200 refused. What it does not see is a name given twice in one object, so a scan over
the bytes looks for that; it builds nothing but the names of the objects now open.
"""

import json
import re
from typing import TypeVar

from pydantic import ValidationError

from service.edge.faults import problem_of
from service.edge.model import Model
from service.edge.problems import Fault, ProblemError

M = TypeVar("M", bound=Model)

NESTING_LIMIT = 200
"""Depth at which the validator's reader gives up."""

_TOKENS = re.compile(rb'"([^"\\]*(?:\\.[^"\\]*)*)"(\s*:)?|[{}]', re.DOTALL)


def parse(model: type[M], body: bytes, known_names: frozenset[str]) -> M:
    """Return the body as ``model``; raise the problem with every fault otherwise."""
    try:
        request = model.model_validate_json(body)
    except ValidationError as error:
        first = error.errors(include_url=False, include_input=False)[0]
        if first["type"] == "json_invalid":
            raise _broken(str(first.get("ctx", {}).get("error", ""))) from None
        refuse_repeated_names(body)
        raise problem_of(error, body, known_names) from None
    refuse_repeated_names(body)
    return request


def _broken(reader_says: str) -> ProblemError:
    if reader_says.startswith("recursion limit"):
        detail = f"arrays and objects are nested deeper than {NESTING_LIMIT}"
        return ProblemError("json-nesting", detail, faults=[Fault("#", "json-nesting", detail)])
    at = re.search(r"at line ([0-9]+) column ([0-9]+)$", reader_says)
    detail = "the body is not JSON" + (f": line {at[1]}, column {at[2]}" if at else "")
    return ProblemError("json", detail, faults=[Fault("#", "json", detail)])


def refuse_repeated_names(body: bytes) -> None:
    """Refuse valid JSON in which one object gives a name twice: readers differ on which one counts."""
    objects: list[tuple[int, set[bytes]]] = []
    for token in _TOKENS.finditer(body):
        if token[2] is not None:
            name: bytes = token[1]
            if b"\\" in token[1]:
                name = json.loads(b'"' + token[1] + b'"').encode()
            start, names = objects[-1]
            if name in names:
                detail = f"the object that begins at byte {start} gives a name twice, again at byte {token.start()}"
                raise ProblemError("json-repeated-name", detail, faults=[Fault("#", "json-repeated-name", detail)])
            names.add(name)
        elif token[0] == b"{":
            objects.append((token.start(), set()))
        elif token[0] == b"}":
            objects.pop()
