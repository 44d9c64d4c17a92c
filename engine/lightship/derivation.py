"""From the ship as inclined to the lightship. Layer: engine.lightship.

W = W₀ − Σ removed + Σ added, first moments likewise. Inclining weights leave once, from where they lay at
reading 0; liquids leave where they lay, free-surface effect never subtracted again; what belongs to the
lightship of a tank's liquid stays, at rest in the upright tank.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from engine.checks import Floats
from engine.errors import NotDeterminedError
from engine.incline.moments import Weight
from engine.liquids.running import Liquid
from engine.survey.ledger import Change, Item, change_by, total


@dataclass(frozen=True, eq=False)
class Mass:
    """A mass and its centre: [t], (3,) [m]."""

    mass_t: float
    centre_m: Floats

    @property
    def moment_tm(self) -> Floats:
        """(3,) first moment. [t·m]"""
        return self.mass_t * self.centre_m


@dataclass(frozen=True, eq=False)
class Derivation:
    """The lightship and the three sums taken off and put on."""

    lightship: Mass
    items: Change
    weights: Change
    liquids: Change


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


def change_by_liquid(liquid: Lying) -> Change:
    """Return what draining a tank to its lightship volume changes."""
    mass, moment = -liquid.mass_t, -liquid.mass_t * liquid.centre_m
    if liquid.lightship_centre_m is not None:
        mass, moment = mass + liquid.lightship_mass_t, moment + liquid.lightship_mass_t * liquid.lightship_centre_m
    return Change(mass, moment)


def derive_lightship(
    *, as_inclined: Mass, items: Sequence[Item], weights: Sequence[Weight], liquids: Sequence[Lying]
) -> Derivation:
    """Derive the lightship.

    Parameters
    ----------
    as_inclined : Mass
        Everything aboard at reading 0, liquids where they lie (solid centre).
    items, weights, liquids
        The ledger, the inclining weights at reading 0, the liquids as they lie.

    Raises
    ------
    NotDeterminedError
        ``lightship-not-positive``: the ledger takes off more than floats.
    """
    by_items = total(change_by(item) for item in items)
    by_weights = total(Change(-w.mass_t, -w.mass_t * w.centre_m) for w in weights)
    by_liquids = total(change_by_liquid(liquid) for liquid in liquids)
    change = by_items + by_weights + by_liquids
    mass = as_inclined.mass_t + change.mass_t
    if mass <= 0:
        raise NotDeterminedError(
            f"{as_inclined.mass_t:.6g} t float, the ledger takes off {-change.mass_t:.6g} t: nothing is left",
            code="lightship-not-positive",
            field="items",
            value=mass,
            limit=0.0,
        )
    centre = (as_inclined.moment_tm + change.moment_tm) / mass
    return Derivation(Mass(mass, centre), by_items, by_weights, by_liquids)
