"""Lines in which skins touch: do they only touch, or pass through one another there? Layer: engine.geometry.

Where an edge of one triangle lies in another triangle, or along its edge, no two triangles need reach through one
another though the skins do: a wall may go through a deck just where the deck's triangles meet. About such a line the
triangles stand as sheets. Going once round it, each sheet crossed leads out of a body (−1) or into one (+1), and of
bodies that only touch no two ways in follow one another. Sheets that lie on one another count as one.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from engine.checks import Floats
from engine.geometry.blocks import Ints
from engine.geometry.triangle_pairs import Flags, Skin

_WIDEST = 0.05  # radians within which a sheet, however short, may count as lying on another


class Edges(NamedTuple):
    """The edges of all triangles: (3m,) keys in order, and the triangle each belongs to."""

    keys: Ints
    triangles: Ints
    vertex_count: int

    def between(self, a: Ints, b: Ints) -> tuple[Ints, Ints]:
        """Return the triangles that have the edges from a to b, and which of the edges each has."""
        wanted = _keys(a, b, self.vertex_count)
        begin, end = (np.searchsorted(self.keys, wanted, side=side) for side in ("left", "right"))
        count = end - begin
        edge = np.repeat(np.arange(len(wanted)), count)
        inside = np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count)
        return self.triangles[begin[edge] + inside], edge

    def of_two(self, faces: Ints, pairs: Ints) -> Flags:
        """Say of (p, 2) triangles with an edge in common whether that edge belongs to them alone."""
        common = (faces[pairs[:, 0]][:, :, None] == faces[pairs[:, 1]][:, None, :]).any(axis=2)
        lone = np.argmin(common, axis=1)
        rows = np.arange(len(pairs))
        a, b = (faces[pairs[:, 0]][rows, (lone + step) % 3] for step in (1, 2))
        return np.asarray(np.bincount(self.between(a, b)[1], minlength=len(pairs)) == 2)

    def of_many(self) -> tuple[Ints, Ints]:
        """Return both vertices of the edges of more than two triangles."""
        many = self.keys[2:][self.keys[2:] == self.keys[:-2]]
        many = many[np.concatenate([[True], many[1:] != many[:-1]])] if len(many) else many
        return many // self.vertex_count, many % self.vertex_count


def edges_of(faces: Ints, *, vertex_count: int) -> Edges:
    """Return the edges of triangles."""
    keys = np.concatenate([_keys(faces[:, k], faces[:, (k + 1) % 3], vertex_count) for k in range(3)])
    order = np.argsort(keys, kind="stable")
    return Edges(keys[order], order % len(faces), vertex_count)


class Crossed(NamedTuple):
    """Lines in which skins pass through one another: a pair of triangles there, and the ends of the line."""

    pairs: Ints
    ends_m: Floats


def crossed_lines(skin: Skin, edges: Edges, touching: Ints) -> Crossed:
    """Return which of the triangle, edge and other triangle that ``touching`` lists are not merely in contact.

    An edge that both triangles have is left to ``crossed_edges``.
    """
    triangle, k, other = touching.T
    a, b = skin.faces[triangle, k], skin.faces[triangle, (k + 1) % 3]
    theirs_too = (skin.faces[other] == a[:, None]).any(axis=1) & (skin.faces[other] == b[:, None]).any(axis=1)
    triangle, other, a, b = triangle[~theirs_too], other[~theirs_too], a[~theirs_too], b[~theirs_too]
    ends, inside, along = _lies_in(skin, a, b, other)
    rows = np.flatnonzero(inside | (along >= 0))
    a, b, other, triangle, ends, inside, along = (
        a[rows], b[rows], other[rows], triangle[rows], ends[rows], inside[rows], along[rows],
    )  # fmt: skip
    through = np.flatnonzero(inside)
    beside = np.flatnonzero(~inside)
    own, line = edges.between(a, b)
    f = along[beside]
    theirs, their_line = edges.between(skin.faces[other[beside], f], skin.faces[other[beside], (f + 1) % 3])
    sheets = [
        _sheets_at(skin, own, line, a, b),
        _halves_at(skin, other[through], through, a, b),
        _sheets_at(
            skin,
            theirs,
            beside[their_line],
            a,
            b,
            edge=(skin.faces[other, along], skin.faces[other, (along + 1) % 3]),
        ),
    ]
    wrong = _not_alternating(skin, sheets, a, b)
    return Crossed(np.column_stack([triangle, other])[wrong], ends[wrong])


def crossed_edges(skin: Skin, edges: Edges) -> Crossed:
    """Return the edges of more than two triangles in which skins pass through one another."""
    a, b = edges.of_many()
    triangles, line = edges.between(a, b)
    wrong = np.flatnonzero(_not_alternating(skin, [_sheets_at(skin, triangles, line, a, b)], a, b))
    begin = np.searchsorted(line, wrong)
    pairs = np.column_stack([triangles[begin], triangles[begin + 1]]) if len(wrong) else np.empty((0, 2), dtype=np.intp)
    return Crossed(pairs, np.stack([skin.vertices[a[wrong]], skin.vertices[b[wrong]]], axis=1))


def _keys(a: Ints, b: Ints, vertex_count: int) -> Ints:
    return np.minimum(a, b) * vertex_count + np.maximum(a, b)


def _lies_in(skin: Skin, a: Ints, b: Ints, other: Ints) -> tuple[Floats, Flags, Ints]:
    """Return the stretch of an edge in the triangle, whether it is inside, or along which edge it runs (−1: none).

    Inside is deeper than the tolerance over more than the tolerance. It runs along an edge where it strays no further
    than the tolerance from it, as far as both reach beside one another.
    """
    start, run = skin.vertices[a], skin.vertices[b] - skin.vertices[a]
    size = np.linalg.norm(run, axis=1)
    corners = skin.vertices[skin.faces[other]]
    sides = np.roll(corners, -1, axis=1) - corners
    length = np.linalg.norm(sides, axis=2)
    sides /= length[:, :, None]
    inward = np.cross(skin.normals[other][:, None, :], sides)
    depth = np.einsum("pkj,pkj->pk", start[:, None, :] - corners, inward)
    rise = np.einsum("pj,pkj->pk", run, inward)
    along = np.full(len(a), -1, dtype=np.intp)
    with np.errstate(divide="ignore", invalid="ignore"):
        enters = (skin.tolerance - depth) / rise
        begin = np.where(rise > 0, enters, np.where((rise == 0) & (depth <= skin.tolerance), 2.0, 0.0)).max(axis=1)
        end = np.where(rise < 0, enters, 1.0).min(axis=1)
        begin, end = np.clip(begin, 0.0, 2.0), np.clip(end, -1.0, 1.0)
        inside = (end - begin) * size > skin.tolerance
        fall = np.einsum("pj,pkj->pk", run, sides)
        at_corner = -np.einsum("pkj,pkj->pk", start[:, None, :] - corners, sides) / fall
        at_next = at_corner + length / fall
    for k in range(3):
        low = np.maximum(np.minimum(at_corner[:, k], at_next[:, k]), 0.0)
        high = np.minimum(np.maximum(at_corner[:, k], at_next[:, k]), 1.0)
        strays = np.maximum(*(np.abs(depth[:, k] + rise[:, k] * share) for share in (low, high)))
        beside = ~inside & (fall[:, k] != 0) & (strays <= skin.tolerance) & ((high - low) * size > skin.tolerance)
        begin, end = np.where(beside, low, begin), np.where(beside, high, end)
        along[beside] = k
    ends = start[:, None, :] + run[:, None, :] * np.stack([begin, end], axis=1)[:, :, None]
    return ends, inside, along


class _Sheets(NamedTuple):
    """Sheets about lines: which line, direction from the line (its length is the reach), outward normal."""

    line: Ints
    away: Floats
    normals: Floats


def _sheets_at(
    skin: Skin, triangles: Ints, line: Ints, a: Ints, b: Ints, *, edge: tuple[Ints, Ints] | None = None
) -> _Sheets:
    """Return triangles as sheets about the lines from a to b: the line, or ``edge`` beside it, is an edge of each."""
    first, last = edge or (a, b)
    third = skin.faces[triangles].sum(axis=1) - first[line] - last[line]
    away = skin.vertices[third] - skin.vertices[first[line]]
    return _Sheets(line, _square_to(away, _direction(skin, a, b)[line]), skin.normals[triangles])


def _halves_at(skin: Skin, triangles: Ints, line: Ints, a: Ints, b: Ints) -> _Sheets:
    """Return the two halves of triangles that the lines from a to b run through."""
    corners = skin.vertices[skin.faces[triangles]]
    reach = np.linalg.norm(corners - corners.mean(axis=1, keepdims=True), axis=2).max(axis=1)
    normals = skin.normals[triangles]
    away = np.cross(normals, _direction(skin, a, b)[line]) * reach[:, None]
    return _Sheets(np.tile(line, 2), np.concatenate([away, -away]), np.tile(normals, (2, 1)))


def _direction(skin: Skin, a: Ints, b: Ints) -> Floats:
    along = skin.vertices[b] - skin.vertices[a]
    return np.asarray(along / np.linalg.norm(along, axis=1)[:, None])


def _square_to(vectors: Floats, along: Floats) -> Floats:
    return np.asarray(vectors - along * np.einsum("pj,pj->p", vectors, along)[:, None])


def _not_alternating(skin: Skin, sheets: list[_Sheets], a: Ints, b: Ints) -> NDArray[np.bool_]:
    """Say about which lines two ways into a body follow one another.

    Not of lines where a skin ends, nor where a sheet is so narrow that its direction is within the tolerance.
    """
    wrong = np.zeros(len(a), dtype=np.bool_)
    line = np.concatenate([s.line for s in sheets])
    if not len(line):
        return wrong
    away, normals = np.concatenate([s.away for s in sheets]), np.concatenate([s.normals for s in sheets])
    along = _direction(skin, a, b)
    order = np.argsort(line, kind="stable")
    line, away, normals = line[order], away[order], normals[order]
    ahead = away[np.searchsorted(line, line)]  # the first sheet of the line: angles count from it
    onwards = np.cross(along[line], away)
    jump = np.where(np.einsum("pj,pj->p", normals, onwards) > 0, -1, 1)
    reach = np.linalg.norm(away, axis=1)
    told = np.bincount(line, weights=jump, minlength=len(a)) == 0
    told &= np.bincount(line, weights=reach <= 2.0 * skin.tolerance, minlength=len(a)) == 0
    angle = np.arctan2(np.einsum("pj,pj->p", away, np.cross(along[line], ahead)), np.einsum("pj,pj->p", away, ahead))
    angle = np.mod(angle + 2.0 * _WIDEST, 2.0 * np.pi)
    spread = np.minimum(skin.tolerance / np.maximum(reach, skin.tolerance), _WIDEST)
    order = np.lexsort([angle, line])
    line, angle, spread, jump = line[order], angle[order], spread[order], jump[order]
    new_line = np.concatenate([[True], line[1:] != line[:-1]])
    apart = np.concatenate([[True], angle[1:] - angle[:-1] > spread[1:] + spread[:-1]])
    begins = np.flatnonzero(new_line | apart)
    step = np.clip(np.add.reduceat(jump, begins), -1, 1)
    level = np.cumsum(step)
    starts = np.flatnonzero(new_line[begins])
    before = np.repeat(level[starts] - step[starts], np.diff(np.append(starts, len(step))))
    level = level - before
    high = np.maximum(np.maximum.reduceat(level, starts), 0)
    low = np.minimum(np.minimum.reduceat(level, starts), 0)
    wrong[line[begins[starts]]] = high - low > 1
    return np.asarray(wrong & told)
