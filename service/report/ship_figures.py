"""The ship afloat: profile with the heights read, and body plan with the floating plane. Layer: service.report.

All in the ship's frame.
"""

import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from service.report.document import Figure
from service.report.lines import Lines, spread_out
from service.report.numbers import Printer
from service.report.plot import Frame, Panel, Series, axes, draw, legend, span_of, tick_text, ticks
from service.report.svg import FAINT, INK, QUIET, SERIES, Canvas

LEFT, WIDE = 62.0, 556.0
READ_PORT, READ_STARBOARD, FITTED = 0, 1, 3
NAMES_APART = 11.0


def water_at(waterline: Mapping[str, Any], x_m: float, *, y_m: float, length_bp_m: float) -> float:
    """Return z of the fitted water at a place of the hull as drawn, her sag taken in. [m]"""
    along = x_m / length_bp_m
    sag = waterline["sag_m"] * 4.0 * along * (1.0 - along)
    slope = math.tan(math.radians(waterline["heel_deg"]))
    return float(waterline["draft_m"] + waterline["trim_m"] * (0.5 - along) - y_m * slope + sag)


def profile(waterline: Mapping[str, Any], lines: Lines | None, length_bp_m: float, printer: Printer) -> Figure:
    """Return the hull from the side with the heights read and the waterline fitted, and the residuals below."""
    ft, heights = printer.factor("x_m"), waterline["heights"]
    unit = printer.unit("x_m")
    slope = math.tan(math.radians(waterline["heel_deg"]))
    low_x, high_x = min(0.0, *(h["x_m"] for h in heights)), max(length_bp_m, *(h["x_m"] for h in heights))
    if lines is not None:
        low_x, high_x = min(low_x, float(lines.x_m[0])), max(high_x, float(lines.x_m[-1]))
    xs = span_of([low_x / ft, high_x / ft], margin=0.03)
    way = [low_x + (high_x - low_x) * i / 60 for i in range(61)]
    water = [(x / ft, water_at(waterline, x, y_m=0.0, length_bp_m=length_bp_m) / ft) for x in way]
    sides = (("read on the port side", READ_PORT, 1.0), ("read on the starboard side", READ_STARBOARD, -1.0))
    read = [
        Series(
            label,
            [(h["x_m"] / ft, (h["water_z_m"] + h["y_m"] * slope) / ft) for h in heights if _side(h) == sign],
            kind=kind,
            line=False,
            marks=True,
        )
        for label, kind, sign in sides
    ]
    bent = "waterline fitted, hogged" if waterline["sag_m"] < 0 else "waterline fitted, sagged"
    fitted = Series("waterline fitted" if waterline["sag_m"] == 0 else bent, water, kind=FITTED)
    shown = [one for one in read if one.points]
    canvas = Canvas(10, title="Profile with the heights of the water")
    top = 14 + legend(canvas, LEFT, 8, WIDE, [*shown, fitted]) + 20
    zs = [z for _, z in water] + [z for one in shown for _, z in one.points]
    if lines is not None:
        zs += [float(lines.low_m.min()) / ft, float(lines.high_m.max()) / ft]
    panel = Panel(Frame(LEFT, top, WIDE, 190), xs, span_of(zs))
    axes(canvas, panel, x_label="", y_label=f"height above the moulded base line, {unit}", x_ticks=False)
    if lines is not None:
        edge = [(x / ft, z / ft) for x, z in zip(lines.x_m, lines.low_m, strict=True)]
        edge += [(x / ft, z / ft) for x, z in zip(lines.x_m[::-1], lines.high_m[::-1], strict=True)]
        canvas.path([panel.at(x, z) for x, z in edge], colour=QUIET, width=1.2, closed=True, fill="#f4f6f7")
    for at, name in ((0.0, "AP"), (length_bp_m / ft, "FP")):
        x, y = panel.at(at, panel.y[1])
        canvas.line(x, y, x, top + 190, colour=QUIET, dash="2 3")
        canvas.text(x + 3, y + 11, name, size=10.5, colour=INK)
    draw(canvas, panel, [fitted])
    draw(canvas, panel, shown, apart=7.0)
    below = _residuals(canvas, top + 190 + 34, waterline, xs, printer)
    canvas.height = below
    return Figure(
        canvas.svg,
        alt=f"Hull from the side, {len(heights)} heights of the water and the waterline fitted to them, "
        "with the residuals below.",
        caption="Profile, heights stretched. Heights of the water brought to the centreline by the heel fitted; below, "
        "what is left of each, with the standard uncertainty of a residual. Port and starboard are set a little apart.",
    )


def _side(height: Mapping[str, Any]) -> float:
    return 1.0 if height["y_m"] >= 0 else -1.0


def _residuals(
    canvas: Canvas, top: float, waterline: Mapping[str, Any], xs: tuple[float, float], printer: Printer
) -> float:
    small = printer.factor("x_mm") / 1000.0
    ft = printer.factor("x_m")
    series = [
        Series(
            "",
            [(h["x_m"] / ft, h["residual_m"] / small) for h in waterline["heights"] if _side(h) == sign],
            kind=kind,
            line=False,
            marks=True,
            spread=[h["residual_standard_uncertainty_m"] / small for h in waterline["heights"] if _side(h) == sign],
        )
        for kind, sign in ((READ_PORT, 1.0), (READ_STARBOARD, -1.0))
    ]
    most = max([abs(h["residual_m"]) + h["residual_standard_uncertainty_m"] for h in waterline["heights"]] + [0.001])
    panel = Panel(Frame(LEFT, top, WIDE, 90), xs, (-1.1 * most / small, 1.1 * most / small))
    axes(
        canvas,
        panel,
        x_label=f"forward of the aft perpendicular, {printer.unit('x_m')}",
        y_label=f"read less fitted, {printer.unit('x_mm')}, up +",
        y_wanted=4,
    )
    draw(canvas, panel, series, apart=7.0)
    return top + 90 + 42


def body_plan(waterline: Mapping[str, Any], lines: Lines, length_bp_m: float, printer: Printer) -> Figure:
    """Return the sections, looking forward, with the floating plane at both perpendiculars and midlength."""
    ft = printer.factor("x_m")
    unit = printer.unit("x_m")
    chosen = spread_out(lines.x_m, 17)
    points = np.concatenate([loop for i in chosen for loop in lines.loops_m[i]]) / ft
    half = float(np.abs(points[:, 0]).max()) * 1.08
    zs = span_of([float(points[:, 1].min()), float(points[:, 1].max())])
    top, tall = 52.0, 300.0
    wide = min(WIDE, tall * 2 * half / (zs[1] - zs[0]))
    tall = wide * (zs[1] - zs[0]) / (2 * half)
    left = LEFT + (WIDE - wide) / 2
    canvas = Canvas(top + tall + 44, title="Body plan with the floating plane")
    panel = Panel(Frame(left, top, wide, tall), (half, -half), zs)  # looking forward: port is on the left
    ways = [
        Series("after body", [], kind=1),
        Series("fore body", [], kind=0),
        Series("floating plane", [], kind=3),
    ]
    legend(canvas, LEFT, 6, WIDE, ways)
    for i in chosen:
        aft = lines.x_m[i] < length_bp_m / 2
        for loop in lines.loops_m[i]:
            canvas.path(
                [panel.at(y / ft, z / ft) for y, z in loop],
                colour=SERIES[1 if aft else 0],
                width=1.0,
                dash="6 3" if aft else "",
            )
    _axes(canvas, panel, half, f"to port and starboard of the centreline, {unit}", f"height, {unit}")
    aft, fore = (
        panel.at(0.0, water_at(waterline, x, y_m=0.0, length_bp_m=length_bp_m) / ft)[1] for x in (0.0, length_bp_m)
    )
    apart = max(0.0, NAMES_APART - abs(aft - fore)) / 2 * (1.0 if aft > fore else -1.0)
    for x, name, shift in ((0.0, "AP", apart), (length_bp_m / 2, "", 0.0), (length_bp_m, "FP", -apart)):
        ends = [panel.at(y, water_at(waterline, x, y_m=y * ft, length_bp_m=length_bp_m) / ft) for y in (half, -half)]
        canvas.path(ends, colour=SERIES[3], width=2.0 if not name else 1.0, dash="10 3 2 3")
        if name:
            canvas.text(ends[1][0] + 3, ends[1][1] + 4 + shift, name, size=10)
    return Figure(
        canvas.svg,
        alt=f"Body plan of {len(chosen)} sections, looking forward, with the water at both ends and midlength.",
        caption="Body plan, looking forward, port to the left, with the floating plane at the aft perpendicular, "
        "midlength (heavy) and the forward perpendicular.",
    )


def _axes(canvas: Canvas, panel: Panel, half: float, x_label: str, y_label: str) -> None:
    f = panel.frame
    bottom = f.top + f.height
    values: Sequence[float] = ticks(-half, half, 7)
    for value in values:
        x, _ = panel.at(value, 0.0)
        canvas.line(x, bottom, x, bottom + 4, colour=INK)
        canvas.text(x, bottom + 16, tick_text(abs(value), values[1] - values[0]), size=11, anchor="middle")
    heights = ticks(*panel.y, 5)
    for value in heights:
        _, y = panel.at(0.0, value)
        canvas.line(f.left - 4, y, f.left, y, colour=INK)
        canvas.text(f.left - 7, y + 4, tick_text(value, heights[1] - heights[0]), size=11, anchor="end")
    canvas.line(f.left, bottom, f.left + f.width, bottom, colour=INK)
    canvas.line(f.left, f.top, f.left, bottom, colour=INK)
    middle, _ = panel.at(0.0, 0.0)
    canvas.line(middle, f.top, middle, bottom, colour=FAINT)
    canvas.text(f.left + f.width / 2, bottom + 33, x_label, size=11.5, anchor="middle")
    canvas.text(f.left - 30, f.top - 7, y_label, size=11.5)
