"""Digits, signs and units of printed numbers."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.report.numbers import (
    MINUS,
    Printer,
    decimals_of,
    feet_inches_eighths,
    printed,
    read_back,
    scientific,
)


@pytest.mark.parametrize(
    ("uncertainty", "decimals"),
    [  # worked by hand: where the second significant digit of the rounded uncertainty stands
        (0.0059, 4),
        (0.012, 3),
        (0.0996, 2),  # rounds to 0.10
        (0.00994, 4),
        (2.9557, 1),
        (9.96, 0),  # rounds to 10
        (14.0, 0),
        (140.0, -1),
        (1.0, 1),
    ],
)
def test_two_digits_of_the_uncertainty(uncertainty, decimals):
    assert decimals_of(uncertainty) == decimals


@pytest.mark.parametrize("uncertainty", [0.0, -1.0, math.nan, math.inf])
def test_no_digits_without_an_uncertainty(uncertainty):
    with pytest.raises(ValueError, match="above 0 and finite"):
        decimals_of(uncertainty)


def test_the_value_ends_where_its_uncertainty_ends():
    p = Printer()
    assert p.number(1162.400838, "mass_t", uncertainty=2.9557).text == "1162.4"
    assert p.number(5.082635, "z_m", uncertainty=0.00587).text == "5.0826"
    assert p.number(12345.0, "mass_t", uncertainty=140.0).text == "12340"  # half to even
    assert p.number(5.0, "z_m", uncertainty=0.0).text == "5.000"  # none known: the unit's own decimals


@pytest.mark.parametrize("value", [-0.0, -0.0004, -1e-300])
def test_no_negative_zero(value):
    assert printed(value, 2) == "0.00"
    assert feet_inches_eighths(value * 1e-3) == "0-00-0"
    assert scientific(-0.0) == "0"


def test_a_minus_is_a_minus():
    assert printed(-1.25, 1) in (f"{MINUS}1.2", f"{MINUS}1.3")
    assert "-" not in printed(-1.25, 1)


@pytest.mark.parametrize(
    ("length_m", "text"),
    [  # 1 ft = 0.3048 m, 1 in = 0.0254 m, exactly
        (0.3048, "1-00-0"),
        (12 * 0.3048 + 6 * 0.0254 + 3 * 0.0254 / 8, "12-06-3"),
        (-(2 * 0.3048 + 11 * 0.0254), f"{MINUS}2-11-0"),
        (0.3048 - 0.0254 / 17, "1-00-0"),  # within half an eighth of a foot
        (0.3048 - 0.0254 / 15, "0-11-7"),
    ],
)
def test_feet_inches_and_eighths(length_m, text):
    assert feet_inches_eighths(length_m) == text


@given(st.floats(-200, 200))
def test_a_length_is_read_back_within_half_an_eighth(length_m):
    assert abs(read_back(feet_inches_eighths(length_m)) - length_m) <= 0.0254 / 16 * (1 + 1e-9)


@given(st.floats(-1e6, 1e6), st.integers(0, 6))
def test_a_decimal_is_read_back_within_half_its_last_digit(value, decimals):
    assert abs(read_back(printed(value, decimals)) - value) <= 0.5000001 * 10.0**-decimals


@given(st.floats(1e-12, 1e12))
def test_a_power_of_ten_is_read_back(value):
    assert read_back(scientific(value)) == pytest.approx(value, rel=5.1e-6)


def test_us_units():
    p = Printer("us")
    assert (p.number(1.0, "mass_t").text, p.unit("mass_t")) == ("0.98", "LT")  # 2240 lb = 1.0160469088 t
    assert (p.number(10.0, "x_m").text, p.unit("x_m")) == ("32.81", "ft")
    assert p.number(10.0, "x_m", uncertainty=0.003).text == "32.8084"  # 0.003 m is 0.0098 ft
    assert (p.number(3.048, "freeboard_m", surveyed=True).text, p.unit("freeboard_m", surveyed=True)) == (
        "10-00-0",
        "ft-in-8ths",
    )
    assert p.unit("heel_deg") == "°"


def test_an_unknown_ending_has_no_unit():
    assert Printer().unit("colour") == ""
    assert Printer().number(None, "x_m") is None
