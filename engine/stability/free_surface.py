"""What free surfaces count in a loading condition, by rule. Layer: engine.stability.

References
----------
.. [1] 46 CFR 170.285: read in a copy ("those having the greatest free surface effect").
.. [2] 2008 IS Code, MSC.267(85), Part B, 3.1: contents read in a copy, the place from memory. 3.1.12, small tanks:
   the number from memory.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from engine.checks import Floats
from engine.liquids import Liquid, is_small_tank, running_shift
from engine.liquids.capacity import surface_moments
from engine.liquids.tank import FULL_RATIO, Tank, liquid_in

FreeSurfaceRule = Literal["actual", "us_46_cfr_170_285", "imo_is_code_b3"]

IMO_FULL_RATIO = 0.98
CARGO_HEEL_DEG = 5.0
PAIR_TOLERANCE_M = 0.1
PAIR_CAPACITY_RATIO = 0.01
"""Two tanks of one liquid are a transverse pair if they mirror each other within these: our choice."""

_UP = np.array([[0.0, 0.0, 1.0]])
_FILLS = np.linspace(0.0, 1.0, 101)[1:-1]


@dataclass(frozen=True, eq=False)
class TankLoad:
    """A tank in a loading condition.

    Attributes
    ----------
    tank : Tank
        The tank.
    volume_m3 : float
        Liquid in it. [m³]
    density_t_per_m3 : float
        Of the liquid. [t/m³]
    consumable : str or None
        Name of the consumable liquid it holds, such as "fuel"; None for any other.
    cargo : bool
        A cargo tank, which counts under the Code even where nominally full.
    lightship_volume_m3 : float
        Part of the liquid that the lightship holds already, at rest in the upright tank. [m³]
    """

    tank: Tank
    volume_m3: float
    density_t_per_m3: float
    consumable: str | None = None
    cargo: bool = False
    lightship_volume_m3: float = 0.0

    @property
    def fill_ratio(self) -> float:
        """Liquid over capacity."""
        return self.volume_m3 / self.tank.capacity_m3

    @property
    def liquid(self) -> Liquid:
        """The liquid, to be run."""
        return Liquid(self.tank, self.volume_m3, self.density_t_per_m3)


@dataclass(frozen=True)
class Counted:
    """Tanks, by number, whose surface was counted, with the moment. [t·m]"""

    tanks: tuple[int, ...]
    moment_tm: float


def counted_surfaces(
    loads: Sequence[TankLoad], *, rule: FreeSurfaceRule, minimum_displacement_t: float | None = None
) -> tuple[Counted, ...]:
    """Return the free-surface moments to be corrected for; none by "actual", where liquids are run instead.

    Parameters
    ----------
    loads : sequence of TankLoad
        All tanks of the condition. An empty one is a candidate for the worst pair where another of its liquid is not.
    rule : {"actual", "us_46_cfr_170_285", "imo_is_code_b3"}
        46 CFR 170.285: for each consumable liquid aboard the transverse pair or single tank of the greatest effect, at
        its greatest; the greatest effect of every other tank that is partly filled. IS Code B/3.1: the same for
        consumables; of other tanks those under 98 %, at the level they are filled to; nominally full cargo tanks at
        98 % and 5° of heel.
    minimum_displacement_t : float, optional
        Under the Code a tank whose tabular moment at 30° is below 0.01 m of this is left out (3.1.12). [t]
    """
    if rule == "actual":
        return ()
    found = []
    kinds = dict.fromkeys(load.consumable for load in loads if load.consumable is not None and load.volume_m3 > 0)
    for kind in kinds:
        numbers = [i for i, load in enumerate(loads) if load.consumable == kind]
        units = [
            Counted(unit, sum(greatest_moment_tm(loads[i]) for i in unit)) for unit in transverse_units(loads, numbers)
        ]
        found.append(max(units, key=lambda one: one.moment_tm))
    for i, load in enumerate(loads):
        if load.consumable is None and load.volume_m3 > 0:
            moment = _other_us(load) if rule == "us_46_cfr_170_285" else _other_imo(load, minimum_displacement_t)
            if moment > 0:
                found.append(Counted((i,), moment))
    return tuple(found)


def surfaces_as_filled(loads: Sequence[TankLoad]) -> tuple[Counted, ...]:
    """Return the moment of every surface there is, in the upright tank as filled: for liquids that cannot be run."""
    moments = [moment_at_fill_tm(load) if load.volume_m3 > 0 else 0.0 for load in loads]
    return tuple(Counted((i,), moment) for i, moment in enumerate(moments) if moment > 0)


def greatest_moment_tm(load: TankLoad) -> float:
    """Return the greatest ρ i of the upright tank over its levels, at every hundredth of its capacity. [t·m]"""
    volumes = _FILLS * load.tank.capacity_m3
    return float(_moments_tm(load, volumes).max())


def moment_at_fill_tm(load: TankLoad) -> float:
    """Return ρ i of the upright tank as filled. [t·m]"""
    return float(_moments_tm(load, np.array([load.volume_m3]))[0])


def transverse_units(loads: Sequence[TankLoad], numbers: Sequence[int]) -> tuple[tuple[int, ...], ...]:
    """Return tanks as transverse pairs, and alone those without a partner."""
    left = list(numbers)
    units: list[tuple[int, ...]] = []
    while left:
        one = left.pop(0)
        partner = next((other for other in left if _is_pair(loads[one].tank, loads[other].tank)), None)
        if partner is None:
            units.append((one,))
        else:
            left.remove(partner)
            units.append((one, partner))
    return tuple(units)


def _moments_tm(load: TankLoad, volumes_m3: Floats) -> Floats:
    normals = np.tile(_UP, (len(volumes_m3), 1))
    lying = liquid_in(load.tank, volume_m3=volumes_m3, normals=normals)
    return load.density_t_per_m3 * surface_moments(lying.surface_tensor_m4, normals)[0]


def _is_pair(one: Tank, other: Tank) -> bool:
    a, b = one.full_centroid_m, other.full_centroid_m * np.array([1.0, -1.0, 1.0])
    off_centre = abs(a[1]) > PAIR_TOLERANCE_M
    alike = abs(one.capacity_m3 / other.capacity_m3 - 1.0) <= PAIR_CAPACITY_RATIO
    return bool(off_centre and alike and np.abs(a - b).max() <= PAIR_TOLERANCE_M)


def _other_us(load: TankLoad) -> float:
    return greatest_moment_tm(load) if load.fill_ratio < 1.0 - FULL_RATIO else 0.0


def _other_imo(load: TankLoad, minimum_displacement_t: float | None) -> float:
    if minimum_displacement_t is not None and _is_small(load, minimum_displacement_t):
        return 0.0
    if load.fill_ratio < IMO_FULL_RATIO:
        return moment_at_fill_tm(load)
    if not load.cargo:
        return 0.0
    shift = running_shift(
        load.tank,
        volume_m3=IMO_FULL_RATIO * load.tank.capacity_m3,
        density_t_per_m3=load.density_t_per_m3,
        heel_deg=CARGO_HEEL_DEG,
    )
    return float(shift.effective_free_surface_moment_tm[0])


def _is_small(load: TankLoad, minimum_displacement_t: float) -> bool:
    if load.tank.solid is None:
        return False
    length, breadth, height = np.ptp(load.tank.solid.bounds_m, axis=0).tolist()
    return is_small_tank(
        capacity_m3=load.tank.capacity_m3,
        length_m=length,
        breadth_m=breadth,
        height_m=height,
        density_t_per_m3=load.density_t_per_m3,
        minimum_displacement_t=minimum_displacement_t,
    )
