"""A short body is looked through in another way than a long one, to the same end."""

import json

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from service.edge import strict_json

NAMES = st.sampled_from(["a", "b", "ä", '"', "\\", "a b", "{", "\ud800"])


def written(tree: object) -> str:
    """Return a tree as JSON; an object is a list of pairs, so that a name may come twice."""
    if isinstance(tree, tuple):
        return "{" + ",".join(f"{json.dumps(name)}:{written(value)}" for name, value in tree) + "}"
    return "[" + ",".join(map(written, tree)) + "]" if isinstance(tree, list) else json.dumps(tree)


TREES = st.recursive(
    st.none() | st.integers() | st.floats() | st.text(max_size=4) | NAMES,
    lambda below: st.lists(below, max_size=4) | st.lists(st.tuples(NAMES, below), max_size=4).map(tuple),
    max_leaves=20,
).map(written)


@given(TREES)
@example('{"a": 1, "\\u0061": 2}')
@example('[{"a": {"a": 1}}, {"a": 1}]')
@example('{"a": {"b": 1, "b": 2}}')
def test_plain_only_where_the_scan_finds_nothing(text: str) -> None:
    body = text.encode()
    assert strict_json.is_plain(body) == (strict_json.odd_names(body) is None)


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"{",
        b'{"a": 1,}',
        b"\xff",
        '{"a": 1}'.encode("utf-16"),
        b"[" * 100_000,
        b"[" + b"1," * strict_json.SHORT_BYTES + b"1]",
        json.dumps({str(i): i for i in range(strict_json.NAMES_LIMIT + 1)}).encode(),
    ],
)
def test_what_is_broken_or_long_is_left_to_the_scan(body: bytes) -> None:
    assert not strict_json.is_plain(body)


def test_as_many_names_as_may_be() -> None:
    assert strict_json.is_plain(json.dumps({str(i): i for i in range(strict_json.NAMES_LIMIT)}).encode())
