"""Axes with units, ticks and series on them. Layer: service.report."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from service.report.numbers import printed
from service.report.svg import DASHES, FAINT, INK, LETTER, QUIET, SERIES, Canvas, shortened

Points = Sequence[tuple[float, float]]


@dataclass(frozen=True)
class Series:
    """Points, joined by a line or marked."""

    label: str
    points: Points
    kind: int = 0
    line: bool = True
    marks: bool = False
    hollow: bool = False
    spread: Sequence[float] = field(default=())
    """Half-length of a bar through each point, along the vertical axis."""


@dataclass(frozen=True)
class Frame:
    """Where a panel stands on its canvas, in pixels."""

    left: float
    top: float
    width: float
    height: float


@dataclass(frozen=True)
class Panel:
    """A frame with its scales: what it returns are pixels."""

    frame: Frame
    x: tuple[float, float]
    y: tuple[float, float]

    def at(self, x: float, y: float) -> tuple[float, float]:
        """Return where a point is drawn."""
        across = (x - self.x[0]) / (self.x[1] - self.x[0])
        up = (y - self.y[0]) / (self.y[1] - self.y[0])
        return self.frame.left + across * self.frame.width, self.frame.top + (1 - up) * self.frame.height


def ticks(low: float, high: float, wanted: int = 6) -> list[float]:
    """Return round numbers within [low, high], about as many as wanted: steps of 1, 2 or 5 times a power of ten."""
    span = high - low
    raw = span / max(wanted, 1)
    power = 10.0 ** math.floor(math.log10(raw))
    step = min((one * power for one in (1, 2, 5, 10)), key=lambda one: abs(math.log(one / raw)))
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    return [i * step for i in range(first, last + 1)]


def tick_text(value: float, step: float) -> str:
    """Return a tick's number with the decimals its step needs."""
    return printed(value, max(0, -math.floor(math.log10(step) + 1e-9)))


def span_of(values: Sequence[float], *, margin: float = 0.06, least: float = 1e-12) -> tuple[float, float]:
    """Return a range that holds the values with some air; one number gets a range around it."""
    low, high = min(values), max(values)
    size = high - low
    if size <= max(least, 1e-9 * max(abs(low), abs(high))):
        size = max(abs(high), 1.0) * 0.1
        return low - size / 2, high + size / 2
    return low - margin * size, high + margin * size


def axes(
    canvas: Canvas,
    panel: Panel,
    *,
    x_label: str,
    y_label: str,
    x_wanted: int = 7,
    y_wanted: int = 5,
    x_ticks: bool = True,
    size: float = 11.5,
) -> None:
    """Draw the frame, the ticks and the labels; the zero lines are darker than the grid."""
    f = panel.frame
    bottom = f.top + f.height
    xs, ys = ticks(*panel.x, x_wanted), ticks(*panel.y, y_wanted)
    for value in xs:
        at, _ = panel.at(value, panel.y[0])
        canvas.line(at, f.top, at, bottom, colour=QUIET if value == 0 else FAINT)
        if x_ticks:
            canvas.text(at, bottom + size + 3, tick_text(value, _step(xs)), size=size, anchor="middle")
    for value in ys:
        _, at = panel.at(panel.x[0], value)
        canvas.line(f.left, at, f.left + f.width, at, colour=QUIET if value == 0 else FAINT)
        canvas.text(f.left - 5, at + size * 0.35, tick_text(value, _step(ys)), size=size, anchor="end")
    canvas.line(f.left, f.top, f.left, bottom, colour=INK)
    canvas.line(f.left, bottom, f.left + f.width, bottom, colour=INK)
    if x_ticks and x_label:
        canvas.text(f.left + f.width / 2, bottom + 2 * size + 9, x_label, size=size + 0.5, anchor="middle")
    if y_label:
        canvas.text(f.left, f.top - 7, y_label, size=size + 0.5, anchor="start")


def _step(values: Sequence[float]) -> float:
    return values[1] - values[0] if len(values) > 1 else max(abs(values[0]), 1.0) if values else 1.0


def draw(canvas: Canvas, panel: Panel, series: Sequence[Series], *, apart: float = 0.0) -> None:
    """Draw series in a panel, each so many pixels beside the one before."""
    for i, one in enumerate(series):
        colour = SERIES[one.kind % len(SERIES)]
        shift = apart * (i - 0.5 * (len(series) - 1))
        placed = [(x + shift, y) for x, y in (panel.at(*point) for point in one.points)]
        if one.line:
            canvas.path(placed, colour=colour, width=1.6, dash=DASHES[one.kind % len(DASHES)])
        for (x, _), (_, value), half in zip(placed, one.points, one.spread or (), strict=False):
            if half:
                ends = [panel.at(0, value - half)[1], panel.at(0, value + half)[1]]
                canvas.line(x, ends[0], x, ends[1], colour=colour)
                for end in ends:
                    canvas.line(x - 3, end, x + 3, end, colour=colour)
        if one.marks:
            for x, y in placed:
                canvas.mark(x, y, one.kind, hollow=one.hollow)


def legend(
    canvas: Canvas, left: float, top: float, width: float, series: Sequence[Series], size: float = 11.5
) -> float:
    """Write the series' names in rows; return the height used."""
    x, y = left, top + size
    for one in series:
        if not one.label:
            continue
        label = shortened(one.label, 34)
        needed = 30 + len(label) * size * LETTER + 16
        if x > left and x + needed > left + width:
            x, y = left, y + size * 1.5
        middle = y - size * 0.33
        if one.line:
            canvas.path(
                [(x, middle), (x + 22, middle)],
                colour=SERIES[one.kind % len(SERIES)],
                dash=DASHES[one.kind % len(DASHES)],
                width=1.6,
            )
        if one.marks:
            canvas.mark(x + 11, middle, one.kind, hollow=one.hollow)
        canvas.text(x + 27, y, label, size=size)
        x += needed
    return y - top + size * 0.5
