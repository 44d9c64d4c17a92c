r"""Tanks for the test: empty, pressed full, or slack within limits. Layer: engine.planning.

A slack tank's surface must meet neither its top (pocketing) nor its bottom (exposure) at any heel and trim of the test:
then its second moment, hence ρ i, stays that of the level ship. Both are looked for on the tank's real shape: the
surface's plane cuts the tank, and the highest and lowest points of that section are compared with the tank's top and
bottom. For a shape without a flat top and bottom the second sign is the moment of the liquid's true shift, against
:math:`\rho i \sin\varphi\,(1 + \tan^2\varphi/2)` of vertical sides.

Fills: 20 to 80 %, double bottoms 40 to 60 % (IMO 2008 IS Code, B/Annex 1, 2.1.2, from memory); at most one tank on the
centreline, or one pair, of each use (same clause); 98 % is not full (2.1.3).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

import numpy as np

from engine.checks import Floats
from engine.deadline import checkpoint
from engine.geometry.plane import Planes
from engine.liquids.capacity import surface_moments
from engine.liquids.running_shift import running_shift
from engine.liquids.tank import FULL_RATIO, Tank, liquid_in
from engine.planning.predicted import PlannedTank, TankPosition

State = Literal["empty", "full", "slack"]

FILL_PERCENT: dict[TankPosition, tuple[float, float]] = {"deep": (20.0, 80.0), "double_bottom": (40.0, 60.0)}
"""Limits of a slack tank's fill (IMO 2008 IS Code, B/Annex 1, 2.1.2, from memory)."""
SHIFT_LIMIT_PERCENT = 2.0
"""The true shift may differ by this from that of vertical sides before it is told: our choice."""
TOUCH_RATIO = 1e-9
"""Of the tank's depth: how near the surface's edge counts as touching."""
SAME_LIQUID_RATIO = 0.005
"""Densities within this are taken as of one liquid: our choice."""
MOMENT_DECIMALS = 9
"""Moments alike to so many decimals are equal: round-off does not choose between tanks. [t·m]"""
PAIR_RATIO = 0.02
"""Capacities and places of a pair agree within this part: our choice."""


@dataclass(frozen=True)
class Proposal:
    """What would mend a tank.

    Attributes
    ----------
    fill_percent : float
        Fill to bring it to; 0 empty, 100 pressed full.
    volume_change_m3 : float
        Liquid to take aboard (+) or to pump out (−). [m³]
    with_tank : int or None
        Number of a tank of the same liquid that can take it or give it and itself stay within the rules.
    """

    fill_percent: float
    volume_change_m3: float
    with_tank: int | None


@dataclass(frozen=True)
class TankRow:
    """One tank of the plan.

    Attributes
    ----------
    state : {"empty", "full", "slack"}
        As planned.
    fill_percent, least_fill_percent, most_fill_percent : float
        Fill; its limits while slack. [%]
    free_surface_moment_tm : float
        ρ i of the real surface at reading 0. [t·m]
    share_percent : float
        Of the ship's whole free-surface moment. [%]
    rise_m : float
        ρ i / Δ. [m]
    pockets, exposes_bottom : bool or None
        Whether the surface meets the top, the bottom, at some heel of the test; None where the shape is not known.
    shift_deviation_percent : float or None
        True shift at the largest heel over that of vertical sides, less 100; None where it is not slack. [%]
    breaks : tuple of str
        Codes: "fill-out-of-range", "pocketing", "bottom-exposed", "surface-not-regular", "too-many-slack",
        "nearly-full", "nearly-empty".
    proposal : Proposal or None
        Where it breaks a rule and a fill is found that does not.
    """

    state: State
    fill_percent: float
    least_fill_percent: float
    most_fill_percent: float
    free_surface_moment_tm: float
    share_percent: float
    rise_m: float
    pockets: bool | None
    exposes_bottom: bool | None
    shift_deviation_percent: float | None
    breaks: tuple[str, ...]
    proposal: Proposal | None


def plan_tanks(tanks: Sequence[PlannedTank], *, planes: Planes, displacement_t: float) -> tuple[TankRow, ...]:
    """Hold the tanks against the rules.

    Parameters
    ----------
    tanks : sequence of PlannedTank
        As planned.
    planes : Planes
        Of reading 0 first, then of every heel and trim the liquids must bear.
    displacement_t : float
        As tested. [t]

    Returns
    -------
    tuple of TankRow
        In order.
    """
    normals = planes.normals
    moments = [_moment_tm(tank, tank.liquid.volume_m3, normals[:1]) for tank in tanks]
    whole = sum(moments)
    crowded = _crowded(tanks, moments)
    rows = []
    for number, tank in enumerate(tanks):
        checkpoint()
        volume, capacity = tank.liquid.volume_m3, tank.liquid.tank.capacity_m3
        fill, (low, high) = 100 * volume / capacity, FILL_PERCENT[tank.position]
        state = _state(volume, capacity)
        touch = _touches(tank.liquid.tank, volume, normals) if state == "slack" else (False, False)
        deviation = _deviation_percent(tank, volume, normals) if state == "slack" else None
        broken = _breaks(state, fill, low, high, touch, deviation) + (("too-many-slack",) if number in crowded else ())
        rows.append(
            TankRow(
                state=state,
                fill_percent=fill,
                least_fill_percent=low,
                most_fill_percent=high,
                free_surface_moment_tm=moments[number],
                share_percent=100 * moments[number] / whole if whole > 0 else 0.0,
                rise_m=moments[number] / displacement_t,
                pockets=touch[0] if touch else None,
                exposes_bottom=touch[1] if touch else None,
                shift_deviation_percent=deviation,
                breaks=broken,
                proposal=_proposal(tanks, number, normals, crowded=number in crowded) if broken else None,
            )
        )
    return tuple(rows)


def _state(volume: float, capacity: float) -> State:
    if volume <= FULL_RATIO * capacity:
        return "empty"
    return "full" if volume >= (1 - FULL_RATIO) * capacity else "slack"


def _breaks(
    state: State,
    fill: float,
    low: float,
    high: float,
    touch: tuple[bool, bool] | None,
    deviation: float | None,
) -> tuple[str, ...]:
    if state != "slack":
        return ()
    found = []
    if fill >= 98:
        found.append("nearly-full")
    elif fill <= 2:
        found.append("nearly-empty")
    elif not low - 1e-9 <= fill <= high + 1e-9:
        found.append("fill-out-of-range")
    if touch is not None and touch[0]:
        found.append("pocketing")
    if touch is not None and touch[1]:
        found.append("bottom-exposed")
    if touch == (False, False) and deviation is not None and abs(deviation) > SHIFT_LIMIT_PERCENT:
        found.append("surface-not-regular")
    return tuple(found)


def _moment_tm(tank: PlannedTank, volume: float, normals: Floats) -> float:
    lying = liquid_in(tank.liquid.tank, volume_m3=volume, normals=normals)
    return tank.liquid.density_t_per_m3 * float(surface_moments(lying.surface_tensor_m4, normals)[0][0])


def _touches(tank: Tank, volume: float, normals: Floats) -> tuple[bool, bool] | None:
    """Return whether the surface meets the tank's top and its bottom under any normal; None for a table."""
    if tank.solid is None:
        return None
    lying = liquid_in(tank, volume_m3=volume, normals=normals)
    extent = tank.solid.cut(Planes(normals, lying.offsets_m)).waterplane_extent_m
    bottom, top = tank.solid.bounds_m[:, 2]
    near = TOUCH_RATIO * (top - bottom)
    return bool((extent[:, 1, 2] >= top - near).any()), bool((extent[:, 0, 2] <= bottom + near).any())


def _deviation_percent(tank: PlannedTank, volume: float, normals: Floats) -> float | None:
    """Return by how much the true shift at the largest heel differs from that of vertical sides. [%]"""
    tangent = normals[:, 1] / normals[:, 2]
    far = int(np.argmax(np.abs(tangent)))
    if tangent[far] == 0:
        return None
    shift = running_shift(
        tank.liquid.tank,
        volume_m3=volume,
        density_t_per_m3=tank.liquid.density_t_per_m3,
        heel_deg=[float(np.degrees(np.arctan(tangent[far])))],
        slope_ratio=float(normals[far, 0] / normals[far, 2]),
    )
    level = normals[far] * np.array([1.0, 0.0, 1.0])
    small = _moment_tm(tank, volume, (level / np.linalg.norm(level))[None, :])
    if small == 0:
        return None
    walls = small * (1 + 0.5 * float(tangent[far]) ** 2)
    return 100 * (float(shift.effective_free_surface_moment_tm[0]) / walls - 1)


def pairs_of(tanks: Sequence[PlannedTank]) -> tuple[tuple[int, int], ...]:
    """Return port and starboard pairs: equal capacities, the same x and z, opposite y, the port one first."""
    found = []
    for one, other in combinations(range(len(tanks)), 2):
        a, b = tanks[one].liquid.tank, tanks[other].liquid.tank
        size = a.capacity_m3 ** (1 / 3)
        apart = a.full_centroid_m - b.full_centroid_m * np.array([1.0, -1.0, 1.0])
        off_centre = abs(a.full_centroid_m[1]) > PAIR_RATIO * size
        alike = abs(a.capacity_m3 - b.capacity_m3) <= PAIR_RATIO * a.capacity_m3
        if alike and off_centre and np.abs(apart).max() <= PAIR_RATIO * size:
            found.append((one, other) if a.full_centroid_m[1] > 0 else (other, one))
    return tuple(found)


def _crowded(tanks: Sequence[PlannedTank], moments: Sequence[float]) -> frozenset[int]:
    """Return the slack tanks beyond the one tank, or the one pair, allowed for each use stated.

    The one with the largest moment stays, the first of equal ones: it is the hardest to do without.
    """
    slack = [n for n, t in enumerate(tanks) if _state(t.liquid.volume_m3, t.liquid.tank.capacity_m3) == "slack"]
    partner = {a: b for pair in pairs_of(tanks) for a, b in (pair, pair[::-1])}
    crowded: set[int] = set()
    for use in {tanks[n].use for n in slack if tanks[n].use}:
        own = [n for n in slack if tanks[n].use == use]
        units = {frozenset({n, partner[n]}) if partner.get(n) in own else frozenset({n}) for n in own}
        ranked = sorted(units, key=lambda unit: (-round(sum(moments[n] for n in unit), MOMENT_DECIMALS), min(unit)))
        crowded.update(n for unit in ranked[1:] for n in unit)
    return frozenset(crowded)


def _allowed(tank: PlannedTank, volume: float, normals: Floats, *, slack: bool = True) -> bool:
    """Return whether the tank may hold so much."""
    capacity = tank.liquid.tank.capacity_m3
    state = _state(volume, capacity)
    if state != "slack":
        return True
    low, high = FILL_PERCENT[tank.position]
    fill = 100 * volume / capacity
    if not slack or _breaks(state, fill, low, high, None, None):
        return False
    touch = _touches(tank.liquid.tank, volume, normals)
    if _breaks(state, fill, low, high, touch, None):
        return False
    return not _breaks(state, fill, low, high, touch, _deviation_percent(tank, volume, normals))


def _proposal(tanks: Sequence[PlannedTank], number: int, normals: Floats, *, crowded: bool) -> Proposal | None:
    """Return the least change of fill that mends the tank, sooner one that a tank of the same liquid can balance."""
    tank = tanks[number]
    volume, capacity = tank.liquid.volume_m3, tank.liquid.tank.capacity_m3
    low, high = FILL_PERCENT[tank.position]
    fills = [0.0, 100.0] + ([] if crowded else [float(fill) for fill in np.arange(low, high + 0.5, 1.0)])
    fills.sort(key=lambda fill: abs(fill / 100 * capacity - volume))
    partners = _partners(tanks, number)
    first: Proposal | None = None
    for fill in fills:
        checkpoint()
        wanted = capacity if fill == 100 else fill / 100 * capacity
        if not _allowed(tank, wanted, normals, slack=not crowded):
            continue
        change = wanted - volume
        other = _balancing(tanks, partners, change, normals)
        if other is not None or not partners:
            return Proposal(fill, change, other)
        first = first or Proposal(fill, change, None)
    return first


def _partners(tanks: Sequence[PlannedTank], number: int) -> list[int]:
    """Return the other tanks of the same use whose liquid has the same density within 0.5 %."""
    own = tanks[number]
    return [
        other
        for other, tank in enumerate(tanks)
        if other != number
        and tank.use == own.use
        and abs(tank.liquid.density_t_per_m3 / own.liquid.density_t_per_m3 - 1) <= SAME_LIQUID_RATIO
    ]


def _balancing(tanks: Sequence[PlannedTank], partners: Sequence[int], change: float, normals: Floats) -> int | None:
    """Return a partner that can give ``change`` (or take −change) and keep the rules. [m³]"""
    for other in partners:
        tank = tanks[other]
        then, capacity = tank.liquid.volume_m3 - change, tank.liquid.tank.capacity_m3
        if not -1e-9 * capacity <= then <= capacity * (1 + 1e-9):
            continue
        then = min(max(then, 0.0), capacity)
        slack_now = _state(tank.liquid.volume_m3, capacity) == "slack"
        if _allowed(tank, then, normals, slack=slack_now):
            return other
    return None
