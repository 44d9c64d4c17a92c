"""What criteria on the wind were judged with. Layer: service.schemas."""

import math
from typing import Literal

from engine.stability import Weather
from engine.stability.weather import SevereWind
from service.edge.model import Model


class RollAnswer(Model):
    """The roll to windward by A/2.3.4: the factors, and what they were found with."""

    angle_deg: float
    """φ₁ = 109 k X₁ X₂ √(r s)."""
    x1_ratio: float
    """By breadth over draft."""
    x2_ratio: float
    """By the block coefficient."""
    k_ratio: float
    """By bilge keels, or 0.7 for sharp bilges."""
    r_ratio: float
    """0.73 + 0.6 OG/d."""
    s_ratio: float
    """By the period."""
    period_s: float | None = None
    """T of the formula; none without a positive GM."""
    breadth_m: float
    """Of the waterline."""
    draft_m: float
    length_waterline_m: float
    block_coefficient: float


class SevereWindAnswer(Model):
    """Severe wind and rolling of A/2.3, step by step; what is not known or not reached is left out."""

    pressure_pa: float
    """Of the steady wind."""
    steady_lever_m: float
    """l_w1 = P A Z / (1000 g Δ)."""
    gust_lever_m: float
    """l_w2 = 1.5 l_w1."""
    steady_heel_deg: float | None = None
    """φ₀."""
    roll: RollAnswer | None = None
    end_heel_deg: float | None = None
    """φ₂, where area b ends: flooding, 50°, or where the arms fall below the lever of the gust."""
    flooding_deg: float | None = None
    deck_edge_deg: float | None = None
    """Heel at which the deck edge goes under."""
    area_a_m_rad: float | None = None
    area_b_m_rad: float | None = None


class WeatherAnswer(Model):
    """What the wind blows on, and what was made of it, on the side on which the criterion fares worse."""

    side: Literal["starboard", "port"]
    """She is blown to."""
    area_m2: float
    """Lateral area above the waterline."""
    lever_m: float
    """Height of its centroid above half the draft."""
    required_at_heel_deg: float | None = None
    """T of 46 CFR 170.170: 14° at most, or the heel that immerses half the freeboard."""
    severe_wind: SevereWindAnswer | None = None


def weather_answer(found: Weather) -> WeatherAnswer:
    """Return it as the answer has it."""
    severe, heel = found.severe_wind, found.required_at_heel_deg
    return WeatherAnswer(
        side=found.side,
        area_m2=found.area_m2,
        lever_m=found.lever_m,
        required_at_heel_deg=heel,
        severe_wind=None if severe is None else _severe_wind(severe),
    )


def _severe_wind(found: SevereWind) -> SevereWindAnswer:
    fields = {name: value for name, value in vars(found).items() if name != "roll"}
    roll = None
    if found.roll is not None:
        of_roll = {name: value for name, value in vars(found.roll).items() if name not in ("findings", "period_s")}
        period = found.roll.period_s
        roll = RollAnswer(**of_roll, period_s=period if math.isfinite(period) else None)
    return SevereWindAnswer(**fields, roll=roll)
