"""The two passes: a textbook-sized network worked by hand, and laws that hold for any network and calendar."""

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.errors import InputError
from engine.planning.calendar_days import Interval, WorkCalendar
from engine.planning.network import Link, Network, Span, Task

EVERY_DAY = WorkCalendar.of(weekend=[])
DAY_1 = date(2026, 6, 1)  # a Monday
NEXT_DAY = Interval(1, "working_days")


def work(name: str, count: int) -> Task:
    return Task(name, Interval(count, "working_days"))


def follows(before: str, after: str, lag: Interval = NEXT_DAY) -> Link:
    return Link(before, after, lag)


# a (3) → b (5) → d (2); a → c (2) → d: by hand, d starts on day 9; c may wait 3 days
DIAMOND = Network(
    tasks=(work("a", 3), work("b", 5), work("c", 2), work("d", 2)),
    links=(follows("a", "b"), follows("a", "c"), follows("b", "d"), follows("c", "d")),
)


def day(number: int) -> date:
    return DAY_1 + timedelta(days=number - 1)


def test_forward_and_backward_by_hand() -> None:
    early = DIAMOND.earliest(EVERY_DAY, from_day=DAY_1)
    assert early.spans == {
        "a": (day(1), day(3)),
        "b": (day(4), day(8)),
        "c": (day(4), day(5)),
        "d": (day(9), day(10)),
    }
    assert [link.before for link in early.chain_to("d")] == ["a", "b"]
    late = DIAMOND.latest(EVERY_DAY, until_day=day(10))
    assert late["c"] == (day(7), day(8))
    assert {name: late[name] for name in "abd"} == {name: early.spans[name] for name in "abd"}


def test_over_a_weekend() -> None:
    early = DIAMOND.earliest(WorkCalendar(), from_day=DAY_1)
    # Mon–Wed; Thu, Fri, Mon, Tue, Wed; Thu, Fri
    assert early.spans["b"] == (date(2026, 6, 4), date(2026, 6, 10))
    assert early.spans["d"] == (date(2026, 6, 11), date(2026, 6, 12))


def test_time_that_passes_ends_on_any_day() -> None:
    network = Network(
        tasks=(work("lodge", 1), Task("review", Interval(1, "months")), work("answer", 1)),
        links=(follows("lodge", "review", Interval(0, "days")), follows("review", "answer", Interval(0, "days"))),
    )
    early = network.earliest(WorkCalendar(), from_day=date(2026, 1, 30))
    assert early.spans["review"] == (date(2026, 1, 30), date(2026, 3, 1))  # a Sunday; 28 February − a month = 28 Jan.
    assert early.spans["answer"] == (date(2026, 3, 2), date(2026, 3, 2))


def test_what_is_done_stays_and_holds_nothing_behind_it() -> None:
    done = {"a": Span(day(-9), day(-8)), "b": Span(day(-6), day(-2))}
    early = DIAMOND.earliest(EVERY_DAY, from_day=DAY_1, done=done)
    assert early.spans["a"] == done["a"]
    assert early.spans["c"].start == DAY_1
    late = DIAMOND.latest(EVERY_DAY, until_day=day(10), done={"b": done["b"]})
    assert late["a"].finish == late["c"].start - timedelta(days=1)  # b no longer holds it


def test_what_follows() -> None:
    assert set(DIAMOND.following("a")) == {"b", "c", "d"}
    assert DIAMOND.following("c") == ("d",)
    assert DIAMOND.following("d") == ()


@st.composite
def networks(draw: st.DrawFn) -> Network:
    count = draw(st.integers(1, 8))
    interval = st.builds(Interval, st.integers(0, 6), st.sampled_from(["working_days", "days", "weeks", "months"]))
    length = interval.map(lambda one: Interval(max(one.number, 1), one.unit))
    tasks = tuple(Task(str(i), draw(length)) for i in range(count))
    pairs = [(i, j) for j in range(count) for i in range(j)]
    chosen = draw(st.lists(st.sampled_from(pairs), unique=True, max_size=12)) if pairs else []
    return Network(tasks, tuple(Link(str(i), str(j), draw(interval)) for i, j in chosen))


calendars = st.builds(
    WorkCalendar.of,
    weekend=st.sets(st.integers(1, 7), max_size=3),
    holidays=st.sets(st.dates(date(2026, 1, 1), date(2029, 1, 1)), max_size=20),
)
starts = st.dates(date(2026, 1, 1), date(2028, 1, 1))


@settings(max_examples=150)
@given(network=networks(), days=calendars, start=starts)
def test_no_task_before_its_predecessor(network: Network, days: WorkCalendar, start: date) -> None:
    early = network.earliest(days, from_day=start).spans
    late = network.latest(days, until_day=max(span.finish for span in early.values()))
    for spans in (early, late):
        for link in network.links:
            assert days.before(spans[link.after].start, link.lag) >= spans[link.before].finish
        for task in network.tasks:
            span = spans[task.id]
            assert span.start <= span.finish
            if task.is_work:
                assert days.is_working(span.start)
                assert days.is_working(span.finish)
                assert days.working_days(span.start, span.finish + timedelta(days=1)) == task.duration.number
    assert all(late[name].start >= early[name].start for name in early)  # no float is negative


@settings(max_examples=150)
@given(network=networks(), days=calendars, start=starts)
def test_forward_of_the_back_plan_of_a_forward_plan_agrees(network: Network, days: WorkCalendar, start: date) -> None:
    """Begun as late as the back-plan allows, all is still finished on the day the forward plan gave."""
    end = max(span.finish for span in network.earliest(days, from_day=start).spans.values())
    late = network.latest(days, until_day=end)
    again = network.earliest(days, from_day=start, not_before={name: span.start for name, span in late.items()})
    assert max(span.finish for span in again.spans.values()) <= end
    assert all(again.spans[name].start == late[name].start for name in late)


@settings(max_examples=60)
@given(network=networks(), days=calendars, start=starts)
def test_the_driving_chain_is_tight(network: Network, days: WorkCalendar, start: date) -> None:
    """Each link of the chain alone explains the start it drives; the first task starts on the first day."""
    early = network.earliest(days, from_day=start)
    last = max(early.spans, key=lambda name: early.spans[name].finish)
    chain = early.chain_to(last)
    for link in chain:
        task = network.by_id[link.after]
        reached = days.after(early.spans[link.before].finish, link.lag)
        assert early.spans[link.after].start == (days.on_or_after(reached) if task.is_work else reached)
    first = chain[0].before if chain else last
    begun = days.on_or_after(start) if network.by_id[first].is_work else start
    assert early.spans[first].start == begun


@pytest.mark.parametrize(
    ("tasks", "links", "code"),
    [
        ((work("a", 1), work("a", 1)), (), "duplicate-id"),
        ((work("a", 0),), (), "no-duration"),
        ((work("a", 1),), (follows("a", "b"),), "unknown-task"),
        ((work("a", 1), work("b", 1)), (follows("a", "b"), follows("b", "a")), "tasks-in-a-circle"),
        ((work("a", 1),), (follows("a", "a"),), "tasks-in-a-circle"),
    ],
)
def test_refusals(tasks: tuple[Task, ...], links: tuple[Link, ...], code: str) -> None:
    with pytest.raises(InputError) as refused:
        Network(tasks, links)
    assert refused.value.code == code
