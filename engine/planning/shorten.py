"""Shorten a schedule day by day until the test fits its date. Layer: engine.planning.

While the test comes out too late, the interval of the least harm on the chain that drives it gives up one day; at the
end each interval gets back what turned out not to be needed.
"""

from collections.abc import Callable, Mapping
from datetime import date

from engine.deadline import checkpoint
from engine.errors import LimitError
from engine.planning.calendar_days import Interval, WorkCalendar
from engine.planning.network import Earliest
from engine.planning.practice import Key, Stretch

LARGEST_STEPS = 2000
Pass = Callable[[Mapping[Key, Interval]], Earliest]


def in_days(interval: Interval, *, days: WorkCalendar, before: date) -> Interval:
    """Return weeks and months as the days they are before that date; other units as they are."""
    if interval.unit in ("working_days", "days"):
        return interval
    return Interval((before - days.before(before, interval)).days, "days")


def shortest(stretches: Mapping[Key, Stretch]) -> dict[Key, Interval]:
    """Return every interval at its shortest."""
    return {key: one.shortest for key, one in stretches.items()}


def fit(
    *,
    stretches: Mapping[Key, Stretch],
    earliest: Pass,
    days: WorkCalendar,
    task: str,
    by_day: date,
) -> dict[Key, Interval] | None:
    """Return the intervals to change so that ``task`` starts by a day; empty where none need be, None if in vain.

    Parameters
    ----------
    stretches : mapping of key to Stretch
        What may be shortened, and how far.
    earliest : callable
        The forward pass with some intervals changed.
    by_day : date
        Latest day the task may start on.

    Raises
    ------
    LimitError
        ``too-many-steps``: more days to take out than the limit.
    """
    changed: dict[Key, Interval] = {}
    for _ in range(LARGEST_STEPS):
        checkpoint()
        early = earliest(changed)
        if early.spans[task].start <= by_day:
            return _relaxed(changed, stretches=stretches, earliest=earliest, days=days, task=task, by_day=by_day)
        step = _next_step(changed, early, stretches=stretches, days=days, task=task)
        if step is None:
            return None
        changed.update(step)
    raise LimitError(
        f"more than {LARGEST_STEPS} days would have to be taken out", code="too-many-steps", limit=float(LARGEST_STEPS)
    )


def _next_step(
    changed: Mapping[Key, Interval],
    early: Earliest,
    *,
    stretches: Mapping[Key, Stretch],
    days: WorkCalendar,
    task: str,
) -> dict[Key, Interval] | None:
    """Return the driving chain's interval of the lowest rank, a day shorter; None where none can give."""
    chain = early.chain_to(task)
    ends: list[tuple[Key, date]] = []
    for link in chain:
        ends.append((link.before, early.spans[link.before].finish))
        ends.append(((link.before, link.after), early.spans[link.after].start))
    for key, end in sorted(ends, key=lambda one: stretches[one[0]].rank):
        stretch = stretches[key]
        now = in_days(changed.get(key, stretch.usual), days=days, before=end)
        least = in_days(stretch.shortest, days=days, before=end)
        if now.unit == least.unit and now.number > least.number:
            return {key: Interval(now.number - 1, now.unit)}
    return None


def _relaxed(
    changed: Mapping[Key, Interval],
    *,
    stretches: Mapping[Key, Stretch],
    earliest: Pass,
    days: WorkCalendar,
    task: str,
    by_day: date,
) -> dict[Key, Interval]:
    """Return the intervals given back day by day, the most harmful shortening first, as far as the day is kept."""
    kept = dict(changed)

    def fits(trial: Mapping[Key, Interval]) -> bool:
        return earliest(trial).spans[task].start <= by_day

    for key in sorted(changed, key=lambda one: stretches[one].rank, reverse=True):
        without = {other: one for other, one in kept.items() if other != key}
        while key in kept:
            checkpoint()
            longer = Interval(kept[key].number + 1, kept[key].unit)
            if fits(without):
                kept = without
            elif fits({**without, key: longer}):
                kept[key] = longer
            else:
                break
    return kept
