"""Columns of numbers of equal length. Layer: engine.liquids."""

import numpy as np
from numpy.typing import ArrayLike

from engine.checks import Floats, finite
from engine.errors import InputError


def equal_columns(*, at_least: int, **named: ArrayLike) -> list[Floats]:
    """Return each argument as a float64 list, in the order given.

    Raises
    ------
    InputError
        "wrong-shape": not a list; "columns-differ": lengths differ from the first's; "too-few-rows"; "not-finite".
    """
    found = [(name, finite(values, field=name)) for name, values in named.items()]
    first, head = found[0]
    for name, column in found:
        if column.ndim != 1:
            raise InputError("must be a list of numbers", code="wrong-shape", field=name)
        if len(column) != len(head):
            raise InputError(
                f"has {len(column)} rows, the first column {len(head)}",
                code="columns-differ",
                field=name,
                value=float(len(column)),
                limit=float(len(head)),
            )
    if len(head) < at_least:
        raise InputError(
            f"needs {at_least} rows, has {len(head)}",
            code="too-few-rows",
            field=first,
            value=float(len(head)),
            limit=float(at_least),
        )
    return [np.asarray(column) for _, column in found]


def refuse_unless_rising(column: Floats, *, field: str) -> None:
    """Refuse a column that does not rise from row to row.

    Raises
    ------
    InputError
        "not-increasing", the first row in ``field``.
    """
    for row in np.flatnonzero(np.diff(column) <= 0)[:1]:
        raise InputError(
            f"must be above the row before, {column[row]:.6g}, is {column[row + 1]:.6g}",
            code="not-increasing",
            field=f"{field}/{row + 1}",
            value=float(column[row + 1]),
            limit=float(column[row]),
        )
