"""Loading conditions: lightship, items and tanks, afloat and held against criteria. Layer: engine.stability."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from engine.checks import Floats
from engine.deadline import checkpoint
from engine.errors import EngineError, InputError
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
from engine.stability.free_surface import Counted, FreeSurfaceRule, TankLoad, counted_surfaces
from engine.stability.ship import Ship
from engine.stability.vcg_limit import VcgLimit, vcg_limit
from engine.stability.verdict import Certainty, certainty

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
    hull : Solid
        The hull.
    density_t_per_m3 : float
        Water she will float in. [t/m³]
    length_bp_m : float
        [m]
    data : StabilityData
        Openings, deck edge, wind.
    free_surface : {"actual", "us_46_cfr_170_285", "imo_is_code_b3"}
        How free surfaces are allowed for.
    minimum_displacement_t : float or None
        For the Code's rule on small tanks. [t]
    """

    hull: Solid
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
    position : Equilibrium
        Where she floats, free to heel and trim.
    arms : Arms
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
    """

    position: Equilibrium
    arms: Arms
    counted: tuple[Counted, ...]
    criteria: tuple[Criterion, ...]
    limit: VcgLimit | None
    limit_code: str
    limit_reason: str
    certainty: Certainty | None
    findings: tuple[Finding, ...]

    @property
    def vcg_margin_m(self) -> float | None:
        """Limit less VCG. [m]"""
        return None if self.limit is None else self.limit.vcg_m - self.arms.vcg_m

    @property
    def gm_fluid_m(self) -> float:
        """At the floating position, free surfaces allowed for. [m]"""
        corrected_tm = sum(one.moment_tm for one in self.counted)
        return float(self.position.gm_fluid_m[0]) - corrected_tm / self.arms.displacement_t

    @property
    def gm_solid_m(self) -> float:
        """At the floating position, without free surfaces. [m]"""
        return float(self.position.gm_fluid_m[0] + self.position.free_surface_tm[0] / self.position.mass_t[0])


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


def ship_in(ship: ShipData, lightship: Mass, condition: LoadingCondition) -> tuple[Ship, tuple[Counted, ...]]:
    """Return the ship in a condition, and the free surfaces corrected for.

    Raises
    ------
    InputError
        "not-positive": nothing is left of her mass; as ``liquid_in`` for a tank.
    """
    masses = [lightship, *condition.items]
    runs = ship.free_surface == "actual"
    loads = [load for load in condition.loads if load.volume_m3 > 0]
    masses += [_in_lightship(load) for load in condition.loads if load.lightship_volume_m3 > 0]
    if not runs:
        masses += [Mass(load.liquid.mass_t, load.liquid.at(_UP).centroid_m[0]) for load in loads]
    total = sum(mass.mass_t for mass in masses)
    if total <= 0:
        raise InputError("the total mass must be above 0 t", code="not-positive", field="items", value=total, limit=0.0)
    moment: Floats = sum((mass.moment_tm for mass in masses), start=np.zeros(3))
    counted = counted_surfaces(
        condition.loads, rule=ship.free_surface, minimum_displacement_t=ship.minimum_displacement_t
    )
    made = Ship(
        solid=ship.hull,
        density_t_per_m3=ship.density_t_per_m3,
        length_bp_m=ship.length_bp_m,
        mass_t=total,
        centre_m=moment / total,
        liquids=tuple(load.liquid for load in loads) if runs else (),
        free_surface_tm=sum(one.moment_tm for one in counted),
    )
    return made, counted


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
    position = equilibrium(
        solid=afloat.solid,
        density_t_per_m3=afloat.density_t_per_m3,
        mass_t=afloat.mass_t,
        centre_m=afloat.centre_m,
        liquids=afloat.liquids,
    )
    arms = afloat.arms(near=position)
    criteria, found = judge(arms, rule_sets, data)
    heel = float(position.planes.heel_deg[0])
    if abs(heel) > LIST_LIMIT_DEG:
        found = (Finding("condition-lists", f"she lies at {heel:.6g}° of list in this condition"), *found)
    found = (*of_rest(heel, upright_gm_m=arms.gm_fluid_m), *found)
    limit, code, reason = None, "", ""
    try:
        limit = vcg_limit(afloat, rule_sets=rule_sets, data=data, arms=arms)
    except InputError:
        raise
    except EngineError as error:
        code, reason = error.code, error.message
    known = None
    if covariance is not None:
        known = certainty(
            lightship=lightship,
            covariance=covariance,
            rule_sets=rule_sets,
            data=data,
            arms=arms,
            criteria=criteria,
            limit=limit,
        )
    return Assessed(position, arms, counted, criteria, limit, code, reason, known, found)
