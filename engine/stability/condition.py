"""Loading conditions: lightship, items and tanks, afloat and held against criteria. Layer: engine.stability."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from engine.checks import Floats
from engine.deadline import checkpoint
from engine.errors import EngineError, InputError, NotDeterminedError
from engine.findings import Finding
from engine.flotation.at_rest import of_rest
from engine.flotation.equilibrium import Equilibrium, equilibrium
from engine.geometry.cut import Solid
from engine.lightship.derivation import Mass
from engine.liquids import Liquid
from engine.rules import RuleSet
from engine.stability.arms import Arms
from engine.stability.criteria import Criterion, judge
from engine.stability.data import NOTHING_KNOWN, StabilityData
from engine.stability.free_surface import Counted, FreeSurfaceRule, TankLoad, counted_surfaces, surfaces_as_filled
from engine.stability.load_list import Load, load_list
from engine.stability.rest import Rest, rest_of
from engine.stability.ship import Ship
from engine.stability.table_ship import ArmsByTables, TableShip, TablesOfShip
from engine.stability.vcg_limit import VcgLimit, vcg_limit
from engine.stability.verdict import Certainty, certainty
from engine.stability.weather import Weather, weather_of

_UP = np.array([[0.0, 0.0, 1.0]])


@dataclass(frozen=True, eq=False)
class LoadingCondition:
    """What comes on top of the lightship.

    Attributes
    ----------
    items : tuple of Mass
        Cargo, stores, crew, effects; a negative mass is taken off.
    loads : tuple of TankLoad
        Tanks and all that is in them.
    data : StabilityData or None
        Openings, deck edge and wind of this condition, where they are not those of the ship.
    """

    items: tuple[Mass, ...] = ()
    loads: tuple[TankLoad, ...] = ()
    data: StabilityData | None = None


@dataclass(frozen=True, eq=False)
class ShipData:
    """What all conditions share.

    Attributes
    ----------
    hull : Solid or TablesOfShip
        The hull, or the tables that stand for it.
    density_t_per_m3 : float
        Water she will float in. [t/m³]
    length_bp_m : float
        [m]
    data : StabilityData
        Openings, deck edge, wind.
    free_surface : {"actual", "us_46_cfr_170_285", "imo_is_code_b3"}
        How free surfaces are allowed for; by tables "actual" is a correction for the surfaces as filled.
    minimum_displacement_t : float or None
        For the Code's rule on small tanks. [t]
    """

    hull: Solid | TablesOfShip
    density_t_per_m3: float
    length_bp_m: float
    data: StabilityData = NOTHING_KNOWN
    free_surface: FreeSurfaceRule = "actual"
    minimum_displacement_t: float | None = None


@dataclass(frozen=True, eq=False)
class Assessed:
    """One condition.

    Attributes
    ----------
    position : Equilibrium or None
        Where she floats, free to heel and trim; None by tables.
    rest : Rest
        The same in numbers.
    arms : Arms or ArmsByTables
        Her righting arms.
    counted : tuple of Counted
        Free surfaces corrected for; empty where the liquids are run.
    criteria : tuple of Criterion
        In the order of the sets and rules.
    limit : VcgLimit or None
        At this displacement, LCG and TCG; None where ``limit_code`` and ``limit_reason`` say why.
    certainty : Certainty or None
        Margins in standard uncertainties of the lightship; None without a covariance.
    findings : tuple of Finding
        "condition-lists", and those of the criteria.
    loads : tuple of Load
        The condition line by line.
    weather : Weather or None
        What criteria on the wind were judged with.
    """

    position: Equilibrium | None
    rest: Rest
    arms: Arms | ArmsByTables
    counted: tuple[Counted, ...]
    criteria: tuple[Criterion, ...]
    limit: VcgLimit | None
    limit_code: str
    limit_reason: str
    certainty: Certainty | None
    findings: tuple[Finding, ...]
    loads: tuple[Load, ...]
    weather: Weather | None

    @property
    def vcg_margin_m(self) -> float | None:
        """Limit less VCG. [m]"""
        return None if self.limit is None else self.limit.vcg_m - self.arms.vcg_m

    @property
    def gm_fluid_m(self) -> float:
        """At the floating position, free surfaces allowed for; upright by tables. [m]"""
        return self.rest.gm_fluid_m

    @property
    def gm_solid_m(self) -> float:
        """The same without free surfaces. [m]"""
        return self.rest.gm_solid_m


@dataclass(frozen=True, eq=False)
class NotAssessed:
    """A condition that could not be: she sinks, she has no stable position."""

    error: EngineError


LIST_LIMIT_DEG = 0.5
"""A condition that floats with more list than this gets a finding: our choice."""


def assess_conditions(
    *,
    ship: ShipData,
    lightship: Mass,
    conditions: Sequence[LoadingCondition],
    rule_sets: Sequence[RuleSet],
    lightship_covariance: ArrayLike | None = None,
) -> tuple[Assessed | NotAssessed, ...]:
    """Return what comes of each condition.

    Parameters
    ----------
    ship : ShipData
        Hull, water, data, rule for free surfaces.
    lightship : Mass
        Its mass and centre. [t, m]
    conditions : sequence of LoadingCondition
        Any number.
    rule_sets : sequence of RuleSet
        Criteria of the subject "stability".
    lightship_covariance : (4, 4), optional
        Of mass [t], x, y and z [m], in this order.

    Raises
    ------
    InputError
        As ``judge``, ``ship_in``; a fault of one condition is placed below its number.
    """
    results: list[Assessed | NotAssessed] = []
    for number, condition in enumerate(conditions):
        checkpoint()
        try:
            results.append(_assess(ship, lightship, condition, rule_sets, lightship_covariance))
        except InputError as error:
            raise error if error.field.startswith("rules") else error.at(str(number)) from error
        except EngineError as error:
            results.append(NotAssessed(error))
    return tuple(results)


def ship_in(
    ship: ShipData, lightship: Mass, condition: LoadingCondition
) -> tuple[Ship | TableShip, tuple[Counted, ...]]:
    """Return the ship in a condition, and the free surfaces corrected for.

    Raises
    ------
    InputError
        "not-positive": nothing is left of her mass; as ``liquid_in`` for a tank.
    """
    masses = [lightship, *condition.items]
    by_tables = isinstance(ship.hull, TablesOfShip)
    runs = ship.free_surface == "actual" and not by_tables
    loads = [load for load in condition.loads if load.volume_m3 > 0]
    masses += [_in_lightship(load) for load in condition.loads if load.lightship_volume_m3 > 0]
    if not runs:
        masses += [Mass(load.liquid.mass_t, load.liquid.at(_UP).centroid_m[0]) for load in loads]
    total = sum(mass.mass_t for mass in masses)
    if total <= 0:
        raise InputError("the total mass must be above 0 t", code="not-positive", field="items", value=total, limit=0.0)
    moment: Floats = sum((mass.moment_tm for mass in masses), start=np.zeros(3))
    if by_tables and ship.free_surface == "actual":
        counted = surfaces_as_filled(condition.loads)
    else:
        counted = counted_surfaces(
            condition.loads, rule=ship.free_surface, minimum_displacement_t=ship.minimum_displacement_t
        )
    surface = sum(one.moment_tm for one in counted)
    if isinstance(ship.hull, TablesOfShip):
        made = TableShip(ship.hull, ship.density_t_per_m3, total, moment / total, free_surface_tm=surface)
        return made, counted
    return Ship(
        solid=ship.hull,
        density_t_per_m3=ship.density_t_per_m3,
        length_bp_m=ship.length_bp_m,
        mass_t=total,
        centre_m=moment / total,
        liquids=tuple(load.liquid for load in loads) if runs else (),
        free_surface_tm=surface,
    ), counted


def _in_lightship(load: TankLoad) -> Mass:
    """Return what the lightship holds of a tank's liquid, to be taken off: the tank has its own."""
    part = Liquid(load.tank, load.lightship_volume_m3, load.density_t_per_m3)
    return Mass(-part.mass_t, part.at(_UP).centroid_m[0])


def _assess(
    ship: ShipData,
    lightship: Mass,
    condition: LoadingCondition,
    rule_sets: Sequence[RuleSet],
    covariance: ArrayLike | None,
) -> Assessed:
    afloat, counted = ship_in(ship, lightship, condition)
    data = condition.data or ship.data
    position, arms, rest = _afloat(afloat, counted)
    criteria, found = judge(arms, rule_sets, data)
    if isinstance(arms, ArmsByTables):
        found = (*_of_tables(arms, ship, counted), *found)
    if rest.heel_deg is not None and abs(rest.heel_deg) > LIST_LIMIT_DEG:
        found = (Finding("condition-lists", f"she lies at {rest.heel_deg:.6g}° of list in this condition"), *found)
    if rest.heel_deg is not None:
        found = (*of_rest(rest.heel_deg, upright_gm_m=arms.gm_fluid_m), *found)
    limit, code, reason = None, "", ""
    try:
        limit = vcg_limit(afloat, rule_sets=rule_sets, data=data, arms=arms)
    except InputError:
        raise
    except EngineError as error:
        code, reason = error.code, error.message
    known = None
    if covariance is not None:
        try:
            known = certainty(
                lightship=lightship,
                covariance=covariance,
                rule_sets=rule_sets,
                data=data,
                arms=arms,
                criteria=criteria,
                limit=limit,
            )
        except NotDeterminedError as error:  # tables that end within a standard uncertainty
            found = (*found, Finding(error.code, f"standard uncertainties are left out: {error.message}"))
    loads = load_list(
        lightship=lightship, items=condition.items, loads=condition.loads, upright=_surfaces(afloat, arms)
    )
    weather = weather_of(arms, criteria, rule_sets, data)
    return Assessed(position, rest, arms, counted, criteria, limit, code, reason, known, found, loads, weather)


def _afloat(
    ship: Ship | TableShip, counted: tuple[Counted, ...]
) -> tuple[Equilibrium | None, Arms | ArmsByTables, Rest]:
    """Return where she floats, as found and in numbers, and her arms."""
    if isinstance(ship, TableShip):
        by_tables = ship.arms()
        return None, by_tables, by_tables.rest()
    position = equilibrium(
        solid=ship.solid,
        density_t_per_m3=ship.density_t_per_m3,
        mass_t=ship.mass_t,
        centre_m=ship.centre_m,
        liquids=ship.liquids,
    )
    arms = ship.arms(near=position)
    corrected = sum(one.moment_tm for one in counted) / arms.displacement_t
    return position, arms, rest_of(position, length_bp_m=ship.length_bp_m, corrected_m=corrected)


def _surfaces(ship: Ship | TableShip, arms: Arms | ArmsByTables) -> Floats:
    """Return the (1, 3) normal of the liquids' surfaces in the centre of gravity: her upright plane where they run."""
    if isinstance(ship, Ship) and isinstance(arms, Arms) and ship.liquids:
        return np.asarray(arms.planes.normals[arms.upright_row][None, :])
    return _UP


def _of_tables(arms: ArmsByTables, ship: ShipData, counted: tuple[Counted, ...]) -> tuple[Finding, ...]:
    """Return what tables leave out of a condition."""
    told = arms.findings()
    if counted and ship.free_surface == "actual":
        words = "liquids are not made to run: the free surfaces as filled are corrected for"
        told = (*told, Finding("tables-no-geometry", words))
    return told
