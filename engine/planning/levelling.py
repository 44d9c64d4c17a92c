"""Bringing her upright before the test. Layer: engine.planning.

An initial list of up to 0.5 degree is accepted (IMO 2008 IS Code, B/8.2.2.7). Beyond it, the moment that brings her
upright on the real hull is offered as weight on deck, or as liquid in a tank off the centreline.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from engine.incline.moments import Weight
from engine.planning.deck import Deck
from engine.planning.predicted import Condition, PlannedShip, upright_moment_tm

LIST_LIMIT_DEG = 0.5
"""IMO 2008 IS Code, B/8.2.2.7."""


@dataclass(frozen=True)
class LevellingWeight:
    """A mass at the end of a lane. [t, m]"""

    lane: int
    mass_t: float
    y_m: float


@dataclass(frozen=True)
class LevellingLiquid:
    """Liquid put into (+) or taken out of (−) a tank, first order. [m³]"""

    tank: int
    volume_m3: float
    fill_percent: float


@dataclass(frozen=True)
class Levelling:
    """What would bring her upright.

    Attributes
    ----------
    list_deg : float
        As predicted, to starboard +. [deg]
    moment_tm : float
        That brings her upright, to starboard +. [t·m]
    weights : tuple of LevellingWeight
        One a lane.
    liquids : tuple of LevellingLiquid
        One a tank that can do it alone.
    """

    list_deg: float
    moment_tm: float
    weights: tuple[LevellingWeight, ...]
    liquids: tuple[LevellingLiquid, ...]


def levelling(
    ship: PlannedShip, *, at: Condition, weights: Sequence[Weight], deck: Deck, limit_deg: float = LIST_LIMIT_DEG
) -> Levelling | None:
    """Return what brings her upright; None where the list is within the limit.

    Parameters
    ----------
    at : Condition
        Reading 0, the weights aboard.
    weights : sequence of Weight
        In their places then.
    """
    if abs(at.heel_deg) <= limit_deg:
        return None
    moment = upright_moment_tm(ship, weights=weights)
    masses = []
    for number, lane in enumerate(deck.lanes):
        end = lane.y_min_m if moment > 0 else lane.y_max_m
        if end * moment < 0:
            masses.append(LevellingWeight(number, -moment / end, end))
    liquids = []
    for number, tank in enumerate(ship.tanks):
        liquid = tank.liquid
        y = float(liquid.tank.full_centroid_m[1])
        if abs(y) < 1e-6 * max(1.0, float(np.abs(liquid.tank.full_centroid_m).max())):
            continue
        volume = -moment / (liquid.density_t_per_m3 * y)
        then = liquid.volume_m3 + volume
        if 0 <= then <= liquid.tank.capacity_m3:
            liquids.append(LevellingLiquid(number, volume, 100 * then / liquid.tank.capacity_m3))
    return Levelling(at.heel_deg, moment, tuple(masses), tuple(liquids))
