"""Many files at once: what is found, what is chosen, what comes of each."""

import threading
from pathlib import Path

import pytest

from service.cases.over_http import NoAnswerError
from service.cases.replay import Answered, in_process
from service.cases.verification import Result, exit_status, load, selected, verify
from service.edge.openapi import operations
from service.resources import tanks
from tests.service.cases.cases import mixed, small_case, write

ASK = in_process(operations(tanks.router.routes))


def verdicts(results: list[Result]) -> dict[str, str]:
    return {one.loaded.path.stem: one.verdict for one in results}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    mixed(tmp_path)
    return tmp_path


@pytest.mark.parametrize("jobs", [1, 4])
def test_every_file_gets_its_verdict(folder: Path, jobs: int) -> None:
    results = list(verify(load([folder]), ASK, jobs=jobs))
    assert verdicts(results) == {
        "a_same": "same",
        "b_same": "same",
        "c_deviates": "deviates",
        "d_renamed": "not_comparable",
        "e_unreadable": "unreadable",
    }
    assert all(one.duration_s > 0 for one in results if one.replayed)
    unreadable = next(one for one in results if one.verdict == "unreadable")
    assert "# unknown-field" in unreadable.faults[0]


def test_a_file_is_taken_once_however_it_is_named(folder: Path) -> None:
    twice = load([folder, folder / "a_same.json", folder / "below" / ".." / "a_same.json"])
    assert [one.path.stem for one in twice] == [one.path.stem for one in load([folder])]
    assert len(twice) == 5


def test_what_is_not_there_is_unreadable(tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    found = load([tmp_path / "none.json", tmp_path / "empty"])
    assert [one.case for one in found] == [None, None]
    assert {one.faults[0] for one in found} == {"No such file or directory", "no *.json in this folder"}


@pytest.mark.parametrize(
    ("pattern", "stems"),
    [
        (None, ["a_same", "b_same", "c_deviates", "d_renamed", "e_unreadable"]),
        ("*same", ["a_same", "b_same"]),
        ("d renamed", ["d_renamed"]),  # the name inside
        ("*/below/*", ["b_same", "c_deviates"]),
        ("e_*", ["e_unreadable"]),
        ("x*", []),
    ],
)
def test_selection_by_name_or_path(folder: Path, pattern: str | None, stems: list[str]) -> None:
    assert sorted(one.path.stem for one in selected(load([folder]), pattern)) == stems


def test_fail_fast_begins_no_further_case(tmp_path: Path) -> None:
    for k in range(6):
        write(tmp_path, f"{k}", small_case(f"{k}", value=48.0 if k != 1 else 1.0))
    results = list(verify(load([tmp_path]), ASK, jobs=1, fail_fast=True))
    found = verdicts(results)
    assert len(found) == 6
    assert (found["0"], found["1"], found["5"]) == ("same", "deviates", "not_run")
    assert exit_status(results) == 1


def test_cases_run_at_the_same_time(tmp_path: Path) -> None:
    for k in range(2):
        write(tmp_path, f"{k}", small_case(f"{k}"))
    together = threading.Barrier(2, timeout=30)

    def ask(path: str, body: bytes) -> Answered:
        together.wait()  # breaks unless both are under way
        return ASK(path, body)

    assert [one.verdict for one in verify(load([tmp_path]), ask, jobs=2)] == ["same", "same"]


def test_no_answer(tmp_path: Path) -> None:
    write(tmp_path, "a", small_case("a"))

    def ask(path: str, body: bytes) -> Answered:
        raise NoAnswerError("nobody there")

    (only,) = verify(load([tmp_path]), ask)
    assert (only.verdict, only.faults) == ("no_answer", ("nobody there",))


def test_a_refusal_is_told_in_words(tmp_path: Path) -> None:
    case = small_case("a")
    case["request"]["body"]["heel"] = 0.0
    write(tmp_path, "a", case)
    write(tmp_path, "b", small_case("b", problem={"status": 422, "code": "sinks"}))
    first, second = sorted(verify(load([tmp_path]), ASK), key=lambda one: one.loaded.path)
    assert first.faults[0].startswith("refused with 422 schema at # (field 3 of this object")
    assert second.faults == ("answered, where 422 sinks is expected",)


@pytest.mark.parametrize(
    ("pattern", "status"), [("*same", 0), ("[a-c]_*", 1), ("[a-d]_*", 1), ("[ae]_*", 2), ("*", 2), ("none", 2)]
)
def test_exit_status(folder: Path, pattern: str, status: int) -> None:
    assert exit_status(list(verify(selected(load([folder]), pattern), ASK))) == status
