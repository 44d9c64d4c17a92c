"""Every raw number of a record, as it was sent, and what made the report. Layer: service.report."""

from collections.abc import Iterator, Mapping
from typing import Any

from service.report.document import Block, Fact, Facts, Listing, Section, Words
from service.report.numbers import MINUS, si_unit
from service.report.source import Choices, Source
from service.schemas.plain_words import in_words
from service.schemas.terms import label

HULL_NUMBERS_AT_MOST = 6000
"""Coordinates of a hull that are still printed; a larger one is told by its digest."""


def raw(source: Source, what: str = "request") -> Section:
    """Return the request as it was sent, entry by entry, digits untouched."""
    blocks: list[Block] = [
        Words(
            f"Every entry of the {what} at its place, numbered from 0 as in the JSON, in SI units with all the digits "
            "that were sent; quantities that were sent with a unit of their own stand here converted."
        ),
        Listing(tuple(_rows(source.given, source.choices))),
    ]
    blocks += _hull(source)
    return Section(f"Appendix: the {what} as sent", tuple(blocks), new_page=True)


def _rows(given: Mapping[str, Any], choices: Choices) -> Iterator[tuple[str, str]]:
    """Yield places and entries: one row an element of a list, one a plain field."""
    for name, value in given.items():
        yield from _entry(name, value, choices)


def _entry(place: str, value: Any, choices: Choices) -> Iterator[tuple[str, str]]:
    if isinstance(value, list) and any(isinstance(one, Mapping) and "value" not in one for one in value):
        for i, one in enumerate(value):
            yield f"{place}/{i}", _fields(one, choices) if isinstance(one, Mapping) else _told("", one, choices)
    elif isinstance(value, Mapping) and any(_has_objects(one) for one in value.values()):
        for name, one in value.items():
            yield from _entry(f"{place}/{name}", one, choices)
    elif isinstance(value, Mapping):
        yield place, _fields(value, choices)
    else:
        yield place, _told(place.rpartition("/")[2], value, choices)


def _has_objects(value: Any) -> bool:
    return isinstance(value, list) and any(isinstance(one, Mapping) for one in value)


def _fields(value: Mapping[str, Any], choices: Choices) -> str:
    """Return an entry in one line: fields in words and values with their units, numbers with all their digits."""
    return "; ".join(f"{label(name)} {_told(name, one, choices)}" for name, one in value.items())


def _told(name: str, value: Any, choices: Choices) -> str:
    """Return a field's value with its unit; a choice of the schema in words, any other text as it was sent."""
    if value is None:
        return "missed"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return in_words(value) if value in choices.get(name, ()) else value
    unit = f" {si_unit(name)}" if si_unit(name) else ""
    if isinstance(value, Mapping):
        return f"({_fields(value, choices)}){unit}"
    if isinstance(value, list):
        return f"[{', '.join(_told('', one, choices) for one in value)}]{unit}"
    return exact(value) + unit


def exact(value: float) -> str:
    """Return a number with all its digits, the shortest text that reads back the same."""
    text = repr(value + 0 if value else 0 if isinstance(value, int) else 0.0)
    return text.replace("-", MINUS, 1) if text.startswith("-") else text


def _hull(source: Source) -> list[Block]:
    """Return the hull's coordinates, or the digest of a hull that has too many to print."""
    hull = source.hull
    if hull is None:
        return []
    if _size(hull) <= HULL_NUMBERS_AT_MOST:
        told = hull.model_dump(mode="json", exclude_unset=True)
        return [Words("The hull:"), Listing(tuple(_entry("hull", told, source.choices)))]
    bulk = {"vertices_m", "faces", "data_base64", "stations", "tables"}
    told = hull.model_dump(mode="json", exclude_unset=True, exclude=bulk)
    digest = source.answer.text("provenance", "hull_sha256")
    how = f"its SHA-256, as the service tells it, is {digest}" if digest else "the SHA-256 of the request covers it"
    return [
        Words(f"The hull has more coordinates than are printed; {how}. Of it, besides the coordinates:"),
        Listing((("hull", _fields(told, source.choices)),)),
    ]


def _size(hull: Any) -> int:
    """Return about how many coordinates a hull has."""
    stations = getattr(hull, "stations", ())
    count = sum(2 * len(one.points_m) + sum(2 * len(loop) for loop in one.loops_m) for one in stations)
    count += 3 * len(getattr(hull, "vertices_m", ())) + 3 * len(getattr(hull, "faces", ()))
    return count + len(getattr(hull, "data_base64", "")) // 16


def provenance(source: Source) -> Section:
    """Return what made the numbers."""
    p = source.answer.below("provenance")
    rows = [
        Fact("Version of the service", p.text("service_version")),
        Fact("Version of the numbers", p.text("engine_version")),
        Fact("Rule sets", ", ".join(p.below("rule_sets").data or ()) or "none"),
        Fact("SHA-256 of the request", p.text("request_sha256")),
    ]
    if p.text("hull_sha256"):
        rows.append(Fact("SHA-256 of the hull", p.text("hull_sha256")))
    return Section(
        "Provenance",
        (Words("The same request and the same versions give the same digits and the same file."), Facts(tuple(rows))),
    )
