"""Survey quantities and measured values. Factors: definitions of the foot, pound, ton, gallon and knot."""

import json
import re
from typing import Annotated

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from pydantic import ValidationError

from engine.errors import InputError
from service.edge import units
from service.edge.model import Model
from service.edge.quantities import Measured, MeasuredIn, Survey

GOOD = [
    ("m", "12 ft 6 3/8 in", (12 * 12 + 6.375) * 0.0254),
    ("m", "12-06-3 ft", (12 * 12 + 6.375) * 0.0254),
    ("m", "12-6-3 ft", (12 * 12 + 6.375) * 0.0254),
    ("m", "-12-06-3 ft", -(12 * 12 + 6.375) * 0.0254),
    ("m", "0-11-7 ft", 11.875 * 0.0254),
    ("m", "12 ft 6 in", 150 * 0.0254),
    ("m", "12 ft 6.5 in", 150.5 * 0.0254),
    ("m", "12 ft", 12 * 0.3048),
    ("m", "12.5 ft", 12.5 * 0.3048),
    ("m", "30 in", 30 * 0.0254),
    ("m", "3/8 in", 0.375 * 0.0254),
    ("m", "148.5 mm", 0.1485),
    ("m", "148.5mm", 0.1485),
    ("m", "+2 m", 2.0),
    ("m", "12 cm", 0.12),
    ("mm", "1 in", 25.4),
    ("mm", "0.5 m", 500.0),
    ("t", "5.02 LT", 5.02 * 1.0160469088),
    ("t", "2 ST", 2 * 0.90718474),
    ("t", "1 lb", 0.00045359237),
    ("t", "85 kg", 0.085),
    ("m²", "1 ft2", 0.3048**2),
    ("m³", "1 US gal", 231 * 0.0254**3),
    ("m³", "250 L", 0.25),
    ("t/m³", "1025 kg/m3", 1.025),
    ("t/m³", "64 lb/ft3", 64 * 0.00045359237 / 0.3048**3),
    ("t·m", "1 LT.ft", 1.0160469088 * 0.3048),
    ("deg", "30 arcmin", 0.5),
    ("m/s", "1 kn", 1852 / 3600),
    ("°C", "59 F", 15.0),
    ("°C", "-40 F", -40.0),
    ("°C", "12.5 C", 12.5),
]

BAD = [
    ("m", "12.5", "quantity-no-unit"),
    ("m", "-3", "quantity-no-unit"),
    ("m", "5 LT", "quantity-unit"),
    ("m", "5 furlong", "quantity-unit"),
    ("t", "12-06-3 ft", "quantity-unit"),
    ("t", "3 m", "quantity-unit"),
    ("m", "1,5 m", "quantity-text"),
    ("m", "1 000 m", "quantity-text"),
    ("m", "NaN m", "quantity-text"),
    ("m", "inf m", "quantity-text"),
    ("m", "1e3 m", "quantity-text"),
    ("m", "", "quantity-text"),
    ("m", "m", "quantity-text"),
    ("m", "12-12-3 ft", "quantity-text"),
    ("m", "12-06-8 ft", "quantity-text"),
    ("m", "12 ft 12 in", "quantity-text"),
    ("m", "12 ft 3/2 in", "quantity-text"),
    ("m", "3/5 in", "quantity-text"),
    ("m", "1/0 in", "quantity-text"),
    ("m", "1 m\n", "quantity-text"),
    ("m", " 1 m", "quantity-text"),
    ("m", "--1 m", "quantity-text"),
    ("m", "٣ m", "quantity-text"),
    ("m", "1" * 40 + " m", "quantity-text"),
]


@pytest.mark.parametrize(("unit", "text", "expected"), GOOD)
def test_read(unit: str, text: str, expected: float) -> None:
    assert units.read(text, unit=unit) == pytest.approx(expected, rel=1e-15, abs=1e-14)
    assert re.search(units.pattern(units.OWN_UNITS[unit][0]), text)


@pytest.mark.parametrize(("unit", "text", "code"), BAD)
def test_refused(unit: str, text: str, code: str) -> None:
    with pytest.raises(units.UnreadableError) as caught:
        units.read(text, unit=unit)
    assert caught.value.code == code


@given(st.sampled_from(sorted(units.OWN_UNITS)), st.text(max_size=45))
def test_any_text_is_read_or_refused(unit: str, text: str) -> None:
    try:
        assert isinstance(units.read(text, unit=unit), float)
    except units.UnreadableError:
        return
    assert re.search(units.pattern(units.OWN_UNITS[unit][0]), text)


@given(
    st.sampled_from(sorted(units.OWN_UNITS)).flatmap(
        lambda unit: st.tuples(st.just(unit), st.from_regex(units.pattern(units.OWN_UNITS[unit][0]), fullmatch=True))
    )
)
def test_what_fits_the_pattern_is_read(one: tuple[str, str]) -> None:
    """All but a fraction of 1 or more, a text too long, and the newline that $ lets through."""
    unit, text = one
    assume(len(text) <= units.TEXT_LENGTH and not re.search("[0-9]/", text) and not text.endswith("\n"))
    assert isinstance(units.read(text, unit=unit), float)


class Sheet(Model):
    """A survey sheet."""

    length_m: Annotated[float, Survey("m", gt=0, lt=100)]
    freeboard_m: Annotated[Measured, MeasuredIn("m", ge=-1)] | None = None
    draft_m: float | None = None


def _codes(body: str) -> list[tuple[str, tuple[int | str, ...]]]:
    with pytest.raises(ValidationError) as caught:
        Sheet.model_validate_json(body)
    return [_placed(error["type"], error["loc"], error.get("ctx", {}).get("error")) for error in caught.value.errors()]


def _placed(code: str, place: tuple[int | str, ...], inner: object) -> tuple[str, tuple[int | str, ...]]:
    """A fault within a value is an error of the engine, with its own code and place."""
    return (inner.code, (*place, inner.field)) if isinstance(inner, InputError) else (code, place)


@pytest.mark.parametrize(
    ("given_text", "code"),
    [
        ("true", "wrong-type"),
        ("null", "wrong-type"),
        ("[1]", "wrong-type"),
        ("{}", "wrong-type"),
        ("1e999", "not-finite"),
        ("NaN", "not-finite"),
        ("9" * 400, "not-finite"),
        ("0", "out-of-bounds"),
        ("100", "out-of-bounds"),
        ('"0 m"', "quantity-range"),
        ('"1 LT"', "quantity-unit"),
    ],
)
def test_survey_faults_are_at_the_field(given_text: str, code: str) -> None:
    assert _codes(f'{{"length_m": {given_text}}}') == [(code, ("length_m",))]


@pytest.mark.parametrize(
    ("given_text", "expected"),
    [
        ("2", Measured(2.0)),
        ('"200 cm"', Measured(2.0)),
        ('{"value": 2, "standard_uncertainty": "5 mm", "group": "tape 1"}', Measured(2.0, 0.005, "tape 1")),
        ('{"value": "2 m"}', Measured(2.0)),
    ],
)
def test_measured(given_text: str, expected: Measured) -> None:
    assert Sheet.model_validate_json(f'{{"length_m": 1, "freeboard_m": {given_text}}}').freeboard_m == expected


@pytest.mark.parametrize(
    ("given_text", "code", "below"),
    [
        ("-2", "out-of-bounds", ()),
        ("{}", "measured-form", ()),
        ('{"value": 1, "extra": 2}', "measured-form", ()),
        ('{"value": 1, "group": ""}', "measured-form", ()),
        ('{"value": 1, "group": "a;b"}', "measured-form", ()),
        ('{"value": 1, "group": null}', "measured-form", ()),
        ('{"value": 1, "standard_uncertainty": -1}', "out-of-bounds", ("standard_uncertainty",)),
        ('{"value": 1, "standard_uncertainty": null}', "wrong-type", ("standard_uncertainty",)),
        ('{"value": true}', "wrong-type", ("value",)),
        ('{"value": "2 kg"}', "quantity-unit", ("value",)),
    ],
)
def test_measured_refused(given_text: str, code: str, below: tuple[str, ...]) -> None:
    assert _codes(f'{{"length_m": 1, "freeboard_m": {given_text}}}') == [(code, ("freeboard_m", *below))]


def test_there_and_back() -> None:
    sheet = Sheet(length_m=3, freeboard_m=Measured(1.5, 0.002, "a"))
    assert Sheet.model_validate_json(sheet.model_dump_json(exclude_none=True)) == sheet


def test_schema_has_unit_and_bounds() -> None:
    facts = Sheet.model_json_schema()["properties"]
    assert facts["length_m"]["x-unit"] == facts["freeboard_m"]["x-unit"] == facts["draft_m"]["x-unit"] == "m"
    assert facts["length_m"]["anyOf"][0] == {"type": "number", "exclusiveMinimum": 0, "exclusiveMaximum": 100}
    assert facts["length_m"]["anyOf"][1]["maxLength"] == 40
    assert "null" not in json.dumps(facts)
    assert facts["draft_m"]["description"]


def test_null_for_an_absent_field_is_refused() -> None:
    assert _codes('{"length_m": 1, "draft_m": null}') == [("wrong-type", ("draft_m",))]
