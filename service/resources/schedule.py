"""POST /v1/stability-tests/schedule. Layer: service.resources."""

from datetime import date
from typing import Annotated, Any

from fastapi import APIRouter
from pydantic import Field

from engine.planning.schedule import Shortening, schedule
from service.edge.operation import Rendering, operation
from service.schemas.common import Label
from service.schemas.schedule import (
    AuthorityTimes,
    DoneTask,
    ExtraTaskAsked,
    ScheduleAnswer,
    TaskChange,
    WorkingDays,
    answer_of,
)
from service.schemas.schedule_calendar import calendar

router = APIRouter()


class ScheduleRequest(WorkingDays):
    """A day to plan back from, or one to plan forward from, and what is otherwise than in common practice."""

    project: Label | None = None
    """Names the calendar; its events keep their identity when the same project is planned again."""
    today: date
    """No open task starts earlier."""
    test_date: date | None = None
    """Plan back from this day."""
    contract_date: date | None = None
    """When the naval architect is engaged; without a test date, plan forward from it."""
    authority: AuthorityTimes = AuthorityTimes()
    shortening: Shortening = "as_needed"
    """Whether intervals may be shortened to keep the day, or all are to be at their shortest."""
    done: Annotated[tuple[DoneTask, ...], Field(max_length=200)] = ()
    changes: Annotated[tuple[TaskChange, ...], Field(max_length=200)] = ()
    extra_tasks: Annotated[tuple[ExtraTaskAsked, ...], Field(max_length=100)] = ()


EXAMPLE: dict[str, Any] = {
    "project": "Test of a barge",
    "today": "2026-05-11",
    "test_date": "2026-06-17",
    "holidays": ["2026-05-25"],
    "done": [{"task": "engage", "finished": "2026-05-04"}],
}


@operation(
    router,
    "/v1/stability-tests/schedule",
    request=ScheduleRequest,
    response=ScheduleAnswer,
    operation_id="plan_schedule",
    summary="Schedule of a stability test, with what is critical and what is too late",
    example=EXAMPLE,
    tag="stability tests",
    renderings={
        "ics": Rendering("text/calendar", lambda answer, _: calendar(answer), "charset=utf-8", in_units=False),
    },
)
def plan(request: ScheduleRequest) -> ScheduleAnswer:
    """Return the tasks from contract to report with earliest and latest dates, float and the critical chain.

    Planned back from a test date or forward from a contract date. Where the day asked for cannot be kept with the
    usual intervals, they are shortened as far as needed, each with its risk; where that is not enough, the answer says
    what is impossible and gives the nearest possible schedule. `?format=ics` gives an iCalendar document.
    """
    made = schedule(
        today=request.today,
        days=request.calendar(),
        test_date=request.test_date,
        contract_date=request.contract_date,
        authority=request.authority.times(),
        shortening=request.shortening,
        done=[one.done() for one in request.done],
        changes=[one.change() for one in request.changes],
        extra_tasks=[one.extra() for one in request.extra_tasks],
    )
    return answer_of(made, project=request.project, today=request.today, asked=request.test_date)
