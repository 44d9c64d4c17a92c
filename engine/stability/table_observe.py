"""The observed quantities of a ship known by tables: those that need no geometry. Layer: engine.stability.

Without cross curves GM alone is known. Where the cross curves end with the arm still rising or still positive, what
hangs on the rest is known from one side only: a rule is judged where the rest cannot change the answer.
"""

import math
from collections.abc import Mapping
from functools import cached_property

from engine.flotation.arm_curve import Side
from engine.stability.arms import Arms
from engine.stability.data import StabilityData
from engine.stability.immersion import Immersion
from engine.stability.observe import Observation
from engine.stability.table_ship import ArmsByTables

_WITHOUT_ARMS = frozenset({"vessel_length_bp_m", "gm_fluid_m"})
_BY_MAXIMUM = ("gz_area_to_maximum_m_deg", "gz_maximum_m", "gz_maximum_angle_deg", "gz_largest_from_30_m")
_AT_END_DEG = 1e-9
_NOT_KNOWN = "tables hold no geometry:"


class NotFollowed(Immersion):
    """What goes under by tables: not known, but that nothing floods where it is said that nothing is open."""

    def __init__(self, data: StabilityData) -> None:
        self._data = data

    @cached_property
    def flooding_deg(self) -> float | None:
        """Infinite where there is no unprotected opening, else not known. [deg]"""
        known = self._data.openings is not None and not len(self._data.opening_points_m("unprotected"))
        return math.inf if known else None

    @cached_property
    def weathertight_deg(self) -> float | None:
        """Not known. [deg]"""
        return None

    @cached_property
    def deck_edge_deg(self) -> float | None:
        """Not known. [deg]"""
        return None

    @cached_property
    def half_freeboard_deg(self) -> float | None:
        """Not known. [deg]"""
        return None


class TableObservation(Observation):
    """Every quantity of one side; None where tables do not tell it."""

    arms: ArmsByTables

    def __getitem__(self, name: str) -> float | None:
        if self.arms.lacking is not None and name not in _WITHOUT_ARMS:
            return None
        return super().__getitem__(name)

    @cached_property
    def open_upwards(self) -> Mapping[str, float]:
        """What the rest of the curve, beyond the cross curves, may make larger."""
        if self.arms.lacking is not None:
            return {}
        end_deg = self.arms.reach_deg
        names = list(_BY_MAXIMUM) if self._rises_at_end else []
        if self._rises_at_end and self.to_40 is not None and self.to_40 > end_deg:
            names.append("gz_area_to_maximum_flooding_or_40_m_rad")
        if self.positive_to_deg >= end_deg - _AT_END_DEG:
            names.append("gz_positive_to_deg")
        if self._not_blown_so_far:
            names.append("weather_steady_heel_deg")
        return {name: math.inf for name in names if self[name] is not None}

    @cached_property
    def _rises_at_end(self) -> bool:
        return self.maximum[0] >= self.arms.reach_deg - _AT_END_DEG

    @cached_property
    def _not_blown_so_far(self) -> bool:
        """Whether the lever of the steady wind is above every arm, and they still rise at the curve's end."""
        lever = self.steady_lever_m
        if lever is None or not self._rises_at_end:
            return False
        return self.curve.first_rise(lever, 0.0, self.curve.last_rad) is None

    @cached_property
    def steady_heel_deg(self) -> float | None:
        """Heel under the steady wind; the curve's end where it is not reached and the arm still rises there. [deg]"""
        return self.arms.reach_deg if self._not_blown_so_far else super().steady_heel_deg

    def wanted(self, reason: str) -> list[str]:
        """Return what a rule not assessed for a reason wants, in plain words."""
        if self.arms.lacking is not None:
            return [self.arms.lacking.message]
        told = []
        if "flooding" in reason or "weather_area" in reason:
            if self.data.openings is None:
                told.append("openings are not stated, not even that there are none")
            elif self.flooding_deg is None:
                told.append(f"{_NOT_KNOWN} at what heel an opening goes under is not known")
        if "deck_edge" in reason or "weather_gm" in reason:
            told.append(f"{_NOT_KNOWN} at what heel the deck edge goes under is not known")
        if "weather_area" in reason or "weather_roll" in reason:
            told.append(f"{_NOT_KNOWN} the roll wants length and breadth of the waterline")
        if "weather" in reason and self.steady_lever_m is None:
            told.append("no wind area is given, or none for this draft")
        return told or [f"the cross curves end at {self.arms.reach_deg:.6g}°"]


def immersion(arms: Arms | ArmsByTables, side: Side, data: StabilityData) -> Immersion:
    """Return what goes under on a side."""
    return Immersion(arms, side, data) if isinstance(arms, Arms) else NotFollowed(data)


def observation(
    arms: Arms | ArmsByTables, side: Side, data: StabilityData, *, held: Immersion | None = None
) -> Observation:
    """Return the quantities of a side, computed when asked for; ``held``: what goes under, if it is known."""
    under = held or immersion(arms, side, data)
    if isinstance(arms, Arms):
        return Observation(arms, side, data, immersion=under)
    return TableObservation(arms, side, data, immersion=under)
