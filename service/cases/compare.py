"""An expected value against the one found. Layer: service.cases.

Numbers are compared by the tolerance, everything else must be the same. Arrays and objects are compared entry by
entry, so the pointer of a deviation names the one number that moved.
"""

from collections.abc import Iterator
from typing import Any, Literal, NamedTuple

from service.cases.case import Expectation, Json, Tolerance
from service.cases.pointers import LeadsNowhereError, extended, resolve
from service.edge.model import Model

Reason = Literal["beyond_tolerance", "not_equal", "leads_nowhere", "other_kind", "no_standard_uncertainty"]
COMPARED: tuple[Reason, ...] = ("beyond_tolerance", "not_equal")
"""Reasons of values that could be compared; the others say why that was not possible."""


class Deviation(Model):
    """One expected value and what was found in its place."""

    pointer: str
    """Where the value stands in the answer."""
    expected: Json | None = None
    """Left out where null is expected."""
    found: Json | None = None
    """Left out where nothing, or null, stands there."""
    difference: float | None = None
    """Found less expected, where both are numbers; in the value's own unit."""
    tolerance: float | None = None
    """The largest difference allowed; in the value's own unit."""
    within: bool
    """Whether the value is as expected."""
    reason: Reason | None = None
    """Why it is not."""
    origin: str
    """Where the expected value comes from."""


def compare(expectation: Expectation, answer: object) -> tuple[Deviation, ...]:
    """Return the deviation of every value ``expectation`` holds."""
    origin = expectation.origin
    try:
        found = resolve(answer, expectation.pointer)
    except LeadsNowhereError:
        return (_told(_Pair(expectation.pointer, expectation.value, None), "leads_nowhere", origin),)
    return tuple(
        _judged(pair, expectation.tolerance, answer, origin)
        for pair in _pairs(expectation.pointer, expectation.value, found)
    )


class _Pair(NamedTuple):
    """A place, and the two values for it."""

    pointer: str
    expected: Any
    found: Any


def _told(
    pair: _Pair, reason: Reason | None, origin: str, difference: float | None = None, tolerance: float | None = None
) -> Deviation:
    return Deviation(
        **pair._asdict(),
        difference=difference,
        tolerance=tolerance,
        within=reason is None,
        reason=reason,
        origin=origin,
    )


def _pairs(pointer: str, expected: Any, found: Any) -> Iterator[_Pair]:
    """Pair the leaves; where the two are not built alike, the whole part is one pair."""
    if isinstance(expected, dict) and isinstance(found, dict) and expected and expected.keys() == found.keys():
        for name, below in expected.items():
            yield from _pairs(extended(pointer, name), below, found[name])
    elif isinstance(expected, list) and isinstance(found, list) and expected and len(expected) == len(found):
        for index, below in enumerate(expected):
            yield from _pairs(extended(pointer, index), below, found[index])
    else:
        yield _Pair(pointer, expected, found)


def _judged(pair: _Pair, tolerance: Tolerance | None, answer: object, origin: str) -> Deviation:
    expected, found = _number(pair.expected), _number(pair.found)
    if expected is not None and found is not None:
        allowed = _allowed(tolerance, expected, answer)
        difference = found - expected
        if allowed is None:
            return _told(pair, "no_standard_uncertainty", origin, difference)
        return _told(pair, None if abs(difference) <= allowed else "beyond_tolerance", origin, difference, allowed)
    if pair.expected == pair.found and type(pair.expected) is type(pair.found):
        return _told(pair, None, origin)
    texts = isinstance(pair.expected, str) and isinstance(pair.found, str)
    truths = isinstance(pair.expected, bool) and isinstance(pair.found, bool)
    return _told(pair, "not_equal" if texts or truths else "other_kind", origin)


def _allowed(tolerance: Tolerance | None, expected: float, answer: object) -> float | None:
    """Return the largest difference allowed, in the value's own unit; None where the answer does not state it."""
    if tolerance is None:
        return 0.0
    if tolerance.absolute is not None:
        return tolerance.absolute
    if tolerance.relative is not None:
        return tolerance.relative * abs(expected)
    assert tolerance.standard_uncertainties is not None
    try:
        stated = _number(resolve(answer, tolerance.standard_uncertainties.pointer))
    except LeadsNowhereError:
        return None
    return None if stated is None or stated < 0 else tolerance.standard_uncertainties.coverage_factor * stated


def _number(value: object) -> float | None:
    return float(value) if isinstance(value, (int, float)) and not isinstance(value, bool) else None
