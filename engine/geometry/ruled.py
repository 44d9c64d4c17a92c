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
from engine.geometry.polygon_cut import Ints, PolygonCut, PolygonLayout, cut_polygons

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


_PICK = [0, 1, 3, 6, 9, 10, 11, 12, 13, 15, 18, 19, 21, 24]


def gather(cut: PolygonCut, weights: Floats) -> Floats:
    """(14, k) `Integrals`: sums of sections (k, n) with weights (3, k, n) for ∫F dx, ∫F x dx and ∫F x² dx."""
    sums = np.stack(cut[:9], axis=1) @ weights.transpose(1, 2, 0)
    return np.asarray(sums.reshape(len(sums), 27).T[_PICK])


class SectionLines(NamedTuple):
    """Where k planes lie in a section: level = normal·(y, z) + slope x - offset, all divided by hypot(n_y, n_z)."""

    normals: Floats
    slopes: Floats
    offsets_m: Floats

    def heights(self, x_m: Floats) -> Floats:
        """(k, n) height of the water line along its normal at n stations. [m]"""
        return np.asarray(self.offsets_m[:, None] - self.slopes[:, None] * x_m)

    def levels(self, points_m: Floats, x_m: Floats | float) -> Floats:
        """(k, p) level of points, under the water line below 0. [m]"""
        level = self.normals @ points_m.T
        rise = self.slopes[:, None] * x_m
        rise -= self.offsets_m[:, None]
        level += rise
        return level

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


class RuledStack(NamedTuple):
    """Ruled bodies of one layout, so that one pass integrates many of them under many planes.

    Attributes
    ----------
    x_m : (g, 2) float64
        Their stations. [m]
    ends_m : (g, 2, 2, p) float64
        Matching points: aft and forward, y and z. [m]
    squares : (g, 3, p - 1) float64
        Square of each edge's stretched length as a parabola of the part of the way from aft to forward.
    layout : PolygonLayout
        Their loops, as one polygon.
    """

    x_m: Floats
    ends_m: Floats
    squares: Floats
    layout: PolygonLayout

    @classmethod
    def of(cls, links: list[Ruled]) -> "RuledStack":
        """Stack bodies that have the same layout."""
        squares = []
        for link in links:
            ruling = (link.forward_m - link.aft_m) / (link.x_m[1] - link.x_m[0])
            slope = 0.5 * (ruling[:-1] + ruling[1:])
            edges = np.diff(np.stack([link.aft_m, link.forward_m]), axis=1)
            turned = slope[:, 0] * edges[..., 1] - slope[:, 1] * edges[..., 0]
            aft, forward = np.concatenate([edges, turned[..., None]], axis=2)
            change = forward - aft
            squares.append([(aft * aft).sum(axis=1), 2.0 * (aft * change).sum(axis=1), (change * change).sum(axis=1)])
        ends = np.array([[link.aft_m.T, link.forward_m.T] for link in links])
        return cls(np.array([link.x_m for link in links]), ends, np.array(squares), links[0].layout)

    def integrals(self, lines: SectionLines, *, body: Ints, most_breaks: Ints) -> tuple[Floats, Floats]:
        """Integrate k bodies, each below its own line.

        Parameters
        ----------
        lines : SectionLines
            The planes.
        body : (k,) int
            Number of the body in the stack that each plane cuts.
        most_breaks : (k,) int
            Of the x where rulings meet the plane, at most so many, first and last among them, divide the length.

        Returns
        -------
        sums : (14, k) float64
            `Integrals`.
        extent : (k, 2, 3) float64
            Least and greatest coordinates of the points where rulings meet the water; NaN where none does. [m]
        """
        sums, extent = np.empty((len(_PICK), len(body))), np.empty((len(body), 2, 3))
        step = max(1, _CHUNK // self.ends_m.shape[3])
        for start in range(0, len(body), step):
            some = slice(start, start + step)
            sums[:, some], extent[some] = self._integrals(lines.take(some), body[some], most_breaks[some])
        return sums, extent

    def _integrals(self, lines: SectionLines, body: Ints, most: Ints) -> tuple[Floats, Floats]:
        x, ends = self.x_m[body], self.ends_m[body]
        turn = np.stack([lines.normals[:, ::-1] * [1.0, -1.0], lines.normals], axis=1)
        along, level = (turn[:, None] @ ends).transpose(2, 0, 1, 3)
        level += (lines.slopes[:, None] * x - lines.offsets_m[:, None])[..., None]
        meets = (level[:, 0] < 0) != (level[:, 1] < 0)
        ratio = np.where(meets, level[:, 0] / np.where(meets, level[:, 0] - level[:, 1], 1.0), 1.0)
        breaks, counts = _divisions(ratio, meets.sum(axis=1), most)
        sums = np.empty((len(_PICK), len(body)))
        order = np.argsort(-counts, kind="stable")
        done = 0
        while done < len(order):
            checkpoint()
            count = int(counts[order[done]])
            rows = order[done : done + max(1, _CHUNK // (3 * count * ratio.shape[1]))]
            sums[:, rows] = self._sections(breaks[rows, : count + 1], x[rows], level[rows], along[rows], body[rows])
            done += len(rows)
        return sums, _extent(ratio, meets, x, ends)

    def _sections(self, breaks: Floats, x_m: Floats, level: Floats, along: Floats, body: Ints) -> Floats:
        """(14, k) integrals by three Gauss points between breaks (k, b + 1); level and along of the ends (k, 2, p)."""
        width = np.diff(breaks, axis=1)[..., None]
        t = (breaks[:, :-1, None] + 0.5 * width * (1.0 + _NODES)).reshape(len(breaks), -1, 1)
        length = x_m[:, 1:] - x_m[:, :1]
        weight = (0.5 * width * _WEIGHTS).reshape(len(breaks), -1) * length
        shares = np.concatenate([1.0 - t, t], axis=2)
        points, edges = level.shape[2], level.shape[2] - 1
        square = (np.concatenate([t**0, t, t * t], axis=2) @ self.squares[body]).reshape(-1, edges)
        cut = cut_polygons(
            level_m=(shares @ level).reshape(-1, points),
            along_m=(shares @ along).reshape(-1, points),
            skin_m=np.sqrt(np.maximum(square, 0.0, out=square), out=square),
            layout=self.layout,
        )
        cut = PolygonCut(*(column.reshape(weight.shape) for column in cut))
        x = x_m[:, :1] + t[..., 0] * length
        return gather(cut, np.stack([weight, weight * x, weight * x * x]))


def stretched(edge_y_m: Floats, edge_z_m: Floats, slope: Floats) -> Floats:
    """Length of edges times the slope of the skin: area per unit of x of a strip whose points move by ``slope``.

    The strip spanned by the edge e and (1, v) has area √(e² + (v × e)²) per unit of x.
    """
    turned = slope[..., 0] * edge_z_m - slope[..., 1] * edge_y_m
    return np.sqrt(edge_y_m**2 + edge_z_m**2 + turned**2)


def _divisions(ratio: Floats, crossings: Ints, most: Ints) -> tuple[Floats, Ints]:
    """(k, b + 1) rising divisions from 0 to 1, through at most so many crossings of each row; how many intervals.

    The intervals of a row come first; what is left of the b of the row that has most is of no length.
    """
    number = np.arange(np.minimum(crossings, most).max(initial=0))
    many = (crossings > most)[:, None]
    spread = np.rint(number / np.maximum(most - 1, 1)[:, None] * (crossings[:, None] - 1)).astype(np.intp)
    pick = np.where(many, np.minimum(spread, crossings[:, None] - 1), number)
    rising = np.sort(ratio, axis=1)[np.arange(len(ratio))[:, None], pick]
    ends = np.ones((len(ratio), 1))
    breaks = np.concatenate([0.0 * ends, rising, ends], axis=1)
    repeated = np.diff(breaks, axis=1) == 0
    breaks[:, 1:][repeated] = 1.0
    breaks.sort(axis=1)
    return breaks, np.maximum(breaks.shape[1] - 1 - repeated.sum(axis=1), 1)


def _extent(ratio: Floats, meets: NDArray[np.bool_], x_m: Floats, ends: Floats) -> Floats:
    """(k, 2, 3) extremes of the points at parts ``ratio`` (k, p) of the rulings that meet the water."""
    part = ratio[:, None]
    met = np.concatenate(
        [x_m[:, :1, None] + part * (x_m[:, 1:] - x_m[:, :1])[..., None], (1.0 - part) * ends[:, 0] + part * ends[:, 1]],
        axis=1,
    )
    met = np.where(meets[:, None], met, np.nan)
    return np.stack([np.fmin.reduce(met, axis=2), np.fmax.reduce(met, axis=2)], axis=1)
