"""A schedule as iCalendar (RFC 5545): one all-day event a task, at its latest dates. Layer: service.schemas.

The same schedule gives the same bytes: DTSTAMP is the request's today. An event keeps its UID when a project is planned
again, so that a calendar moves it in place of doubling it.
"""

import uuid
from datetime import UTC, datetime, time, timedelta
from typing import TYPE_CHECKING

from service.schemas.schedule import ScheduleAnswer, TaskRow

if TYPE_CHECKING:
    from icalendar import Event

NAMESPACE = uuid.UUID("7b0f6f4e-0d52-5c61-9f6c-5c1d6a3c5a11")
"""A constant of this service, made up once; event UIDs are derived from it."""


def calendar(schedule: ScheduleAnswer) -> bytes:
    """Return the schedule as an iCalendar document."""
    from icalendar import Calendar

    made = Calendar()
    made.add("prodid", "-//Stability Test Service//Schedule//EN")
    made.add("version", "2.0")
    made.add("method", "PUBLISH")
    if schedule.project is not None:
        made.add("name", schedule.project)
    for task in schedule.tasks:
        made.add_component(_event(task, schedule))
    written: bytes = made.to_ical()
    return written


def _event(task: TaskRow, schedule: ScheduleAnswer) -> "Event":
    from icalendar import Event

    of = schedule.project or schedule.provenance.request_sha256
    event = Event()
    event.add("uid", str(uuid.uuid5(NAMESPACE, f"{of}\n{task.id}")))
    event.add("dtstamp", datetime.combine(schedule.today, time(), tzinfo=UTC))
    event.add("summary", task.title)
    event.add("dtstart", task.latest_start)
    event.add("dtend", task.latest_finish + timedelta(days=1))  # the first day after it, RFC 5545, 3.6.1
    event.add("description", _words(task))
    event.add("categories", [task.responsible.replace("_", " ")])
    event.add("transp", "TRANSPARENT")
    return event


def _words(task: TaskRow) -> str:
    lines = [f"Responsible: {task.responsible.replace('_', ' ')}."]
    if task.done:
        lines.append("Done.")
    else:
        lines.append(f"Earliest {task.earliest_start} to {task.earliest_finish}; these are the latest dates.")
        lines.append(f"Float: {task.float_working_days} working days.")
    if task.too_late:
        lines.append("Too late.")
    return "\n".join(lines)
