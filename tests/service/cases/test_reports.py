"""What a run tells: lines, JUnit XML, JSON."""

import json
from pathlib import Path

import pytest

from service.cases.replay import in_process
from service.cases.summary import summary
from service.cases.table import deviations_table, report, result_line
from service.cases.verification import Result, load, verify
from service.edge.openapi import operations
from service.resources import tanks
from tests.service.cases.cases import mixed

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
