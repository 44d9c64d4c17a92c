"""When the weights on hand cannot do it: ballast transfer, people, a heel below the least. Layer: engine.planning.

The ten conditions of a ballast transfer are those of the IMO 2008 IS Code, B/Annex 1, 2.3 (from memory); only those
that follow from the tanks' shapes are judged here, the others are for the coordinator to show.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from engine.deadline import checkpoint
from engine.liquids.tank import Tank, liquid_in
from engine.planning.predicted import Condition, PlannedTank
from engine.planning.tank_plan import pairs_of

Judged = Literal["met", "not_met", "not_known"]

CONDITIONS = (
    ("tanks-wall-sided", "The tanks are wall-sided and free of stringers or members that trap air."),
    ("tanks-opposite", "The tanks lie directly opposite one another, so that the trim is kept."),
    ("density-measured", "The specific gravity of the ballast is measured and recorded."),
    ("pipes-full", "The pipes to the tanks are full; portable pumps and hoses where the piping does not suit."),
    ("blanks-fitted", "Blanks are fitted in transverse manifolds against leaks; the valves are watched throughout."),
    ("sounded-each-shift", "All tanks used are sounded by hand before and after each shift."),
    ("centres-each-shift", "Vertical, longitudinal and transverse centres are computed for each movement."),
    ("tables-and-list", "Accurate sounding tables are at hand, and the initial list is established beforehand."),
    ("quantity-verified", "The quantity moved is verified by a flow meter or the like."),
    ("time-allowed", "The time the transfers take is short enough for the wind to stay as it is."),
)
"""Code and words of the ten conditions."""

WALL_TOLERANCE_RATIO = 0.01
"""A tank is taken as wall-sided where its surface keeps its area within this from 10 to 90 %: our choice."""
PERSON_T = 0.075
"""One person, where no mass is stated: the mass common in stability rules."""


@dataclass(frozen=True)
class Condition10:
    """One of the ten conditions: its code and words, and what is known of it."""

    code: str
    words: str
    outcome: Judged


@dataclass(frozen=True)
class BallastTransfer:
    """Ballast moved between a pair of tanks, half full each at reading 0.

    Attributes
    ----------
    port, starboard : int
        Numbers of the tanks.
    volume_m3 : float
        Moved each way. [m³]
    moment_tm : float
        Each side. [t·m]
    heel_deg : float
        By the wall-sided formula. [deg]
    conditions : tuple of Condition10
        All ten.
    """

    port: int
    starboard: int
    volume_m3: float
    moment_tm: float
    heel_deg: float
    conditions: tuple[Condition10, ...]


@dataclass(frozen=True)
class People:
    """People who walk from the centreline to one side and the other.

    Attributes
    ----------
    count : int
        How many.
    mass_t : float
        Of one. [t]
    arm_m : float
        From the centreline to where they stand. [m]
    """

    count: int
    arm_m: float
    mass_t: float = PERSON_T


@dataclass(frozen=True)
class PeopleMoved:
    """What they do: moment and heel each side, and how many would reach the least heel. [t·m, deg]"""

    moment_tm: float
    heel_deg: float
    count_needed: int


@dataclass(frozen=True)
class SmallHeel:
    """A heel below the least, allowed a large ship where the deflection is still reached (B/8.2.2.8).

    Attributes
    ----------
    heel_deg : float
        At which the instruments reach their deflection. [deg]
    moment_tm : float
        Each side. [t·m]
    possible : bool
        Whether the weights reach it.
    """

    heel_deg: float
    moment_tm: float
    possible: bool


def ballast_transfers(tanks: Sequence[PlannedTank], *, at: Condition) -> tuple[BallastTransfer, ...]:
    """Return what each pair of tanks could do, the largest moment first.

    Half full at reading 0, each can take 30 % of its capacity from the other and stay within 20 to 80 %.
    """
    found = []
    for port, starboard in pairs_of(tanks):
        checkpoint()
        a, b = tanks[port].liquid, tanks[starboard].liquid
        volume = 0.3 * min(a.tank.capacity_m3, b.tank.capacity_m3)
        up = np.array([[0.0, 0.0, 1.0]])
        y = [
            float(liquid_in(one.tank, volume_m3=0.5 * one.tank.capacity_m3, normals=up).centroid_m[0, 1])
            for one in (a, b)
        ]
        moment = max(a.density_t_per_m3, b.density_t_per_m3) * volume * (y[0] - y[1])
        walls = [_wall_sided(one.tank) for one in (a, b)]
        judged: dict[str, Judged] = {
            "tanks-wall-sided": "not_known" if None in walls else "met" if all(walls) else "not_met",
            "tanks-opposite": "met",
        }
        conditions = tuple(Condition10(code, words, judged.get(code, "not_known")) for code, words in CONDITIONS)
        found.append(BallastTransfer(port, starboard, volume, moment, at.heel_deg_by(moment), conditions))
    return tuple(sorted(found, key=lambda one: -one.moment_tm))


def _wall_sided(tank: Tank) -> bool | None:
    if tank.solid is None:
        return None
    volumes = tank.capacity_m3 * np.array([0.1, 0.3, 0.5, 0.7, 0.9])
    area = liquid_in(tank, volume_m3=volumes, normals=np.tile([0.0, 0.0, 1.0], (5, 1))).surface_area_m2
    return bool(np.ptp(area) <= WALL_TOLERANCE_RATIO * area.max())


def people_moved(people: People, *, at: Condition, least_ratio: float) -> PeopleMoved:
    """Return what people can do; ``least_ratio`` is the tangent of the least heel."""
    moment = people.count * people.mass_t * people.arm_m
    needed = int(np.ceil(at.moment_tm(least_ratio) / (people.mass_t * people.arm_m) - 1e-9))
    return PeopleMoved(moment, at.heel_deg_by(moment), needed)


def small_heel(*, at: Condition, least_tangent_ratio: float, least_ratio: float, moment_tm: float) -> SmallHeel | None:
    """Return the heel below the least at which the instruments reach their deflection; None where there is none.

    Parameters
    ----------
    least_tangent_ratio : float
        At which enough instruments reach the deflection.
    least_ratio : float
        Tangent of the least heel.
    moment_tm : float
        What the weights give each side. [t·m]
    """
    if not least_tangent_ratio < least_ratio:
        return None
    needed = at.moment_tm(least_tangent_ratio)
    return SmallHeel(float(np.degrees(np.arctan(least_tangent_ratio))), needed, moment_tm >= needed)
