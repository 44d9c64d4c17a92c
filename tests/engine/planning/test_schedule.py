"""Schedules against the common practice of the trade (no published source), calendars, and laws of any schedule."""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.errors import InputError
from engine.planning.calendar_days import Interval, WorkCalendar
from engine.planning.practice import common_practice
from engine.planning.schedule import ExtraTask, schedule
from engine.planning.schedule_asked import Authority, Change, Done
from engine.planning.schedule_made import PlannedTask, Schedule

DAYS = WorkCalendar()
TEST_DAY = date(2026, 6, 17)  # a Wednesday
EARLY = date(2026, 3, 2)  # a Monday, far enough ahead of it


def rows(made: Schedule) -> dict[str, PlannedTask]:
    return {row.task.id: row for row in made.tasks}


def plan(**changed: Any) -> Schedule:
    return schedule(**({"today": EARLY, "days": DAYS, "test_date": TEST_DAY} | changed))


def test_back_planned_by_the_intervals_of_the_trade() -> None:
    """Common practice, no source: T − 2 months, − 1 month, − 3 weeks, − 1 week, − 2 and − 1 days, + 1 week."""
    made = plan()
    late = {name: row.latest for name, row in rows(made).items()}
    assert made.outcome == "workable"
    assert late["engage"].finish == date(2026, 4, 17)
    assert late["lodge"].finish == date(2026, 5, 15)  # the 17th is a Sunday
    assert late["alterations"].finish == late["instruments"].finish == date(2026, 5, 27)
    assert late["visit"].finish == late["landing"].finish == date(2026, 6, 10)
    assert late["survey"] == (date(2026, 6, 15), date(2026, 6, 16))
    assert late["preliminary"].finish == TEST_DAY
    assert late["permission"].finish == date(2026, 6, 24)
    assert late["report"].finish > TEST_DAY  # "days later"
    review = late["review"]
    assert review.finish - review.start == timedelta(weeks=2)  # usually one to two weeks
    assert (made.too_late, made.impossible, made.shortened, made.findings) == ((), (), (), ())


def test_every_interval_says_how_well_it_is_known() -> None:
    practice = common_practice()
    for key, stretch in practice.stretches().items():
        assert stretch.source_status in ("published", "from memory", "common practice, no source", "our choice"), key
        assert bool(stretch.risk) == (stretch.shortest != stretch.usual), key
        assert (stretch.source == stretch.source_status) == (stretch.source_status.startswith("common")), key
    trade = ("engage", "test"), ("lodge", "test"), ("alterations", "test"), ("instruments", "test"), ("visit", "test")
    assert all(practice.links[ends].source_status == "common practice, no source" for ends in trade)
    ranks = [stretch.rank for stretch in practice.stretches().values() if stretch.risk]
    assert len(ranks) == len(set(ranks))


def test_who_is_responsible() -> None:
    made = rows(plan(changes=[Change("weights", responsible="yard")]))
    assert made["write"].task.responsible == "coordinator"
    assert made["landing"].task.responsible == "owner"
    assert made["review"].task.responsible == "authority"
    assert made["weights"].task.responsible == "yard"
    assert rows(plan())["weights"].task.responsible == "to_be_agreed"


@pytest.mark.parametrize(
    ("test_day", "engaged", "lodged"),
    [
        (date(2026, 3, 31), date(2026, 1, 30), date(2026, 2, 27)),  # 31 Jan. a Saturday; 28 Feb. a Saturday
        (date(2028, 3, 31), date(2028, 1, 31), date(2028, 2, 29)),  # leap year: a Tuesday
        (date(2027, 4, 30), date(2027, 2, 26), date(2027, 3, 30)),  # 28 Feb. 2027 is a Sunday
    ],
)
def test_month_ends_and_leap_years(test_day: date, engaged: date, lodged: date) -> None:
    made = plan(today=date(2025, 6, 2), test_date=test_day)
    late = rows(made)
    assert late["engage"].latest.finish == engaged
    assert late["lodge"].latest.finish == lodged


def test_holidays_push_back() -> None:
    """Closed on 8 to 12 and 15 June: the survey moves to the Friday before and the Tuesday, its two working days."""
    closed = [date(2026, 6, day) for day in (8, 9, 10, 11, 12, 15)]
    made = rows(plan(days=WorkCalendar.of(holidays=closed)))
    assert made["survey"].latest == (date(2026, 6, 5), date(2026, 6, 16))
    assert made["landing"].latest.finish == date(2026, 6, 4)  # the day before the survey; T − 1 week is closed too
    assert made["visit"].latest.finish == date(2026, 6, 4)


def test_weekend_is_a_parameter() -> None:
    made = rows(plan(days=WorkCalendar.of(weekend=[5, 6]), test_date=date(2026, 6, 14)))  # a Sunday, worked there
    assert made["survey"].latest == (date(2026, 6, 10), date(2026, 6, 11))  # Wednesday and Thursday


def test_survey_apart_from_the_test_is_a_finding() -> None:
    made = plan(test_date=date(2026, 6, 15))  # a Monday
    assert [one.code for one in made.findings] == ["survey-apart-from-test"]
    assert made.findings[0].count == 2


def test_forward_from_a_contract_date() -> None:
    """Two months from 2 March is 2 May, a Saturday: the test is on the Monday after."""
    made = schedule(today=EARLY, days=DAYS, contract_date=EARLY)
    assert made.test_date == made.earliest_test_date == date(2026, 5, 4)
    assert rows(made)["engage"].done
    assert made.critical_chain == ("engage", "test")
    late = schedule(today=EARLY, days=DAYS, contract_date=date(2026, 3, 9))
    assert not rows(late)["engage"].done
    assert late.test_date == date(2026, 5, 11)  # 9 May is a Saturday


def test_shortest_workable_is_about_three_weeks() -> None:
    """Common practice, no source."""
    made = schedule(today=EARLY, days=DAYS, contract_date=EARLY, shortening="shortest")
    assert made.test_date == EARLY + timedelta(weeks=3)
    assert made.earliest_shortened_test_date == made.test_date
    assert made.outcome == "shortened"
    assert rows(made)["lodge"].latest.finish <= made.test_date - timedelta(days=14)  # 46 CFR 170.085
    assert all(one.stretch.risk for one in made.shortened)


def test_shortened_as_needed_tells_what_and_the_risk() -> None:
    """Engaged on 11 May for 17 June, 37 days: engagement and lodging come closer, nothing else need."""
    made = plan(today=date(2026, 5, 11))
    assert made.outcome == "shortened"
    assert made.test_date == TEST_DAY
    assert {one.key: one.now for one in made.shortened} == {
        ("engage", "test"): Interval(37, "days"),
        ("lodge", "test"): Interval(19, "days"),  # 15 working days of data, checks and writing: lodged on 29 May
    }
    assert "review" in made.shortened[1].stretch.risk
    assert made.too_late[0].task == "engage"
    assert made.too_late[0].overdue_days == 24  # latest start 17 April
    assert made.critical_chain == ("engage", "data", "check", "write", "lodge", "test")
    assert {row.task.id for row in made.tasks if row.critical} >= set(made.critical_chain)


def test_nothing_is_shortened_more_than_needed() -> None:
    """Each shortened interval given one day back alone, by hand in the network, moves the test past its day."""
    made = plan(today=date(2026, 5, 20))
    assert made.outcome == "shortened"
    now = {one.key: one.now for one in made.shortened}
    assert now
    for key, interval in now.items():
        longer = {**now, key: Interval(interval.number + 1, interval.unit)}
        network = common_practice().network(longer)
        assert network.earliest(DAYS, from_day=date(2026, 5, 20)).spans["test"].start > TEST_DAY, key


def test_impossible_names_what_and_the_nearest() -> None:
    made = plan(today=date(2026, 6, 10))
    assert made.outcome == "not_workable"
    assert made.test_date == made.earliest_shortened_test_date == date(2026, 7, 1)  # three weeks from today
    assert made.impossible[0] == ("engage", date(2026, 5, 27), 14)  # T − 3 weeks
    assert [row.task.id for row in made.tasks if row.too_late] == []  # the nearest schedule itself works
    assert made.shortened
    unshortened = plan(today=date(2026, 6, 10), shortening="none")
    assert unshortened.outcome == "not_workable"
    assert unshortened.test_date == unshortened.earliest_test_date == date(2026, 8, 10)
    assert unshortened.shortened == ()


def test_a_date_already_past() -> None:
    made = plan(today=date(2026, 6, 18))
    assert made.outcome == "not_workable"
    assert [(one.code, one.count) for one in made.findings if one.code == "test-date-past"] == [("test-date-past", 1)]
    assert "test" in {one.task for one in made.impossible}
    assert made.test_date >= date(2026, 6, 18)


def test_on_a_day_off_if_asked() -> None:
    made = plan(test_date=date(2026, 6, 20))  # a Saturday
    assert made.outcome == "workable"
    assert rows(made)["test"].latest == (date(2026, 6, 20), date(2026, 6, 20))
    assert "test-on-day-off" in [one.code for one in made.findings]


def test_the_authority_s_time_is_a_parameter() -> None:
    made = plan(authority=Authority(review_days=45))
    assert rows(made)["lodge"].latest.finish == date(2026, 5, 1)  # 45 days before: 3 May, a Sunday
    late = plan(today=date(2026, 5, 11), authority=Authority(review_days=45))
    assert late.outcome == "not_workable"  # a stated time is not shortened
    shorter = plan(today=date(2026, 6, 3), authority=Authority(notice_days=7))
    usual = plan(today=date(2026, 6, 3))
    assert shorter.earliest_shortened_test_date <= usual.earliest_shortened_test_date
    short = rows(plan(authority=Authority(review_days=5)))
    assert (TEST_DAY - short["lodge"].latest.finish).days >= 14  # notice holds below it
    assert (short["review"].latest.finish - short["review"].latest.start).days == 5


def test_what_is_done_is_not_too_late() -> None:
    today = date(2026, 5, 20)
    names = ("engage", "data", "check", "berth", "write", "lodge")
    done = [Done(name, date(2026, 4, 10) if name == "engage" else date(2026, 5, 14)) for name in names]
    made = plan(today=today, done=done)
    assert made.too_late == ()
    assert made.outcome == "workable"
    assert all(row.done and row.earliest == row.latest for row in made.tasks if row.task.id in names)


def test_extra_tasks_and_longer_ones() -> None:
    longer = plan(changes=[Change("survey", duration_working_days=4)])  # a large ship
    assert rows(longer)["survey"].latest.start == date(2026, 6, 11)
    extra = ExtraTask("crane", "Crane hired", "yard", 3, after=("check",), before=("landing",))
    made = rows(plan(extra_tasks=[extra]))
    assert made["crane"].latest == (date(2026, 6, 5), date(2026, 6, 9))  # landing on 10 June
    before_test = rows(plan(extra_tasks=[replace(extra, before=("test",))]))
    assert before_test["crane"].latest.finish == date(2026, 6, 16)


some_days = st.dates(date(2026, 1, 1), date(2028, 12, 31))
calendars = st.builds(
    WorkCalendar.of,
    weekend=st.sets(st.integers(1, 7), max_size=3),
    holidays=st.sets(some_days, max_size=15),
)


@settings(max_examples=25)
@given(today=some_days, days=calendars, ahead=st.integers(-20, 120), how=st.sampled_from(["as_needed", "shortest"]))
def test_any_schedule_keeps_its_links(today: date, days: WorkCalendar, ahead: int, how: Any) -> None:
    asked = today + timedelta(days=ahead)
    made = schedule(today=today, days=days, test_date=asked, shortening=how)
    planned = rows(made)
    for link in made.links:
        for which in ("earliest", "latest"):
            before, after = getattr(planned[link.before], which), getattr(planned[link.after], which)
            assert days.before(after.start, link.lag) >= before.finish
    assert all(row.earliest.start >= today for row in made.tasks)
    assert all(row.float_days >= 0 for row in made.tasks)
    assert planned["test"].latest.start == made.test_date
    assert (made.outcome == "not_workable") == (made.test_date != asked) == bool(made.impossible)
    if made.outcome == "not_workable":
        assert asked < made.test_date == made.earliest_shortened_test_date


@settings(max_examples=40)
@given(today=some_days, days=calendars)
def test_the_back_plan_of_a_forward_plan_agrees(today: date, days: WorkCalendar) -> None:
    forward = schedule(today=today, days=days, contract_date=today)
    back = schedule(today=today, days=days, test_date=forward.test_date, contract_date=today, shortening="none")
    assert back.outcome == "workable"
    assert [(row.task.id, row.earliest, row.latest) for row in back.tasks] == [
        (row.task.id, row.earliest, row.latest) for row in forward.tasks
    ]
    earlier = schedule(
        today=today,
        days=days,
        test_date=days.on_or_before(forward.test_date - timedelta(days=1)),
        contract_date=today,
        shortening="none",
    )
    assert earlier.outcome == "not_workable"  # so the forward plan is the earliest there is
    assert earlier.test_date == forward.test_date


@pytest.mark.parametrize(
    ("changed", "code", "field"),
    [
        ({"test_date": None}, "no-date", "test_date"),
        ({"test_date": date(3026, 1, 1)}, "date-out-of-range", "test_date"),
        ({"today": date(1800, 1, 1)}, "date-out-of-range", "today"),
        ({"done": [Done("data", date(2026, 3, 3))]}, "done-after-today", "done/0/finished"),
        ({"done": [Done("test", date(2026, 3, 1))]}, "test-done", "done/0/task"),
        ({"done": [Done("dance", date(2026, 3, 1))]}, "unknown-task", "done/0/task"),
        ({"changes": [Change("dance")]}, "unknown-task", "changes/0/task"),
        ({"extra_tasks": [ExtraTask("data", "", "owner", 1)]}, "duplicate-id", "extra_tasks/0/id"),
        ({"extra_tasks": [ExtraTask("x", "", "owner", 1, after=("y",))]}, "unknown-task", "extra_tasks/0/after/0"),
        ({"extra_tasks": [ExtraTask("x", "", "owner", 1, after=("test",))]}, "tasks-in-a-circle", "tasks"),
        ({"extra_tasks": [ExtraTask("x", "", "owner", 0)]}, "no-duration", "extra_tasks/0/duration_working_days"),
        ({"changes": [Change("data", duration_working_days=0)]}, "no-duration", "changes/0/duration_working_days"),
    ],
)
def test_refusals(changed: dict[str, Any], code: str, field: str) -> None:
    with pytest.raises(InputError) as refused:
        plan(**changed)
    assert (refused.value.code, refused.value.field) == (code, field)
