"""Section functions under water lines of one direction, as polynomials of the line's height. Layer: engine.geometry.

Lines of one direction cut a polygon at a scalar height h along their common normal. Between two neighbouring levels of
the polygon's points every edge is met or missed as a whole, so the sums of ``polygon_cut`` are polynomials there:
with t = h - (the level below) and u from 0 to 1 over the interval

    a crossing l = l₀ + d u     ∫ dl = Σ ± l     ∫ l dl = Σ ± l²/2     ∫ l² dl = Σ ± l³/3
    dA = (∫ dl) dh     d∫l dA = (∫ l dl) dh     d∫f dA = -A dh     d∫f ds = -S dh     dS = Σ s dh/(rise of the edge)

They are the same integrals as the sum over clipped edges, worked out once for all heights.
"""

from itertools import pairwise
from typing import NamedTuple

import numpy as np

from engine.checks import Floats
from engine.geometry.polygon_cut import Ints, PolygonCut, PolygonLayout

_MOST_PAIRS = 16
_STRAIGHT_RATIO = 1e-9


class SectionFunctions(NamedTuple):
    """Pieces of n polygons' functions, row after row: below its lowest point, between levels, above its highest.

    Attributes
    ----------
    levels_m : list of n float64 arrays
        Levels of each polygon's points, ascending, each once. [m]
    first : (n,) int
        Row below the lowest point of each polygon.
    pieces : (24, rows) float64
        Level a piece begins at, its height, and its coefficients in the order ``cut`` unpacks them.
    """

    levels_m: list[Floats]
    first: Ints
    pieces: Floats

    @classmethod
    def of(
        cls, *, level_m: Floats, along_m: Floats, skin_m: Floats, layout: PolygonLayout
    ) -> "SectionFunctions | None":
        """Work the pieces out.

        Parameters
        ----------
        level_m, along_m : (p,) float64
            Coordinates of the points, from a fixed origin. [m]
        skin_m : (p - 1,) float64
            Length of each edge for the skin. [m]
        layout : PolygonLayout
            Which points make which polygon.

        Returns
        -------
        SectionFunctions or None
            None where edges span so many levels that clipping is cheaper, or edges cross, so that the ends of the
            water line bend between levels.
        """
        levels, level_row, first, row = _rows(level_m, layout)
        a, b = row[:-1], row[1:]
        spans = np.abs(b - a)
        spans[layout.joints] = 0
        if spans.sum() > _MOST_PAIRS * len(level_m):
            return None
        total = len(levels) + len(first)
        base, inner = np.empty(total), np.zeros(total, dtype=bool)
        base[level_row] = levels
        base[first] = base[first + 1]
        inner[level_row[:-1]] = np.diff(level_row) == 1
        height = np.where(inner, np.append(np.diff(base), 0.0), 1.0)

        edge = np.repeat(np.arange(len(spans)), spans)
        at = np.minimum(a, b)[edge] + np.arange(len(edge)) - (np.cumsum(spans) - spans)[edge]
        up = b > a
        low, high = edge + ~up[edge], edge + up[edge]
        rise = level_m[high] - level_m[low]
        run = along_m[high] - along_m[low]
        start = along_m[low] + (base[at] - level_m[low]) / rise * run
        end = along_m[low] + (base[at + 1] - level_m[low]) / rise * run
        ends = _ends(at, start, end, total)
        if ends is None:
            return None

        def summed(terms: Floats, rows: Ints = at) -> Floats:
            return np.asarray(np.bincount(rows, weights=terms, minlength=total), dtype=np.float64)

        sign, d = np.where(up[edge], 1.0, -1.0), end - start
        by_start, by_d = sign * start, sign * d
        line = [summed(by_start), summed(by_d)]
        moment = [summed(0.5 * by_start * start), summed(by_start * d), summed(0.5 * by_d * d)]
        second = [
            summed(by_start * start * start / 3.0),
            summed(by_start * start * d),
            summed(by_start * d * d),
            summed(by_d * d * d / 3.0),
        ]
        share = skin_m[edge] * (height[at] / rise)
        skin = [summed(share), summed(share * start), summed(0.5 * share * d)]

        flat = spans == 0
        flat[layout.joints] = False
        level_edges = np.flatnonzero(flat)  # a level edge is dry at its own level and immersed above it
        sides = 0.5 * (along_m[level_edges] + along_m[level_edges + 1])
        steps = np.zeros((4, total))
        steps[2] = summed(skin_m[level_edges], row[level_edges])
        steps[3] = summed(skin_m[level_edges] * sides, row[level_edges])
        steps[0, 1:] = (height * (line[0] + line[1] / 2.0))[:-1]
        steps[1, 1:] = (height * (moment[0] + moment[1] / 2.0 + moment[2] / 3.0))[:-1]
        steps[2, 1:] += skin[0][:-1]
        steps[3, 1:] += (skin[1] + skin[2])[:-1]
        area, along, length, length_along = _accumulated(steps, first)
        drops = np.zeros((2, total))
        drops[0, 1:] = (-height * (area + height * (line[0] / 2.0 + line[1] / 6.0)))[:-1]
        drops[1, 1:] = (-height * (length + skin[0] / 2.0))[:-1]
        drops[:, first] = 0.0
        level, length_level = _accumulated(drops, first)
        pieces = [base, height, *line, *moment, *second, *skin, area, along, level, length, length_along, length_level]
        return cls(np.split(levels, (first - np.arange(len(first)))[1:]), first, np.stack([*pieces, *ends]))

    def cut(self, heights_m: Floats) -> PolygonCut:
        """Cut the n polygons at (k, n) heights; below the line is a level less than the height. [m]"""
        row = np.empty(heights_m.shape, dtype=np.intp)
        for i, levels in enumerate(self.levels_m):
            row[:, i] = np.searchsorted(levels, heights_m[:, i]) + self.first[i]
        base, height, w0, w1, a0, a1, a2, b0, b1, b2, b3, s1, p1, p2, *rest = np.take(self.pieces, row, axis=1)
        area, along, level, skin, skin_along, skin_level, least, least_step, greatest, greatest_step = rest
        t = heights_m - base
        u = t / height
        return PolygonCut(
            area_m2=area + t * (w0 + 0.5 * u * w1),
            along_moment_m3=along + t * (a0 + u * (a1 / 2.0 + u * a2 / 3.0)),
            level_moment_m3=level - t * (area + t * (w0 / 2.0 + u * w1 / 6.0)),
            line_m=w0 + u * w1,
            line_moment_m2=a0 + u * (a1 + u * a2),
            line_second_m3=b0 + u * (b1 + u * (b2 + u * b3)),
            skin_m=skin + u * s1,
            skin_along_m2=skin_along + u * (p1 + u * p2),
            skin_level_m2=skin_level - t * (skin + 0.5 * u * s1),
            line_least_m=least + u * least_step,
            line_greatest_m=greatest + u * greatest_step,
            lowest_m=np.array([levels[0] for levels in self.levels_m]) - heights_m,
            highest_m=np.array([levels[-1] for levels in self.levels_m]) - heights_m,
        )


def _rows(level_m: Floats, layout: PolygonLayout) -> tuple[Floats, Ints, Ints, Ints]:
    """Return the levels, each once a polygon; their rows; the first row of each polygon; the row of each point."""
    sizes = np.diff(np.append(layout.starts, len(level_m)))
    polygon = np.repeat(np.arange(len(sizes)), sizes)
    order = np.lexsort((level_m, polygon))
    rising = level_m[order]
    new = np.ones(len(rising), dtype=bool)
    new[1:] = (rising[1:] != rising[:-1]) | (polygon[1:] != polygon[:-1])
    row = np.empty(len(order), dtype=np.intp)
    row[order] = np.cumsum(new) + polygon
    level_row = np.flatnonzero(new)
    levels, owner = rising[level_row], polygon[level_row]
    counts = np.bincount(owner, minlength=len(sizes))
    first = np.cumsum(counts + 1) - counts - 1
    return levels, np.arange(1, len(levels) + 1) + owner, first, row


def _ends(at: Ints, start: Floats, end: Floats, total: int) -> list[Floats] | None:
    """Least crossing at a piece's start and its change, the greatest likewise; None where edges change places."""
    found = []
    size = np.abs(start).max(initial=0.0)
    for extreme, none in ((np.minimum, np.inf), (np.maximum, -np.inf)):
        here, middle, there = (np.full(total, none) for _ in range(3))
        for of, values in ((here, start), (middle, 0.5 * (start + end)), (there, end)):
            extreme.at(of, at, values)
        met = np.isfinite(here)
        step = np.where(met, there, 0.0) - np.where(met, here, 0.0)
        if (np.abs(here[met] + 0.5 * step[met] - middle[met]) > _STRAIGHT_RATIO * size).any():
            return None
        found += [here, step]
    return found


def _accumulated(steps: Floats, first: Ints) -> Floats:
    """Running sums of (q, rows) steps, begun anew at each polygon's first row, for the sake of round-off."""
    sums = np.empty_like(steps)
    for low, high in pairwise([*first.tolist(), steps.shape[1]]):
        np.cumsum(steps[:, low:high], axis=1, out=sums[:, low:high])
    return sums
