"""Feet, inches, eighths. The inch is 25.4 mm exactly."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.cells.lengths import FeetParameters, QuantityParameters, feet_inches_eighths, metres
from service.edge.shelf import Shelf
from tests.service.cells.conftest import Ask

SHELF = Shelf(limit_bytes=0)


@pytest.mark.parametrize(
    ("length", "inches"),
    [("12-06-3 ft", 150.375), ("12 ft 6 3/8 in", 150.375), ("-0-11-7 ft", -11.875), ("2 in", 2.0)],
)
def test_metres(ask: Ask, length: str, inches: float) -> None:
    assert float(ask("metres", length=length)) == pytest.approx(inches * 0.0254, rel=1e-15)


def test_metric_with_a_comma(ask: Ask) -> None:
    assert ask("metres", length="3,81 m") == "3.81"
    assert ask("metres", length="148,5 mm") == "0.1485"


@pytest.mark.parametrize(
    ("length", "code"),
    [
        ("3.81", "quantity-no-unit"),
        ("3 t", "quantity-unit"),
        ("1,234.5 m", "quantity-text"),
        ("six ft", "quantity-text"),
    ],
)
def test_refused(ask: Ask, length: str, code: str) -> None:
    assert ask("metres", length=length).startswith(f"#ERR {code}: ")


@pytest.mark.parametrize(
    ("length_m", "text"),
    [("3,8195", "12-06-3"), ("0", "0-00-0"), ("0.3048", "1-00-0"), ("-0.3047", "-1-00-0"), ("0.0015", "0-00-0")],
)
def test_feet(ask: Ask, length_m: str, text: str) -> None:
    """0.0015 m is 0.47 of an eighth; −0.3047 m is a tenth of a millimetre short of a foot."""
    assert ask("feet-inches-eighths", length_m=length_m) == text


@given(st.integers(-40_000, 40_000))
def test_there_and_back(eighths: int) -> None:
    text = feet_inches_eighths(FeetParameters(length_m=eighths * 0.0254 / 8), SHELF)
    assert isinstance(text, str)
    back = metres(QuantityParameters(length=f"{text} ft"), SHELF)
    assert back == pytest.approx(eighths * 0.0254 / 8, abs=1e-12)
