"""The observed quantities of a ship's arms, on one side. Layer: engine.stability.

Areas are signed and begin upright, so the part of a list that pulls the other way is taken off. A quantity beyond the
heels computed, or one whose data are not given, is None.
"""

import math
from collections.abc import Callable, Iterator, Mapping
from functools import cached_property

from engine.findings import Finding
from engine.flotation.arm_curve import Side
from engine.stability.arms import Arms
from engine.stability.data import StabilityData
from engine.stability.heel_curve import HeelCurve
from engine.stability.immersion import Immersion
from engine.stability.table_ship import ArmsByTables
from engine.stability.wind import (
    WEATHER_HEEL_DEG,
    Form,
    Roll,
    Waters,
    WeatherBalance,
    roll_to_windward,
    steady_wind_lever_m,
    weather_balance,
    weather_gm_m,
)

_RAD = math.radians(1.0)

WANTED = {
    "flooding": "openings are not stated, not even that there are none",
    "deck_edge": "the deck edge is not given",
    "wind": "no wind area is given, or none for this draft",
    "reach": "the arms are not computed so far",
}


class Observation(Mapping[str, float | None]):
    """Every quantity of one side by its name, each computed when first asked for; None where it is not known."""

    def __init__(
        self, arms: Arms | ArmsByTables, side: Side, data: StabilityData, *, immersion: Immersion | None = None
    ) -> None:
        self.arms: Arms | ArmsByTables = arms
        self.data = data
        self._side: Side = side
        if immersion is None:
            assert isinstance(arms, Arms)
            immersion = Immersion(arms, side, data)
        self._immersion = immersion

    def __getitem__(self, name: str) -> float | None:
        return OBSERVE[name](self)

    def __iter__(self) -> Iterator[str]:
        return iter(OBSERVE)

    def __len__(self) -> int:
        return len(OBSERVE)

    @cached_property
    def curve(self) -> HeelCurve:
        """The arms, heel and arm + towards the side."""
        return self.arms.curve(self._side)

    def area(self, low_deg: float, high_deg: float) -> float | None:
        """Return the area between heels; None beyond the curve. [m·rad]"""
        if high_deg > self.arms.reach_deg + 1e-9:
            return None
        return self.curve.area(low_deg * _RAD, min(high_deg * _RAD, self.curve.last_rad))

    @property
    def flooding_deg(self) -> float | None:
        """Angle of flooding. [deg]"""
        return self._immersion.flooding_deg

    @property
    def deck_edge_deg(self) -> float | None:
        """Angle that immerses the deck edge. [deg]"""
        return self._immersion.deck_edge_deg

    @cached_property
    def to_40(self) -> float | None:
        """40° or the angle of flooding. [deg]"""
        return None if self.flooding_deg is None else min(40.0, self.flooding_deg)

    @cached_property
    def maximum(self) -> tuple[float, float]:
        """Heel and size of the largest arm. [deg, m]"""
        heel, arm = self.curve.maximum(0.0, self.curve.last_rad)
        return heel / _RAD, arm

    def largest_from(self, low_deg: float) -> float | None:
        """Return the largest arm at a heel or beyond. [m]"""
        if low_deg > self.arms.reach_deg + 1e-9:
            return None
        heel_deg, arm = self.maximum
        last = self.curve.last_rad
        return arm if heel_deg >= low_deg else self.curve.maximum(min(low_deg * _RAD, last), last)[1]

    @cached_property
    def positive_to_deg(self) -> float:
        """Heel at which the arms cease to be positive. [deg]"""
        end = self.curve.last_rad
        first = self.curve.first_rise(1e-12, 1e-6, end)
        if first is None:
            return 0.0
        last = self.curve.first_fall(0.0, first, end)
        return (end if last is None else last) / _RAD

    def area_30_to_40(self) -> float | None:
        """Return the area from 30° to 40° or flooding. [m·rad]"""
        return None if self.to_40 is None else self.area(30.0, self.to_40) if self.to_40 > 30.0 else 0.0

    def area_to_smallest(self) -> float | None:
        """Return the area to the largest arm, flooding or 40°. [m·rad]"""
        return None if self.to_40 is None else self.area(0.0, min(self.to_40, self.maximum[0]))

    @cached_property
    def blown(self) -> tuple[float, float] | None:
        """Lateral area and its height over half the draft. [m², m]"""
        at = None if self.data.wind is None else self.data.wind.at(self.arms.draft_m)
        return None if at is None else (at[0], at[1] - 0.5 * self.arms.draft_m)

    @cached_property
    def roll(self) -> Roll | None:
        """The roll to windward."""
        arms = self.arms
        if self.blown is None or not min(arms.draft_m, arms.breadth_waterline_m, arms.length_waterline_m) > 0:
            return None
        volume = arms.displacement_t / arms.density_t_per_m3
        return roll_to_windward(
            breadth_m=arms.breadth_waterline_m,
            draft_m=arms.draft_m,
            length_waterline_m=arms.length_waterline_m,
            block_coefficient=volume / (arms.length_waterline_m * arms.breadth_waterline_m * arms.draft_m),
            vcg_m=arms.vcg_m,
            gm_m=arms.gm_fluid_m,
            bilge=self.data.bilge,
            bilge_keel_area_m2=self.data.bilge_keel_area_m2,
        )

    @cached_property
    def steady_lever_m(self) -> float | None:
        """Lever of the steady wind. [m]"""
        if self.blown is None:
            return None
        area, lever = self.blown
        return steady_wind_lever_m(area_m2=area, lever_m=lever, displacement_t=self.arms.displacement_t)

    @cached_property
    def steady_heel_deg(self) -> float | None:
        """Heel under the steady wind, infinite where she does not stand it. [deg]"""
        if self.steady_lever_m is None:
            return None
        heel = self.curve.first_rise(self.steady_lever_m, 0.0, self.curve.last_rad)
        return math.inf if heel is None else heel / _RAD

    @cached_property
    def balance(self) -> WeatherBalance | None:
        """The areas of severe wind and rolling."""
        if self.roll is None or self.steady_lever_m is None or self.flooding_deg is None:
            return None
        return weather_balance(
            self.curve,
            steady_lever_m=self.steady_lever_m,
            roll_deg=self.roll.angle_deg,
            flooding_deg=self.flooding_deg,
        )

    @property
    def weather_heel_deg(self) -> float | None:
        """Heel at which the metacentric height required against the wind is reckoned. [deg]"""
        half = self._immersion.half_freeboard_deg
        return None if half is None else min(WEATHER_HEEL_DEG, half)

    def weather_gm(self, waters: Waters, form: Form) -> float | None:
        """Return the metacentric height required against the wind. [m]"""
        heel = self.weather_heel_deg
        if self.blown is None or heel is None:
            return None
        if heel <= 0:
            return math.inf
        return weather_gm_m(
            waters=waters,
            form=form,
            length_bp_m=self.arms.length_bp_m,
            area_m2=self.blown[0],
            lever_m=self.blown[1],
            displacement_t=self.arms.displacement_t,
            heel_deg=heel,
        )

    @property
    def open_upwards(self) -> Mapping[str, float]:
        """What may be larger than was observed, with the largest it may be: nothing, the curve is whole."""
        return {}

    def wanted(self, reason: str) -> list[str]:
        """Return the data that a rule not assessed for a reason wants, in plain words."""
        told = []
        if self.data.openings is None and ("flooding" in reason or "weather_area" in reason):
            told.append(WANTED["flooding"])
        if self.data.deck_edge_m is None and ("deck_edge" in reason or "weather_gm" in reason):
            told.append(WANTED["deck_edge"])
        if "weather" in reason and self.steady_lever_m is None:
            told.append(WANTED["wind"])
        return told or [WANTED["reach"]]

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What was noticed about the roll, where it was computed."""
        return self.roll.findings if "roll" in self.__dict__ and self.roll is not None else ()


def _degrees(area_m_rad: float | None) -> float | None:
    return None if area_m_rad is None else area_m_rad / _RAD


def _to_40(o: Observation) -> float | None:
    return None if o.to_40 is None else o.area(0.0, o.to_40)


_WATERS: tuple[Waters, ...] = ("exposed", "partially_protected", "protected")
_FORMS: tuple[Form, ...] = ("si", "us")


def _required(waters: Waters, form: Form) -> Callable[[Observation], float | None]:
    return lambda o: o.weather_gm(waters, form)


OBSERVE: Mapping[str, Callable[[Observation], float | None]] = {
    "vessel_length_bp_m": lambda o: o.arms.length_bp_m,
    "gm_fluid_m": lambda o: o.arms.gm_fluid_m,
    "gz_area_to_30_m_rad": lambda o: o.area(0.0, 30.0),
    "gz_area_to_30_m_deg": lambda o: _degrees(o.area(0.0, 30.0)),
    "gz_area_to_40_or_flooding_m_rad": _to_40,
    "gz_area_to_40_or_flooding_m_deg": lambda o: _degrees(_to_40(o)),
    "gz_area_30_to_40_or_flooding_m_rad": Observation.area_30_to_40,
    "gz_area_30_to_40_or_flooding_m_deg": lambda o: _degrees(o.area_30_to_40()),
    "gz_area_to_maximum_m_deg": lambda o: _degrees(o.area(0.0, o.maximum[0])),
    "gz_area_to_maximum_flooding_or_40_m_rad": Observation.area_to_smallest,
    "gz_maximum_m": lambda o: o.maximum[1],
    "gz_maximum_angle_deg": lambda o: o.maximum[0],
    "gz_largest_from_30_m": lambda o: o.largest_from(30.0),
    "gz_positive_to_deg": lambda o: o.positive_to_deg,
    "flooding_angle_deg": lambda o: o.flooding_deg,
    "deck_edge_angle_deg": lambda o: o.deck_edge_deg,
    "weather_steady_heel_deg": lambda o: o.steady_heel_deg,
    "weather_area_a_m_rad": lambda o: None if o.balance is None else o.balance.area_a_m_rad,
    "weather_area_b_m_rad": lambda o: None if o.balance is None else o.balance.area_b_m_rad,
    "weather_roll_angle_deg": lambda o: None if o.roll is None else o.roll.angle_deg,
    **{f"weather_gm_{waters}_{form}_m": _required(waters, form) for waters in _WATERS for form in _FORMS},
}
"""How each quantity of ``engine.rules.STABILITY_OBSERVABLES`` is computed."""
