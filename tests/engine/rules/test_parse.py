"""A rule set from bytes: what is read, and that every fault is refused with its line and field."""

import json
from pathlib import Path

import pytest

from engine.errors import InputError, LimitError
from engine.rules import Requirement, parse

# Line 6 is the rule's id; invented numbers.
TEXT = """{
 "name": "house",
 "title": "House rules",
 "version": "2",
 "rules": [
  {"id": "moves",
   "title": "Ten moves",
   "quantity": "moves_count",
   "comparison": "at_least",
   "limit": 10,
   "unit": "1",
   "clause": "3.4",
   "source": "House manual",
   "source_status": "our choice",
   "level": "required",
   "applies_when": [
    {"quantity": "vessel_length_bp_m", "comparison": "at_least", "limit": 24}
   ],
   "alternative": [
    {"quantity": "moves_count", "comparison": "at_least", "limit": 8},
    {"quantity": "slack_tank_least_fill_percent", "comparison": "within", "limit": [20, 80.5]}
   ],
   "note": "Invented."},
  {"id": "list", "title": "List", "quantity": "initial_list_deg", "comparison": "at_most", "limit": 1,
   "unit": "deg", "clause": "3.5", "source": "House manual", "source_status": "our choice", "level": "advised"}
 ]
}
"""


def refusal(text):
    with pytest.raises(InputError) as caught:
        parse(text if isinstance(text, bytes) else text.encode(), label="house.json")
    return caught.value


def swapped(old, new):
    assert TEXT.count(old) == 1
    return TEXT.replace(old, new)


def test_every_field_is_read():
    rule_set = parse(TEXT.encode(), label="house.json")
    assert (rule_set.name, rule_set.title, rule_set.version) == ("house", "House rules", "2")
    moves, initial = rule_set.rules
    assert (moves.id, moves.title, moves.clause, moves.source) == ("moves", "Ten moves", "3.4", "House manual")
    assert (moves.source_status, moves.level, moves.note) == ("our choice", "required", "Invented.")
    assert moves.requirement == Requirement("moves_count", "at_least", 10.0)
    assert moves.applies_when == (Requirement("vessel_length_bp_m", "at_least", 24.0),)
    assert moves.alternative == (
        Requirement("moves_count", "at_least", 8.0),
        Requirement("slack_tank_least_fill_percent", "within", 20.0, 80.5),
    )
    assert (initial.requirement.comparison, initial.applies_when, initial.alternative, initial.note) == (
        "at_most",
        (),
        (),
        "",
    )


def test_byte_order_mark_and_carriage_returns_are_allowed():
    plain = parse(TEXT.encode(), label="house.json")
    assert parse(b"\xef\xbb\xbf" + TEXT.replace("\n", "\r\n").encode(), label="house.json") == plain


@pytest.mark.parametrize(
    ("old", "new", "code", "line", "field"),
    [
        ('"moves_count",\n', '"moves_made_count",\n', "quantity-unknown", 8, "rules/0/quantity"),
        ('"vessel_length_bp_m"', '"vessel_length_m"', "quantity-unknown", 17, "rules/0/applies_when/0/quantity"),
        ('   "clause": "3.4",\n', "", "rule-set-field-missing", 6, "rules/0/clause"),
        ('   "source": "House manual",\n', "", "rule-set-field-missing", 6, "rules/0/source"),
        ('"clause": "3.4"', '"clause": "  "', "rule-set-field-missing", 12, "rules/0/clause"),
        ('"source": "House manual",\n', '"source": "",\n', "rule-set-field-missing", 13, "rules/0/source"),
        (' "version": "2",\n', "", "rule-set-field-missing", 1, "version"),
        ('"clause": "3.4"', '"clause": "3.4", "weight": 1', "rule-set-field-unknown", 12, "rules/0/weight"),
        ('"version": "2"', '"version": "2",\n "date": "x"', "rule-set-field-unknown", 5, "date"),
        ('"limit": 24}', '"limit": 24, "unit": "m"}', "rule-set-field-unknown", 17, "rules/0/applies_when/0/unit"),
        ('"id": "list"', '"id": "moves"', "rule-id-duplicate", 24, "rules/1/id"),
        ('"id": "list"', '"id": "List it"', "rule-set-field-wrong", 24, "rules/1/id"),
        ('"name": "house"', '"name": "a/../b"', "rule-set-field-wrong", 2, "name"),
        ('"limit": 10', '"limit": "10"', "rule-set-field-wrong", 10, "rules/0/limit"),
        ('"limit": 10', '"limit": true', "rule-set-field-wrong", 10, "rules/0/limit"),
        ('"limit": 10', '"limit": 1e999', "rule-set-field-wrong", 10, "rules/0/limit"),
        ('"limit": 10', '"limit": 1' + "0" * 400, "rule-set-field-wrong", 10, "rules/0/limit"),
        ('"limit": 10', '"limit": [10, 12]', "rule-set-field-wrong", 10, "rules/0/limit"),
        ("[20, 80.5]", "[80.5, 20]", "rule-set-field-wrong", 21, "rules/0/alternative/1/limit"),
        ("[20, 80.5]", "[20]", "rule-set-field-wrong", 21, "rules/0/alternative/1/limit"),
        ("[20, 80.5]", "20", "rule-set-field-wrong", 21, "rules/0/alternative/1/limit"),
        ("[20, 80.5]", '[20, "x"]', "rule-set-field-wrong", 21, "rules/0/alternative/1/limit/1"),
        ('"unit": "deg"', '"unit": "m"', "rule-set-unit-wrong", 25, "rules/1/unit"),
        ('"level": "advised"', '"level": "nice"', "rule-set-field-wrong", 25, "rules/1/level"),
        ('"comparison": "at_most"', '"comparison": "under"', "rule-set-field-wrong", 24, "rules/1/comparison"),
        ('"title": "List"', '"title": 3', "rule-set-field-wrong", 24, "rules/1/title"),
        ('"title": "List"', '"title": "two\\nlines"', "rule-set-field-wrong", 24, "rules/1/title"),
        ('"title": "List"', f'"title": "{"x" * 501}"', "rule-set-field-wrong", 24, "rules/1/title"),
        ('"note": "Invented."', '"note": ""', "rule-set-field-missing", 23, "rules/0/note"),
        ('"version": "2"', '"version": "2", "subject": "paint"', "rule-set-field-wrong", 4, "subject"),
        ('"version": "2"', '"version": "2", "subject": "stability"', "quantity-unknown", 8, "rules/0/quantity"),
        ('"limit": 10', '"limit": {"constant": 1, "slope": 2}', "rule-set-field-missing", 10, "rules/0/limit/quantity"),
        (
            *('"limit": 10', '"limit": {"constant": 1, "slope": 2, "quantity": "gm_fluid_m"}'),
            *("quantity-unknown", 10, "rules/0/limit/quantity"),
        ),
        (
            *('"limit": 10', '"limit": {"constant": 1, "slope": "2", "quantity": "weights_count"}'),
            *("rule-set-field-wrong", 10, "rules/0/limit/slope"),
        ),
        (
            *("[20, 80.5]", '{"constant": 1, "slope": 2, "quantity": "weights_count"}'),
            *("rule-set-field-wrong", 21, "rules/0/alternative/1/limit"),
        ),
    ],
)
def test_fault_is_refused_where_it_stands(old, new, code, line, field):
    error = refusal(swapped(old, new))
    assert (error.code, error.field) == (code, f"house.json/{field}")
    assert error.message.startswith(f"line {line}: ")


def test_status_must_be_one_of_the_four():
    error = refusal(TEXT.replace('"our choice", "level"', '"official", "level"'))
    assert (error.code, error.field) == ("rule-set-field-wrong", "house.json/rules/1/source_status")
    assert "official" not in error.message
    assert "common practice, no source" in error.message


@pytest.mark.parametrize(
    ("body", "code", "field"),
    [
        ([], "rule-set-field-wrong", "house.json"),
        ({"name": "a", "title": "A", "version": "1", "rules": []}, "rule-set-field-missing", "house.json/rules"),
        ({"name": "a", "title": "A", "version": "1", "rules": {}}, "rule-set-field-wrong", "house.json/rules"),
        ({"name": "a", "title": "A", "version": "1", "rules": [3]}, "rule-set-field-wrong", "house.json/rules/0"),
    ],
)
def test_wrong_shape_is_refused(body, code, field):
    error = refusal(json.dumps(body))
    assert (error.code, error.field) == (code, field)


def test_too_large_is_refused():
    with pytest.raises(LimitError) as caught:
        parse(b" " * 1_000_001, label="house.json")
    assert (caught.value.code, caught.value.limit) == ("rule-set-too-large", 1_000_000.0)


def test_the_example_of_the_documentation_is_read():
    page = (Path(__file__).parents[3] / "docs/methods/rules.md").read_text(encoding="utf-8")
    (example,) = page.split("```json\n")[1:]
    (rule,) = parse(example.partition("```")[0].encode(), label="example").rules
    assert rule.requirement == Requirement("moves_count", "at_least", 8.0)
