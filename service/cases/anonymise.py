"""Takes the names out of a record. Layer: service.cases.

Every text goes, but what is known to be none of the owner's: the fixed choices of the request's schema, quantities
with a unit, times of day, and the fields in ``KEPT``. The same text becomes the same label everywhere and different
texts different labels, so an id still points to what it pointed to. Dates move together: the earliest becomes
2000-01-01.
"""

import re
from collections.abc import Iterator
from datetime import date
from typing import Any

from service.edge import units
from service.edge.model import Model

KEPT = frozenset({"data_base64", "rules"})
"""Fields whose texts the computation needs as they are: the bytes of a mesh file, names of rule sets."""

DROPPED = frozenset({"comment", "description", "note", "notes", "remarks"})
"""Fields of prose; they are left out."""

NAMED_AFTER_OWNER = frozenset({"name", "id"})
"""Fields whose label says what holds them: the name of a tank becomes "tank 1"."""

FIRST_DAY = date(2000, 1, 1)

_CLOCK = re.compile("[0-2]?[0-9]:[0-5][0-9](?::[0-5][0-9])?")
_DATED = re.compile("([0-9]{4}-[01][0-9]-[0-3][0-9])((?:[T ][0-9:.]{5,15}(?:Z|[+-][0-9]{2}:?[0-9]{2})?)?)")


def anonymised(body: dict[str, Any], request: type[Model]) -> dict[str, Any]:
    """Return the record with labels for names: "vessel 1", "item 3", "weight 2".

    Parameters
    ----------
    body : dict
        The record, as JSON has it.
    request : type of Model
        What it is a record of; its schema names the fixed choices.
    """
    labels = _Labels(_choices(request.model_json_schema()), min(_days(body), default=FIRST_DAY))
    named: dict[str, Any] = labels.within(body, "", "text")
    return named


class _Labels:
    def __init__(self, choices: set[tuple[str, str]], earliest: date) -> None:
        self._choices = choices
        self._shift = FIRST_DAY - earliest
        self._label_of: dict[str, str] = {}
        self._counts: dict[str, int] = {}

    def within(self, value: Any, field: str, noun: str) -> Any:
        """Return ``value``, which stands in ``field``, with its texts replaced."""
        if isinstance(value, dict):
            return {
                name: self.within(below, name, noun if name in NAMED_AFTER_OWNER else _singular(name))
                for name, below in value.items()
                if name not in DROPPED
            }
        if isinstance(value, list):
            return [self.within(below, field, noun) for below in value]
        return self._text(value, field, noun) if isinstance(value, str) else value

    def _text(self, text: str, field: str, noun: str) -> str:
        if field in KEPT or (field, text) in self._choices or _CLOCK.fullmatch(text) or _is_quantity(text):
            return text
        day = _day(text)
        if day is not None:
            return (day + self._shift).isoformat() + text[10:]
        if text not in self._label_of:
            self._counts[noun] = self._counts.get(noun, 0) + 1
            self._label_of[text] = f"{noun} {self._counts[noun]}"
        return self._label_of[text]


def _choices(schema: dict[str, Any]) -> set[tuple[str, str]]:
    """Return (field, text) for every fixed text a field may hold."""
    found: set[tuple[str, str]] = set()

    def texts(node: object) -> Iterator[str]:
        if isinstance(node, dict):
            yield from (one for one in (node.get("const"), *node.get("enum", ())) if isinstance(one, str))
            for key in ("anyOf", "oneOf", "allOf"):
                for below in node.get(key, ()):
                    yield from texts(below)
            yield from texts(node.get("items"))

    def walk(node: object) -> None:
        if isinstance(node, dict):
            properties = node.get("properties", {})
            for field, facts in properties.items() if isinstance(properties, dict) else ():
                found.update((field, text) for text in texts(facts))
            for below in node.values():
                walk(below)
        elif isinstance(node, list):
            for below in node:
                walk(below)

    walk(schema)
    return found


def _days(value: object) -> Iterator[date]:
    if isinstance(value, dict):
        for below in value.values():
            yield from _days(below)
    elif isinstance(value, list):
        for below in value:
            yield from _days(below)
    elif isinstance(value, str) and (day := _day(value)) is not None:
        yield day


def _day(text: str) -> date | None:
    """Return the day of an ISO 8601 date or date and time."""
    dated = _DATED.fullmatch(text)
    try:
        return None if dated is None else date.fromisoformat(dated[1])
    except ValueError:
        return None


def _singular(name: str) -> str:
    plain = name.replace("_", " ")
    return plain[:-1] if plain.endswith("s") else plain


def _is_quantity(text: str) -> bool:
    for unit in units.OWN_UNITS:
        try:
            units.read(text, unit=unit)
        except units.UnreadableError:
            continue
        return True
    return False
