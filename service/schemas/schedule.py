"""A schedule asked for, and the schedule made. Layer: service.schemas."""

from datetime import date
from typing import Annotated, Literal, TypedDict

from pydantic import Field

from engine.planning.calendar_days import Interval, WorkCalendar
from engine.planning.practice import Responsible, Stretch
from engine.planning.schedule_asked import Authority, Change, Done, ExtraTask
from engine.planning.schedule_made import Overdue, PlannedLink, PlannedTask, Schedule, Shortened
from engine.rules.rule import SourceStatus
from service.edge.model import Model
from service.edge.provenance import Provenance
from service.schemas.common import CAUTIONS, Finding, Label, findings

TaskId = Annotated[str, Field(min_length=1, max_length=60, pattern="^[A-Za-z0-9_.-]+$")]
Weekday = Literal["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"]
WEEKDAYS: tuple[Weekday, ...] = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
WorkDays = Annotated[int, Field(ge=1, le=365)]


class WorkingDays(Model):
    """Which days are worked."""

    weekend: Annotated[tuple[Weekday, ...], Field(max_length=7)] = ("saturday", "sunday")
    """Days of the week without work."""
    holidays: Annotated[tuple[date, ...], Field(max_length=1000)] = ()
    """Further days without work."""

    def calendar(self) -> WorkCalendar:
        """Return it as the engine has it."""
        return WorkCalendar.of(weekend=[WEEKDAYS.index(day) + 1 for day in self.weekend], holidays=self.holidays)


class AuthorityTimes(Model):
    """The authority's times."""

    review_days: Annotated[int, Field(ge=0, le=365)] | None = None
    """Its review time, from lodging the procedure to the test, where it states one: never shortened. Left out: a month
    formally, one to two weeks usually (common practice, no source)."""
    notice_days: Annotated[int, Field(ge=0, le=365)] = 14
    """Least time between lodging and the test; two weeks by 46 CFR 170.085."""

    def times(self) -> Authority:
        """Return them as the engine has them."""
        return Authority(review_days=self.review_days, notice_days=self.notice_days)


class DoneTask(Model):
    """A task that is done."""

    task: TaskId
    finished: date

    def done(self) -> Done:
        """Return it as the engine has it."""
        return Done(self.task, self.finished)


class TaskChange(Model):
    """What is otherwise than in common practice of a task; a duration set is not shortened."""

    task: TaskId
    responsible: Responsible | None = None
    duration_working_days: WorkDays | None = None

    def change(self) -> Change:
        """Return it as the engine has it."""
        return Change(self.task, self.responsible, self.duration_working_days)


class ExtraTaskAsked(Model):
    """A task of this test alone."""

    id: TaskId
    title: Label
    responsible: Responsible
    duration_working_days: WorkDays = 1
    after: Annotated[tuple[TaskId, ...], Field(max_length=50)] = ()
    """Tasks it waits for, a working day after they are finished."""
    before: Annotated[tuple[TaskId, ...], Field(max_length=50)] = ("test",)
    """Tasks that wait for it."""

    def extra(self) -> ExtraTask:
        """Return it as the engine has it."""
        return ExtraTask(self.id, self.title, self.responsible, self.duration_working_days, self.after, self.before)


class IntervalShown(Model):
    """An interval: so many working days, days, weeks or months."""

    interval_count: int
    unit: Literal["working_days", "days", "weeks", "months"]


class Sourced(Model):
    """Where an interval comes from."""

    clause: str
    source: str
    source_status: SourceStatus


class TaskRow(Sourced):
    """A task with its dates: as early and as late as the day of the test allows."""

    id: str
    title: str
    responsible: Responsible
    done: bool
    duration: IntervalShown
    earliest_start: date
    earliest_finish: date
    latest_start: date
    latest_finish: date
    float_days: int
    """From the earliest to the latest start."""
    float_working_days: int
    critical: bool
    """Open, and without a working day of float."""
    too_late: bool
    """Open, and its latest start is gone."""


class LinkRow(Sourced):
    """What waits for what, and the least time between the finish of one and the start of the other."""

    before: str
    after: str
    lag: IntervalShown


class OverdueTask(Model):
    """An open task that should have been started by now."""

    task: str
    latest_start: date
    overdue_days: int


class ShortenedInterval(Sourced):
    """An interval shorter than usual: a task's duration, or the time between the finish of one task and another."""

    task: str
    until: str | None = None
    """The other task, where the time between two is shortened."""
    usual: IntervalShown
    now: IntervalShown
    shortest: IntervalShown
    risk: str


class ScheduleAnswer(Model):
    """The schedule."""

    project: str | None = None
    today: date
    asked_test_date: date | None = None
    outcome: Literal["workable", "shortened", "not_workable"]
    """Of the day asked for. Not workable: `impossible` says what, and the schedule is that of the nearest day."""
    test_date: date
    """The day planned for."""
    earliest_test_date: date
    """With the usual intervals."""
    earliest_shortened_test_date: date
    """With every interval at its shortest."""
    tasks: tuple[TaskRow, ...]
    links: tuple[LinkRow, ...]
    critical_chain: tuple[str, ...]
    """The tasks that decide how early the test can be, the test last."""
    too_late: tuple[OverdueTask, ...]
    """What is too late for the day asked for, with the usual intervals."""
    impossible: tuple[OverdueTask, ...]
    """What is too late for the day asked for, whatever is shortened."""
    shortened: tuple[ShortenedInterval, ...]
    """What this schedule shortens, and the risk."""
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...] = CAUTIONS
    provenance: Provenance = Provenance()


def answer_of(made: Schedule, *, project: str | None, today: date, asked: date | None) -> ScheduleAnswer:
    """Return a schedule as the answer has it."""
    return ScheduleAnswer(
        project=project,
        today=today,
        asked_test_date=asked,
        outcome=made.outcome,
        test_date=made.test_date,
        earliest_test_date=made.earliest_test_date,
        earliest_shortened_test_date=made.earliest_shortened_test_date,
        tasks=tuple(_task(row, made.shortened) for row in made.tasks),
        links=tuple(_link(link) for link in made.links),
        critical_chain=made.critical_chain,
        too_late=tuple(_overdue(one) for one in made.too_late),
        impossible=tuple(_overdue(one) for one in made.impossible),
        shortened=tuple(_shortened(one) for one in made.shortened),
        findings=findings(made.findings),
    )


def _task(row: PlannedTask, shortened: tuple[Shortened, ...]) -> TaskRow:
    now = {one.key: one.now for one in shortened}
    return TaskRow(
        id=row.task.id,
        title=row.task.title,
        responsible=row.task.responsible,
        done=row.done,
        duration=_interval(now.get(row.task.id, row.task.stretch.usual)),
        earliest_start=row.earliest.start,
        earliest_finish=row.earliest.finish,
        latest_start=row.latest.start,
        latest_finish=row.latest.finish,
        float_days=row.float_days,
        float_working_days=row.float_working_days,
        critical=row.critical,
        too_late=row.too_late,
        **_sourced(row.task.stretch),
    )


def _link(link: PlannedLink) -> LinkRow:
    return LinkRow(before=link.before, after=link.after, lag=_interval(link.lag), **_sourced(link.stretch))


def _overdue(one: Overdue) -> OverdueTask:
    return OverdueTask(task=one.task, latest_start=one.latest_start, overdue_days=one.overdue_days)


def _shortened(one: Shortened) -> ShortenedInterval:
    task, until = (one.key, None) if isinstance(one.key, str) else one.key
    return ShortenedInterval(
        task=task,
        until=until,
        usual=_interval(one.stretch.usual),
        now=_interval(one.now),
        shortest=_interval(one.stretch.shortest),
        risk=one.stretch.risk,
        **_sourced(one.stretch),
    )


def _interval(interval: Interval) -> IntervalShown:
    return IntervalShown(interval_count=interval.number, unit=interval.unit)


class _Origin(TypedDict):
    clause: str
    source: str
    source_status: SourceStatus


def _sourced(stretch: Stretch) -> _Origin:
    return {"clause": stretch.clause, "source": stretch.source, "source_status": stretch.source_status}
