"""Working days and intervals between days. Layer: engine.planning.

An interval has two ways through it that belong together: ``before(day)`` is the last day that lies the interval
before ``day``; ``after(day)`` is the first day whose ``before`` is not earlier than ``day``. So a plan made forward and
one made backward agree at month ends and across holidays, where "one month before" and "one month after" do not undo
each other.
"""

import calendar
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from typing import Literal, NamedTuple

import numpy as np

from engine.errors import InputError

Unit = Literal["working_days", "days", "weeks", "months"]

EARLIEST, LATEST = date(1900, 1, 1), date(2999, 12, 31)
ONE_DAY = timedelta(days=1)


class Interval(NamedTuple):
    """A number of working days, days, weeks or calendar months."""

    number: int
    unit: Unit


def checked_day(day: date, *, field: str) -> date:
    """Return ``day`` if a plan may reach there: 1900 to 2999."""
    if not EARLIEST <= day <= LATEST:
        raise InputError(
            f"the year must lie from {EARLIEST.year} to {LATEST.year}, is {day.year}",
            code="date-out-of-range",
            field=field,
            value=float(day.year),
        )
    return day


@dataclass(frozen=True)
class WorkCalendar:
    """Which days are worked.

    Attributes
    ----------
    weekend : frozenset of int
        Days of the week without work, ISO: Monday 1 to Sunday 7. Not all seven.
    holidays : frozenset of date
        Further days without work.
    """

    weekend: frozenset[int] = frozenset({6, 7})
    holidays: frozenset[date] = frozenset()

    def __post_init__(self) -> None:
        if not self.weekend <= set(range(1, 8)):
            raise InputError("days of the week are 1 to 7", code="weekday-out-of-range", field="weekend")
        if len(self.weekend) == 7:
            raise InputError("at least one day of the week must be worked", code="no-working-day", field="weekend")
        for day in self.holidays:
            checked_day(day, field="holidays")

    @classmethod
    def of(cls, *, weekend: Iterable[int] = (6, 7), holidays: Iterable[date] = ()) -> "WorkCalendar":
        """Return the calendar of any collections."""
        return cls(frozenset(weekend), frozenset(holidays))

    @cached_property
    def _business(self) -> np.busdaycalendar:
        mask = [day not in self.weekend for day in range(1, 8)]
        return np.busdaycalendar(weekmask=mask, holidays=[np.datetime64(day) for day in sorted(self.holidays)])

    def _offset(self, day: date, count: int, roll: Literal["forward", "backward"]) -> date:
        moved = np.busday_offset(np.datetime64(day), count, roll=roll, busdaycal=self._business)
        return date.fromisoformat(str(moved))

    def is_working(self, day: date) -> bool:
        """Return whether ``day`` is worked."""
        return bool(np.is_busday(np.datetime64(day), busdaycal=self._business))

    def on_or_after(self, day: date) -> date:
        """Return the first working day from ``day`` on."""
        return self._offset(day, 0, "forward")

    def on_or_before(self, day: date) -> date:
        """Return the last working day up to ``day``."""
        return self._offset(day, 0, "backward")

    def working_days(self, first: date, end: date) -> int:
        """Return the working days from ``first`` up to but not counting ``end``; negative if ``end`` is earlier."""
        if end < first:
            return -self.working_days(end, first)
        return int(np.busday_count(np.datetime64(first), np.datetime64(end), busdaycal=self._business))

    def before(self, day: date, interval: Interval) -> date:
        """Return the last day that lies ``interval`` before ``day``.

        For working days the last day from which on, up to but not counting ``day``, there are so many. A month before
        the 31st is the last day of a shorter month.
        """
        number, unit = interval
        if unit == "months":
            return _months_before(day, number)
        if unit != "working_days":
            return day - timedelta(days=number * (7 if unit == "weeks" else 1))
        return self._offset(day, -number, "forward") if number else day

    def after(self, day: date, interval: Interval) -> date:
        """Return the first day whose ``before`` is not earlier than ``day``."""
        number, unit = interval
        if unit == "working_days":
            return self._offset(day, number - 1, "forward") + ONE_DAY if number else day
        if unit != "months":
            return day + timedelta(days=number * (7 if unit == "weeks" else 1))
        month = day.year * 12 + day.month - 1 + number
        last = calendar.monthrange(month // 12, month % 12 + 1)[1]
        if day.day > last:  # no day of that month lies a month after: the next one's first does
            return date(month // 12, month % 12 + 1, last) + ONE_DAY
        return date(month // 12, month % 12 + 1, day.day)


def _months_before(day: date, count: int) -> date:
    month = day.year * 12 + day.month - 1 - count
    last = calendar.monthrange(month // 12, month % 12 + 1)[1]
    return date(month // 12, month % 12 + 1, min(day.day, last))
