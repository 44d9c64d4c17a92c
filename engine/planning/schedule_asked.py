"""What a schedule has otherwise than the common practice. Layer: engine.planning."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from engine.errors import InputError
from engine.planning.calendar_days import Interval
from engine.planning.practice import Practice, PracticeTask, Responsible, Stretch, common_practice

TEST, REVIEW, LODGE = "test", "review", "lodge"
THE_REQUEST = "the request"


@dataclass(frozen=True)
class Authority:
    """The authority's times.

    Attributes
    ----------
    review_days : int or None
        Its review time from lodging to the test, where it states one: taken as it is, never shortened. None for the
        common practice: a month formally, one to two weeks usually.
    notice_days : int
        Least days between lodging and the test; 14 by 46 CFR 170.085. [d]
    """

    review_days: int | None = None
    notice_days: int = 14


@dataclass(frozen=True)
class Done:
    """A task that is done, and the day it was finished."""

    task: str
    finished: date


@dataclass(frozen=True)
class Change:
    """What somebody wants otherwise of a task of the common practice; a duration set is not shortened."""

    task: str
    responsible: Responsible | None = None
    duration_working_days: int | None = None


@dataclass(frozen=True)
class ExtraTask:
    """A task of this test alone; it comes before the test unless ``before`` says otherwise."""

    id: str
    title: str
    responsible: Responsible
    duration_working_days: int
    after: tuple[str, ...] = ()
    before: tuple[str, ...] = (TEST,)


def asked_practice(
    practice: Practice,
    authority: Authority,
    changes: Sequence[Change],
    extra_tasks: Sequence[ExtraTask],
    done: set[str],
) -> Practice:
    """Return the common practice with what the caller wants otherwise; what is done cannot be shortened."""
    tasks, links = dict(practice.tasks), dict(practice.links)
    notice = Interval(authority.notice_days, "days")
    lodged = links[LODGE, TEST]
    if authority.review_days is None:
        links[LODGE, TEST] = replace(lodged, shortest=notice)
    else:
        stated = max(authority.review_days, authority.notice_days)
        links[LODGE, TEST] = lodged.fixed(Interval(stated, "days"), source=THE_REQUEST)
        usual = tasks[REVIEW].stretch.usual.number * 7
        review = Interval(min(usual, authority.review_days), "days")
        tasks[REVIEW] = replace(tasks[REVIEW], stretch=tasks[REVIEW].stretch.fixed(review, source=THE_REQUEST))
    for rank, change in enumerate(changes):
        if change.task not in tasks:
            raise no_such_task(f"changes/{rank}/task")
        task = tasks[change.task]
        if change.duration_working_days is not None:
            interval = _worked(change.duration_working_days, f"changes/{rank}")
            task = replace(task, stretch=task.stretch.fixed(interval, source=THE_REQUEST))
        tasks[change.task] = replace(task, responsible=change.responsible or task.responsible)
    for rank, extra in enumerate(extra_tasks):
        if extra.id in tasks:
            raise InputError("is the id of another task", code="duplicate-id", field=f"extra_tasks/{rank}/id")
        duration = _worked(extra.duration_working_days, f"extra_tasks/{rank}")
        tasks[extra.id] = PracticeTask(extra.id, extra.title, extra.responsible, _asked(duration))
    for rank, extra in enumerate(extra_tasks):
        for name in ("after", "before"):
            for place, other in enumerate(getattr(extra, name)):
                if other not in tasks:
                    raise no_such_task(f"extra_tasks/{rank}/{name}/{place}")
                ends = (other, extra.id) if name == "after" else (extra.id, other)
                links[ends] = _asked(Interval(1, "working_days"))
    for name in done & tasks.keys():
        tasks[name] = replace(tasks[name], stretch=_past(tasks[name].stretch))
    for ends in [ends for ends in links if ends[1] in done]:
        links[ends] = _past(links[ends])
    return Practice(tasks, links)


def no_such_task(field: str) -> InputError:
    """Return the error of a name no task has; the tasks of the common practice are told."""
    words = f"there is no such task; of the common practice there are {', '.join(common_practice().tasks)}"
    return InputError(words, code="unknown-task", field=field)


def _worked(number: int, field: str) -> Interval:
    if number < 1:
        words = f"work takes one day at least, not {number}"
        raise InputError(words, code="no-duration", field=f"{field}/duration_working_days", value=number, limit=1)
    return Interval(number, "working_days")


def _asked(interval: Interval) -> Stretch:
    return Stretch(interval, interval, 0, "", "none", THE_REQUEST, "our choice")


def _past(stretch: Stretch) -> Stretch:
    return replace(stretch, shortest=stretch.usual)
