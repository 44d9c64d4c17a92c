"""What a judgement against the wind was made of, to be shown beside it. Layer: engine.stability."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from engine.flotation.arm_curve import Side
from engine.rules import RuleSet
from engine.stability.arms import Arms
from engine.stability.criteria import Criterion
from engine.stability.data import StabilityData
from engine.stability.margins import rules_of
from engine.stability.observe import Observation
from engine.stability.table_observe import observation
from engine.stability.table_ship import ArmsByTables
from engine.stability.wind import GUST_RATIO, WIND_PRESSURE_PA, Roll

_SEVERE = ("weather_area_b_m_rad", "weather_area_a_m_rad", "weather_steady_heel_deg", "weather_roll_angle_deg")
_BY_GM = "weather_gm_"


@dataclass(frozen=True)
class SevereWind:
    """Severe wind and rolling of A/2.3, step by step; None where a step is not known or not reached.

    Attributes
    ----------
    pressure_pa : float
        Of the steady wind. [Pa]
    steady_lever_m, gust_lever_m : float
        l_w1, l_w2. [m]
    roll : Roll or None
        φ₁ with its factors.
    steady_heel_deg : float or None
        φ₀; None where she does not stand the wind. [deg]
    end_heel_deg : float or None
        φ₂, where area b ends: flooding, 50° or the second crossing of l_w2. [deg]
    flooding_deg, deck_edge_deg : float or None
        None where she does not flood, where it does not go under, or neither is known. [deg]
    area_a_m_rad, area_b_m_rad : float or None
        [m·rad]
    """

    pressure_pa: float
    steady_lever_m: float
    gust_lever_m: float
    roll: Roll | None
    steady_heel_deg: float | None
    end_heel_deg: float | None
    flooding_deg: float | None
    deck_edge_deg: float | None
    area_a_m_rad: float | None
    area_b_m_rad: float | None


@dataclass(frozen=True)
class Weather:
    """What the wind blows on, and what was made of it.

    Attributes
    ----------
    side : Side
        She is blown to.
    area_m2, lever_m : float
        Lateral area, and the height of its centroid above half the draft. [m², m]
    required_at_heel_deg : float or None
        T of 46 CFR 170.170: 14°, or that immersing half the freeboard; None where no criterion asks. [deg]
    severe_wind : SevereWind or None
        None where no criterion asks.
    """

    side: Side
    area_m2: float
    lever_m: float
    required_at_heel_deg: float | None
    severe_wind: SevereWind | None


def weather_of(
    arms: Arms | ArmsByTables, criteria: Sequence[Criterion], rule_sets: Sequence[RuleSet], data: StabilityData
) -> Weather | None:
    """Return what the wind criteria among some were judged with, on the side of the one by areas.

    Parameters
    ----------
    arms : Arms or ArmsByTables
        As they were judged.
    criteria : sequence of Criterion
        As ``judge`` returned them.
    rule_sets : sequence of RuleSet
        By which.
    data : StabilityData
        Openings, deck edge, wind.

    Returns
    -------
    Weather or None
        None where no criterion asks about the wind, or where nothing is known that it blows on.
    """
    sides = {(one.check.rule_set, one.check.rule): one.side for one in criteria}
    asked = {
        name: sides[key]
        for key, rule in rules_of(rule_sets).items()
        if key in sides
        for needs in (rule.requirement, *rule.alternative)
        for name in needs.quantities
    }
    severe = [asked[name] for name in _SEVERE if name in asked]
    by_gm = [side for name, side in asked.items() if name.startswith(_BY_GM)]
    if not severe and not by_gm:
        return None
    side = (*severe, *by_gm)[0]
    seen = observation(arms, side, data)
    if seen.blown is None:
        return None
    return Weather(
        side=side,
        area_m2=seen.blown[0],
        lever_m=seen.blown[1],
        required_at_heel_deg=seen.weather_heel_deg if by_gm else None,
        severe_wind=_severe_wind(seen) if severe else None,
    )


def _severe_wind(seen: Observation) -> SevereWind | None:
    steady, roll, balance, arms = seen.steady_lever_m, seen.roll, seen.balance, seen.arms
    if steady is None or not len(arms.heel_rad):
        return None
    return SevereWind(
        pressure_pa=WIND_PRESSURE_PA,
        steady_lever_m=steady,
        gust_lever_m=GUST_RATIO * steady,
        roll=roll,
        steady_heel_deg=_finite(seen.steady_heel_deg),
        end_heel_deg=None if balance is None else _finite(balance.end_heel_deg),
        flooding_deg=_finite(seen.flooding_deg),
        deck_edge_deg=_finite(seen.deck_edge_deg),
        area_a_m_rad=None if balance is None else balance.area_a_m_rad,
        area_b_m_rad=None if balance is None else balance.area_b_m_rad,
    )


def _finite(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else value
