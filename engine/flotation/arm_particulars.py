"""What a curve of righting arms says of one side: angles, maximum, areas, slope, findings. Layer: engine.flotation.

Values are facts of the curve; whether they are enough is for the rules to say.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from engine.checks import Floats, points
from engine.findings import Finding
from engine.flotation.arm_area import Area
from engine.flotation.arm_curve import ZERO_ARM_M, Maximum, SideCurve
from engine.flotation.immersion import Immersions, Opening, immersions

SPANS_DEG = ((0.0, 30.0), (0.0, 40.0), (30.0, 40.0))
SLOPE_STEP_DEG = 0.2
SLOPE_TOLERANCE_M = 1e-4
SLOPE_TOLERANCE_RATIO = 1e-3
PLACE_TOLERANCE_M = 0.01
FULL_TURN_DEG = 180.0


class Slope(NamedTuple):
    """The curve's slope where righting arms begin, by differences of true arms, beside GM there. [deg, m/rad, m]

    ``slope_ratio`` is n_x there: heel turns about the ship's own x, so a trimmed ship's slope is GM √(1 − n_x²).
    """

    heel_deg: float
    slope_m_per_rad: float
    gm_fluid_m: float
    slope_ratio: float = 0.0

    @property
    def agrees(self) -> bool:
        """Whether the slope is that of GM, within the tolerance of the differences."""
        expected = self.gm_fluid_m * float(np.sqrt(1.0 - self.slope_ratio**2))
        room = SLOPE_TOLERANCE_M + SLOPE_TOLERANCE_RATIO * abs(self.gm_fluid_m)
        return abs(self.slope_m_per_rad - expected) <= room


@dataclass(frozen=True, eq=False)
class SideParticulars:
    """One side's curve in numbers; heels are towards the side.

    Attributes
    ----------
    curve : SideCurve
        The curve itself.
    maximum : Maximum or None
        The largest righting arm; None where there is none.
    immersions : Immersions
        Flooding and deck-edge angles.
    areas : tuple of Area
        The spans asked for that lie on the curve. A span from 0 begins where righting arms do. [m·rad]
    areas_to_flooding : tuple of Area
        From the same beginnings to the flooding angle (unprotected openings), where there is one. [m·rad]
    slope : Slope or None
        None where she does not rest on this side.
    findings : tuple of Finding
        What was noticed.
    """

    curve: SideCurve
    maximum: Maximum | None
    immersions: Immersions
    areas: tuple[Area, ...]
    areas_to_flooding: tuple[Area, ...]
    slope: Slope | None
    findings: tuple[Finding, ...]


def arm_particulars(
    curve: SideCurve,
    *,
    openings: Sequence[Opening] = (),
    deck_edge_m: Floats | None = None,
    spans_deg: Sequence[tuple[float, float]] = SPANS_DEG,
) -> SideParticulars:
    """Return the particulars of one side.

    Parameters
    ----------
    curve : SideCurve
        From ``side_curve``.
    openings : sequence of Opening
        Of both sides of the ship.
    deck_edge_m : (p, 3), optional
        Points of the deck edge, both sides. [m]
    spans_deg : sequence of (from, to)
        Areas wanted. [deg]

    Raises
    ------
    InputError
        "wrong-shape", "not-finite": the deck edge.
    """
    edge = None if deck_edge_m is None else points(deck_edge_m, columns=3, field="deck_edge_m")
    under = immersions(curve, openings=openings, deck_edge_m=edge)
    slope = slope_at_rest(curve)
    start = curve.start_deg
    spans = [] if start is None else [(max(low, start), high) for low, high in spans_deg]
    spans = [(low, high) for low, high in spans if low < high]
    flooding = under.unprotected_deg
    whole = curve.areas([span for span in spans if span[1] <= curve.end_deg])
    to_flooding = curve.areas([(low, flooding) for low in dict.fromkeys(low for low, _ in spans) if low < flooding])
    return SideParticulars(
        curve=curve,
        maximum=curve.maximum,
        immersions=under,
        areas=whole,
        areas_to_flooding=to_flooding,
        slope=slope,
        findings=(
            *_of_curve(curve),
            *_of_areas(curve, spans, (*whole, *to_flooding)),
            *_of_slope(slope),
            *_of_openings(curve, openings, under),
        ),
    )


def slope_at_rest(curve: SideCurve) -> Slope | None:
    """Return the slope where she rests on this side: arms at ±0.2° and ±0.1°, Richardson's rule."""
    start = curve.start_deg
    if start is None or (start == 0.0 and abs(curve.arm_m[0]) > ZERO_ARM_M) or start + SLOPE_STEP_DEG > curve.end_deg:
        return None
    step = np.radians(SLOPE_STEP_DEG)
    arm, found = curve.at(start + SLOPE_STEP_DEG * np.array([-1.0, -0.5, 0.0, 0.5, 1.0]))
    if any(found.codes):
        return None
    wide, narrow = (arm[4] - arm[0]) / (2 * step), (arm[3] - arm[1]) / step
    rise, lean = float((4 * narrow - wide) / 3), float(found.planes.normals[2, 0])
    return Slope(start, rise, float(found.gm_fluid_m[2]), lean)


def _of_curve(curve: SideCurve) -> list[Finding]:
    side = f"to {curve.side}"
    found = []
    if curve.end_code:
        words = (
            f"{side} she has no position beyond {curve.end_deg:.6g}° or before the next heel tried ({curve.end_code})"
        )
        found.append(Finding("curve-ends", words))
    if curve.start_deg is None:
        found.append(Finding("no-righting-arm", f"{side} there is no righting arm up to {curve.end_deg:.6g}°"))
    elif curve.vanishing_deg is None and curve.end_deg < FULL_TURN_DEG:
        found.append(Finding("vanishing-not-reached", f"{side} arms do not vanish up to {curve.end_deg:.6g}°"))
    if curve.maximum is not None and curve.maximum.at_end:
        found.append(Finding("maximum-at-end", f"{side} the arm still rises at {curve.end_deg:.6g}°, the curve's end"))
    return found


def _of_areas(curve: SideCurve, spans: list[tuple[float, float]], areas: tuple[Area, ...]) -> list[Finding]:
    found = []
    beyond = [high for _, high in spans if high > curve.end_deg]
    if beyond:
        words = f"to {curve.side} the curve ends at {curve.end_deg:.6g}°: areas beyond it are left out"
        found.append(Finding("area-beyond-curve", words, count=len(beyond)))
    for area in areas:
        if not area.agrees:
            why = "her trim jumps on the way" if curve.nodes.afloat.trim == "free" else "the hull is told too coarsely"
            words = (
                f"to {curve.side} from {area.from_deg:.6g}° to {area.to_deg:.6g}° the area by the work of heeling and "
                f"that by the arms, {area.area_m_rad:.6g} and {area.other_way_m_rad:.6g} m·rad, differ: {why}"
            )
            found.append(Finding("areas-differ", words))
    return found


def _of_slope(slope: Slope | None) -> list[Finding]:
    if slope is None or slope.agrees:
        return []
    words = (
        f"at {slope.heel_deg:.6g}° the curve rises by {slope.slope_m_per_rad:.6g} m/rad, GM there is "
        f"{slope.gm_fluid_m:.6g} m"
    )
    return [Finding("slope-differs-from-gm", words)]


def _of_openings(curve: SideCurve, openings: Sequence[Opening], under: Immersions) -> list[Finding]:
    wet = [one for one, angle in zip(openings, under.openings_deg.tolist(), strict=True) if angle == 0.0]
    if not wet:
        return []
    place = (wet[0].x_m, wet[0].y_m, wet[0].z_m)
    return [Finding("opening-immersed-upright", "openings are under water at no heel", count=len(wet), place_m=place)]


def openings_outside(openings: Sequence[Opening], bounds_m: Floats) -> tuple[Finding, ...]:
    """Return a finding on openings before, abaft, beside or below the hull; above it they are as they should be.

    Parameters
    ----------
    openings : sequence of Opening
        Openings.
    bounds_m : (2, 3)
        Of the hull. [m]
    """
    low, high = bounds_m[0] - PLACE_TOLERANCE_M, bounds_m[1] + PLACE_TOLERANCE_M
    outside = [
        one
        for one in openings
        if not (low[0] <= one.x_m <= high[0] and low[1] <= one.y_m <= high[1] and one.z_m >= low[2])
    ]
    if not outside:
        return ()
    place = (outside[0].x_m, outside[0].y_m, outside[0].z_m)
    words = "openings lie outside the length, breadth or bottom of the hull"
    return (Finding("opening-outside-hull", words, count=len(outside), place_m=place),)
