"""What a run tells: lines, JUnit XML, JSON."""

import json
from pathlib import Path
from xml.dom import minidom

import pytest

from service.cases.junit import junit_xml
from service.cases.replay import in_process
from service.cases.summary import summary
from service.cases.table import deviations_table, report, result_line
from service.cases.verification import Result, load, verify
from service.edge.openapi import operations
from service.resources import tanks
from tests.service.cases.cases import mixed, small_case, write

ASK = in_process(operations(tanks.router.routes))


@pytest.fixture
def results(tmp_path: Path) -> list[Result]:
    mixed(tmp_path)
    return sorted(verify(load([tmp_path]), ASK), key=lambda one: one.loaded.path.stem)


def test_a_table_of_deviations(results: list[Result]) -> None:
    head, row = deviations_table(results[2])
    assert head.split() == ["pointer", "expected", "found", "difference", "tolerance", "why", "origin"]
    assert row.split()[:5] == ["/free_surface_moment_tm", "48.5", "48.0", "-0.5", "4.85e-08"]
    assert row.index("48.5") == head.index("expected")  # columns stand under their heads
    assert deviations_table(results[0]) == []


def test_a_report_names_what_is_not_the_same(results: list[Result]) -> None:
    text = "\n".join(report(results))
    assert "a same" not in text
    for words in ("deviates: c deviates", "leads_nowhere", "unreadable: e_unreadable", "# unknown-field"):
        assert words in text
    assert text.endswith("5 cases: 2 same, 1 deviates, 1 not_comparable, 1 unreadable")
    assert report([])[-1] == "0 cases: none found"


def test_a_line_for_each(results: list[Result]) -> None:
    assert result_line(results[0]).split()[:5] == ["same", f"{results[0].duration_s:.3f}", "s", "a", "same"]


def test_junit_counts_times_and_kinds(results: list[Result]) -> None:
    document = minidom.parseString(junit_xml(results, duration_s=1.5))
    (suite,) = document.getElementsByTagName("testsuite")
    assert {key: suite.getAttribute(key) for key in ("tests", "failures", "errors", "skipped", "time")} == {
        "tests": "5",
        "failures": "2",
        "errors": "1",
        "skipped": "0",
        "time": "1.500000",
    }
    rows = suite.getElementsByTagName("testcase")
    assert [row.getAttribute("name") for row in rows] == ["a same", "b same", "c deviates", "d renamed", "e_unreadable"]
    assert all(float(row.getAttribute("time")) > 0 for row in rows[:4])
    assert rows[0].getElementsByTagName("failure") == []
    (failure,) = rows[2].getElementsByTagName("failure")
    assert (failure.getAttribute("type"), failure.getAttribute("message")) == ("deviates", "1 of 1 values are out")
    assert "/free_surface_moment_tm" in failure.firstChild.data  # type: ignore[union-attr]
    assert rows[4].getElementsByTagName("error")[0].getAttribute("type") == "unreadable"
    assert rows[1].getAttribute("classname").endswith(".below")


def test_junit_holds_what_xml_cannot_write(tmp_path: Path) -> None:
    write(tmp_path, "a", small_case("bell \x07, <tag> & é"))
    found = minidom.parseString(junit_xml(list(verify(load([tmp_path]), ASK)), duration_s=0.0))
    assert found.getElementsByTagName("testcase")[0].getAttribute("name") == "bell �, <tag> & é"


def test_junit_tells_what_was_not_run(tmp_path: Path) -> None:
    for k in range(4):
        write(tmp_path, f"{k}", small_case(f"{k}", value=1.0))
    results = list(verify(load([tmp_path]), ASK, jobs=1, fail_fast=True))
    document = minidom.parseString(junit_xml(results, duration_s=0.0))
    skipped = document.getElementsByTagName("skipped")
    assert len(skipped) == int(document.getElementsByTagName("testsuite")[0].getAttribute("skipped")) >= 1


def test_a_summary_for_programs(results: list[Result]) -> None:
    found = json.loads(summary(results, duration_s=1.5, url=None))
    assert (found["exit_status"], found["case_count"], found["duration_s"]) == (2, 5, 1.5)
    assert found["verdict_counts"] == {
        "same": 2,
        "deviates": 1,
        "not_comparable": 1,
        "unreadable": 1,
        "no_answer": 0,
        "not_run": 0,
    }
    row = found["cases"][2]["deviations"][0]
    assert (row["pointer"], row["expected"], row["within"]) == ("/free_surface_moment_tm", 48.5, False)
    assert "faults" in found["cases"][4]
    assert json.loads(summary(results, duration_s=0.0, url="http://x"))["replayed_by"] == {"url": "http://x"}
