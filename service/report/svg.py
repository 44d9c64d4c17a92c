"""A small writer of SVG. Layer: service.report.

Coordinates are in pixels of a drawing 640 wide; texts are escaped here and nowhere else.
"""

from collections.abc import Sequence
from html import escape

WIDTH = 640.0
INK = "#1d2730"
QUIET = "#8a949c"
FAINT = "#dfe3e6"
SERIES = ("#174a7c", "#c8681a", "#5b3a86", "#4d5a5f", "#2f7f6d", "#93284b")
"""Colours of the series. They differ in lightness, and each has a mark and a dash of its own besides."""
DASHES = ("", "7 4", "2 3", "10 3 2 3", "12 5", "4 2 1 2")
FONT = "Libertinus Serif, Charter, Georgia, serif"
LETTER = 0.52
"""Mean width of a letter over the size of the type."""


def shortened(text: str, letters: int) -> str:
    """Return a label of so many letters at most; the whole text stands in a table."""
    return text if len(text) <= letters else text[: max(letters - 1, 1)] + "…"


def _n(value: float) -> str:
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


class Canvas:
    """Collects elements; ``svg`` is the drawing."""

    def __init__(self, height: float, *, title: str, width: float = WIDTH) -> None:
        self.width, self.height, self.title = width, height, title
        self._parts: list[str] = []

    def line(
        self, x1: float, y1: float, x2: float, y2: float, *, colour: str = INK, width: float = 1.0, dash: str = ""
    ) -> None:
        """Draw a line."""
        self._parts.append(
            f'<line x1="{_n(x1)}" y1="{_n(y1)}" x2="{_n(x2)}" y2="{_n(y2)}" '
            f'stroke="{colour}" stroke-width="{_n(width)}"{_dashed(dash)}/>'
        )

    def path(
        self,
        points: Sequence[tuple[float, float]],
        *,
        colour: str = INK,
        width: float = 1.4,
        dash: str = "",
        fill: str = "none",
        closed: bool = False,
    ) -> None:
        """Draw a line through points."""
        if len(points) < 2:
            return
        way = "M" + "L".join(f"{_n(x)} {_n(y)}" for x, y in points) + ("Z" if closed else "")
        self._parts.append(
            f'<path d="{way}" fill="{fill}" stroke="{colour}" stroke-width="{_n(width)}" '
            f'stroke-linejoin="round"{_dashed(dash)}/>'
        )

    def box(self, x: float, y: float, width: float, height: float, *, fill: str, stroke: str = "none") -> None:
        """Draw a rectangle."""
        self._parts.append(
            f'<rect x="{_n(x)}" y="{_n(y)}" width="{_n(max(width, 0))}" height="{_n(max(height, 0))}" '
            f'fill="{fill}" stroke="{stroke}"/>'
        )

    def mark(self, x: float, y: float, kind: int, *, hollow: bool = False, size: float = 3.6) -> None:
        """Draw the mark of a series: circle, square, triangle, diamond, cross, upside-down triangle."""
        colour = SERIES[kind % len(SERIES)]
        fill = "#ffffff" if hollow else colour
        s = size
        shapes = (
            None,
            [(-s, -s), (s, -s), (s, s), (-s, s)],
            [(0, -s * 1.25), (s * 1.15, s * 0.85), (-s * 1.15, s * 0.85)],
            [(0, -s * 1.3), (s * 1.3, 0), (0, s * 1.3), (-s * 1.3, 0)],
            [(-s, -s), (s, s), (0, 0), (-s, s), (s, -s), (0, 0)],
            [(0, s * 1.25), (s * 1.15, -s * 0.85), (-s * 1.15, -s * 0.85)],
        )
        shape = shapes[kind % len(shapes)]
        if shape is None:
            self._parts.append(
                f'<circle cx="{_n(x)}" cy="{_n(y)}" r="{_n(s)}" fill="{fill}" stroke="{colour}" stroke-width="1.2"/>'
            )
        else:
            self.path([(x + dx, y + dy) for dx, dy in shape], colour=colour, width=1.2, fill=fill, closed=True)

    def text(
        self,
        x: float,
        y: float,
        words: str,
        *,
        size: float = 12.0,
        anchor: str = "start",
        colour: str = INK,
        bold: bool = False,
        turned: bool = False,
    ) -> None:
        """Write a text; ``turned``: from bottom to top."""
        turn = f' transform="rotate(-90 {_n(x)} {_n(y)})"' if turned else ""
        weight = ' font-weight="bold"' if bold else ""
        self._parts.append(
            f'<text x="{_n(x)}" y="{_n(y)}" font-size="{_n(size)}" text-anchor="{anchor}" '
            f'fill="{colour}"{weight}{turn}>{escape(words)}</text>'
        )

    @property
    def svg(self) -> str:
        """The drawing."""
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_n(self.width)} {_n(self.height)}" '
            f'width="{_n(self.width)}" height="{_n(self.height)}" role="img" font-family="{FONT}">'
            f"<title>{escape(self.title)}</title>" + "".join(self._parts) + "</svg>"
        )


def _dashed(dash: str) -> str:
    return f' stroke-dasharray="{dash}"' if dash else ""
