"""The document of a case: what is read, what is refused and where."""

import copy
import json
import re
from pathlib import Path
from typing import Any

import pytest

from service.cases.case import read_case, text_of
from service.edge.problems import ProblemError
from service.resources.archived_cases import EXAMPLE


def changed(**changes: Any) -> dict[str, Any]:
    case = copy.deepcopy(EXAMPLE) | changes
    return {name: value for name, value in case.items() if value is not ...}


def expecting(**changes: Any) -> dict[str, Any]:
    row = {"pointer": "/free_surface_moment_tm", "value": 48.0, "origin": "closed form"} | changes
    return changed(expected=[{name: value for name, value in row.items() if value is not ...}])


def faults(case: dict[str, Any] | bytes) -> dict[str, str]:
    with pytest.raises(ProblemError) as caught:
        read_case(case if isinstance(case, bytes) else json.dumps(case).encode())
    return {fault.pointer: fault.code for fault in caught.value.faults}


@pytest.mark.parametrize(
    ("case", "pointer", "code"),
    [
        (changed(expectations=[]), "#", "unknown-field"),
        (changed(name=...), "#/name", "missing-field"),
        (changed(format_version="2"), "#/format_version", "not-a-choice"),
        (changed(format_version=1), "#/format_version", "not-a-choice"),
        (changed(expected=[]), "#/expected", "nothing-expected"),
        (changed(request={"path": "tanks", "body": {}}), "#/request/path", "wrong-text"),
        (changed(request={"path": "/v1/a/../b", "body": {}}), "#/request/path", "wrong-text"),
        (changed(request={"path": "/v1/x", "body": []}), "#/request/body", "wrong-type"),
        (changed(problem={"status": 200, "code": "schema"}), "#/problem/status", "out-of-bounds"),
        (changed(problem={"status": 422, "code": "No Code"}), "#/problem/code", "wrong-text"),
        (expecting(pointer="free_surface_moment_tm"), "#/expected/0/pointer", "wrong-text"),
        (expecting(origin=...), "#/expected/0/origin", "missing-field"),
        (expecting(tolerance={}), "#/expected/0/tolerance", "tolerance-form"),
        (expecting(tolerance={"absolute": 1.0, "relative": 0.1}), "#/expected/0/tolerance", "tolerance-form"),
        (expecting(tolerance={"absolute": -1.0}), "#/expected/0/tolerance/absolute", "out-of-bounds"),
        (expecting(tolerance={"percent": 1.0}), "#/expected/0/tolerance", "unknown-field"),
        (
            expecting(tolerance={"standard_uncertainties": {"coverage_factor": 2.0}}),
            "#/expected/0/tolerance/standard_uncertainties/pointer",
            "missing-field",
        ),
    ],
)
def test_refusals_tell_the_place(case: dict[str, Any], pointer: str, code: str) -> None:
    found = faults(case)
    assert found.get(pointer) == code, found


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-Infinity", "1e999"])
@pytest.mark.parametrize("place", ["48.0", "60.0"])  # an expected value, a number of the archived body
def test_every_number_is_finite(number: str, place: str) -> None:
    text = json.dumps(EXAMPLE).replace(place, number, 1)
    assert number in text
    assert "not-finite" in faults(text.encode()).values()


def test_a_huge_whole_number_is_not_finite_either() -> None:
    assert "not-finite" in faults(json.dumps(expecting(value=10**400)).encode()).values()


def test_not_json() -> None:
    assert faults(b"{") == {"#": "json"}
    assert faults(b'{"name": "a", "name": "b"}') == {"#": "json-repeated-name"}


def test_text_is_read_back_the_same() -> None:
    body = {"a": [1, 2.5, None], "b": {"c": None}, "text": "é", "tiny": 1e-300, "whole": 3, "third": 1 / 3}
    case = read_case(json.dumps(changed(request={"path": "/v1/x", "body": body})).encode())
    again = read_case(text_of(case).encode())
    assert again == case
    assert json.loads(text_of(case))["request"]["body"] == body
    assert text_of(again) == text_of(case)


def test_text_has_a_line_for_each_entry() -> None:
    rows = [{"pointer": "/a", "value": k, "origin": "closed form"} for k in range(3)]
    text = text_of(read_case(json.dumps(changed(expected=rows)).encode()))
    assert len(re.findall(r'^  \{"pointer": .*$', text, re.MULTILINE)) == 3


def test_the_example_of_the_page_is_a_case() -> None:
    page = (Path(__file__).parents[3] / "docs" / "methods" / "archived-cases.md").read_text(encoding="utf-8")
    (example,) = re.findall("```json\n(.*?)```", page, re.DOTALL)
    assert len(read_case(example.encode()).expected) == 3
