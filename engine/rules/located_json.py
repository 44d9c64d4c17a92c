"""JSON that remembers the line of every value, so that a fault can be shown where it stands. Layer: engine.rules."""

import re
from bisect import bisect_right
from collections.abc import Mapping
from json import JSONDecodeError, JSONDecoder
from typing import NamedTuple, NoReturn

from engine.errors import InputError, LimitError

LARGEST_BYTES = 1_000_000
DEEPEST = 8

Path = tuple[str | int, ...]

_SPACE = re.compile(r"[ \t\r\n]*")


class Located(NamedTuple):
    """A JSON value, and the line (from 1) of each value in it by path; the line of a field is that of its name."""

    value: object
    lines: Mapping[Path, int]


def read_located(text: bytes, *, label: str) -> Located:
    """Read UTF-8 JSON (a byte order mark is allowed).

    Raises
    ------
    InputError
        ``rule-set-not-json``: not UTF-8, not JSON, a field given twice, NaN or an infinity, nested too deep.
    LimitError
        ``rule-set-too-large``.
    """
    if len(text) > LARGEST_BYTES:
        raise LimitError(
            f"must have at most {LARGEST_BYTES:.6g} bytes, has {len(text):.6g}",
            code="rule-set-too-large",
            field=label,
            value=float(len(text)),
            limit=float(LARGEST_BYTES),
        )
    try:
        characters = text.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = text.count(b"\n", 0, error.start) + 1
        raise InputError(f"line {line}: not UTF-8", code="rule-set-not-json", field=label) from error
    reader = _Reader(characters, label)
    value, end = reader.value(reader.skip(0), ())
    if reader.skip(end) != len(characters):
        reader.fail(reader.skip(end))
    return Located(value, reader.lines)


class _Reader:
    def __init__(self, text: str, label: str) -> None:
        self.text = text
        self.label = label
        self.lines: dict[Path, int] = {}
        self._ends = [match.start() for match in re.finditer("\n", text)]
        self._decoder = JSONDecoder(parse_constant=_refuse)

    def fail(self, at: int, words: str = "not JSON") -> NoReturn:
        line = bisect_right(self._ends, at - 1) + 1
        raise InputError(f"line {line}: {words}", code="rule-set-not-json", field=self.label)

    def skip(self, at: int) -> int:
        match = _SPACE.match(self.text, at)
        return match.end() if match else at

    def value(self, at: int, path: Path) -> tuple[object, int]:
        self.lines.setdefault(path, bisect_right(self._ends, at - 1) + 1)
        if len(path) > DEEPEST:
            self.fail(at, f"nested deeper than {DEEPEST}")
        opening = self.text[at : at + 1]
        if opening == "{":
            return self._object(at, path)
        if opening == "[":
            return self._array(at, path)
        return self._scalar(at)

    def _scalar(self, at: int) -> tuple[object, int]:
        try:
            return self._decoder.raw_decode(self.text, at)
        except JSONDecodeError as error:
            self.fail(error.pos)
        except ValueError:  # NaN, an infinity, an integer of thousands of digits
            self.fail(at, "not a finite number")

    def _object(self, at: int, path: Path) -> tuple[dict[str, object], int]:
        result: dict[str, object] = {}
        at = self.skip(at + 1)
        if self.text[at : at + 1] == "}":
            return result, at + 1
        while True:
            if self.text[at : at + 1] != '"':
                self.fail(at)
            name, end = self._scalar(at)
            if not isinstance(name, str) or name in result:
                self.fail(at, "a field is given twice")
            self.lines[(*path, name)] = bisect_right(self._ends, at - 1) + 1
            end = self.skip(end)
            if self.text[end : end + 1] != ":":
                self.fail(end)
            result[name], end = self.value(self.skip(end + 1), (*path, name))
            at, ended = self._next(end, "}")
            if ended:
                return result, at

    def _array(self, at: int, path: Path) -> tuple[list[object], int]:
        result: list[object] = []
        at = self.skip(at + 1)
        if self.text[at : at + 1] == "]":
            return result, at + 1
        while True:
            item, end = self.value(at, (*path, len(result)))
            result.append(item)
            at, ended = self._next(end, "]")
            if ended:
                return result, at

    def _next(self, at: int, closing: str) -> tuple[int, bool]:
        at = self.skip(at)
        mark = self.text[at : at + 1]
        if mark == closing:
            return at + 1, True
        if mark != ",":
            self.fail(at)
        return self.skip(at + 1), False


def _refuse(_: str) -> NoReturn:
    raise ValueError
