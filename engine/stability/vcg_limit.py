"""The largest height of the centre of gravity that meets every criterion. Layer: engine.stability.

For one ship the margins of all criteria are first followed over the height by cross curves, ``Arms.raised``: no hull is
cut. The step from met to not met that this finds is the start of the root proper: there the arms are computed anew,
free to trim, and the root is found again on the first order about them, ``Arms.loaded``. Once that is so near that what
the first order leaves out is nothing, ``NEAR_M``, its arms are the answer; else the arms are computed anew there.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache, partial

import numpy as np
from numpy.typing import ArrayLike

from engine.checks import Floats, finite, positive
from engine.deadline import checkpoint
from engine.errors import EngineError, InputError, NotDeterminedError
from engine.findings import Finding
from engine.flotation.arm_curve import Side
from engine.flotation.equilibrium import equilibrium
from engine.flotation.held_heel import ROW_CODES
from engine.geometry.cut import Solid
from engine.geometry.level import level
from engine.geometry.plane import Planes
from engine.rules import Check, RuleSet
from engine.stability.arms import Arms
from engine.stability.criteria import Criterion, judge, sides_of
from engine.stability.data import StabilityData
from engine.stability.limit_search import around, bracket, last_met
from engine.stability.margins import Margins, rules_of
from engine.stability.ship import Ship
from engine.stability.table_observe import immersion, observation
from engine.stability.table_ship import ArmsByTables, TableShip, TablesOfShip, table_ship

NEAR_M = 1e-4
"""Of the first order of so small a rise nothing is missing but some parts of its square, 1e-8 m."""
LEAST_MARGIN, GREATEST_MARGIN = 1e-10, 1e-8
"""The root is found where the governing margin, in its unit, lies within these."""
JUMP = 1e-6
"""A governing margin at the limit larger than this means that it jumps there rather than passes through zero."""

_ROUNDS = 15
_ROW_LIMIT_CODES = ("sinks", "no-vcg-meets", "no-upper-vcg-limit", "no-criterion-assessed", "beyond-tables", *ROW_CODES)


@dataclass(frozen=True, eq=False)
class VcgLimit:
    """A limit and what sets it.

    Attributes
    ----------
    vcg_m : float
        Largest height of the centre of gravity, liquids taken where they lie (solid). [m]
    governing : Criterion
        The criterion that fails first above it; its margin here is 0 unless it jumps.
    arms : Arms or ArmsByTables
        At the limit.
    not_assessed : tuple of Check
        Criteria that could not be assessed and are not in the limit.
    findings : tuple of Finding
        "vcg-limit-jumps", "vcg-limit-not-unique", "vcg-too-low-fails", and those of the criteria.
    """

    vcg_m: float
    governing: Criterion
    arms: Arms | ArmsByTables
    not_assessed: tuple[Check, ...]
    findings: tuple[Finding, ...]


def vcg_limit(
    ship: Ship | TableShip,
    *,
    rule_sets: Sequence[RuleSet],
    data: StabilityData,
    arms: Arms | ArmsByTables | None = None,
) -> VcgLimit:
    """Return the limit of one ship: displacement, LCG (or trim, see ``Ship.rise_direction``) and TCG are kept.

    Parameters
    ----------
    ship : Ship or TableShip
        At any height of the centre.
    rule_sets : sequence of RuleSet
        Criteria, all of which must be met.
    data : StabilityData
        Openings, deck edge, wind.
    arms : Arms or ArmsByTables, optional
        Of the ship as given, if they are known.

    Raises
    ------
    NotDeterminedError
        "no-criterion-assessed"; "no-vcg-meets": a criterion fails at every height from the bottom of the hull up;
        "no-upper-vcg-limit": none fails up to well above the metacentre and the deck; "vcg-limit-not-converged";
        "beyond-tables": the cross curves end too early to tell; as ``Ship.arms``.
    InputError
        As ``judge``.

    Notes
    -----
    Where a criterion also fails at lower heights, the limit is the top of the lowest range that meets all, and a
    finding says so.
    """
    rules = rules_of(rule_sets)
    now: Arms | ArmsByTables = arms or ship.arms()
    planes_held = {side: immersion(now, side, data) for side in sides_of(now, data)}

    @cache
    def by_cross_curves(rise_m: float, now: Arms | ArmsByTables = now) -> Margins:
        risen = now.raised(rise_m)
        return Margins([observation(risen, side, data, held=one) for side, one in planes_held.items()], rules)

    ends, found = bracket(by_cross_curves, now, ship.heights_m)
    rise = step = last_met(by_cross_curves, *ends)
    for _ in range(_ROUNDS):
        checkpoint()
        now = _arms(ship.raised(rise), _risen(now, ship, step))
        sides = sides_of(now, data)
        margins = Margins([observation(now, side, data) for side in sides], rules)
        if -LEAST_MARGIN <= margins.worst() <= GREATEST_MARGIN:
            return _limit(now, margins, rule_sets, data, found)

        @cache
        def near(rise_m: float, now: Arms | ArmsByTables = now, sides: Sequence[Side] = sides) -> Margins:
            risen = _risen(now, ship, rise_m)
            return Margins([observation(risen, side, data) for side in sides], rules)

        step = last_met(near, *around(near, max(1e-9, 1e-3 * abs(step))))
        if abs(step) <= NEAR_M:
            return _limit(_risen(now, ship, step), near(step), rule_sets, data, found)
        rise += step
    raise NotDeterminedError(
        f"the limit still moves after {_ROUNDS} computations of the arms", code="vcg-limit-not-converged"
    )


def _arms(ship: Ship | TableShip, start: Arms | ArmsByTables) -> Arms | ArmsByTables:
    """Return the arms of a ship nearly that of ``start``."""
    if isinstance(ship, Ship):
        assert isinstance(start, Arms)
        return ship.arms(start=start)
    return ship.arms()


def _risen(arms: Arms | ArmsByTables, ship: Ship | TableShip, rise_m: float) -> Arms | ArmsByTables:
    """Return the arms to the first order of a rise of the ship's centre."""
    return arms.loaded(moment_tm=rise_m * arms.displacement_t * ship.rise_direction)


def _limit(
    arms: Arms | ArmsByTables,
    margins: Margins,
    rule_sets: Sequence[RuleSet],
    data: StabilityData,
    found: tuple[Finding, ...],
) -> VcgLimit:
    criteria, noticed = judge(arms, rule_sets, data)
    by_key = {(one.check.rule_set, one.check.rule): one for one in criteria}
    every = margins.every()
    if margins.worst() > JUMP and margins.undecided():
        raise NotDeterminedError(
            f"above a VCG of {arms.vcg_m:.6g} m a criterion fails; below it, what lies beyond the cross curves decides",
            code="beyond-tables",
            field="rules",
        )
    governing = min(every, key=lambda key: every[key])
    if abs(every[governing]) > JUMP:
        words = f"the governing criterion jumps at the limit: its margin there is {every[governing]:.6g}"
        found = (*found, Finding("vcg-limit-jumps", words))
    return VcgLimit(
        vcg_m=arms.vcg_m,
        governing=by_key[governing],
        arms=arms,
        not_assessed=tuple(one.check for one in criteria if one.check.outcome == "not_assessed"),
        findings=(*found, *(replace(one, message=f"at the limit of VCG, {one.message}") for one in noticed)),
    )


@dataclass(frozen=True, eq=False)
class LimitRow:
    """One displacement and trim or LCG of a table; ``limit`` is None where ``code`` and ``reason`` say why."""

    displacement_t: float
    trim_m: float | None
    lcg_m: float | None
    limit: VcgLimit | None
    code: str = ""
    reason: str = ""


def vcg_limit_table(
    *,
    solid: Solid | TablesOfShip,
    density_t_per_m3: float,
    length_bp_m: float,
    displacement_t: ArrayLike,
    trim_m: ArrayLike | None = None,
    lcg_m: ArrayLike | None = None,
    rule_sets: Sequence[RuleSet],
    data: StabilityData,
    free_surface_tm: float = 0.0,
) -> tuple[LimitRow, ...]:
    """Return limits over displacement and trim or LCG, the latter fastest.

    Parameters
    ----------
    solid, density_t_per_m3, length_bp_m
        Hull, or the tables that stand for it, and water. [t/m³, m]
    displacement_t : (n,)
        [t]
    trim_m, lcg_m : (m,)
        One of the two: the trim she has upright, whatever her VCG, or her LCG. [m]
    rule_sets, data
        As ``vcg_limit``.
    free_surface_tm : float
        Correction: the limit is that of the solid centre. [t·m]

    Raises
    ------
    InputError
        "trim-or-lcg"; "not-positive", "not-finite"; as ``vcg_limit``.
    """
    given = trim_m if lcg_m is None else lcg_m
    if given is None or (trim_m is not None and lcg_m is not None):
        raise InputError("either trims or LCGs are needed", code="trim-or-lcg", field="trim_m")
    water = positive(density_t_per_m3, field="density_t_per_m3", unit="t/m³")
    masses = [positive(float(one), field="displacement_t", unit="t") for one in np.atleast_1d(displacement_t)]
    make: Callable[[float, float | None, float | None], Ship | TableShip]
    if isinstance(solid, TablesOfShip):
        make = partial(table_ship, solid, water, free_surface_tm)
    else:
        make = partial(_ship, solid, water, length_bp_m, free_surface_tm)
    rows = []
    for mass in masses:
        for value in np.atleast_1d(finite(given, field="trim_m" if lcg_m is None else "lcg_m")).tolist():
            checkpoint()
            trim, lcg = (value, None) if lcg_m is None else (None, value)
            try:
                limit = vcg_limit(make(mass, trim, lcg), rule_sets=rule_sets, data=data)
            except EngineError as error:
                if error.code not in _ROW_LIMIT_CODES:
                    raise
                rows.append(LimitRow(mass, trim, lcg, None, error.code, error.message))
            else:
                rows.append(LimitRow(mass, trim, lcg, limit))
    if rows and all(row.code == "no-criterion-assessed" for row in rows):
        raise NotDeterminedError(rows[0].reason, code="no-criterion-assessed", field="rules")
    return tuple(rows)


def _ship(
    solid: Solid,
    density: float,
    length: float,
    free_surface_tm: float,
    mass_t: float,
    trim_m: float | None,
    lcg_m: float | None,
) -> Ship:
    """Return a ship upright at a trim or with an LCG, her centre at 60 % of the hull's height."""
    bottom, top = solid.bounds_m[:, 2].tolist()
    height = bottom + 0.6 * (top - bottom)
    if mass_t >= density * solid.volume_m3:
        raise NotDeterminedError(
            f"she sinks: {mass_t:.6g} t, the whole hull displaces {density * solid.volume_m3:.6g} t",
            code="sinks",
            field="displacement_t",
            value=mass_t,
        )
    up: Floats = np.array([0.0, 0.0, 1.0])
    if trim_m is not None:
        up = np.array([trim_m / length, 0.0, 1.0])
        normal = up / np.linalg.norm(up)
        offset = level(solid, normals=normal[None, :], volumes_m3=np.array([mass_t / density]))
        buoyancy = solid.cut(Planes(normal[None, :], offset)).centroid_m[0]
        centre = buoyancy + (height - buoyancy[2]) * up
    else:
        at = equilibrium(
            solid=solid,
            density_t_per_m3=density,
            mass_t=mass_t,
            centre_m=[lcg_m, 0.0, height],
            start=Planes.from_angles(heel_deg=0.0, offsets_m=0.0),
            hold="heel",
        )
        centre = np.array([lcg_m, at.cuts.centroid_m[0, 1], height])
    return Ship(
        solid=solid,
        density_t_per_m3=density,
        length_bp_m=length,
        mass_t=mass_t,
        centre_m=centre,
        free_surface_tm=free_surface_tm,
        rise_direction=up,
    )
