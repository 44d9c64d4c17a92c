"""The schedule of a stability test, from the contract to the report. Layer: engine.planning.

Back-planned from a test date or made forward from a contract date; today is an input. What is too late is said, and the
schedule is shortened, down to the shortest workable one, where the day asked for cannot be kept otherwise.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Literal

from engine.errors import InputError
from engine.findings import Finding
from engine.planning.calendar_days import Interval, WorkCalendar, checked_day
from engine.planning.network import Earliest, Span, finish_of
from engine.planning.practice import Key, Practice, Stretch, common_practice
from engine.planning.schedule_asked import TEST, Authority, Change, Done, ExtraTask, asked_practice, no_such_task
from engine.planning.schedule_made import Outcome, Overdue, PlannedLink, PlannedTask, Schedule, Shortened
from engine.planning.shorten import fit, shortest

Shortening = Literal["as_needed", "none", "shortest"]

ENGAGE, SURVEY = "engage", "survey"


def schedule(
    *,
    today: date,
    days: WorkCalendar,
    test_date: date | None = None,
    contract_date: date | None = None,
    authority: Authority | None = None,
    shortening: Shortening = "as_needed",
    done: Sequence[Done] = (),
    changes: Sequence[Change] = (),
    extra_tasks: Sequence[ExtraTask] = (),
) -> Schedule:
    """Plan a stability test.

    Parameters
    ----------
    today : date
        No open task starts earlier.
    days : WorkCalendar
        Which days are worked.
    test_date : date, optional
        Plan back from this day; without it forward from ``contract_date``.
    contract_date : date, optional
        When the naval architect is engaged; a day up to today means that is done.
    authority : Authority, optional
        Review time and notice.
    shortening : {"as_needed", "none", "shortest"}
        Whether intervals may be shortened to keep the day, or all are to be at their shortest.
    done : sequence of Done
        What is done already.
    changes, extra_tasks : sequence
        What is otherwise than in common practice.

    Raises
    ------
    InputError
        ``no-date``, ``date-out-of-range``, ``done-after-today``, ``test-done``, ``unknown-task``, ``duplicate-id``,
        ``no-duration``, ``tasks-in-a-circle``.

    Notes
    -----
    Critical path method (engine.planning.network). Intervals: common practice of the trade, no published source, but
    for the two weeks' notice of 46 CFR 170.085; durations are our choice (docs/methods/schedule.md).
    """
    if test_date is None and contract_date is None:
        raise InputError("a test date or a contract date is needed", code="no-date", field="test_date")
    for name, day in (("today", today), ("test_date", test_date), ("contract_date", contract_date)):
        if day is not None:
            checked_day(day, field=name)
    spans = _done(done, today=today, contract_date=contract_date)
    practice = asked_practice(common_practice(), authority or Authority(), changes, extra_tasks, set(spans))
    _refuse_unknown(done, practice)
    not_before = {ENGAGE: contract_date} if contract_date and contract_date > today else {}
    work = _Planning(practice, days, today, spans, not_before)
    return work.back_from(test_date, shortening) if test_date else work.forward(shortening)


def _done(done: Sequence[Done], *, today: date, contract_date: date | None) -> dict[str, Span]:
    spans: dict[str, Span] = {}
    if contract_date is not None and contract_date <= today:
        spans[ENGAGE] = Span(contract_date, contract_date)
    for rank, one in enumerate(done):
        late = (checked_day(one.finished, field=f"done/{rank}/finished") - today).days
        if late > 0:
            words = f"is later than today, by {late} d"
            raise InputError(words, code="done-after-today", field=f"done/{rank}/finished", value=late, limit=0)
        if one.task == TEST:
            raise InputError("the test itself cannot be done already", code="test-done", field=f"done/{rank}/task")
        spans[one.task] = Span(one.finished, one.finished)
    return spans


def _refuse_unknown(done: Sequence[Done], practice: Practice) -> None:
    for rank, one in enumerate(done):
        if one.task not in practice.tasks:
            raise no_such_task(f"done/{rank}/task")


@dataclass(frozen=True)
class _Planning:
    """The network of one request."""

    practice: Practice
    days: WorkCalendar
    today: date
    done: Mapping[str, Span]
    not_before: Mapping[str, date]
    stretches: Mapping[Key, Stretch] = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "stretches", self.practice.stretches())

    def forward(self, shortening: Shortening) -> Schedule:
        """Return the schedule whose test is as early as the intervals allow."""
        changed = shortest(self.stretches) if shortening == "shortest" else {}
        usual, quickest = self._earliest_test({}), self._earliest_test(shortest(self.stretches))
        day = quickest if shortening == "shortest" else usual
        return self._planned(day, changed, "shortened" if self._differing(changed) else "workable", usual, quickest)

    def back_from(self, asked: date, shortening: Shortening) -> Schedule:
        """Return the schedule for the day asked for, or for the nearest possible one."""
        usual, quickest = self._earliest_test({}), self._earliest_test(shortest(self.stretches))
        found: dict[Key, Interval] | None
        if shortening == "shortest":
            found = shortest(self.stretches) if self._driven_to(shortest(self.stretches), asked) else None
        elif self._driven_to({}, asked):
            found = {}
        else:
            found = self._fitted(asked) if shortening == "as_needed" else None
        too_late = self._overdue({}, asked)
        if found is not None:
            outcome: Outcome = "shortened" if self._differing(found) else "workable"
            made = self._planned(asked, found, outcome, usual, quickest)
            return replace(made, too_late=too_late, findings=self._about(asked) + made.findings)
        least = {} if shortening == "none" else shortest(self.stretches)
        nearest = usual if shortening == "none" else quickest
        made = self._planned(nearest, self._fitted(nearest) or {}, "not_workable", usual, quickest)
        return replace(
            made,
            too_late=too_late,
            impossible=self._overdue(least, asked),
            findings=self._about(asked) + made.findings,
        )

    def _early(self, changed: Mapping[Key, Interval], test: date | None = None) -> Earliest:
        network = self.practice.network(changed)
        not_before = dict(self.not_before) | ({TEST: test} if test else {})
        return network.earliest(self.days, from_day=self.today, not_before=not_before, done=self.done)

    def _earliest_test(self, changed: Mapping[Key, Interval]) -> date:
        return self._early(changed).spans[TEST].start

    def _for_day(self, changed: Mapping[Key, Interval], day: date) -> dict[Key, Interval]:
        """Return the intervals with the test as work of one day, or on a day off where one is asked for."""
        return dict(changed) | ({} if self.days.is_working(day) else {TEST: Interval(0, "days")})

    def _driven_to(self, changed: Mapping[Key, Interval], day: date) -> bool:
        return self._earliest_test(self._for_day(changed, day)) <= day

    def _fitted(self, day: date) -> dict[Key, Interval] | None:
        return fit(
            stretches={key: one for key, one in self.stretches.items() if key != TEST},
            earliest=lambda changed: self._early(self._for_day(changed, day)),
            days=self.days,
            task=TEST,
            by_day=day,
        )

    def _late(self, changed: Mapping[Key, Interval], day: date, early: Earliest) -> Mapping[str, Span]:
        """Return the latest dates for a test on ``day``; what follows the test is due as early as it can be."""
        network = self.practice.network(changed)
        not_after = {name: early.spans[name].finish for name in network.following(TEST)}
        not_after[TEST] = finish_of(network.by_id[TEST], day, self.days)
        end = max(day, *(span.finish for span in early.spans.values()))
        return network.latest(self.days, until_day=end, not_after=not_after, done=self.done)

    def _overdue(self, changed: Mapping[Key, Interval], day: date) -> tuple[Overdue, ...]:
        """Return what should have been started by now for a test on ``day``, the longest overdue first."""
        intervals = self._for_day(changed, day)
        late = self._late(intervals, day, self._early(intervals, day))
        found = [
            Overdue(name, span.start, (self._first_day(name) - span.start).days)
            for name, span in late.items()
            if name not in self.done and span.start < self._first_day(name)
        ]
        return tuple(sorted(found, key=lambda one: (-one.overdue_days, list(self.practice.tasks).index(one.task))))

    def _first_day(self, name: str) -> date:
        return max(self.today, self.not_before.get(name, self.today))

    def _differing(self, changed: Mapping[Key, Interval]) -> tuple[Shortened, ...]:
        found = [
            Shortened(key, self.stretches[key], now) for key, now in changed.items() if now != self.stretches[key].usual
        ]
        return tuple(sorted(found, key=lambda one: one.stretch.rank))

    def _planned(
        self, day: date, changed: Mapping[Key, Interval], outcome: Outcome, usual: date, quickest: date
    ) -> Schedule:
        intervals = self._for_day(changed, day)
        early = self._early(intervals, day)
        late = self._late(intervals, day, early)
        driven = self._early(intervals)
        chain = driven.chain_to(TEST)
        rows = [self._row(name, early.spans[name], late[name]) for name in self.practice.tasks]
        links = [
            PlannedLink(*ends, intervals.get(ends, stretch.usual), stretch)
            for ends, stretch in self.practice.links.items()
        ]
        return Schedule(
            outcome=outcome,
            test_date=day,
            earliest_test_date=usual,
            earliest_shortened_test_date=quickest,
            tasks=tuple(sorted(rows, key=lambda row: (row.latest.start, row.latest.finish))),
            links=tuple(links),
            critical_chain=(*(link.before for link in chain), TEST),
            too_late=(),
            impossible=(),
            shortened=self._differing(changed),
            findings=_survey_apart(late[SURVEY], day) if SURVEY not in self.done else (),
        )

    def _row(self, name: str, early: Span, late: Span) -> PlannedTask:
        done = name in self.done
        worked = 0 if done else self.days.working_days(early.start, late.start)
        return PlannedTask(
            task=self.practice.tasks[name],
            done=done,
            earliest=early,
            latest=late,
            float_days=0 if done else (late.start - early.start).days,
            float_working_days=worked,
            critical=not done and worked <= 0,
            too_late=not done and late.start < self._first_day(name),
        )

    def _about(self, asked: date) -> tuple[Finding, ...]:
        found = []
        if asked < self.today:
            count = (self.today - asked).days
            found.append(Finding("test-date-past", f"the test date lies {count} days before today", count))
        if not self.days.is_working(asked):
            found.append(Finding("test-on-day-off", "the test date is a weekend day or a holiday"))
        return tuple(found)


def _survey_apart(survey: Span, day: date) -> tuple[Finding, ...]:
    gap = (day - survey.finish).days - 1
    if gap < 1:
        return ()
    words = f"{gap} days off lie between the deadweight survey and the test: watch what comes aboard in between"
    return (Finding("survey-apart-from-test", words, gap),)
