"""Working days and intervals: known calendars, month ends, leap years, and the law that ties the two directions."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.errors import InputError
from engine.planning.calendar_days import Interval, WorkCalendar

WEEKDAYS = WorkCalendar()
FRIDAY, SUNDAY, MONDAY = date(2026, 6, 5), date(2026, 6, 7), date(2026, 6, 8)  # 1 June 2026 is a Monday

days = st.dates(min_value=date(2023, 1, 1), max_value=date(2029, 12, 31))
intervals = st.builds(
    Interval,
    st.integers(0, 40),
    st.sampled_from(["working_days", "days", "weeks", "months"]),
)
calendars = st.builds(
    WorkCalendar.of,
    weekend=st.sets(st.integers(1, 7), max_size=6),
    holidays=st.sets(days, max_size=30),
)


def test_working_days_over_a_weekend() -> None:
    assert WEEKDAYS.is_working(FRIDAY)
    assert not WEEKDAYS.is_working(SUNDAY)
    assert WEEKDAYS.before(MONDAY, Interval(1, "working_days")) == FRIDAY
    assert WEEKDAYS.before(SUNDAY, Interval(1, "working_days")) == FRIDAY
    assert WEEKDAYS.before(MONDAY, Interval(5, "working_days")) == date(2026, 6, 1)
    assert WEEKDAYS.after(FRIDAY, Interval(1, "working_days")) == date(2026, 6, 6)  # Friday itself is the one
    assert WEEKDAYS.on_or_after(date(2026, 6, 6)) == MONDAY
    assert WEEKDAYS.on_or_before(SUNDAY) == FRIDAY
    assert WEEKDAYS.working_days(FRIDAY, MONDAY) == 1
    assert WEEKDAYS.working_days(MONDAY, FRIDAY) == -1


def test_weekend_and_holidays_are_parameters() -> None:
    friday_off = WorkCalendar.of(weekend=[5, 6])
    assert friday_off.before(MONDAY, Interval(1, "working_days")) == SUNDAY
    closed = WorkCalendar.of(holidays=[MONDAY, MONDAY + timedelta(days=1)])
    assert closed.on_or_after(SUNDAY) == date(2026, 6, 10)
    never_off = WorkCalendar.of(weekend=[])
    assert never_off.before(MONDAY, Interval(3, "working_days")) == FRIDAY


@pytest.mark.parametrize(
    ("day", "months", "before"),
    [
        (date(2026, 3, 31), 1, date(2026, 2, 28)),
        (date(2028, 3, 31), 1, date(2028, 2, 29)),  # 2028 is a leap year
        (date(2028, 3, 29), 1, date(2028, 2, 29)),
        (date(2027, 3, 29), 1, date(2027, 2, 28)),
        (date(2026, 7, 31), 2, date(2026, 5, 31)),
        (date(2026, 1, 15), 2, date(2025, 11, 15)),
        (date(2100, 3, 30), 1, date(2100, 2, 28)),  # 2100 is not a leap year
    ],
)
def test_months_before(day: date, months: int, before: date) -> None:
    assert WEEKDAYS.before(day, Interval(months, "months")) == before


@pytest.mark.parametrize(
    ("day", "after"),
    [
        (date(2026, 1, 31), date(2026, 3, 1)),  # no day of February lies a whole month after: 28 February − 1 = 28 Jan.
        (date(2028, 1, 29), date(2028, 2, 29)),
        (date(2027, 1, 29), date(2027, 3, 1)),
        (date(2026, 2, 28), date(2026, 3, 28)),
        (date(2026, 12, 31), date(2027, 1, 31)),
    ],
)
def test_a_month_after(day: date, after: date) -> None:
    assert WEEKDAYS.after(day, Interval(1, "months")) == after


@given(calendar=calendars, day=days, interval=intervals)
def test_after_is_the_first_day_whose_before_reaches(calendar: WorkCalendar, day: date, interval: Interval) -> None:
    """The law all planning rests on, by its definition: try the day found and the day before it."""
    found = calendar.after(day, interval)
    assert calendar.before(found, interval) >= day
    assert calendar.before(found - timedelta(days=1), interval) < day


@given(calendar=calendars, first=days, second=days, interval=intervals)
def test_before_keeps_the_order(calendar: WorkCalendar, first: date, second: date, interval: Interval) -> None:
    early, late = sorted((first, second))
    assert calendar.before(early, interval) <= calendar.before(late, interval)


@given(calendar=calendars, day=days, count=st.integers(1, 40))
def test_before_leaves_so_many_working_days(calendar: WorkCalendar, day: date, count: int) -> None:
    """Counted one by one, without numpy."""
    one, counted = calendar.before(day, Interval(count, "working_days")), 0
    while one < day:
        counted += one.isoweekday() not in calendar.weekend and one not in calendar.holidays
        one += timedelta(days=1)
    assert counted == count


@pytest.mark.parametrize(
    ("weekend", "holidays", "code"),
    [
        (range(1, 8), (), "no-working-day"),
        ([0], (), "weekday-out-of-range"),
        ([6], [date(1899, 12, 31)], "date-out-of-range"),
    ],
)
def test_refusals(weekend: list[int], holidays: list[date], code: str) -> None:
    with pytest.raises(InputError) as refused:
        WorkCalendar.of(weekend=weekend, holidays=holidays)
    assert refused.value.code == code
