"""Cases made from requests: what is kept, how close it must come again."""

from typing import Any

import pytest

import engine
import service
from service.cases.case import Expectation
from service.cases.make import NotTheSameError, check_same_numbers, main_values, make_case
from service.cases.replay import Answered, Ask, in_process, replay
from service.edge.openapi import operations
from service.resources import hydrostatics, tanks
from service.resources.archived_cases import EXAMPLE

ASK = in_process(operations([*tanks.router.routes, *hydrostatics.router.routes]))
PATH = EXAMPLE["request"]["path"]  # type: ignore[index]
BODY = EXAMPLE["request"]["body"]  # type: ignore[index]


def answering(document: dict[str, Any]) -> Ask:
    return lambda path, body: Answered(200, document)


def test_made_and_replayed_is_the_same() -> None:
    case = make_case(ASK, name="box", path=PATH, body=BODY)
    values = {one.pointer: one.value for one in case.expected}
    assert values["/volume_m3"] == pytest.approx(40.0, rel=1e-12)  # as given
    assert values["/free_surface_moment_tm"] == pytest.approx(48.0, rel=1e-12)  # ρ l b³ / 12, closed form
    assert case.made_with.engine_version == engine.__version__
    assert {one.origin for one in case.expected} == {
        f"answer of service {service.__version__}, engine {engine.__version__}"
    }
    assert replay(case, ASK).outcome == "same"


def test_columns_of_a_table_are_kept_whole() -> None:
    example = next(one for one in operations(hydrostatics.router.routes)).example
    case = make_case(ASK, name="table", path="/v1/hydrostatics", body=example)
    values = {one.pointer: one.value for one in case.expected}
    assert isinstance(values["/columns/displacement_t"], list)
    assert replay(case, ASK).outcome == "same"


def test_main_values_are_those_of_objects() -> None:
    answer = {
        "a": {"x_m": 1.0, "method": "sections", "rows": [{"y_m": 2.0}], "findings": [{"code": "x"}]},
        "columns": {"draft_m": [1.0, None]},
        "list": [1.0],
        "provenance": {"engine_version": "0"},
        "cautions": ["text"],
        "odd/name": 3,
    }
    assert list(main_values(answer)) == [
        ("/a/x_m", 1.0),
        ("/a/method", "sections"),
        ("/columns/draft_m", [1.0, None]),
        ("/odd~1name", 3),
    ]


@pytest.mark.parametrize(
    ("name", "value", "tolerance"),
    [
        ("mass_t", 1234.5, {"relative": 1e-9}),
        ("slope_per_tm", -2e-6, {"relative": 1e-9}),
        ("mass_t", 3e-17, {"absolute": 1e-9}),
        ("mass_t", 0.0, {"absolute": 1e-9}),
        ("x_m", 24.5, {"relative": 1e-9}),
        ("y_m", -3e-6, {"absolute": 1e-9}),
        ("heel_deg", 0.5, {"absolute": 1e-9}),
        ("methods_difference_ratio", 0.3, {"absolute": 1e-3}),
        ("draft_m", [5.0, None], {"relative": 1e-9}),
        ("draft_m", [5.0, 0.0], {"absolute": 1e-9}),
        ("kind", "text", None),
        ("done", True, None),
    ],
)
def test_tolerances_are_stated(name: str, value: Any, tolerance: dict[str, float] | None) -> None:
    (row,) = make_case(answering({"columns": {name: value}}), name="x", path="/v1/x", body={}).expected
    assert (row.tolerance.model_dump(exclude_none=True) if row.tolerance else None) == tolerance


def test_known_values_come_first_and_are_kept() -> None:
    known = Expectation(pointer="/volume_m3", value=40.0, origin="closed form")
    case = make_case(ASK, name="box", path=PATH, body=BODY, known=[known])
    assert case.expected[0] == known
    assert len([one for one in case.expected if one.pointer == "/volume_m3"]) == 2


def test_a_refused_request_makes_a_case_that_expects_the_refusal() -> None:
    case = make_case(ASK, name="refused", path=PATH, body=BODY | {"trim_m": 5000.0})
    assert case.problem is not None
    assert (case.problem.status, case.problem.code) == (422, "schema")
    assert [(one.pointer, one.value) for one in case.expected] == [("/errors/0/pointer", "#/trim_m")]
    assert replay(case, ASK).outcome == "same"


def test_other_numbers_without_names_are_refused() -> None:
    check_same_numbers(ASK, PATH, BODY, BODY | {"tank": BODY["tank"] | {"name": "tank 1"}})
    with pytest.raises(NotTheSameError, match="other numbers"):
        check_same_numbers(ASK, PATH, BODY, BODY | {"tank": BODY["tank"] | {"density_t_per_m3": 1.0}})
    with pytest.raises(NotTheSameError, match="answered otherwise"):
        check_same_numbers(ASK, PATH, BODY, BODY | {"trim_m": 5000.0})
