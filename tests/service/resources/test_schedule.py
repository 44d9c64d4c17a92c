"""Schedules over HTTP: the answer, the calendar, and what is refused."""

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from icalendar import Calendar
from starlette.testclient import TestClient

from service.resources.schedule import EXAMPLE

PATH = "/v1/stability-tests/schedule"


def post(http: TestClient, query: str = "", **changed: Any) -> Any:
    body = {key: value for key, value in {**EXAMPLE, **changed}.items() if value is not None}
    return http.post(PATH + query, json=body)


def test_answer(plain_http: TestClient) -> None:
    """Common practice, no source: lodged a month before, here shortened; the survey on the two days before."""
    found = post(plain_http).json()
    tasks = {row["id"]: row for row in found["tasks"]}
    assert found["outcome"] == "shortened"
    assert found["test_date"] == found["asked_test_date"] == "2026-06-17"
    assert tasks["engage"]["done"]
    assert (tasks["survey"]["latest_start"], tasks["survey"]["latest_finish"]) == ("2026-06-15", "2026-06-16")
    assert tasks["permission"]["latest_finish"] == "2026-06-24"
    assert tasks["visit"]["source_status"] == "common practice, no source"
    assert tasks["lodge"]["clause"] == "46 CFR 170.085"
    lodged = next(one for one in found["shortened"] if one["task"] == "lodge")
    assert lodged["until"] == "test"
    assert lodged["usual"] == {"interval_count": 1, "unit": "months"}
    assert lodged["risk"]
    assert found["critical_chain"][-1] == "test"
    assert found["findings"] == []


def test_forward_and_shortest(plain_http: TestClient) -> None:
    """About three weeks from the contract: common practice, no source."""
    found = post(
        plain_http, test_date=None, done=None, holidays=None, contract_date="2026-05-11", shortening="shortest"
    ).json()
    assert "asked_test_date" not in found
    assert found["test_date"] == "2026-06-01"


def test_impossible_is_answered_with_the_nearest(plain_http: TestClient) -> None:
    found = post(plain_http, test_date="2026-05-13", done=None)
    assert found.status_code == 200
    answer = found.json()
    assert answer["outcome"] == "not_workable"
    assert answer["impossible"][0]["task"] == "engage"
    assert answer["test_date"] == answer["earliest_shortened_test_date"] == "2026-06-01"  # three weeks
    past = post(plain_http, test_date="2026-05-01").json()
    assert past["outcome"] == "not_workable"
    assert "test-date-past" in [one["code"] for one in past["findings"]]


def test_names_given_come_back(plain_http: TestClient) -> None:
    extra = {"id": "crane", "title": "Crane; hired, or not", "responsible": "yard", "after": ["check"]}
    found = post(plain_http, extra_tasks=[extra]).json()
    row = next(one for one in found["tasks"] if one["id"] == "crane")
    assert (row["title"], row["responsible"], row["source"]) == (extra["title"], "yard", "the request")
    assert found["project"] == EXAMPLE["project"]


def test_calendar_reads_back(plain_http: TestClient) -> None:
    answer = post(plain_http, "?format=ics")
    assert answer.headers["content-type"] == "text/calendar; charset=utf-8"
    assert answer.content == post(plain_http, "?format=ics").content  # the same bytes
    lines = answer.content.split(b"\r\n")
    assert all(len(line) <= 75 for line in lines)  # RFC 5545, 3.1
    assert b"\n" not in b"".join(lines)
    rows = {row["title"]: row for row in post(plain_http).json()["tasks"]}
    events = list(Calendar.from_ical(answer.content).walk("VEVENT"))
    assert {str(event["summary"]) for event in events} == set(rows)
    for event in events:
        row = rows[str(event["summary"])]
        assert event["dtstart"].dt == date.fromisoformat(row["latest_start"])
        assert event["dtend"].dt == date.fromisoformat(row["latest_finish"]) + timedelta(days=1)
        assert event["dtstamp"].dt == datetime(2026, 5, 11, tzinfo=UTC)  # the request's today
    assert len({str(event["uid"]) for event in events}) == len(rows)


def test_an_event_keeps_its_identity_when_planned_again(plain_http: TestClient) -> None:
    def uids(**changed: Any) -> list[str]:
        content = post(plain_http, "?format=ics", **changed).content
        return sorted(str(event["uid"]) for event in Calendar.from_ical(content).walk("VEVENT"))

    assert uids() == uids(test_date="2026-07-01")
    assert not set(uids()) & set(uids(project="Another"))
    assert not set(uids(project=None)) & set(uids(project=None, test_date="2026-07-01"))  # nothing to know it by


def test_calendar_escapes_what_is_given(plain_http: TestClient) -> None:
    title = "End:\nEND:VEVENT\nSUMMARY:x; a, b\\"
    extra = {"id": "crane", "title": title, "responsible": "yard"}
    content = post(plain_http, "?format=ics", extra_tasks=[extra]).content
    assert title in [str(event["summary"]) for event in Calendar.from_ical(content).walk("VEVENT")]
    assert content.count(b"END:VEVENT\r\n") == content.count(b"BEGIN:VEVENT\r\n")


def test_no_units_to_choose(plain_http: TestClient) -> None:
    assert post(plain_http, "?units=us").status_code == 422


@pytest.mark.parametrize(
    ("changed", "code", "pointer"),
    [
        ({"today": None}, "missing-field", "#/today"),
        ({"test_date": None}, "no-date", "#"),
        ({"test_date": "2026-02-30"}, "wrong-text", "#/test_date"),
        ({"test_date": "2027-02-29"}, "wrong-text", "#/test_date"),
        ({"test_date": "2026-06-17T10:00:00"}, "wrong-text", "#/test_date"),
        ({"test_date": 20260617}, "wrong-type", "#/test_date"),
        ({"test_date": "1776-07-04"}, "date-out-of-range", "#/test_date"),
        ({"weekend": ["someday"]}, "not-a-choice", "#/weekend/0"),
        ({"weekend": list("mon")}, "not-a-choice", "#/weekend/0"),
        (
            {"weekend": ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"]},
            "no-working-day",
            "#/weekend",
        ),
        ({"done": [{"task": "dance", "finished": "2026-05-01"}]}, "unknown-task", "#/done/0/task"),
        ({"done": [{"task": "data", "finished": "2026-05-12"}]}, "done-after-today", "#/done/0/finished"),
        ({"done": [{"task": "test", "finished": "2026-05-10"}]}, "test-done", "#/done/0/task"),
        ({"changes": [{"task": "survey", "duration_working_days": 0}]}, "out-of-bounds", "#/changes/0"),
        (
            {"extra_tasks": [{"id": "a", "title": "a", "responsible": "yard", "after": ["test"]}]},
            "tasks-in-a-circle",
            "#",
        ),
        ({"extra_tasks": [{"id": "a b", "title": "a", "responsible": "yard"}]}, "wrong-text", "#/extra_tasks/0/id"),
        ({"authority": {"notice_days": -1}}, "out-of-bounds", "#/authority/notice_days"),
        ({"shortening": "a lot"}, "not-a-choice", "#/shortening"),
    ],
)
def test_refusals(plain_http: TestClient, changed: dict[str, Any], code: str, pointer: str) -> None:
    refused = post(plain_http, **changed)
    assert refused.status_code == 422
    faults = [(one["code"], one["pointer"]) for one in refused.json()["errors"]]
    assert any(found == code and place.startswith(pointer) for found, place in faults), faults
