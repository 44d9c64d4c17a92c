"""Numbers from text: point or comma, no separator of thousands."""

from typing import Annotated

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import Field

from service.cells.parameters import read
from service.edge.model import Model
from service.edge.problems import ProblemError


class Some(Model):
    """One of each."""

    a_m: Annotated[float, Field(gt=0, le=1e6)]
    many: Annotated[tuple[Annotated[float, Field(ge=-10)], ...], Field(min_length=2)] = (0.0, 0.0)
    word: Annotated[str, Field(max_length=5)] = ""


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("3.5", 3.5),
        ("3,5", 3.5),
        (" 3,5 ", 3.5),
        ("+3", 3.0),
        ("1,234", 1.234),
        ("1.25e-3", 0.00125),
        ("1,25E+2", 125.0),
        ("007", 7.0),
    ],
)
def test_read(text: str, number: float) -> None:
    assert read(Some, {"a_m": text}).a_m == number


NO_NUMBERS = """
1.234,5 1,234.5 1,234,567 1.234.567 1'234 1_0 .5 5. ,5 0x10 nan inf 1e --1 ١ −1 3.5m 1e400
"""


@pytest.mark.parametrize("text", ["", "1 234", "9" * 50, *NO_NUMBERS.split()])
def test_refused(text: str) -> None:
    with pytest.raises(ProblemError) as caught:
        read(Some, {"a_m": text})
    assert (caught.value.code, caught.value.detail.split()[0]) == ("query", "a_m")


@pytest.mark.parametrize(
    ("texts", "words"),
    [
        ({}, "a_m is missing"),
        ({"a_m": "0"}, "a_m must be above 0, is 0"),
        ({"a_m": "2e6"}, "a_m must be 1e+06 or less, is 2e+06"),
        ({"a_m": "1", "many": "1"}, "many needs 2 numbers at least, has 1"),
        ({"a_m": "1", "many": "1;-11"}, "number 2 of many must be -10 or more, is -11"),
        ({"a_m": "1", "word": "longer"}, "word has 5 characters at most"),
        ({"a_m": "1", "many": ";".join("1" * 401)}, "many has 401 numbers, 400 are allowed"),
    ],
)
def test_said(texts: dict[str, str], words: str) -> None:
    with pytest.raises(ProblemError) as caught:
        read(Some, texts)
    assert caught.value.detail == words


def test_lists_have_semicolons() -> None:
    assert read(Some, {"a_m": "1", "many": "1,5; 2.5;-3"}).many == (1.5, 2.5, -3.0)
    for wrong in ("1,2,3", "1;", ";1", "1;;2", "1 2"):
        with pytest.raises(ProblemError):
            read(Some, {"a_m": "1", "many": wrong})


@given(st.floats(min_value=1e-6, max_value=1e6))
def test_comma_and_point_are_the_same(number: float) -> None:
    text = f"{number:.12f}"
    assert read(Some, {"a_m": text.replace(".", ",")}) == read(Some, {"a_m": text})
