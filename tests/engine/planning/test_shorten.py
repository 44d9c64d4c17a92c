"""The search for intervals to shorten: one long interval gives day by day, and the search has an end."""

from datetime import date, timedelta

import pytest

from engine.errors import LimitError
from engine.planning.calendar_days import Interval, WorkCalendar
from engine.planning.network import Earliest, Link, Span
from engine.planning.practice import Stretch
from engine.planning.shorten import LARGEST_STEPS, fit

START = date(2026, 1, 5)
WAIT = ("order", "test")
USUAL = Interval(3 * LARGEST_STEPS, "days")
STRETCH = Stretch(USUAL, Interval(0, "days"), 1, "a risk", "none", "a test", "our choice")
FIXED = Stretch(Interval(1, "days"), Interval(1, "days"), 2, "", "none", "a test", "our choice")


def fitted(days):
    """Ask that a test that waits 6000 days after its order comes ``days`` earlier."""

    def earliest(changed):
        lag = changed.get(WAIT, USUAL)
        then = START + timedelta(days=lag.number)
        link = Link(*WAIT, lag)
        return Earliest({"order": Span(START, START), "test": Span(then, then)}, {"order": None, "test": link})

    return fit(
        stretches={WAIT: STRETCH, "order": FIXED, "test": FIXED},
        earliest=earliest,
        days=WorkCalendar(),
        task="test",
        by_day=START + timedelta(days=USUAL.number - days),
    )


def test_no_more_is_taken_out_than_asked():
    assert fitted(0) == {}
    assert fitted(7) == {WAIT: Interval(USUAL.number - 7, "days")}


def test_more_days_than_the_search_takes_out():
    with pytest.raises(LimitError) as refused:
        fitted(LARGEST_STEPS + 1)
    assert (refused.value.code, refused.value.limit) == ("too-many-steps", float(LARGEST_STEPS))
