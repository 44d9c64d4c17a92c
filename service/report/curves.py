"""Curves of a table's columns: hydrostatics, righting arms, tanks. Layer: service.report."""

from collections.abc import Mapping, Sequence
from typing import Any

from service.report.document import Figure
from service.report.numbers import Printer
from service.report.plot import Frame, Panel, Series, axes, draw, legend, span_of
from service.report.svg import INK, QUIET, Canvas

Columns = Mapping[str, Sequence[float | None]]
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
    across, gap, left = 3, 26.0, 50.0
    width = (640.0 - left - gap * (across - 1) - 6) / across
    tall = 190.0
    lines = -(-len(groups) // across)
    canvas = Canvas(lines * (tall + 86) + 4, title=title)
    name_up, label_up = up
    ups = columns[name_up]
    f_up = printer.factor(name_up)
    known = [value / f_up for value in ups if value is not None]
    for i, (label, members) in enumerate(groups):
        series = [
            Series(
                words if len(members) > 1 else "",
                [
                    (x / printer.factor(name), y / f_up)
                    for x, y in zip(columns[name], ups, strict=True)
                    if x is not None and y is not None
                ],
                kind=k,
                marks=len(known) < 8,
            )
            for k, (name, words) in enumerate(members)
        ]
        xs = [x for one in series for x, _ in one.points]
        if not xs:
            continue
        frame = Frame(left + (i % across) * (width + gap), 34 + (i // across) * (tall + 86), width, tall)
        panel = Panel(frame, span_of(xs), span_of(known))
        unit = printer.unit(members[0][0])
        axes(
            canvas,
            panel,
            x_label=f"{label}, {unit}" if unit else label,
            y_label=f"{label_up}, {printer.unit(name_up)}" if i % across == 0 else "",
            x_wanted=3,
            size=10.5,
        )
        draw(canvas, panel, series)
        if len(members) > 1:
            legend(
                canvas,
                frame.left + 30 * (i % across == 0) * 0,
                frame.top - 22 if i % across else frame.top - 36,
                width,
                series,
                size=10,
            )
    return Figure(canvas.svg, alt=f"{title}: {len(groups)} panels over {label_up}.", caption=caption)


def righting_arm_curve(
    heels: Sequence[float],
    arms: Sequence[float | None],
    *,
    printer: Printer,
    marks: Sequence[tuple[str, float]] = (),
    caption: str,
    gm_m: float | None = None,
) -> Figure:
    """Return righting arms over heel; ``marks`` are heels to tell by a thin line and a name."""
    ft = printer.factor("righting_arm_m")
    points = [(heel, arm / ft) for heel, arm in zip(heels, arms, strict=True) if arm is not None]
    canvas = Canvas(330, title="Righting arms over heel")
    frame = Frame(62.0, 46.0, 556.0, 232.0)
    panel = Panel(frame, span_of([x for x, _ in points], margin=0.02), span_of([0.0, *(y for _, y in points)]))
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
        canvas.text(end[0] + 4, max(end[1] + 10, frame.top + 10), "GM", size=10.5)
    ends: list[float] = [-1e9, -1e9]
    for name, heel in sorted(marks, key=lambda one: one[1]):
        if panel.x[0] <= heel <= panel.x[1]:
            x, _ = panel.at(heel, 0.0)
            row = 0 if x > ends[0] else 1
            ends[row] = x + len(name) * 5.6 + 8
            canvas.line(x, frame.top - 4, x, frame.top + frame.height, colour=QUIET, dash="2 3")
            canvas.text(x + 3, frame.top + 10 + 13 * row, name, size=10.5, colour=INK)
    draw(canvas, panel, [Series("", points, kind=0, marks=len(points) < 30)])
    return Figure(canvas.svg, alt=f"Righting arms at {len(points)} heels.", caption=caption)


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
