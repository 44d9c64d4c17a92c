"""JSON pointers against the examples of RFC 6901."""

import re
from typing import Any

import pytest

from service.cases.pointers import PATTERN, LeadsNowhereError, extended, resolve

# RFC 6901, section 5: the document and what each pointer evaluates to
DOCUMENT: dict[str, Any] = {
    "foo": ["bar", "baz"],
    "": 0,
    "a/b": 1,
    "c%d": 2,
    "e^f": 3,
    "g|h": 4,
    "i\\j": 5,
    'k"l': 6,
    " ": 7,
    "m~n": 8,
}
EXAMPLES = [
    ("", DOCUMENT),
    ("/foo", ["bar", "baz"]),
    ("/foo/0", "bar"),
    ("/", 0),
    ("/a~1b", 1),
    ("/c%d", 2),
    ("/e^f", 3),
    ("/g|h", 4),
    ("/i\\j", 5),
    ('/k"l', 6),
    ("/ ", 7),
    ("/m~0n", 8),
]


@pytest.mark.parametrize(("pointer", "value"), EXAMPLES)
def test_examples_of_the_standard(pointer: str, value: object) -> None:
    assert re.search(PATTERN, pointer)
    assert resolve(DOCUMENT, pointer) == value


@pytest.mark.parametrize("pointer", ["/fo", "/foo/2", "/foo/-", "/foo/00", "/foo/01", "/foo/-1", "/foo/bar", "/a~1b/0"])
def test_what_leads_nowhere(pointer: str) -> None:
    with pytest.raises(LeadsNowhereError):
        resolve(DOCUMENT, pointer)


@pytest.mark.parametrize("pointer", ["foo", "#/foo", "/m~n", "/m~2n", "/m~"])
def test_what_is_no_pointer(pointer: str) -> None:
    assert not re.search(PATTERN, pointer)


def test_escapes_are_read_in_the_right_order() -> None:
    assert resolve({"~1": "tilde one"}, "/~01") == "tilde one"  # RFC 6901, section 4


@pytest.mark.parametrize("name", ["a/b", "m~n", "~1", "", "plain"])
def test_extended_leads_back(name: str) -> None:
    assert resolve({"x": {name: 1}}, extended("/x", name)) == 1
