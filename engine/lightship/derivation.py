"""From the ship as inclined to the lightship. Layer: engine.lightship.

W = W₀ − Σ removed + Σ added, first moments likewise. Inclining weights leave once, from where they lay at
reading 0; liquids leave where they lay, free-surface effect never subtracted again; what belongs to the
lightship of a tank's liquid stays, at rest in the upright tank.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from engine.checks import Floats
from engine.errors import NotDeterminedError
from engine.incline.moments import Weight
from engine.liquids.running import Liquid
from engine.survey.ledger import Item, rows_of


@dataclass(frozen=True, eq=False)
class Mass:
    """A mass and its centre: [t], (3,) [m]."""

    mass_t: float
    centre_m: Floats

    @property
    def moment_tm(self) -> Floats:
        """(3,) first moment. [t·m]"""
        return self.mass_t * self.centre_m


RowKind = Literal["remove", "add", "relocate_from", "relocate_to", "inclining_weight", "liquid", "lightship_liquid"]


@dataclass(frozen=True, eq=False)
class Entry:
    """One line between the ship as inclined and the lightship.

    Attributes
    ----------
    kind : str
        What it is.
    index : int
        Number of the item, weight or tank in its list.
    mass_t : float
        Put on +, taken off −. [t]
    centre_m : (3,) float64
        [m]
    """

    kind: RowKind
    index: int
    mass_t: float
    centre_m: Floats


@dataclass(frozen=True, eq=False)
class Derivation:
    """The lightship, the ship as inclined, and every line between the two."""

    lightship: Mass
    as_inclined: Mass
    entries: tuple[Entry, ...]


@dataclass(frozen=True, eq=False)
class Lying:
    """A liquid as it lies at reading 0: its centre, and the part that is lightship with its centre at rest. [t, m]"""

    mass_t: float
    centre_m: Floats
    lightship_mass_t: float = 0.0
    lightship_centre_m: Floats | None = None


UPRIGHT = np.array([[0.0, 0.0, 1.0]])


def lying(liquid: Liquid, *, normal: Floats, lightship_volume_m3: float) -> Lying:
    """Return how a liquid lies at the plane whose normal is given, (3,)."""
    centre = liquid.at(normal[None, :]).centroid_m[0] if liquid.mass_t > 0 else np.zeros(3)
    if lightship_volume_m3 == 0:
        return Lying(liquid.mass_t, centre)
    part = Liquid(tank=liquid.tank, volume_m3=lightship_volume_m3, density_t_per_m3=liquid.density_t_per_m3)
    return Lying(liquid.mass_t, centre, part.mass_t, part.at(UPRIGHT).centroid_m[0])


def entries_of(*, items: Sequence[Item], weights: Sequence[Weight], liquids: Sequence[Lying]) -> tuple[Entry, ...]:
    """Return every line: items, inclining weights at reading 0, liquids as they lie and what of them stays."""
    found = [Entry(row.kind, i, row.mass_t, row.centre_m) for i, item in enumerate(items) for row in rows_of(item)]
    found += [Entry("inclining_weight", i, -one.mass_t, one.centre_m) for i, one in enumerate(weights)]
    for i, liquid in enumerate(liquids):
        if liquid.mass_t > 0:
            found.append(Entry("liquid", i, -liquid.mass_t, liquid.centre_m))
        if liquid.lightship_centre_m is not None:
            found.append(Entry("lightship_liquid", i, liquid.lightship_mass_t, liquid.lightship_centre_m))
    return tuple(found)


def derive_lightship(*, as_inclined: Mass, entries: Sequence[Entry]) -> Derivation:
    """Derive the lightship.

    Parameters
    ----------
    as_inclined : Mass
        Everything aboard at reading 0, liquids where they lie (solid centre).
    entries : sequence of Entry
        Of ``entries_of``.

    Raises
    ------
    NotDeterminedError
        ``lightship-not-positive``: the ledger takes off more than floats.
    """
    change = sum(one.mass_t for one in entries)
    mass = as_inclined.mass_t + change
    if mass <= 0:
        raise NotDeterminedError(
            f"{as_inclined.mass_t:.6g} t float, the ledger takes off {-change:.6g} t: nothing is left",
            code="lightship-not-positive",
            field="items",
            value=mass,
            limit=0.0,
        )
    moment = as_inclined.moment_tm + sum((one.mass_t * one.centre_m for one in entries), start=np.zeros(3))
    return Derivation(Mass(mass, moment / mass), as_inclined, tuple(entries))
