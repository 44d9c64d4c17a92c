"""A value beside its limit: rounded by its uncertainty or unit, and never so far that the two look alike."""

import pytest

from service.report.compared import limit_of, value_of
from service.report.numbers import Printer
from service.report.values import Values


def printed(value, limit, unit, u=None, upper=None):
    row = {"value": value, "limit": limit, "unit": unit, "standard_uncertainty": u, "upper_limit": upper}
    row = Values({name: one for name, one in row.items() if one is not None}, Printer(), "answer/checks/0")
    both = value_of(row), limit_of(row)
    return tuple(None if one is None else one.text for one in both)


@pytest.mark.parametrize(
    ("given", "expected"),
    [
        ((99.4053, 98.0, "%"), ("99.41", "98")),
        ((0.0855819, 0.055, "m·rad"), ("0.0856", "0.055")),
        ((0.0855819, 0.055, "m·rad", 0.00114), ("0.0856", "0.055")),  # u = 0.0011
        ((28.723990496, 25.0, "deg", 0.0418), ("28.724", "25")),
        ((1.44711724, 0.339540276, "m", 0.00885), ("1.4471", "0.3395")),
        ((0.660369955, 2.0, "%", 0.2577), ("0.66", "2")),
        ((9.20838e-5, 2.75306e-4, "1"), ("0.000092", "0.000275")),
        ((9.20838e-9, 2.75306e-7, "1"), ("9.21×10⁻⁹", "2.75×10⁻⁷")),
        ((1.0, 2.0, "1"), ("1", "2")),
        ((1.0, 2.5, "1"), ("1.00", "2.5")),
        ((400.0, 365.0, "d"), ("400", "365")),
        ((0.001, 0.0005, "t/m³"), ("0.00100", "0.0005")),
        ((0.14996, 0.15, "m"), ("0.14996", "0.15")),  # not met, and seen to be
        ((0.15, 0.15, "m"), ("0.150", "0.15")),
        ((None, 14.0, "d"), (None, "14")),
        ((3.25, None, "m"), ("3.250", None)),
        ((0.0, 0.5, "deg"), ("0.000", "0.5")),
        ((1234.5678, 1000.0, "t", 35.0), ("1235", "1000")),
    ],
)
def test_digits(given, expected):
    assert printed(*given) == expected


def test_a_value_between_limits_differs_from_both():
    assert printed(0.50004, 0.5, "m", None, 0.6)[0] == "0.50004"


def test_a_limit_of_the_rule_is_never_rounded_away():
    """An uncertainty of 0.4 would print 0.055 as 0.1."""
    assert printed(1.2345, 0.055, "m·rad", 0.4) == ("1.23", "0.055")
