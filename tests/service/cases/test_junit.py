"""What ``verify --junit`` writes, read by a library that knows nothing of us (junitparser)."""

from pathlib import Path

import pytest
from junitparser import Error, Failure, JUnitXml, Skipped, TestCase, TestSuite

from service.__main__ import main
from tests.service.cases.cases import mixed, small_case, write

COUNTS = ("tests", "failures", "errors", "skipped")


def written(folder: Path, *options: str) -> tuple[int, JUnitXml]:
    """Return the exit status of ``verify`` on a folder, and the file it wrote."""
    file = folder.parent / "junit.xml"
    status = main(["verify", str(folder), "--junit", str(file), *options])
    return status, JUnitXml.fromfile(str(file))


def only_suite(document: JUnitXml) -> TestSuite:
    (suite,) = document
    assert isinstance(suite, TestSuite)
    return suite


def counted(one: JUnitXml | TestSuite) -> tuple[int, ...]:
    return tuple(getattr(one, name) for name in COUNTS)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    mixed(tmp_path / "cases")
    return tmp_path / "cases"


def rows(document: JUnitXml) -> dict[str, TestCase]:
    return {str(row.name): row for row in only_suite(document)}


def test_counts_are_those_stated_and_those_there(folder: Path) -> None:
    status, document = written(folder)
    assert status == 2
    stated = counted(document), counted(only_suite(document))
    assert stated == ((5, 2, 1, 0),) * 2
    for one in (only_suite(document), document):
        one.update_statistics()  # the library counts the rows itself
    assert (counted(document), counted(only_suite(document))) == stated


def test_every_case_has_its_time_and_its_place(folder: Path) -> None:
    found = rows(written(folder)[1])
    assert list(found) == ["a same", "b same", "c deviates", "d renamed", "e_unreadable"]  # by path
    for name, row in found.items():
        assert (row.time == 0.0) == (name == "e_unreadable")  # nothing was replayed
    assert str(found["a same"].classname).endswith(".cases")
    assert str(found["b same"].classname).endswith(".cases.below")
    assert found["b same"]._elem.get("file") == (folder / "below" / "b_same.json").as_posix()


def test_the_time_of_the_whole_is_no_less_than_that_of_the_longest(folder: Path) -> None:
    document = written(folder)[1]
    assert document.time == only_suite(document).time >= max(row.time for row in only_suite(document))


def test_a_deviation_is_a_failure_with_its_pointer(folder: Path) -> None:
    found = rows(written(folder)[1])
    assert found["a same"].is_passed
    (failure,) = found["c deviates"].result
    assert isinstance(failure, Failure)
    assert (failure.type, failure.message) == ("deviates", "1 of 1 values are out: /free_surface_moment_tm")
    head, row = str(failure.text).splitlines()
    assert head.split()[:3] == ["pointer", "expected", "found"]
    assert row.split()[:5] == ["/free_surface_moment_tm", "48.5", "48.0", "-0.5", "4.85e-08"]
    (renamed,) = found["d renamed"].result
    assert isinstance(renamed, Failure)
    assert (renamed.type, renamed.message) == ("not_comparable", "1 of 1 values are out: /free_surface_tm")


def test_a_case_that_cannot_be_read_is_an_error_with_the_reason(folder: Path) -> None:
    write(folder, "f_cut", '{"name": "cut')
    status, document = written(folder)
    assert (status, document.errors) == (2, 2)
    found = rows(document)
    for name, words in (("e_unreadable", "# unknown-field"), ("f_cut", "# json")):
        (error,) = found[name].result
        assert isinstance(error, Error)
        assert error.type == "unreadable"
        assert str(error.message).startswith(words), error.message
        assert str(error.text).startswith(words)


def test_a_file_that_is_not_there_is_an_error_too(tmp_path: Path) -> None:
    document = written(tmp_path / "none.json")[1]
    (error,) = rows(document)["none"].result
    assert (error.type, error.message) == ("unreadable", "No such file or directory")


def test_what_xml_cannot_write_is_replaced(tmp_path: Path) -> None:
    write(tmp_path / "cases", "a", small_case("bell \x07, <tag> & é"))
    assert list(rows(written(tmp_path / "cases")[1])) == ["bell �, <tag> & é"]


def test_what_was_not_run_is_skipped(tmp_path: Path) -> None:
    for k in range(4):
        write(tmp_path / "cases", f"{k}", small_case(f"{k}", value=1.0))
    status, document = written(tmp_path / "cases", "--jobs", "1", "--fail-fast")
    skipped = [row for row in only_suite(document) if row.result]
    assert status == 1
    assert {type(row.result[0]) for row in skipped} == {Failure, Skipped}
    assert document.skipped == sum(isinstance(row.result[0], Skipped) for row in skipped) >= 1
    assert document.failures == 4 - document.skipped
