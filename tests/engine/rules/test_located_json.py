"""The reader that keeps line numbers reads what the standard library reads, and nothing more."""

import json
import string

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.errors import InputError
from engine.rules.located_json import read_located

VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=5), inner, max_size=4),
    max_leaves=12,
)


def depth(value):
    inner = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    return max((1 + depth(part) for part in inner), default=0)


@settings(derandomize=True, deadline=None, max_examples=150)
@given(VALUES.filter(lambda value: depth(value) <= 8), st.sampled_from([None, 0, 2]))
def test_reads_what_the_standard_library_writes(value, indent):
    assert read_located(json.dumps(value, indent=indent).encode(), label="a").value == value


@settings(derandomize=True, deadline=None, max_examples=300)
@given(st.text(alphabet='{}[]",: \n\\0123456789.eE+-tfnNI' + string.ascii_lowercase[:6], max_size=25))
def test_agrees_with_the_standard_library_on_what_is_json(text):
    try:
        expected = json.loads(text)
    except json.JSONDecodeError:
        with pytest.raises(InputError):
            read_located(text.encode(), label="a")
        return
    try:
        value = read_located(text.encode(), label="a").value
    except InputError as stricter:
        words = stricter.message.partition(": ")[2]
        assert words in ("not a finite number", "a field is given twice", "nested deeper than 8")
    else:
        assert value == expected


def test_lines_are_those_of_the_names_and_items():
    located = read_located(b'{"a": 1,\n\n "b":\n  [10,\n   {"c": "x"}]\n}', label="a")
    assert located.lines == {(): 1, ("a",): 1, ("b",): 3, ("b", 0): 4, ("b", 1): 5, ("b", 1, "c"): 5}


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        (b"", 1, "not JSON"),
        (b"{\n", 2, "not JSON"),
        (b'{"a": 1,\n}', 2, "not JSON"),
        (b'{"a"\n 1}', 2, "not JSON"),
        (b"[1\n2]", 2, "not JSON"),
        (b"[1]\n\n]", 3, "not JSON"),
        (b'{"a": 1,\n "a": 2}', 2, "twice"),
        (b'{"a":\n NaN}', 2, "finite"),
        (b"[1,\n-Infinity]", 2, "finite"),
        (b"[\n" + b"9" * 5000 + b"]", 2, "finite"),
        (b"\n" + b"[" * 100_000, 2, "deeper"),
        (b'"\n\xff"', 2, "UTF-8"),
    ],
    ids=range(12),
)
def test_fault_names_its_line(text, line, words):
    with pytest.raises(InputError) as caught:
        read_located(text, label="house.json")
    assert (caught.value.code, caught.value.field) == ("rule-set-not-json", "house.json")
    assert caught.value.message.startswith(f"line {line}: ")
    assert words in caught.value.message
