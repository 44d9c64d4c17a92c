"""The body between two stations, ruled by straight lines through matching points. Layer: engine.geometry.

A plane meets each ruling at one x. Between those the section functions of a body with flat faces are cubics at
most, so three Gauss points an interval integrate them times x² exactly: a box, a wedge or a raked end given by its
two stations is exact at any heel and trim, and the immersed part ends where the plane leaves the body.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from engine.checks import Floats
from engine.deadline import checkpoint
from engine.geometry.contour import Contour, matched
from engine.geometry.polygon_cut import PolygonCut, PolygonLayout, cut_polygons

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(3)
_CHUNK = 30_000


class Integrals(NamedTuple):
    """Integrals along x of section functions; every array is (k,) float64 but the extent, (k, 2, 3).

    ``l`` lies along the water line, ``f`` is the level above it in the section, x is measured as the stations are.
    """

    volume: Floats
    volume_x: Floats
    volume_l: Floats
    volume_f: Floats
    line: Floats
    line_x: Floats
    line_xx: Floats
    line_l: Floats
    line_lx: Floats
    line_ll: Floats
    skin: Floats
    skin_x: Floats
    skin_l: Floats
    skin_f: Floats


def gather(cut: PolygonCut, weights: Floats) -> Integrals:
    """Sum sections (k, n) with weights (3, k, n) for ∫F dx, ∫F x dx and ∫F x² dx."""
    sums = np.stack(cut[:9], axis=1) @ np.moveaxis(weights, 0, 2)
    area, area_l, area_f, line, line_l, line_ll, skin, skin_l, skin_f = (sums[:, i] for i in range(9))
    return Integrals(
        volume=area[:, 0],
        volume_x=area[:, 1],
        volume_l=area_l[:, 0],
        volume_f=area_f[:, 0],
        line=line[:, 0],
        line_x=line[:, 1],
        line_xx=line[:, 2],
        line_l=line_l[:, 0],
        line_lx=line_l[:, 1],
        line_ll=line_ll[:, 0],
        skin=skin[:, 0],
        skin_x=skin[:, 1],
        skin_l=skin_l[:, 0],
        skin_f=skin_f[:, 0],
    )


class SectionLines(NamedTuple):
    """Where k planes lie in a section: level = normal·(y, z) + slope x - offset, all divided by hypot(n_y, n_z)."""

    normals: Floats
    slopes: Floats
    offsets_m: Floats

    def levels(self, points_m: Floats, x_m: Floats | float) -> Floats:
        """(k, p) level of points, under the water line below 0. [m]"""
        return self.normals @ points_m.T + self.slopes[:, None] * x_m - self.offsets_m[:, None]

    def alongs(self, points_m: Floats) -> Floats:
        """(k, p) distance along the water line, to port when upright. [m]"""
        return self.normals[:, ::-1] * [1.0, -1.0] @ points_m.T

    def take(self, rows: slice | NDArray[np.intp]) -> "SectionLines":
        """Return the lines of the given rows."""
        return SectionLines(self.normals[rows], self.slopes[rows], self.offsets_m[rows])


class Ruled(NamedTuple):
    """Two stations with matching points, aft and forward.

    Attributes
    ----------
    x_m : (2,) float64
        The stations. [m]
    aft_m, forward_m : (p, 2) float64
        Matching points of all loops. [m]
    layout : PolygonLayout
        Their loops, as one polygon.
    """

    x_m: Floats
    aft_m: Floats
    forward_m: Floats
    layout: PolygonLayout

    @classmethod
    def between(cls, aft: tuple[Contour, ...], forward: tuple[Contour, ...], *, x_m: Floats) -> "Ruled | None":
        """Match the loops of two stations in their order; None where their numbers differ."""
        if len(aft) != len(forward):
            return None
        pairs = [matched(a, b) for a, b in zip(aft, forward, strict=True)]
        return cls(
            x_m=x_m,
            aft_m=np.concatenate([a for a, _ in pairs]),
            forward_m=np.concatenate([b for _, b in pairs]),
            layout=PolygonLayout.of([[len(a) for a, _ in pairs]]),
        )

    def section(self, ratio: float) -> Floats:
        """(p, 2) points at a part of the way from aft to forward. [m]"""
        return (1.0 - ratio) * self.aft_m + ratio * self.forward_m

    def integrals(self, lines: SectionLines, *, most_breaks: int) -> tuple[Integrals, Floats]:
        """Integrate below each of k lines; with the points (k, p, 3) where rulings meet the water, NaN elsewhere.

        Parameters
        ----------
        lines : SectionLines
            The planes.
        most_breaks : int
            Of the x where rulings meet the plane, at most so many, first and last among them, divide the length.
        """
        rows = max(1, _CHUNK // (3 * (min(most_breaks, len(self.aft_m)) + 1) * len(self.aft_m)))
        parts = []
        for start in range(0, len(lines.offsets_m), rows):
            checkpoint()
            parts.append(self._integrals(lines.take(slice(start, start + rows)), most_breaks))
        joined = Integrals(*(np.concatenate(columns) for columns in zip(*(part for part, _ in parts), strict=True)))
        return joined, np.concatenate([met for _, met in parts])

    def _integrals(self, lines: SectionLines, most_breaks: int) -> tuple[Integrals, Floats]:
        low, high = self.x_m
        level = np.stack([lines.levels(self.aft_m, low), lines.levels(self.forward_m, high)])
        along = np.stack([lines.alongs(self.aft_m), lines.alongs(self.forward_m)])
        meets = (level[0] < 0) != (level[1] < 0)
        ratio = np.where(meets, level[0] / np.where(meets, level[0] - level[1], 1.0), 1.0)
        part = ratio[..., None]
        met = np.concatenate([low + part * (high - low), (1.0 - part) * self.aft_m + part * self.forward_m], axis=2)
        breaks = _divisions(ratio, meets.sum(axis=1), most_breaks)
        width = np.diff(breaks, axis=1)[..., None]
        t = (breaks[:, :-1, None] + 0.5 * width * (1.0 + _NODES)).reshape(len(ratio), -1, 1)
        weight = (0.5 * width * _WEIGHTS).reshape(len(ratio), -1) * (high - low)
        count = weight.shape[1]

        shares = np.concatenate([1.0 - t, t], axis=2)

        def between(ends: Floats) -> Floats:
            return np.asarray((shares @ np.moveaxis(ends, 0, 1)).reshape(len(ratio) * count, -1))

        skin = self._skin(t.reshape(-1, 1))
        cut = cut_polygons(level_m=between(level), along_m=between(along), skin_m=skin, layout=self.layout)
        cut = PolygonCut(*(column.reshape(len(ratio), count) for column in cut))
        x = low + t[..., 0] * (high - low)
        sums = gather(cut, np.stack([weight, weight * x, weight * x * x]))
        return sums, np.where(meets[..., None], met, np.nan)

    def _skin(self, ratio: Floats) -> Floats:
        """(r, p - 1) stretched length of each edge at (r, 1) parts of the way: its square is a parabola there."""
        ruling = (self.forward_m - self.aft_m) / (self.x_m[1] - self.x_m[0])
        slope = 0.5 * (ruling[:-1] + ruling[1:])
        ends = np.diff(np.stack([self.aft_m, self.forward_m]), axis=1)
        turned = slope[:, 0] * ends[..., 1] - slope[:, 1] * ends[..., 0]
        aft, forward = np.concatenate([ends, turned[..., None]], axis=2)
        change = forward - aft
        square = (change * change).sum(axis=1) * ratio
        square += 2.0 * (aft * change).sum(axis=1)
        square *= ratio
        square += (aft * aft).sum(axis=1)
        return np.asarray(np.sqrt(np.maximum(square, 0.0, out=square), out=square))


def stretched(edge_y_m: Floats, edge_z_m: Floats, slope: Floats) -> Floats:
    """Length of edges times the slope of the skin: area per unit of x of a strip whose points move by ``slope``.

    The strip spanned by the edge e and (1, v) has area √(e² + (v × e)²) per unit of x.
    """
    turned = slope[..., 0] * edge_z_m - slope[..., 1] * edge_y_m
    return np.sqrt(edge_y_m**2 + edge_z_m**2 + turned**2)


def _divisions(ratio: Floats, counts: Floats, most: int) -> Floats:
    """(k, b + 2) rising divisions from 0 to 1, through at most ``most`` of the crossings of each row."""
    largest = int(counts.max(initial=0))
    rising = np.sort(ratio, axis=1)[:, :largest]
    if largest > most:
        pick = np.linspace(0.0, 1.0, most) * (counts[:, None] - 1).clip(0)
        rising = np.take_along_axis(rising, np.rint(pick).astype(np.intp), axis=1)
    ends = np.ones((len(ratio), 1))
    return np.concatenate([0.0 * ends, rising, ends], axis=1)
