r"""Wind: the profile, weather GM of 46 CFR 170.170, severe wind and rolling of A/2.3. Layer: engine.stability.

References
----------
.. [1] 46 CFR 170.170(a): the formula and both forms of P; read in a copy.
.. [2] 2008 IS Code, MSC.267(85), Part A, 2.3: pressure, steady heel, areas read in summaries; the formulae of roll
   angle and period read in 46 CFR 28.575, which has the same; the tables of X₁, X₂, k and s from memory.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from engine.checks import Floats, finite, positive
from engine.errors import InputError
from engine.findings import Finding
from engine.stability.heel_curve import HeelCurve

Waters = Literal["exposed", "partially_protected", "protected"]
Form = Literal["si", "us"]
Bilge = Literal["round", "sharp"]

WIND_PRESSURE_PA = 504.0
GRAVITY_M_PER_S2 = 9.81
GUST_RATIO = 1.5
GREATEST_ANGLE_DEG = 50.0
WEATHER_HEEL_DEG = 14.0
_FOOT_M, _LONG_TON_T = 0.3048, 1.0160469088

_PRESSURE: dict[tuple[Waters, Form], tuple[float, float]] = {
    ("exposed", "si"): (0.055, 1309.0),
    ("partially_protected", "si"): (0.036, 1309.0),
    ("protected", "si"): (0.028, 1309.0),
    ("exposed", "us"): (0.005, 14200.0),
    ("partially_protected", "us"): (0.0033, 14200.0),
    ("protected", "us"): (0.0025, 14200.0),
}

_X1 = ([2.4, 2.5, 2.6, 2.7, 2.8, 2.9, 3.0, 3.1, 3.2, 3.3, 3.4, 3.5],
       [1.00, 0.98, 0.96, 0.95, 0.93, 0.91, 0.90, 0.88, 0.86, 0.84, 0.82, 0.80])  # fmt: skip
_X2 = ([0.45, 0.50, 0.55, 0.60, 0.65, 0.70], [0.75, 0.82, 0.89, 0.95, 0.97, 1.00])
_K = ([0.0, 1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0], [1.0, 0.98, 0.95, 0.88, 0.79, 0.74, 0.72, 0.70])
_S = ([6.0, 7.0, 8.0, 12.0, 14.0, 16.0, 18.0, 20.0], [0.100, 0.098, 0.093, 0.065, 0.053, 0.044, 0.038, 0.035])


@dataclass(frozen=True, eq=False)
class WindProfile:
    """What the wind blows on, by draft; straight between drafts, and the same at every draft where one alone is given.

    Attributes
    ----------
    draft_m : (n,) float64
        Rising. [m]
    area_m2 : (n,) float64
        Lateral area of ship and deck cargo above the waterline. [m²]
    centroid_z_m : (n,) float64
        Height of its centroid above the base line. [m]
    """

    draft_m: Floats
    area_m2: Floats
    centroid_z_m: Floats

    @classmethod
    def from_columns(cls, *, draft_m: ArrayLike, area_m2: ArrayLike, centroid_z_m: ArrayLike) -> "WindProfile":
        """Build from columns.

        Raises
        ------
        InputError
            "wrong-shape", "not-increasing", "not-positive", "not-finite".
        """
        draft, area = np.atleast_1d(finite(draft_m, field="draft_m")), np.atleast_1d(finite(area_m2, field="area_m2"))
        height = np.atleast_1d(finite(centroid_z_m, field="centroid_z_m"))
        if not draft.shape == area.shape == height.shape or draft.ndim != 1 or not len(draft):
            raise InputError("the columns must be equally long", code="wrong-shape", field="area_m2")
        if (np.diff(draft) <= 0).any():
            raise InputError("drafts must rise", code="not-increasing", field="draft_m")
        for one in area:
            positive(float(one), field="area_m2", unit="m²")
        return cls(draft, area, height)

    def at(self, draft_m: float) -> tuple[float, float] | None:
        """Return (area [m²], height of its centroid [m]) at a draft; None beyond the drafts given."""
        if len(self.draft_m) == 1:
            return float(self.area_m2[0]), float(self.centroid_z_m[0])
        if not self.draft_m[0] - 1e-9 <= draft_m <= self.draft_m[-1] + 1e-9:
            return None
        return (
            float(np.interp(draft_m, self.draft_m, self.area_m2)),
            float(np.interp(draft_m, self.draft_m, self.centroid_z_m)),
        )


def weather_gm_m(
    *,
    waters: Waters,
    form: Form,
    length_bp_m: float,
    area_m2: float,
    lever_m: float,
    displacement_t: float,
    heel_deg: float,
) -> float:
    r"""Return the metacentric height 46 CFR 170.170(a) requires, :math:`GM = P A H / (W \tan T)`. [m]

    Parameters
    ----------
    waters : {"exposed", "partially_protected", "protected"}
        Ocean, Great Lakes winter and exposed; Great Lakes summer and partially protected; protected.
    form : {"si", "us"}
        The two forms are rounded differently: by 0.2 % to 2.2 %.
    length_bp_m, area_m2, lever_m, displacement_t
        L, A, H and W. [m, m², m, t]
    heel_deg : float
        T: 14° at most, or the angle that immerses half the freeboard to the deck edge. [deg]
    """
    base, length_scale = _PRESSURE[waters, form]
    heel = np.tan(np.radians(positive(heel_deg, field="heel_deg", unit="deg")))
    mass = positive(displacement_t, field="displacement_t", unit="t")
    if form == "si":
        return float((base + (length_bp_m / length_scale) ** 2) * area_m2 * lever_m / (mass * heel))
    pressure = base + (length_bp_m / _FOOT_M / length_scale) ** 2
    required_ft = pressure * area_m2 / _FOOT_M**2 * (lever_m / _FOOT_M) / (mass / _LONG_TON_T * heel)
    return float(required_ft * _FOOT_M)


def steady_wind_lever_m(*, area_m2: float, lever_m: float, displacement_t: float) -> float:
    """Return l_w1 = P A Z / (1000 g Δ). [m]"""
    mass = positive(displacement_t, field="displacement_t", unit="t")
    return WIND_PRESSURE_PA * area_m2 * lever_m / (1000.0 * GRAVITY_M_PER_S2 * mass)


@dataclass(frozen=True)
class Roll:
    """The roll to windward with what it is made of, and where the ship is outside what the formula was made for."""

    breadth_m: float
    draft_m: float
    length_waterline_m: float
    block_coefficient: float
    period_s: float
    """Infinite without a positive GM."""
    x1_ratio: float
    x2_ratio: float
    k_ratio: float
    r_ratio: float
    s_ratio: float
    angle_deg: float
    findings: tuple[Finding, ...]


def roll_to_windward(
    *,
    breadth_m: float,
    draft_m: float,
    length_waterline_m: float,
    block_coefficient: float,
    vcg_m: float,
    gm_m: float,
    bilge: Bilge = "round",
    bilge_keel_area_m2: float = 0.0,
) -> Roll:
    r"""Return the angle of roll by A/2.3.4, :math:`\varphi_1 = 109\,k\,X_1 X_2 \sqrt{r s}`.

    Parameters
    ----------
    breadth_m, draft_m, length_waterline_m, block_coefficient
        B, d, L_wl [m] and C_B.
    vcg_m, gm_m
        KG, and GM with free surfaces. [m]
    bilge : {"round", "sharp"}
        Sharp: k = 0.7 whatever the keels.
    bilge_keel_area_m2 : float
        A_k, both sides, or of the bar keel. [m²]

    Notes
    -----
    T = 2 C B / √GM with C = 0.373 + 0.023 B/d − 0.043 L_wl/100; r = 0.73 + 0.6 OG/d, OG = KG − d; straight between the
    entries of every table. Without a positive GM the period is infinite and s that of 20 s.
    """
    breadth, draft = positive(breadth_m, field="breadth_m", unit="m"), positive(draft_m, field="draft_m", unit="m")
    length = positive(length_waterline_m, field="length_waterline_m", unit="m")
    coefficient = 0.373 + 0.023 * breadth / draft - 0.043 * length / 100.0
    period = 2.0 * coefficient * breadth / np.sqrt(gm_m) if gm_m > 0 else np.inf
    keels = 100.0 * bilge_keel_area_m2 / (length * breadth)
    x1, x2 = np.interp(breadth / draft, *_X1), np.interp(block_coefficient, *_X2)
    k = 0.7 if bilge == "sharp" else np.interp(keels, *_K)
    r = max(0.0, 0.73 + 0.6 * (vcg_m - draft) / draft)
    s = np.interp(period, *_S)
    found = []
    if breadth / draft >= 3.5:
        found.append(_outside(f"B/d = {breadth / draft:.4g}, not below 3.5"))
    if not -0.3 <= vcg_m / draft - 1.0 <= 0.5:
        found.append(_outside(f"KG/d − 1 = {vcg_m / draft - 1.0:.4g}, not from −0.3 to 0.5"))
    if not period < 20.0:
        found.append(_outside(f"T = {period:.4g} s, not below 20 s"))
    return Roll(
        breadth_m=breadth,
        draft_m=draft,
        length_waterline_m=length,
        block_coefficient=block_coefficient,
        period_s=float(period),
        x1_ratio=float(x1),
        x2_ratio=float(x2),
        k_ratio=float(k),
        r_ratio=float(r),
        s_ratio=float(s),
        angle_deg=float(109.0 * k * x1 * x2 * np.sqrt(r * s)),
        findings=tuple(found),
    )


def _outside(words: str) -> Finding:
    return Finding(
        "weather-criterion-range",
        f"the roll formula of A/2.3 is used outside its range: {words}; model tests are then called for",
    )


@dataclass(frozen=True)
class WeatherBalance:
    """Heel under the steady wind, infinite where there is none [deg], the two areas [m·rad], and where b ends [deg]."""

    steady_heel_deg: float
    area_a_m_rad: float
    area_b_m_rad: float
    end_heel_deg: float
    """φ₂; NaN where there is no area b."""


def weather_balance(
    curve: HeelCurve, *, steady_lever_m: float, roll_deg: float, flooding_deg: float
) -> WeatherBalance | None:
    """Return the areas of A/2.3 under one side's arms; None where the curve does not reach far enough to say.

    Parameters
    ----------
    curve : HeelCurve
        Arms, + towards the side she is blown to.
    steady_lever_m : float
        l_w1; the gust's is 1.5 times it. [m]
    roll_deg, flooding_deg : float
        Roll to windward of the steady heel; angle of flooding, infinite where she does not flood. [deg]

    Notes
    -----
    Where the arms never reach the gust's lever there is no area b: it is 0, and area a is taken to the largest arm.
    """
    gust = GUST_RATIO * steady_lever_m
    end = min(np.radians(flooding_deg), np.radians(GREATEST_ANGLE_DEG))
    if end > curve.last_rad + 1e-12:
        return None
    steady = curve.first_rise(steady_lever_m, 0.0, curve.last_rad)
    top, _ = curve.maximum(0.0, curve.last_rad)
    windward = (top if steady is None else steady) - np.radians(roll_deg)
    if windward < curve.first_rad:
        return None
    crossing = curve.first_rise(gust, max(windward, 0.0), curve.last_rad)
    up_to = top if crossing is None else crossing
    area_a = gust * (up_to - windward) - curve.area(windward, up_to)
    area_b, ends = 0.0, float("nan")
    if crossing is not None:
        second = curve.first_fall(gust, min(crossing + 1e-9, curve.last_rad), curve.last_rad)
        end = end if second is None else min(end, second)
        ends = float(np.degrees(end))
        low, high = min(crossing, end), max(crossing, end)
        area_b = curve.area(low, high) - gust * (high - low)  # below 0 where she floods before the crossing
    return WeatherBalance(float("inf") if steady is None else float(np.degrees(steady)), area_a, area_b, ends)
