"""From the bytes of a body to a validated model. Layer: service.edge.

The validator reads the bytes itself, in strict JSON mode: no intermediate Python objects, lone surrogates and broken
UTF-8 refused, nesting beyond 200 refused. What it does not see is a name given twice in one object, and an object of
a million names would cost a gigabyte of faults; so a scan over the bytes goes first. It builds nothing but the names
of the objects now open. A short body that a reader of the library finds in order is spared it.
"""

import json
import re
from collections.abc import Callable
from typing import Any, TypeVar

from pydantic import ValidationError

from service.edge.faults import problem_of
from service.edge.model import Model
from service.edge.problems import Fault, ProblemError

M = TypeVar("M", bound=Model)

NESTING_LIMIT = 200
"""Depth at which the validator's reader gives up."""

NAMES_LIMIT = 1000
"""Names of one object at most; no object of this service has a tenth of it."""

SHORT_BYTES = 64 * 1024
"""Up to this size a body is looked through with the library's reader."""

_TOKENS = re.compile(rb'"([^"\\]*(?:\\.[^"\\]*)*)"(\s*:)?|[{}]', re.DOTALL)


def parse(model: type[M], body: bytes, known_names: Callable[[], frozenset[str]]) -> M:
    """Return the body as ``model``; raise the problem with every fault otherwise: only then are names asked for."""
    odd = None if is_plain(body) else odd_names(body)
    if odd is not None and odd.code == "json-many-names":
        raise odd
    try:
        request = model.model_validate_json(body)
    except ValidationError as error:
        if error.error_count() == 1:
            only = error.errors(include_url=False, include_input=False)[0]
            if only["type"] == "json_invalid":
                raise _broken(str(only.get("ctx", {}).get("error", ""))) from None
        raise odd or problem_of(error, body, known_names()) from None
    if odd is not None:
        raise odd
    return request


def is_plain(body: bytes) -> bool:
    """Return whether a short body is JSON whose names are in order; False says nothing.

    Twice as fast as the scan, but it makes an object of everything, so long bodies are left to the scan.
    """
    if len(body) > SHORT_BYTES:
        return False
    try:
        _NAMES.raw_decode(body.decode())  # what may follow is the validator's to refuse
    except (ValueError, RecursionError):
        return False
    return True


def _in_order(pairs: list[tuple[str, Any]]) -> None:
    """Keep nothing of an object."""
    if len(dict(pairs)) < len(pairs) or len(pairs) > NAMES_LIMIT:
        raise ValueError


_NAMES = json.JSONDecoder(object_pairs_hook=_in_order)


def _broken(reader_says: str) -> ProblemError:
    if reader_says.startswith("recursion limit"):
        detail = f"arrays and objects are nested deeper than {NESTING_LIMIT}"
        return ProblemError("json-nesting", detail, faults=[Fault("#", "json-nesting", detail)])
    at = re.search(r"at line ([0-9]+) column ([0-9]+)$", reader_says)
    detail = "the body is not JSON" + (f": line {at[1]}, column {at[2]}" if at else "")
    return ProblemError("json", detail, faults=[Fault("#", "json", detail)])


def odd_names(body: bytes) -> ProblemError | None:
    """Return what is wrong with the names of an object: too many, or one given twice; readers differ on which counts.

    Where the body is no JSON this may return anything or nothing: the reader's own finding goes first then.
    """
    objects: list[tuple[int, set[bytes]]] = []
    repeated: ProblemError | None = None
    for token in _TOKENS.finditer(body):
        if token[2] is not None:
            if not objects:
                break
            start, names = objects[-1]
            name = _unescaped(token[1]) if b"\\" in token[1] else token[1]
            if name in names and repeated is None:
                detail = f"the object that begins at byte {start} gives a name twice, again at byte {token.start()}"
                repeated = ProblemError("json-repeated-name", detail, faults=[Fault("#", "json-repeated-name", detail)])
            names.add(name)
            if len(names) > NAMES_LIMIT:
                detail = f"the object that begins at byte {start} has more than {NAMES_LIMIT} names"
                return ProblemError("json-many-names", detail, faults=[Fault("#", "json-many-names", detail)])
        elif token[0] == b"{":
            objects.append((token.start(), set()))
        elif token[0] == b"}" and objects:
            objects.pop()
    return repeated


def _unescaped(name: bytes) -> bytes:
    try:
        return str(json.loads(b'"' + name + b'"')).encode()
    except ValueError:  # a broken escape, broken UTF-8 or half a surrogate pair: the reader will refuse it
        return name
