"""The words below a field become its description."""

from service.edge.docstrings import words_below
from service.edge.model import Model


class Outer(Model):
    """The words of the class are not those of a field."""

    first_m: float
    """Words of the first,
    on two lines."""
    second_m: float
    third_m: float = 0.0

    class Inner(Model):
        """Within."""

        first_m: float
        """Another first."""


class Further(Outer):
    """Gives one field anew."""

    third_m: float = 1.0
    """Third, anew."""
    first_m: float


def test_words_are_those_of_the_class_that_declares_the_field() -> None:
    assert words_below(Outer, "first_m") == "Words of the first,\non two lines."
    assert words_below(Outer, "second_m") is None
    assert words_below(Outer.Inner, "first_m") == "Another first."
    assert (words_below(Further, "third_m"), words_below(Further, "first_m")) == ("Third, anew.", None)
    assert words_below(type("Made", (), {"__annotations__": {"a": int}}), "a") is None


def test_a_class_within_a_function_is_found() -> None:
    class Local(Model):
        """Made here."""

        draft_m: float
        """My own words."""
        trim_m: float

    schema = Local.model_json_schema()["properties"]
    assert schema["draft_m"]["description"] == "My own words."
    assert schema["trim_m"]["description"].startswith("Draft")  # the table of quantities has words where there are none
