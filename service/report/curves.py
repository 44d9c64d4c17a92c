"""Curves of a table's columns: hydrostatics, righting arms, tanks. Layer: service.report."""

from collections.abc import Mapping, Sequence
from typing import Any

from service.report.document import Figure
from service.report.numbers import Printer
from service.report.plot import Frame, Panel, Series, axes, draw, legend, span_of
from service.report.svg import INK, QUIET, Canvas

Columns = Mapping[str, Sequence[float | None]]
FEW, MANY = 8, 30
"""Points of a curve: fewer are marked."""
Group = tuple[str, tuple[tuple[str, str], ...]]
"""Label of the across axis, and the columns on it with their names."""


def small_multiples(
    columns: Columns,
    *,
    up: tuple[str, str],
    groups: Sequence[Group],
    printer: Printer,
    title: str,
    caption: str,
) -> Figure:
    """Return one small panel a group, all with the same upward axis.

    Parameters
    ----------
    up : (name, label)
        Column on the upward axis.
    groups : sequence
        A panel each; columns of one panel share a unit.
    """
    across, gap, left, tall, head, foot = 3, 26.0, 50.0, 190.0, 52.0, 46.0
    width = (640.0 - left - gap * (across - 1) - 6) / across
    canvas = Canvas(-(-len(groups) // across) * (tall + head + foot), title=title)
    name_up, label_up = up
    f_up = printer.factor(name_up)
    known = [value / f_up for value in columns[name_up] if value is not None]
    for i, (label, members) in enumerate(groups):
        series = [
            Series(words, _points(columns, name, name_up, printer), kind=k, marks=len(known) < FEW)
            for k, (name, words) in enumerate(members)
        ]
        if not any(one.points for one in series):
            continue
        row, place = divmod(i, across)
        frame = Frame(left + place * (width + gap), row * (tall + head + foot) + head, width, tall)
        panel = Panel(frame, span_of([x for one in series for x, _ in one.points]), span_of(known))
        unit = printer.unit(members[0][0])
        axes(
            canvas,
            panel,
            x_label=f"{label}, {unit}" if unit else label,
            y_label=f"{label_up}, {printer.unit(name_up)}" if place == 0 else "",
            x_wanted=3,
            size=10.5,
        )
        draw(canvas, panel, series)
        if len(members) > 1:
            legend(canvas, frame.left, frame.top - 40, width, series, size=10)
    return Figure(canvas.svg, alt=f"{title}: {len(groups)} panels over {label_up}.", caption=caption)


def _points(columns: Columns, name: str, name_up: str, printer: Printer) -> list[tuple[float, float]]:
    across, up = printer.factor(name), printer.factor(name_up)
    pairs = zip(columns[name], columns[name_up], strict=True)
    return [(x / across, y / up) for x, y in pairs if x is not None and y is not None]


def righting_arm_curve(
    heels: Sequence[float],
    arms: Sequence[float | None],
    *,
    printer: Printer,
    marks: Sequence[tuple[str, float]] = (),
    caption: str,
    gm_m: float | None = None,
    label: str = "",
    others: Mapping[str, Sequence[float | None]] | None = None,
) -> Figure:
    """Return righting arms over heel; ``marks`` are heels to tell by a line and a name, ``others`` further arms."""
    ft = printer.factor("righting_arm_m")
    points = [(heel, arm / ft) for heel, arm in zip(heels, arms, strict=True) if arm is not None]
    canvas = Canvas(330, title="Righting arms over heel")
    frame = Frame(62.0, 46.0, 556.0, 232.0)
    further = [
        Series(words, [(h, a / ft) for h, a in zip(heels, column, strict=True) if a is not None], kind=k)
        for k, (words, column) in enumerate((others or {}).items(), start=1)
    ]
    every = [*points, *(point for one in further for point in one.points)]
    panel = Panel(frame, span_of([x for x, _ in every], margin=0.02), span_of([0.0, *(y for _, y in every)]))
    axes(
        canvas,
        panel,
        x_label="heel, °, starboard +",
        y_label=f"righting arm, {printer.unit('righting_arm_m')}",
        x_wanted=9,
    )
    slope = []
    if gm_m is not None and panel.x[0] <= 0 <= panel.x[1]:
        reach = min(57.2957795, panel.x[1])
        top = min(gm_m / ft * reach / 57.2957795, panel.y[1])
        slope = [(0.0, 0.0), (top * 57.2957795 * ft / gm_m, top)]
        canvas.path([panel.at(x, y) for x, y in slope], colour=QUIET, width=1.0, dash="4 3")
        end = panel.at(*slope[1])
        canvas.text(end[0] - 4, max(end[1], frame.top + 10), "GM", size=10.5, anchor="end")
    _marks(canvas, panel, marks)
    shown = [*further, Series(label, points, kind=0, marks=len(points) < MANY)]
    draw(canvas, panel, shown)
    if further:
        legend(canvas, frame.left, 4, frame.width, shown[::-1])
    return Figure(canvas.svg, alt=f"Righting arms at {len(points)} heels.", caption=caption)


def _marks(canvas: Canvas, panel: Panel, marks: Sequence[tuple[str, float]]) -> None:
    """Mark heels by name where the curve is not: to starboard at the foot, to port at the head, in rows."""
    frame = panel.frame
    bottom = frame.top + frame.height
    ends: dict[tuple[bool, int], float] = {}
    for name, heel in sorted(marks, key=lambda one: one[1]):
        if not panel.x[0] <= heel <= panel.x[1]:
            continue
        x, _ = panel.at(heel, 0.0)
        side = heel >= 0
        wide = len(name) * 5.6 + 8
        left = x - wide if x + wide > frame.left + frame.width else x + 3
        row = next(k for k in range(len(marks)) if ends.get((side, k), -1e9) <= left)
        ends[side, row] = left + wide
        canvas.line(x, frame.top, x, bottom, colour=QUIET, dash="2 3")
        canvas.text(left, bottom - 6 - 13 * row if side else frame.top + 12 + 13 * row, name, size=10.5, colour=INK)


def marks_of(sides: Mapping[str, Mapping[str, Any]]) -> list[tuple[str, float]]:
    """Return the heels worth a mark in a curve of righting arms, by side ("starboard", "port")."""
    named = (
        ("maximum_deg", "largest"),
        ("vanishing_deg", "vanishing"),
        ("flooding_deg", "flooding"),
        ("deck_edge_deg", "deck edge"),
    )
    return [
        (words, (1.0 if side == "starboard" else -1.0) * one[field])
        for side, one in sides.items()
        for field, words in named
        if one.get(field) is not None
    ]
