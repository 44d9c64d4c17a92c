"""A loading condition line by line, as its totals are made of it. Layer: engine.stability."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from engine.checks import Floats
from engine.lightship.derivation import Mass
from engine.liquids import Liquid
from engine.stability.free_surface import TankLoad, moment_at_fill_tm

UP: Floats = np.array([[0.0, 0.0, 1.0]])


@dataclass(frozen=True, eq=False)
class Load:
    """One line.

    Attributes
    ----------
    kind : {"lightship", "item", "tank", "lightship_liquid"}
        The last is what the lightship holds of a tank's liquid, taken off: the tank has its own line.
    number : int
        Of the item or tank; 0 for the lightship.
    mass : Mass
        [t, m]
    tank : TankLoad or None
        Of a tank and its lightship's liquid.
    free_surface_tm : float
        ρ i of the upright tank as filled; 0 without a surface. [t·m]
    """

    kind: Literal["lightship", "item", "tank", "lightship_liquid"]
    number: int
    mass: Mass
    tank: TankLoad | None = None
    free_surface_tm: float = 0.0


def load_list(
    *, lightship: Mass, items: Sequence[Mass], loads: Sequence[TankLoad], upright: Floats = UP
) -> tuple[Load, ...]:
    """Return the lines, whose masses and moments sum to the displacement and its centre.

    Parameters
    ----------
    lightship : Mass
        [t, m]
    items : sequence of Mass
        In the order given.
    loads : sequence of TankLoad
        In the order given.
    upright : (1, 3) float64
        Normal of the surfaces of the liquids: of her upright plane where they run, else that of an even keel.
    """
    lines = [Load("lightship", 0, lightship), *(Load("item", i, one) for i, one in enumerate(items))]
    for i, load in enumerate(loads):
        if load.volume_m3 > 0:
            centre = load.liquid.at(upright).centroid_m[0]
            lines.append(Load("tank", i, Mass(load.liquid.mass_t, centre), load, moment_at_fill_tm(load)))
        if load.lightship_volume_m3 > 0:
            part = Liquid(load.tank, load.lightship_volume_m3, load.density_t_per_m3)
            lines.append(Load("lightship_liquid", i, Mass(-part.mass_t, part.at(UP).centroid_m[0]), load))
    return tuple(lines)
