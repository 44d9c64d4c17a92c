"""A schedule as it was made. Layer: engine.planning."""

from dataclasses import dataclass
from datetime import date
from typing import Literal, NamedTuple

from engine.findings import Finding
from engine.planning.calendar_days import Interval
from engine.planning.network import Span
from engine.planning.practice import Key, PracticeTask, Stretch

Outcome = Literal["workable", "shortened", "not_workable"]


@dataclass(frozen=True)
class PlannedTask:
    """A task with its dates.

    Attributes
    ----------
    done : bool
        Its dates are then those on which it was done.
    earliest, latest : Span
        First and last day, as early and as late as the day of the test allows.
    float_days, float_working_days : int
        From the earliest to the latest start; negative where it cannot start in time. [d]
    critical : bool
        It is open and has no working day of float.
    too_late : bool
        It is open and its latest start lies before the first day it could start on.
    """

    task: PracticeTask
    done: bool
    earliest: Span
    latest: Span
    float_days: int
    float_working_days: int
    critical: bool
    too_late: bool


class Overdue(NamedTuple):
    """An open task that should have been started by now, by how many days."""

    task: str
    latest_start: date
    overdue_days: int


class Shortened(NamedTuple):
    """An interval made shorter than usual: a task's duration, or the time between two tasks."""

    key: Key
    stretch: Stretch
    now: Interval


class PlannedLink(NamedTuple):
    """What waits for what, and how long at least."""

    before: str
    after: str
    lag: Interval
    stretch: Stretch


@dataclass(frozen=True)
class Schedule:
    """A schedule.

    Attributes
    ----------
    outcome : {"workable", "shortened", "not_workable"}
        Of the day asked for; a schedule made forward is never not workable.
    test_date : date
        The day planned for: the one asked for, or the nearest possible where that is not workable.
    earliest_test_date, earliest_shortened_test_date : date
        With the usual intervals, and with every interval at its shortest.
    tasks : tuple of PlannedTask
        In the order of their latest start.
    critical_chain : tuple of str
        The tasks that decide how early the test can be, the test last.
    too_late : tuple of Overdue
        What is too late for the day asked for with the usual intervals.
    impossible : tuple of Overdue
        What is too late for the day asked for even with the shortest intervals allowed; empty unless not workable.
    shortened : tuple of Shortened
        What this schedule shortens.
    """

    outcome: Outcome
    test_date: date
    earliest_test_date: date
    earliest_shortened_test_date: date
    tasks: tuple[PlannedTask, ...]
    links: tuple[PlannedLink, ...]
    critical_chain: tuple[str, ...]
    too_late: tuple[Overdue, ...]
    impossible: tuple[Overdue, ...]
    shortened: tuple[Shortened, ...]
    findings: tuple[Finding, ...] = ()
