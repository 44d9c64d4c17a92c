"""A case made from a request: the answer of today, kept with tolerances. Layer: service.cases."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import engine
import service
from service.cases.case import ArchivedCase, ArchivedRequest, Expectation, ExpectedProblem, MadeWith, Tolerance
from service.cases.pointers import extended
from service.cases.replay import Ask, body_bytes, problem_in

RELATIVE = 1e-9
"""What the same digits mean across machines."""
ABSOLUTE = 1e-9
"""The same for a number so near to zero that a share of it says nothing."""
SMALL = 1e-6
"""Magnitude below which the absolute tolerance is used."""
SMALL_BY_ENDING = {"_m": 1.0, "_deg": 1.0, "_ratio": 1.0}
"""The same by what a name ends in: a nanometre, and as much of an angle or a ratio, is no digit anyone reads."""
ROUGH = {"methods_difference_ratio": 1e-3}
"""Absolute tolerance of numbers that are a small difference of two nearly equal ones, divided by another."""
LEFT_OUT = frozenset({"provenance", "cautions", "findings"})
"""Parts of an answer that say who computed it, or are words."""


def make_case(
    ask: Ask,
    *,
    name: str,
    path: str,
    body: Mapping[str, Any],
    description: str | None = None,
    known: Sequence[Expectation] = (),
) -> ArchivedCase:
    """Return the case of a request: ``known`` values first, then the answer's own main values.

    The main values are the numbers, texts and truths that stand in the answer's objects, at any depth, and the columns
    of a table; not the rows of lists, whose places change as lists grow. A refused request becomes a case that expects
    this refusal, at the places now named.
    """
    answer = ask(path, body_bytes(body))
    problem = problem_in(answer)
    origin = f"answer of service {service.__version__}, engine {engine.__version__}"
    if problem is None:
        rows = [
            Expectation(pointer=pointer, value=value, tolerance=tolerance_of(pointer, value), origin=origin)
            for pointer, value in main_values(answer.document)
        ]
    else:
        rows = [
            Expectation(pointer=f"/errors/{i}/pointer", value=place, origin=origin)
            for i, place in enumerate(problem.pointers)
        ]
    return ArchivedCase(
        format_version="1",
        name=name,
        description=description,
        made_with=MadeWith(service_version=service.__version__, engine_version=engine.__version__),
        request=ArchivedRequest(path=path, body=dict(body)),
        problem=None if problem is None else ExpectedProblem(status=problem.status, code=problem.code),
        expected=(*known, *rows),
    )


class NotTheSameError(Exception):
    """A record changed in its names only is answered otherwise."""


def check_same_numbers(ask: Ask, path: str, body: Mapping[str, Any], renamed: Mapping[str, Any]) -> None:
    """Raise ``NotTheSameError`` unless both bodies get the same refusal, or the same main numbers digit for digit."""
    first, second = ask(path, body_bytes(body)), ask(path, body_bytes(renamed))
    if problem_in(first) != problem_in(second):
        raise NotTheSameError("without its names the record is answered otherwise")
    if first.status < 400:
        one, other = (
            [(pointer, value) for pointer, value in main_values(answer.document) if not isinstance(value, str)]
            for answer in (first, second)
        )
        if one != other:
            raise NotTheSameError("without its names the record gives other numbers")


def main_values(answer: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
    """Yield pointer and value of everything worth keeping."""
    for name, value in answer.items():
        if name not in LEFT_OUT:
            yield from _below(extended("", name), value)


def _below(pointer: str, value: Any) -> Iterator[tuple[str, Any]]:
    if isinstance(value, dict):
        column = pointer.endswith("/columns")
        for name, one in value.items():
            if column and isinstance(one, list):
                yield extended(pointer, name), one
            elif name not in LEFT_OUT:
                yield from _below(extended(pointer, name), one)
    elif not isinstance(value, list):
        yield pointer, value


def tolerance_of(pointer: str, value: Any) -> Tolerance | None:
    """Return how close the same computation must come again; None for what is no number."""
    numbers = [one for one in (value if isinstance(value, list) else [value]) if _is_number(one)]
    name = pointer.rpartition("/")[2]
    if not numbers:
        return None
    if name in ROUGH:
        return Tolerance(absolute=ROUGH[name])
    small = next((limit for ending, limit in SMALL_BY_ENDING.items() if name.endswith(ending)), SMALL)
    if min(abs(one) for one in numbers) < small:
        return Tolerance(absolute=ABSOLUTE)
    return Tolerance(relative=RELATIVE)


def _is_number(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool)
