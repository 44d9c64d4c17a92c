"""A network of tasks: earliest dates forward, latest dates backward, and what drives them. Layer: engine.planning.

Critical path method with finish-to-start links, each with a least interval between the finish of one task and the
start of the next. Days are whole: a task of one working day starts and finishes on the same day.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from graphlib import CycleError, TopologicalSorter
from typing import NamedTuple

from engine.deadline import checkpoint
from engine.errors import InputError
from engine.planning.calendar_days import ONE_DAY, Interval, WorkCalendar


@dataclass(frozen=True)
class Task:
    """Work that takes time.

    Attributes
    ----------
    id : str
        Unique in its network.
    duration : Interval
        In working days: days worked, first and last included, one at least. In other units: time that passes from the
        start to the finish, on whatever day these fall; none is a task that starts and finishes on one day.
    """

    id: str
    duration: Interval

    @property
    def is_work(self) -> bool:
        """Whether it begins and ends on working days."""
        return self.duration.unit == "working_days"


@dataclass(frozen=True)
class Link:
    """``after`` starts no earlier than ``lag`` after the finish of ``before``; none: it may start on that day."""

    before: str
    after: str
    lag: Interval


class Span(NamedTuple):
    """First and last day of a task."""

    start: date
    finish: date


class Earliest(NamedTuple):
    """Earliest dates by task, and by task the link that drives it, None where its own first day does."""

    spans: Mapping[str, Span]
    drivers: Mapping[str, Link | None]

    def chain_to(self, task: str) -> tuple[Link, ...]:
        """Return the links that drive ``task``, from the first on."""
        links: list[Link] = []
        link = self.drivers[task]
        while link is not None:
            links.append(link)
            link = self.drivers.get(link.before)
        return tuple(reversed(links))


@dataclass(frozen=True)
class Network:
    """Tasks and links; refused where a link leads nowhere or the tasks wait for each other in a circle."""

    tasks: tuple[Task, ...]
    links: tuple[Link, ...]

    def __post_init__(self) -> None:
        known: set[str] = set()
        for rank, task in enumerate(self.tasks):
            if task.id in known:
                raise InputError("an earlier task has the same id", code="duplicate-id", field=f"tasks/{rank}/id")
            known.add(task.id)
            if task.is_work and task.duration.number < 1:
                raise InputError("work takes one day at least", code="no-duration", field=f"tasks/{rank}/duration")
        for rank, link in enumerate(self.links):
            if not {link.before, link.after} <= known:
                raise InputError("a link names no task", code="unknown-task", field=f"links/{rank}")
        self.order  # noqa: B018  # refuses a circle

    @cached_property
    def by_id(self) -> dict[str, Task]:
        """Tasks by id."""
        return {task.id: task for task in self.tasks}

    @cached_property
    def order(self) -> tuple[str, ...]:
        """Ids, each after all it waits for."""
        sorter: TopologicalSorter[str] = TopologicalSorter({task.id: [] for task in self.tasks})
        for link in self.links:
            sorter.add(link.after, link.before)
        try:
            return tuple(sorter.static_order())
        except CycleError as error:
            count = len(error.args[1]) - 1
            raise InputError(
                f"{count} tasks wait for each other in a circle", code="tasks-in-a-circle", field="tasks"
            ) from None

    @cached_property
    def _into(self) -> dict[str, list[Link]]:
        found: dict[str, list[Link]] = {task.id: [] for task in self.tasks}
        for link in self.links:
            found[link.after].append(link)
        return found

    @cached_property
    def _out_of(self) -> dict[str, list[Link]]:
        found: dict[str, list[Link]] = {task.id: [] for task in self.tasks}
        for link in self.links:
            found[link.before].append(link)
        return found

    def following(self, task: str) -> tuple[str, ...]:
        """Return all that waits for a task, directly or not."""
        reached = {task}
        for name in self.order:
            if any(link.before in reached for link in self._into[name]):
                reached.add(name)
        return tuple(name for name in self.order if name in reached and name != task)

    def earliest(
        self,
        days: WorkCalendar,
        *,
        from_day: date,
        not_before: Mapping[str, date] | None = None,
        done: Mapping[str, Span] | None = None,
    ) -> Earliest:
        """Return the earliest dates: the forward pass.

        Parameters
        ----------
        from_day : date
            No open task starts earlier.
        not_before : mapping of str to date, optional
            First days of single tasks.
        done : mapping of str to Span, optional
            Dates of tasks that are done; they stay whatever the links say.
        """
        spans: dict[str, Span] = dict(done or {})
        drivers: dict[str, Link | None] = dict.fromkeys(spans)
        for name in self.order:
            checkpoint()
            if name in spans:
                continue
            task, driver = self.by_id[name], None
            start = _aligned(days, max(from_day, (not_before or {}).get(name, from_day)), task)
            for link in self._into[name]:
                reached = _aligned(days, days.after(spans[link.before].finish, link.lag), task)
                later = driver is not None and spans[link.before].start > spans[driver.before].start
                if reached > start or (reached == start and later):  # of two that drive, the longer chain is told
                    start, driver = reached, link
            spans[name] = Span(start, finish_of(task, start, days))
            drivers[name] = driver
        return Earliest(spans, drivers)

    def latest(
        self,
        days: WorkCalendar,
        *,
        until_day: date,
        not_after: Mapping[str, date] | None = None,
        done: Mapping[str, Span] | None = None,
    ) -> Mapping[str, Span]:
        """Return the latest dates: the backward pass.

        Parameters
        ----------
        until_day : date
            No task finishes later.
        not_after : mapping of str to date, optional
            Last days of single tasks.
        done : mapping of str to Span, optional
            Dates of tasks that are done; what they waited for is not held by them any more.
        """
        spans: dict[str, Span] = {}
        for name in reversed(self.order):
            checkpoint()
            if done and name in done:
                spans[name] = done[name]
                continue
            task = self.by_id[name]
            finish = min(until_day, (not_after or {}).get(name, until_day))
            for link in self._out_of[name]:
                if not (done and link.after in done):
                    finish = min(finish, days.before(spans[link.after].start, link.lag))
            if task.is_work:
                finish = days.on_or_before(finish)
            spans[name] = Span(_start(days, finish, task), finish)
        return spans


def _aligned(days: WorkCalendar, day: date, task: Task) -> date:
    return days.on_or_after(day) if task.is_work else day


def finish_of(task: Task, start: date, days: WorkCalendar) -> date:
    """Return the last day of a task that starts on a day."""
    return days.after(start, task.duration) - (ONE_DAY if task.is_work else 0 * ONE_DAY)


def _start(days: WorkCalendar, finish: date, task: Task) -> date:
    return days.before(finish + (ONE_DAY if task.is_work else 0 * ONE_DAY), task.duration)
