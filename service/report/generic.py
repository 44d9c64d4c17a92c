"""Data nobody wrote a section for, shown all the same: labels from names. Layer: service.report."""

from collections.abc import Mapping
from typing import Any

from service.report.document import Block, Cell, Column, Fact, Facts, Number, Table, Words
from service.report.numbers import printed, scientific, si_unit
from service.report.values import Values
from service.schemas.terms import label

COLUMNS_AT_MOST = 8
DIGITS = 4
"""Significant digits of a number without unit that no section knows."""


def plain(value: float, digits: int = 6) -> str:
    """Return a number with so many significant digits, as far as it has them; a whole number with six at least."""
    digits = max(digits, 6) if float(value).is_integer() else digits
    text = f"{value:.{digits}g}"
    if "e" in text:
        return scientific(value, digits)
    decimals = len(text.partition(".")[2])
    return printed(value, decimals)


def plain_number(values: Values, *path: str | int) -> Number | None:
    """Return a number without unit, or whose unit stands beside it in the data, with few digits."""
    value = values.value(*path)
    return None if value is None else Number(plain(value, DIGITS), "/".join([values.root, *map(str, path)]))


def cell(values: Values, name: str) -> Cell:
    """Return whatever stands under a name as a cell."""
    found = values.below(name).data
    if isinstance(found, bool):
        return "yes" if found else "no"
    if isinstance(found, (int, float)) or (isinstance(found, Mapping) and "value" in found):
        return values.number(name, name=name) if si_unit(name) else plain_number(values, name)
    if isinstance(found, list):
        return "; ".join(map(str, found)) or "none"
    if isinstance(found, Mapping):
        return "; ".join(f"{label(key)} {value}" for key, value in found.items())
    return None if found is None else str(found)


def facts(values: Values, *, leave_out: tuple[str, ...] = ()) -> Facts:
    """Return the plain entries of an object."""
    data: Mapping[str, Any] = values.data if isinstance(values.data, Mapping) else {}
    rows = [
        Fact(_capital(label(name)), cell(values, name), _unit(values, name))
        for name, value in data.items()
        if name not in leave_out and not _composite(value)
    ]
    return Facts(tuple(rows))


def blocks(values: Values, *, leave_out: tuple[str, ...] = ()) -> tuple[Block, ...]:
    """Return an object's plain entries as facts and its lists as tables, objects in it likewise."""
    if isinstance(values.data, list):
        return table(values)
    if not isinstance(values.data, Mapping):
        return ()
    made: list[Block] = []
    own = facts(values, leave_out=leave_out)
    if own.rows:
        made.append(own)
    for name, value in values.data.items():
        if name not in leave_out and _composite(value):
            below = blocks(values.below(name))
            if below and isinstance(below[0], Facts):
                made.append(Words(f"{_capital(label(name))}:"))
            made += [_captioned(one, _capital(label(name))) for one in below]
    return tuple(made)


def table(values: Values, *, caption: str = "") -> tuple[Block, ...]:
    """Return a list of objects as a table; more columns than a page holds become a further table."""
    rows = list(values.each())
    if not rows or not all(isinstance(one.data, Mapping) for one in rows):
        return ()
    if any(_composite(value) for one in rows for value in one.data.values()):
        return tuple(block for one in rows for block in blocks(one))
    names = list(dict.fromkeys(name for one in rows for name in one.data))
    first, rest = names[0], names[1:]
    parts = [rest[i : i + COLUMNS_AT_MOST - 1] for i in range(0, len(rest), COLUMNS_AT_MOST - 1)] or [[]]
    return tuple(
        Table(
            tuple(Column(label(name), _unit(values, name), right=_numeric(rows, name)) for name in (first, *part)),
            tuple(tuple(cell(one, name) for name in (first, *part)) for one in rows),
            caption if i == 0 else f"{caption} (continued)" if caption else "",
        )
        for i, part in enumerate(parts)
    )


def _captioned(block: Block, caption: str) -> Block:
    if isinstance(block, Table) and not block.caption:
        return Table(block.columns, block.rows, caption, block.emphasised)
    return block


def _numeric(rows: list[Values], name: str) -> bool:
    values = [one.value(name) for one in rows if name in one.data]
    return bool(values) and all(value is not None for value in values)


def _unit(values: Values, name: str) -> str:
    return values.printer.unit(name) if si_unit(name) != "1" else ""


def _composite(value: object) -> bool:
    if isinstance(value, Mapping):
        return "value" not in value
    return isinstance(value, list) and any(isinstance(one, Mapping) for one in value)


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
