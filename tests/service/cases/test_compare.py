"""Expected against found: tolerances, kinds, places. The limits are written out by hand."""

from typing import Any

import pytest

from service.cases.case import Expectation, Tolerance
from service.cases.compare import Deviation, compare

ANSWER = {
    "mass_t": 1000.0,
    "count": 3,
    "name": "A",
    "ok": True,
    "none": None,
    "column": [1.0, 2.0, None],
    "u": {"mass_t": 0.5, "bad": "x", "negative": -1.0},
    "part": {"x_m": 1.0, "y_m": 2.0},
}


def one(pointer: str, value: Any, **tolerance: Any) -> Deviation:
    (only,) = compare(expected(pointer, value, **tolerance), ANSWER)
    return only


def expected(pointer: str, value: Any, **tolerance: Any) -> Expectation:
    held = Tolerance.model_validate(tolerance) if tolerance else None
    return Expectation(pointer=pointer, value=value, tolerance=held, origin="closed form")


@pytest.mark.parametrize(
    ("tolerance", "inside", "outside", "limit"),
    [
        ({"absolute": 0.25}, 1000.25, 1000.3, 0.25),
        ({"relative": 0.001}, 999.1, 998.9, None),  # a share of what is expected: 0.9991 and 0.9989 t
        ({"standard_uncertainties": {"coverage_factor": 2.0, "pointer": "/u/mass_t"}}, 1001.0, 1001.01, 1.0),
    ],
)
def test_tolerances(tolerance: dict[str, Any], inside: float, outside: float, limit: float | None) -> None:
    near, far = one("/mass_t", inside, **tolerance), one("/mass_t", outside, **tolerance)
    assert (near.within, near.reason) == (True, None)
    assert (far.within, far.reason) == (False, "beyond_tolerance")
    assert far.difference == 1000.0 - outside
    assert limit is None or far.tolerance == limit
    assert (far.expected, far.found, far.origin) == (outside, 1000.0, "closed form")


def test_relative_is_a_share_of_the_magnitude() -> None:
    assert one("/mass_t", -1000.0, relative=0.01).tolerance == pytest.approx(10.0, rel=1e-15)


def test_without_a_tolerance_numbers_are_equal_to_the_last_digit() -> None:
    assert one("/mass_t", 1000.0).within
    assert one("/count", 3.0).within  # JSON knows one kind of number
    assert one("/mass_t", 1000.0000000000001).reason == "beyond_tolerance"


@pytest.mark.parametrize(
    ("pointer", "value", "reason"),
    [
        ("/name", "A", None),
        ("/name", "B", "not_equal"),
        ("/ok", True, None),
        ("/ok", False, "not_equal"),
        ("/ok", 1, "other_kind"),
        ("/count", True, "other_kind"),
        ("/count", "3", "other_kind"),
        ("/none", 1.0, "other_kind"),
        ("/none", None, None),
        ("/column", 1.0, "other_kind"),
        ("/part", {"x_m": 1.0}, "other_kind"),
        ("/column", [1.0, 2.0], "other_kind"),
        ("/mass", 1.0, "leads_nowhere"),
        ("/column/3", 1.0, "leads_nowhere"),
    ],
)
def test_kinds_and_places(pointer: str, value: Any, reason: str | None) -> None:
    found = one(pointer, value)
    assert (found.reason, found.within) == (reason, reason is None)


@pytest.mark.parametrize("pointer", ["/u/x", "/u/bad", "/u/negative", "/none"])
def test_a_standard_uncertainty_that_is_not_stated(pointer: str) -> None:
    found = one("/mass_t", 1000.0, standard_uncertainties={"coverage_factor": 3.0, "pointer": pointer})
    assert (found.within, found.reason) == (False, "no_standard_uncertainty")


def test_arrays_and_objects_name_the_entry_that_moved() -> None:
    rows = compare(expected("/column", [1.0, 2.5, None], absolute=0.1), ANSWER)
    assert [(row.pointer, row.reason) for row in rows] == [
        ("/column/0", None),
        ("/column/1", "beyond_tolerance"),
        ("/column/2", None),
    ]
    rows = compare(expected("/part", {"x_m": 1.0, "y_m": 9.0}, absolute=0.1), ANSWER)
    assert [row.pointer for row in rows if not row.within] == ["/part/y_m"]
    assert compare(expected("/column", [None, 2.0, None], absolute=0.1), ANSWER)[0].reason == "other_kind"
