r"""Righting arms by approved cross curves, where no hull geometry exists. Layer: engine.stability.

KN at the displacement is taken at the table's heels; :math:`GZ = KN - KG\,\sin\varphi + TCG\,\cos\varphi` with KG
raised by the free surfaces. Between heels a cubic spline runs through KN; nothing is extrapolated. A table to one side
is mirrored, KN(−φ) = −KN(φ): the ship is taken to be the same on both sides.

An area is that of the spline; what monotone cubics (PCHIP) through the same KN make of it is the other way, and their
difference the estimate of its error.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from engine.checks import Floats, finite, within
from engine.errors import InputError
from engine.findings import Finding
from engine.flotation.arm_area import Area
from engine.flotation.arm_curve import ZERO_ARM_M, Intercept, Maximum, Side
from engine.flotation.arm_particulars import SPANS_DEG
from engine.flotation.cross_curve_table import CrossCurveTable
from engine.flotation.tables import TRIM_COVERED_M
from engine.stability.heel_curve import HeelCurve

FEWEST_HEELS = 4
"""Heels of the curve, mirrored ones and upright included."""
SLOPE_TOLERANCE_M = 0.05
"""KM transverse of MSC.1/Circ.1229: 5 cm; the cross curves' slope and the tables' GM are told to differ beyond it."""
_BEYOND_RAD = 1e-6


@dataclass(frozen=True, eq=False)
class TableSide:
    """One side's curve in numbers; heels are towards the side. [deg, m, m·rad]

    Attributes
    ----------
    side : {"starboard", "port"}
        Which.
    end_deg : float
        Where the curve ends: the table, or the heel asked for.
    start_deg : float or None
        Where righting arms begin; None where there are none.
    intercepts, maximum, vanishing_deg, areas
        As of ``SideCurve`` and ``SideParticulars``; the first stable and the first unstable intercept alone.
    findings : tuple of Finding
        What was noticed.
    """

    side: Side
    end_deg: float
    start_deg: float | None
    intercepts: tuple[Intercept, ...]
    maximum: Maximum | None
    vanishing_deg: float | None
    areas: tuple[Area, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, eq=False)
class TableArms:
    """Arms by cross curves.

    Attributes
    ----------
    curve : HeelCurve
        From port to starboard; + turns her back to port. [m]
    other : HeelCurve
        The same with monotone cubics through KN, for the areas' other way. [m]
    mirrored : bool
        Whether the table held one side alone.
    """

    curve: HeelCurve
    other: HeelCurve
    mirrored: bool

    def at(self, heel_deg: ArrayLike) -> Floats:
        """Return (k,) arms, NaN beyond the table. [m]"""
        heel = np.radians(np.atleast_1d(finite(heel_deg, field="heel_deg")))
        low, high = self.curve.first_rad - 1e-12, self.curve.last_rad + 1e-12
        return np.array([self.curve.at(one) if low <= one <= high else np.nan for one in heel.tolist()])

    def slope_upright_m_per_rad(self) -> float:
        """Return dGZ/dφ upright, by differences of the spline over ±0.1°. [m/rad]"""
        arm = self.at([-0.1, 0.1])
        return float((arm[1] - arm[0]) / np.radians(0.2))

    def area_from_upright_m_rad(self, heel_deg: ArrayLike) -> Floats:
        """Return (k,) areas from no heel, + where the arms right her; NaN beyond the table. [m·rad]"""
        heel = np.radians(np.atleast_1d(finite(heel_deg, field="heel_deg")))
        inside = np.isfinite(self.at(np.degrees(heel)))
        return np.array(
            [self.curve.area(0.0, one) if ok else np.nan for one, ok in zip(heel.tolist(), inside, strict=True)]
        )

    def side(self, side: Side, *, range_deg: float, spans_deg: Sequence[tuple[float, float]] = SPANS_DEG) -> TableSide:
        """Return the particulars of one side, to a heel towards it or to the table's end."""
        sign = 1.0 if side == "starboard" else -1.0
        curve, monotone = _seen_from(self.curve, sign), _seen_from(self.other, sign)
        reach = float(within(range_deg, low=0.0, high=180.0, field="range_deg", unit="deg"))
        last = min(np.radians(reach), curve.last_rad)
        end = float(np.degrees(last))
        start = _start(curve, last)
        if start is None:
            nothing = Finding("no-righting-arm", f"to {side} there is no righting arm up to {end:.6g}°")
            return TableSide(side, end, None, (), None, None, (), (nothing,))
        vanishing = curve.first_fall(0.0, start + _BEYOND_RAD, last) if start + _BEYOND_RAD < last else None
        heel, arm = curve.maximum(start, last if vanishing is None else vanishing)
        most = Maximum(float(np.degrees(heel)), arm, at_end=vanishing is None and heel == last)
        from_deg = float(np.degrees(start))
        spans = [(max(low, from_deg), high) for low, high in spans_deg if max(low, from_deg) < high]
        areas = []
        for low, high in spans:
            if high <= end + 1e-9:
                ends = np.radians([low, high]).tolist()
                area, other = curve.area(*ends), monotone.area(*ends)
                areas.append(Area(low, high, area, abs(area - other), other))
        intercepts = [Intercept(from_deg, True)] if abs(curve.at(start)) <= ZERO_ARM_M else []
        if vanishing is not None:
            intercepts.append(Intercept(float(np.degrees(vanishing)), False))
        return TableSide(
            side=side,
            end_deg=end,
            start_deg=from_deg,
            intercepts=tuple(intercepts),
            maximum=most,
            vanishing_deg=None if vanishing is None else float(np.degrees(vanishing)),
            areas=tuple(areas),
            findings=tuple(_noticed(side, end, vanishing is None, most, len(spans) - len(areas))),
        )


def table_arms(
    *,
    table: CrossCurveTable,
    displacement_t: float,
    density_t_per_m3: float,
    vcg_m: float,
    tcg_m: float = 0.0,
) -> TableArms:
    """Return the arms of a ship known by her cross curves.

    Parameters
    ----------
    table : CrossCurveTable
        KN.
    displacement_t, density_t_per_m3 : float
        [t], [t/m³]
    vcg_m, tcg_m : float
        Centre of everything aboard, VCG raised by the free surfaces. [m]

    Raises
    ------
    NotDeterminedError
        ``beyond-tables``.
    InputError
        ``too-few-points``: fewer than four heels, mirrored ones and upright included.
    """
    lever = table.kn(displacement_t=displacement_t, density_t_per_m3=density_t_per_m3)
    heel = table.heel_deg
    mirrored = bool((heel >= 0).all() or (heel <= 0).all())
    if mirrored:
        tilted = heel != 0
        heel, lever = np.append(heel[tilted], -heel[tilted]), np.append(lever[tilted], -lever[tilted])
        heel, lever = np.append(heel, 0.0), np.append(lever, 0.0)
        order = np.argsort(heel)
        heel, lever = heel[order], lever[order]
    if len(heel) < FEWEST_HEELS:
        raise InputError(
            f"{len(heel)} heels, to both sides and upright: {FEWEST_HEELS} are needed for a curve",
            code="too-few-points",
            field="heel_deg",
            value=len(heel),
            limit=FEWEST_HEELS,
        )
    from scipy.interpolate import PchipInterpolator

    spline, monotone = HeelCurve.from_points(heel_deg=heel, value=lever), PchipInterpolator(np.radians(heel), lever)
    height, across = float(finite(vcg_m, field="vcg_m")), float(finite(tcg_m, field="tcg_m"))
    # between the heels of the table sin and cos are smooth: they are put in at every degree, KN by its spline
    fine = np.unique(np.concatenate([heel, np.arange(np.ceil(heel[0]), heel[-1] + 1e-9, 1.0)]))
    turn = np.radians(fine)
    less = height * np.sin(turn) - across * np.cos(turn)
    return TableArms(
        HeelCurve.from_points(heel_deg=fine, value=np.array([spline.at(one) for one in turn.tolist()]) - less),
        HeelCurve.from_points(heel_deg=fine, value=monotone(turn) - less),
        mirrored,
    )


def curves_off_trim(trim_m: float) -> Iterator[Finding]:
    """Yield a finding where she is trimmed upright: cross curves are of a trim or LCG they do not state. [m]"""
    if abs(trim_m) > TRIM_COVERED_M:
        yield Finding(
            "trim-off-tables",
            f"she is trimmed by {trim_m:.6g} m, by the stern +: the arms are those of the trim the cross curves were "
            "made for, which is not stated",
        )


def slope_off_gm(slope_m_per_rad: float, gm_fluid_m: float) -> Iterator[Finding]:
    """Yield a finding where the curve upright does not rise by the GM of the hydrostatic tables. [m/rad, m]"""
    if abs(slope_m_per_rad - gm_fluid_m) > SLOPE_TOLERANCE_M:
        yield Finding(
            "slope-differs-from-gm",
            f"upright the cross curves rise by {slope_m_per_rad:.6g} m/rad, GM of the tables is {gm_fluid_m:.6g} m: "
            f"more than {SLOPE_TOLERANCE_M:.6g} m apart",
        )


def _seen_from(curve: HeelCurve, sign: float) -> HeelCurve:
    order = slice(None, None, int(sign))
    return HeelCurve((sign * curve.heel_rad)[order], (sign * curve.value)[order], curve.slope_per_rad[order])


def _start(curve: HeelCurve, last: float) -> float | None:
    """Return the heel at which righting arms begin, None where there are none. [rad]"""
    upright = curve.at(0.0)
    if upright > ZERO_ARM_M:
        return 0.0
    if abs(upright) <= ZERO_ARM_M and curve.at(min(_BEYOND_RAD, last)) > 0:
        return 0.0
    return curve.first_rise(0.0, _BEYOND_RAD, last) if last > _BEYOND_RAD else None


def _noticed(side: Side, end: float, still_up: bool, most: Maximum, missing: int) -> list[Finding]:
    told = []
    if still_up:
        told.append(Finding("vanishing-not-reached", f"to {side} arms do not vanish up to {end:.6g}°"))
    if most.at_end:
        told.append(Finding("maximum-at-end", f"to {side} the arm still rises at {end:.6g}°, the curve's end"))
    if missing:
        words = f"to {side} the curve ends at {end:.6g}°: areas beyond it are left out"
        told.append(Finding("area-beyond-curve", words, count=missing))
    return told
