"""The ledger of masses between the ship as surveyed and the lightship. Layer: engine.survey.

Every entry is a change of mass and of first moment: remove and relocate take it off where it is, add and
relocate put it on where it belongs (46 CFR 170.185(g), the items to install, remove and relocate).
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

import numpy as np

from engine.checks import Floats

Action = Literal["remove", "add", "relocate"]


@dataclass(frozen=True, eq=False)
class Item:
    """One line of the add, remove and relocate list.

    Attributes
    ----------
    action : {"remove", "add", "relocate"}
        remove: aboard now, not lightship; add: lightship, not aboard; relocate: aboard, belongs at ``to_m``.
    mass_t : float
        [t]
    centre_m : (3,) float64
        Where it is, or (add) where it belongs. [m]
    to_m : (3,) float64 or None
        Where a relocated item belongs. [m]
    """

    action: Action
    mass_t: float
    centre_m: Floats
    to_m: Floats | None = None


@dataclass(frozen=True, eq=False)
class Change:
    """A change of mass and first moment: add it to the ship's own."""

    mass_t: float
    moment_tm: Floats

    def __add__(self, other: "Change") -> "Change":
        return Change(self.mass_t + other.mass_t, self.moment_tm + other.moment_tm)


NOTHING = Change(0.0, np.zeros(3))


RowKind = Literal["remove", "add", "relocate_from", "relocate_to"]


@dataclass(frozen=True, eq=False)
class Row:
    """One line of the sum: a signed mass at a place. [t], (3,) [m]"""

    kind: RowKind
    mass_t: float
    centre_m: Floats


def rows_of(item: Item) -> tuple[Row, ...]:
    """Return what an item puts on (+) and takes off (−) on the way from the ship as surveyed to the lightship."""
    if item.action == "remove":
        return (Row("remove", -item.mass_t, item.centre_m),)
    if item.action == "add":
        return (Row("add", item.mass_t, item.centre_m),)
    if item.to_m is None:
        raise ValueError("a relocated item needs the place where it belongs")
    return (Row("relocate_from", -item.mass_t, item.centre_m), Row("relocate_to", item.mass_t, item.to_m))


def change_by(item: Item) -> Change:
    """Return what one item changes on the way from the ship as surveyed to the lightship."""
    return total(Change(row.mass_t, row.mass_t * row.centre_m) for row in rows_of(item))


def total(changes: Iterable[Change]) -> Change:
    """Return the sum of the changes."""
    return sum(changes, start=NOTHING)
