"""A value beside its limit, with the digits that tell them apart and no more. Layer: service.report."""

import math

from service.report.document import Number
from service.report.generic import plain
from service.report.numbers import DECIMALS, decimals_of, printed, scientific
from service.report.values import Values

DIGITS = 3
"""Significant digits of a number without unit."""
LIMIT_DIGITS = 2
"""Significant digits at least of a limit."""
RULE_DIGITS = 4
"""A limit of so few significant digits is the rule's own and stands as the rule has it."""
MOST_DECIMALS = 6
"""A number that wants more is told by a power of ten."""


def value_of(row: Values) -> Number | None:
    """Return what was observed, None where nothing was."""
    value = row.value("value")
    return None if value is None else Number(_text(value, _decimals(row)), f"{row.root}/value")


def limit_of(row: Values, name: str = "limit") -> Number | None:
    """Return what it is held against."""
    limit = row.value(name)
    if limit is None:
        return None
    decimals = _decimals(row)
    few = float(f"{limit:.{RULE_DIGITS}g}") == limit
    return Number(plain(limit) if few else _text(limit, decimals), f"{row.root}/{name}")


def _decimals(row: Values) -> int:
    """Return the decimals: by the uncertainty, else by the unit; so many that value and limit differ as they do."""
    value, limits = row.value("value"), [row.value(name) for name in ("limit", "upper_limit")]
    known = [one for one in limits if one is not None]
    u = row.value("standard_uncertainty")
    if u is not None and u > 0:
        decimals = decimals_of(u)
    else:
        decimals = _by_unit(row.text("unit"), [*known, *([] if value is None else [value])], known)
    if value is None:
        return decimals
    for more in range(decimals, 12):
        if all(one == value or _text(one, more) != _text(value, more) for one in known):
            return more
    return 12


def _by_unit(unit: str, numbers: list[float], limits: list[float]) -> int:
    if all(one == int(one) for one in numbers):
        return 0
    if unit not in DECIMALS or unit == "1":
        decimals = max(0, _places(max(map(abs, numbers)), DIGITS))
    else:
        decimals = DECIMALS[unit]
    return max([decimals, *(_places(one, LIMIT_DIGITS) for one in limits if one)])


def _places(value: float, digits: int) -> int:
    """Return the decimals at which so many significant digits end."""
    return digits - 1 - math.floor(math.log10(abs(value)))


def _text(value: float, decimals: int) -> str:
    if decimals > MOST_DECIMALS and value != 0:
        return scientific(value, max(DIGITS, 1 + decimals + math.floor(math.log10(abs(value)))))
    return printed(value, decimals)
