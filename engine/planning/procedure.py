"""What the procedure of a stability test must contain, and what of it is missing. Layer: engine.planning.

46 CFR 170.185(g) and the 2008 IS Code, B/8.2.1.1. The parts are data, ``procedure_parts.json``. Nothing is made up: a
part that is not given is named as missing.
"""

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, Literal, NamedTuple, get_args

from engine.errors import InputError
from engine.rules.rule import SourceStatus

Regulation = Literal["us", "imo"]
REGULATIONS: tuple[Regulation, ...] = get_args(Regulation)
Outcome = Literal["present", "incomplete", "missing"]
Given = Mapping[str, Any]


class Missing(NamedTuple):
    """A fact that is wanted and not given: its path in the procedure, and what it is in words."""

    path: str
    words: str


@dataclass(frozen=True)
class Part:
    """A part asked for, and what of it is given.

    Attributes
    ----------
    id, title : str
        What.
    regulation : {"us", "imo"}
        Who asks for it.
    clause, source, source_status
        Where, and how well that is known.
    outcome : {"present", "incomplete", "missing"}
        Missing where nothing of it is given.
    missing : tuple of Missing
        What is not given.
    """

    id: str
    regulation: Regulation
    title: str
    clause: str
    source: str
    source_status: SourceStatus
    outcome: Outcome
    missing: tuple[Missing, ...]


@cache
def _rows() -> tuple[Mapping[str, Any], ...]:
    text = (files("engine.planning") / "procedure_parts.json").read_text(encoding="utf-8")
    return tuple(json.loads(text)["parts"])


def contents(given: Given, *, regulations: Sequence[Regulation] = REGULATIONS) -> tuple[Part, ...]:
    """Return every part that the regulations ask for, present or missing.

    Parameters
    ----------
    given : mapping
        The procedure as far as it is known, nested mappings and sequences: ``vessel``, ``day``, ``time``, ``place``,
        ``weights``, ``handling``, ``heel_port_deg``, ``heel_starboard_deg``, ``instruments``, ``draft_m``, ``trim_m``,
        ``tanks``, ``items``, ``schedule``, ``persons``, ``software``. What is not known is left out. An empty list of
        tanks or items says that there are none.
    regulations : sequence of {"us", "imo"}
        Whose parts.

    Raises
    ------
    InputError
        ``no-regulation``: none is named.
    """
    if not regulations:
        raise InputError("a regulation at least is needed", code="no-regulation", field="regulations")
    return tuple(_part(row, given) for row in _rows() if row["regulation"] in regulations)


def _part(row: Mapping[str, Any], given: Given) -> Part:
    missing: list[Missing] = []
    found_any = False
    for need in row["needs"]:
        lacking, found = _lacking(need, given)
        missing += [Missing(path, need["words"]) for path in lacking]
        found_any |= found
    outcome: Outcome = "present" if not missing else "incomplete" if found_any else "missing"
    return Part(
        id=row["id"],
        regulation=row["regulation"],
        title=row["title"],
        clause=row["clause"],
        source=row["source"],
        source_status=row["source_status"],
        outcome=outcome,
        missing=tuple(missing),
    )


def _lacking(need: Mapping[str, Any], given: Given) -> tuple[list[str], bool]:
    """Return the paths of a need that are not given, and whether any of it is."""
    places = list(_places(need, given))
    lacking = [path for path, value in places if _absent(value, need.get("at_least", 0))]
    if need.get("any") and len(lacking) < len(places):
        return [], True
    return lacking, len(lacking) < len(places)


def _absent(value: object, at_least: int) -> bool:
    if value is None or (isinstance(value, str) and not value.strip()):
        return True
    return isinstance(value, Sequence) and not isinstance(value, str) and len(value) < at_least


def _places(need: Mapping[str, Any], given: Given) -> Iterator[tuple[str, object]]:
    """Yield the concrete paths of a need with what stands there, None where nothing does."""
    head, star, tail = str(need["path"]).partition("/*/")
    if not star:
        *above, last = head.split("/")
        here: Any = given
        for name in above:
            here = here.get(name) or {}
        yield "/".join([*above, last.split("|")[0]]), _first(here, last)
        return
    wanted = need.get("when", {})
    for number, entry in enumerate(given.get(head) or ()):
        if all(entry.get(name) in (value if isinstance(value, list) else [value]) for name, value in wanted.items()):
            yield f"{head}/{number}/{tail.split('|')[0]}", _first(entry, tail)


def _first(entry: Given, names: str) -> object:
    """Return what stands under the first of the names that is given."""
    return next((entry[name] for name in names.split("|") if not _absent(entry.get(name), 0)), None)
