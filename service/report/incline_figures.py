"""Tangents on moments with the residuals below, and the budget's bars. Layer: service.report."""

from collections.abc import Mapping, Sequence
from typing import Any

from service.report.document import Figure
from service.report.numbers import SLOPE_DIGITS, Printer, printed, scientific
from service.report.plot import Frame, Panel, Series, axes, draw, legend, span_of
from service.report.svg import SERIES, Canvas, shortened

LEFT, WIDE = 62.0, 556.0
RESULTS = {
    "mass_t": "mass",
    "x_m": "LCG",
    "y_m": "TCG",
    "z_m": "VCG",
    "displacement_t": "displacement",
    "gm_fluid_m": "GM fluid",
}


def moment_tangent(incline: Mapping[str, Any], printer: Printer, *, small: bool = False) -> Figure:
    """Return tangents over moments with the pooled line, and every reading's residuals below; ``small``: without."""
    by_name: dict[str, list[Mapping[str, Any]]] = {}
    for point in incline["points"]:
        by_name.setdefault(point["instrument"], []).append(point)
    factor = printer.factor("moment_tm")
    unit = printer.unit("moment_tm")
    moments = [point["moment_tm"] / factor for point in incline["points"]]
    slope, intercept = incline["slope_per_tm"] * factor, incline["intercept_ratio"]
    xs = span_of(moments)
    line = [(x, intercept + slope * x) for x in xs]
    pooled = Series("pooled line", line, kind=3)
    read = [
        Series(
            name, [(p["moment_tm"] / factor, p["tangent_ratio"]) for p in points], kind=_kind(k), line=False, marks=True
        )
        for k, (name, points) in enumerate(by_name.items())
    ]
    tall = 170.0 if small else 230.0
    canvas = Canvas(10, title="Tangent of heel over heeling moment, with residuals")
    top = 14 + legend(canvas, LEFT, 8, WIDE, [*read, pooled]) + 22
    upper = Panel(Frame(LEFT, top, WIDE, tall), xs, span_of([p["tangent_ratio"] for p in incline["points"]]))
    label = f"heeling moment, {unit}, starboard +"
    axes(canvas, upper, x_label=label, y_label="tangent of heel, starboard +", x_ticks=small)
    draw(canvas, upper, [pooled, *read])
    below = top + tall + 44
    if not small:
        below -= 4
        fitted = any("geometric_residual_ratio" in p for p in incline["points"])
        words = "residual from the pooled line, 10⁻⁶"
        below = _residuals(canvas, below, by_name, xs, factor, "residual_ratio", words, "" if fitted else label)
        if fitted:
            words = "residual from the hull floated at each reading, 10⁻⁶"
            below = _residuals(canvas, below, by_name, xs, factor, "geometric_residual_ratio", words, label)
    canvas.height = below
    left = ", and what is left of each reading, instruments set a little apart; residuals in millionths of the tangent"
    return Figure(
        canvas.svg,
        alt=f"Tangent of heel over heeling moment for {len(by_name)} instruments, {len(moments)} readings, with the "
        "pooled line" + ("." if small else ", and the residuals below."),
        caption=f"Tangent of heel over heeling moment{'' if small else left}. Slope of the pooled line "
        f"{scientific(slope, SLOPE_DIGITS)} per {unit}.",
        share=0.6 if small else 1.0,
    )


def _kind(k: int) -> int:
    order = (0, 1, 2, 4, 5)
    return order[k % len(order)]


def _residuals(
    canvas: Canvas,
    top: float,
    by_name: Mapping[str, Sequence[Mapping[str, Any]]],
    xs: tuple[float, float],
    factor: float,
    field: str,
    label: str,
    x_label: str,
) -> float:
    series = [
        Series(
            name,
            [(p["moment_tm"] / factor, 1e6 * p[field]) for p in points if p.get(field) is not None],
            kind=_kind(k),
            line=False,
            marks=True,
        )
        for k, (name, points) in enumerate(by_name.items())
    ]
    values = [y for one in series for _, y in one.points]
    most = max([abs(y) for y in values] + [1.0]) * 1.15
    panel = Panel(Frame(LEFT, top, WIDE, 84), xs, (-most, most))
    axes(canvas, panel, x_label=x_label, y_label=label, y_wanted=3, x_ticks=bool(x_label))
    draw(canvas, panel, series, apart=5.0)
    return top + 84 + (44 if x_label else 32)


def budget_bars(rows: Sequence[Mapping[str, Any]], summaries: Sequence[Mapping[str, Any]], most: int = 5) -> Figure:
    """Return, for each result, what its variance is made of."""
    results = [one["result"] for one in summaries if one["result"] in RESULTS]
    across, gap = 2, 26.0
    width = (640.0 - gap) / across
    row_height, head = 17.0, 24.0
    each = head + row_height * (most + 1) + 14
    lines = -(-len(results) // across)
    canvas = Canvas(lines * each + 4, title="Shares of the variance of each result")
    for i, result in enumerate(results):
        left, top = (i % across) * (width + gap), (i // across) * each + 14
        canvas.text(left, top, RESULTS[result], bold=True, size=12.5)
        own = sorted((one for one in rows if one["result"] == result), key=lambda one: -one["share_percent"])
        shown = [(one["name"], one["share_percent"]) for one in own[:most]]
        rest = sum(one["share_percent"] for one in own[most:])
        if own[most:]:
            shown.append((f"{len(own) - most} others", rest))
        names = 166.0
        for k, (name, share) in enumerate(shown):
            y = top + head - 8 + k * row_height
            canvas.text(left + names - 4, y + 9.5, shortened(name, 34), size=10.5, anchor="end")
            room = width - names - 40
            canvas.box(left + names, y, room, 11, fill="#eef0f2")
            canvas.box(left + names, y, room * min(share, 100.0) / 100.0, 11, fill=SERIES[0] if k < most else "#8a949c")
            canvas.text(left + width, y + 9.5, printed(share, 1) + " %", size=10.5, anchor="end")
    return Figure(
        canvas.svg,
        alt="For each result, bars of the shares of its variance by kind of error: "
        + "; ".join(_words(result, rows) for result in results),
        caption=f"What the variance of each result is made of: the {most} largest kinds of error, then the others.",
    )


def _words(result: str, rows: Sequence[Mapping[str, Any]]) -> str:
    own = [one for one in rows if one["result"] == result]
    largest = max(own, key=lambda one: float(one["share_percent"]), default=None)
    if largest is None:
        return f"{RESULTS[result]}: nothing"
    return f"{RESULTS[result]}: mostly {largest['name']}, {printed(largest['share_percent'], 0)} %"
