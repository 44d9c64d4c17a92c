"""Who brings what: things and people a test needs, and whose they are. Layer: engine.planning.

Common practice, no source: measuring instruments by the coordinator; fenders, mooring lines and tug by the owner; the
rest is agreed case by case. The owner also sends the master, the chief engineer, line handlers and, where the ship's
own crane is used, its operator and a deck crew. The rows are data, ``who_brings.json``.
"""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace
from functools import cache
from importlib.resources import files
from typing import Any, Literal

from engine.errors import InputError
from engine.planning.practice import Responsible
from engine.rules.rule import Level, SourceStatus

Kind = Literal["equipment", "person"]


@dataclass(frozen=True)
class Planned:
    """What of a plan decides who and what is needed; numbers of each."""

    pendulums: int = 0
    u_tubes: int = 0
    inclinometers: int = 0
    weights: int = 0
    tank_liquids: int = 0
    ship_crane: bool = False
    shore_crane: bool = False
    tug: bool = False

    def count_of(self, what: str) -> int:
        """Return how many there are of a field's name, of "instruments", or 1 for "always"."""
        if what == "always":
            return 1
        if what == "instruments":
            return self.pendulums + self.u_tubes + self.inclinometers
        return int(getattr(self, what))

    def __post_init__(self) -> None:
        for one in fields(self):
            if getattr(self, one.name) < 0:
                raise InputError("must be 0 or more", code="out-of-range", field=one.name)


@dataclass(frozen=True)
class Need:
    """A thing or a person needed.

    Attributes
    ----------
    id, kind, title
        What.
    need_count : int
        How many.
    party : str
        Who brings it.
    confirmed : bool or None
        Whether it is sure to be there; None where nobody has said.
    party_set : bool
        Whether the party, or the whole row, is the caller's.
    level, clause, source, source_status
        Of the need itself.
    due_working_days, mend_working_days : int
        By when before the test, and how long it usually takes to get. [d]
    """

    id: str
    kind: Kind
    title: str
    need_count: int
    party: Responsible
    level: Level
    clause: str
    source: str
    source_status: SourceStatus
    due_working_days: int = 1
    mend_working_days: int = 3
    confirmed: bool | None = None
    party_set: bool = False


@dataclass(frozen=True)
class NeedChange:
    """What the parties agreed otherwise, or confirmed."""

    need: str
    party: Responsible | None = None
    need_count: int | None = None
    confirmed: bool | None = None


@cache
def _rows() -> tuple[Mapping[str, Any], ...]:
    text = (files("engine.planning") / "who_brings.json").read_text(encoding="utf-8")
    return tuple(json.loads(text)["needs"])


def who_brings(planned: Planned, *, changes: Sequence[NeedChange] = (), extra: Sequence[Need] = ()) -> tuple[Need, ...]:
    """Return what the plan needs and who brings it.

    Parameters
    ----------
    planned : Planned
        Instruments, weights, cranes.
    changes : sequence of NeedChange
        Applied in order; a change of a need that the plan does not have is refused.
    extra : sequence of Need
        Needs of this test alone.

    Raises
    ------
    InputError
        ``duplicate-id``, ``unknown-need``, ``out-of-range``.
    """
    needs: dict[str, Need] = {}
    for row in _rows():
        many = planned.count_of(row["when"])
        if many:
            needs[row["id"]] = _need(row, many if row["per"] else row["need_count"])
    for rank, one in enumerate(extra):
        if one.id in needs:
            raise InputError("is the id of another need", code="duplicate-id", field=f"extra_needs/{rank}/id")
        needs[one.id] = replace(one, party_set=True)
    for rank, change in enumerate(changes):
        if change.need not in needs:
            ours = ", ".join(row["id"] for row in _rows() if row["id"] in needs)
            raise InputError(
                f"the plan has no such need; it has {ours}",
                code="unknown-need",
                field=f"who_brings_changes/{rank}/need",
            )
        needs[change.need] = _changed(needs[change.need], change)
    return tuple(needs.values())


def _need(row: Mapping[str, Any], many: int) -> Need:
    names = {one.name for one in fields(Need)}
    return Need(**{**{key: value for key, value in row.items() if key in names}, "need_count": many})


def _changed(need: Need, change: NeedChange) -> Need:
    return replace(
        need,
        party=change.party or need.party,
        party_set=need.party_set or change.party is not None,
        need_count=need.need_count if change.need_count is None else change.need_count,
        confirmed=need.confirmed if change.confirmed is None else change.confirmed,
    )
