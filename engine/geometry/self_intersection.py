"""Triangles of a skin that pass through one another or lie on one another. Layer: engine.geometry.

The integrals over a skin count a place as often as it is enclosed: where two parts overlap, twice. Nothing is repaired
here; what is found is said (docs/methods/geometry.md).
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from engine.checks import Floats, points
from engine.deadline import checkpoint
from engine.findings import Finding
from engine.geometry import skin as _skin
from engine.geometry.blocks import Ints, spatial_order
from engine.geometry.box_pairs import overlapping_pairs
from engine.geometry.compound import Compound, Shelled
from engine.geometry.contact_lines import Crossed, Edges, crossed_edges, crossed_lines, edges_of
from engine.geometry.cut import Solid
from engine.geometry.nested_bodies import nested_bodies
from engine.geometry.surface_solid import SurfaceSolid, checked_faces
from engine.geometry.triangle_pairs import Skin, hold_against, skin_of

CONTACT_RATIO = 1e-6
"""Of the body's size, its longest side: what parts may reach into one another and still only touch."""
PAIR_LIMIT = 25_000_000
"""Pairs of triangles looked at; then the search ends."""
BOX_LIMIT = 400_000_000
"""Boxes held against one another to find them; then the search ends."""
FOUND_LIMIT = 100_000
"""Pairs found; then the search ends."""

_PAIRS_AT_ONCE = 200_000


class SelfIntersections(NamedTuple):
    """What was found.

    Attributes
    ----------
    crossing : (c, 2) intp
        Pairs of triangles that pass through one another, rows of ``faces``.
    crossing_place_m : tuple of three floats or None
        Middle of the longest stretch two of them have in common. [m]
    lying : (l, 2) intp
        Pairs of triangles that lie on one another and face the same way.
    lying_place_m : tuple of three floats or None
        Middle of the largest of them. [m]
    folded : (f, 2) intp
        Neighbours folded flat onto one another.
    folded_place_m : tuple of three floats or None
        Middle of the largest of them. [m]
    nested : (b,) intp
        A triangle of each body that lies wholly within others.
    nested_place_m : tuple of three floats or None
        A place on the first of them. [m]
    complete : bool
        False where a limit ended the search.
    looked_at_count : int
        Pairs of triangles held against one another.
    tolerance_m : float
        What counts as touching. [m]
    """

    crossing: Ints
    crossing_place_m: tuple[float, float, float] | None
    lying: Ints
    lying_place_m: tuple[float, float, float] | None
    folded: Ints
    folded_place_m: tuple[float, float, float] | None
    nested: Ints
    nested_place_m: tuple[float, float, float] | None
    complete: bool
    looked_at_count: int
    tolerance_m: float


def self_intersections(
    *,
    vertices_m: ArrayLike,
    faces: ArrayLike,
    pair_limit: int = PAIR_LIMIT,
    box_limit: int = BOX_LIMIT,
    found_limit: int = FOUND_LIMIT,
) -> SelfIntersections:
    """Search a skin for triangles that pass through one another or lie on one another.

    Parameters
    ----------
    vertices_m : (n, 3) array_like
        Vertices, those of equal coordinates made one. [m]
    faces : (m, 3) array_like of int
        Triangles, outward normals.
    pair_limit, box_limit, found_limit : int
        Where the search ends, before it is complete.

    Raises
    ------
    InputError
        "not-finite", "wrong-shape", "empty-mesh", "face-index".

    Notes
    -----
    Triangles pass through one another if each reaches beyond the plane of the other on both sides by more than
    ``CONTACT_RATIO`` of the body's size and they have more than that in common along the line of the two planes; or if
    an edge of one lies in the other and the skins about it do not merely touch. Triangles without area are left out.
    """
    vertices = points(vertices_m, columns=3, field="vertices_m")
    triangles = checked_faces(faces, vertex_count=len(vertices))
    order = spatial_order(vertices, triangles)
    order = order[~np.isin(order, _skin.degenerate(vertices, triangles))]
    low, high = vertices.min(axis=0), vertices.max(axis=0)
    middle = 0.5 * (low + high)
    tolerance = CONTACT_RATIO * float((high - low).max())
    skin = skin_of(vertices - middle, triangles[order], tolerance=tolerance)
    search = _Search(skin, pair_limit=pair_limit, box_limit=box_limit, found_limit=found_limit)
    search.run()
    crossing, lying, folded = (
        np.unique(np.sort(np.concatenate(rows), axis=1), axis=0) if rows else np.empty((0, 2), dtype=np.intp)
        for rows in (search.crossing, search.lying, search.folded)
    )
    by_row = np.array([len(order), 1])
    crossing = crossing[~np.isin(crossing @ by_row, lying @ by_row)]  # each pair once
    longest = search.longest_m if len(crossing) else None
    apart = np.concatenate([crossing, lying])
    nested = None
    if search.complete:
        nested = nested_bodies(skin.vertices, skin.faces, apart=apart, tolerance=tolerance)
    inner = nested.triangles if nested else np.empty(0, dtype=np.intp)
    return SelfIntersections(
        crossing=order[crossing],
        crossing_place_m=None if longest is None else _tuple(longest.mean(axis=0) + middle),
        lying=order[lying],
        lying_place_m=_largest(skin, lying, middle),
        folded=order[folded],
        folded_place_m=_largest(skin, folded, middle),
        nested=order[inner],
        nested_place_m=_tuple(vertices[skin.faces[inner[0], 0]]) if len(inner) else None,
        complete=nested is not None and nested.complete,
        looked_at_count=search.looked_at,
        tolerance_m=tolerance,
    )


class _Search:
    """A search going on: what was found so far, and whether a limit ended it."""

    def __init__(self, skin: Skin, *, pair_limit: int, box_limit: int, found_limit: int) -> None:
        self._skin = skin
        self._pair_limit, self._box_limit, self._found_limit = pair_limit, box_limit, found_limit
        self._edges: Edges = edges_of(skin.faces, vertex_count=len(skin.vertices))
        self.crossing: list[Ints] = []
        self.lying: list[Ints] = []
        self.folded: list[Ints] = []
        self.longest_m: Floats | None = None
        self.looked_at = 0
        self.found = 0
        self.complete = True

    def run(self) -> None:
        """Search until all is searched or a limit is reached."""
        skin = self._skin
        self._cross(crossed_edges(skin, self._edges))
        corners = skin.vertices[skin.faces]
        reach = 0.5 * skin.tolerance
        low, high = corners.min(axis=1) - reach, corners.max(axis=1) + reach
        del corners
        boxes = 0
        for first, second, tested in overlapping_pairs(low, high):
            boxes += tested
            for start in range(0, len(first), _PAIRS_AT_ONCE):
                rows = slice(start, start + _PAIRS_AT_ONCE)
                self._hold(first[rows], second[rows])
                if self._over(boxes):
                    return
            if self._over(boxes):
                return

    def _over(self, boxes: int) -> bool:
        over = self.looked_at > self._pair_limit or boxes > self._box_limit or self.found > self._found_limit
        self.complete = self.complete and not over
        return over

    def _hold(self, first: Ints, second: Ints) -> None:
        checkpoint()
        self.looked_at += len(first)
        told = hold_against(self._skin, first, second)
        self._cross(Crossed(told.crossing, told.ends_m))
        self._cross(crossed_lines(self._skin, self._edges, told.touching))
        self._keep(self.lying, told.lying)
        if len(told.folded):
            self._keep(self.folded, told.folded[self._edges.of_two(self._skin.faces, told.folded)])

    def _cross(self, crossed: Crossed) -> None:
        self._keep(self.crossing, crossed.pairs)
        if not len(crossed.pairs):
            return
        length = np.linalg.norm(crossed.ends_m[:, 1] - crossed.ends_m[:, 0], axis=1)
        longest = crossed.ends_m[length.argmax()]
        if self.longest_m is None or length.max() > np.linalg.norm(self.longest_m[1] - self.longest_m[0]):
            self.longest_m = longest

    def _keep(self, where: list[Ints], pairs: Ints) -> None:
        if len(pairs):
            where.append(pairs)
            self.found += len(pairs)


def _largest(skin: Skin, pairs: Ints, middle: Floats) -> tuple[float, float, float] | None:
    """Return the middle of the smaller triangle of the pair in which that one is largest."""
    if not len(pairs):
        return None
    a, b, c = (skin.vertices[skin.faces[pairs, k]] for k in range(3))
    area = np.linalg.norm(np.cross(b - a, c - a), axis=2)
    smaller = area.argmin(axis=1)
    rows = np.arange(len(pairs))
    best = int(area[rows, smaller].argmax())
    return _tuple(skin.vertices[skin.faces[pairs[best, smaller[best]]]].mean(axis=0) + middle)


def _tuple(place: Floats) -> tuple[float, float, float]:
    return float(place[0]), float(place[1]), float(place[2])


def noted(found: SelfIntersections) -> tuple[Finding, ...]:
    """Return what was found as findings.

    Notes
    -----
    Codes: "self-intersection", "body-within-another", "faces-folded", "self-intersection-not-searched".
    """
    told = []
    crossing, lying, folded, nested = (len(rows) for rows in (found.crossing, found.lying, found.folded, found.nested))
    if crossing or lying:
        told.append(
            Finding(
                "self-intersection",
                f"pairs of triangles that pass through one another: {crossing}; that lie on one another and face the"
                f" same way: {lying}. {_TWICE}; where the skin is folded through itself, they are wrong by the fold",
                crossing + lying,
                found.crossing_place_m or found.lying_place_m,
            )
        )
    if nested:
        told.append(
            Finding(
                "body-within-another",
                f"closed bodies that lie wholly within another and face outwards as well: {nested}. {_TWICE}",
                nested,
                found.nested_place_m,
            )
        )
    if folded:
        told.append(
            Finding(
                "faces-folded",
                f"pairs of neighbours folded flat onto one another: {folded}. A plate without thickness adds wetted"
                " area on both sides and no volume; elsewhere it is a fold in the skin",
                folded,
                found.folded_place_m,
            )
        )
    if not found.complete:
        told.append(
            Finding(
                "self-intersection-not-searched",
                f"the search for triangles that pass through one another ended at its limit, after"
                f" {found.looked_at_count} pairs: there may be more than is told here",
                found.looked_at_count,
            )
        )
    return tuple(told)


_TWICE = "What parts have in common is counted twice, so volume and displacement are too large by it"


def noted_of(solid: Solid) -> tuple[Finding, ...]:
    """Search the skins of a body and of the bodies added to it, as one skin; none where it has no skin of triangles.

    What is taken out of it is not searched.
    """
    skins = _skins(solid)
    if not skins:
        return ()
    first = np.cumsum([0, *(len(one.vertices_m) for one in skins)])
    vertices, faces = _skin.merge_equal(
        np.concatenate([one.vertices_m for one in skins]),
        np.concatenate([one.faces + start for one, start in zip(skins, first, strict=False)]),
    )
    return noted(self_intersections(vertices_m=vertices, faces=faces))


def _skins(solid: Solid) -> list[SurfaceSolid]:
    if isinstance(solid, SurfaceSolid):
        return [solid]
    if isinstance(solid, Shelled):
        return _skins(solid.solid)
    if isinstance(solid, Compound):
        return [one for part, sign in zip(solid.parts, solid.signs, strict=True) if sign > 0 for one in _skins(part)]
    return []
