"""Tasks and intervals of a stability test as the trade keeps them, read from package data. Layer: engine.planning.

The data are ``common_practice_schedule.json``; each row says how well its number is known.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from typing import Any, Literal

from engine.planning.calendar_days import Interval
from engine.planning.network import Link, Network, Task
from engine.rules.rule import SourceStatus

Responsible = Literal["owner", "coordinator", "yard", "authority", "to_be_agreed"]
Key = str | tuple[str, str]
"""What can be shortened: a task by its id, a link by the ids of its ends."""


@dataclass(frozen=True)
class Stretch:
    """An interval, how short it may become, and how well both are known.

    Attributes
    ----------
    usual : Interval
        As planned where there is time.
    shortest : Interval
        The usual one where it cannot be shortened.
    rank : int
        Order of shortening, the least harm first.
    risk : str
        What shortening it risks, "" where it cannot be.
    clause, source, source_status
        Where the interval comes from.
    """

    usual: Interval
    shortest: Interval
    rank: int
    risk: str
    clause: str
    source: str
    source_status: SourceStatus

    def fixed(self, interval: Interval, *, source: str) -> "Stretch":
        """Return the stretch with an interval somebody set, which is not shortened."""
        return replace(self, usual=interval, shortest=interval, risk="", source=source, clause="none")


@dataclass(frozen=True)
class PracticeTask:
    """A task with its words."""

    id: str
    title: str
    responsible: Responsible
    stretch: Stretch


@dataclass(frozen=True)
class Practice:
    """Tasks by id and links by their ends, in the order of the data."""

    tasks: Mapping[str, PracticeTask]
    links: Mapping[tuple[str, str], Stretch]

    def stretches(self) -> dict[Key, Stretch]:
        """Return every task's duration and every link's lag."""
        durations: list[tuple[Key, Stretch]] = [(name, task.stretch) for name, task in self.tasks.items()]
        return dict(durations + list(self.links.items()))

    def network(self, intervals: Mapping[Key, Interval]) -> Network:
        """Return the network with these intervals, the usual ones where none is given."""
        return Network(
            tuple(Task(name, intervals.get(name, task.stretch.usual)) for name, task in self.tasks.items()),
            tuple(Link(*ends, intervals.get(ends, stretch.usual)) for ends, stretch in self.links.items()),
        )


@cache
def common_practice() -> Practice:
    """Return the tasks and links that come with the engine."""
    text = (files("engine.planning") / "common_practice_schedule.json").read_text(encoding="utf-8")
    rows = json.loads(text)
    tasks = [
        PracticeTask(row["id"], row["title"], row["responsible"], _stretch(row, "duration")) for row in rows["tasks"]
    ]
    return Practice(
        {task.id: task for task in tasks},
        {(row["before"], row["after"]): _stretch(row, "lag") for row in rows["links"]},
    )


def _stretch(row: Mapping[str, Any], name: str) -> Stretch:
    usual = Interval(*row[name])
    return Stretch(
        usual=usual,
        shortest=Interval(*row.get("shortest", usual)),
        rank=row.get("rank", 0),
        risk=row.get("risk", ""),
        clause=row["clause"],
        source=row["source"],
        source_status=row["source_status"],
    )
