"""A solid given by its skin of triangles. Layer: engine.geometry.

With s = n·x − d, the field n s has divergence 1 and vanishes on the plane, so the volume below the plane is a
sum over the immersed triangles alone; no cap is made. With N the area vector (dA along the outward normal) and
w dA = n·dN, over the immersed skin:

    V = ∫ s w                                 area of the waterplane A = −n·∫dN
    ∫x dV = ∫ (s x − s² n/2) w                ∫x over the waterplane = n V − ∫x w
    ∫xxᵀ over the waterplane = n (∫x dV)ᵀ + (∫x dV) nᵀ − ∫xxᵀ w

each by the divergence theorem with the fields n s, n (s x_j − s² n_j/2), the constant, n x_j and n x_j x_k.
The part of ∫dN along the plane must vanish.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NoReturn, Self

import numpy as np
from numpy.typing import ArrayLike

from engine.checks import Floats, points
from engine.errors import InputError
from engine.geometry import skin as _skin
from engine.geometry.blocks import Blocks, Ints, build, spatial_order
from engine.geometry.cut import Cuts
from engine.geometry.immersed_skin import PARTS, Body, immersed_skin, segments_across
from engine.geometry.plane import Planes
from engine.geometry.segments import area_below

OPEN_RATIO = 1e-9
"""Of the skin's area, and of the body's size: what an opening below the water may not exceed."""
_TESTS = 4_000_000  # boxes tested at a time
_SQUARE = 16 + np.array([[0, 3, 4], [3, 1, 5], [4, 5, 2]])  # where Σ∫x_j x_k n·N stands: the order of ``PAIRS``


@dataclass(frozen=True, eq=False)
class SurfaceSolid:
    """A body bounded by triangles, outward normals. Build it with ``from_arrays``.

    A point is below a plane if n·x < d: a face lying in the plane is not immersed, so a box cut exactly at its
    deck has the deck for its waterplane, and one cut exactly at its bottom has nothing immersed.

    Attributes
    ----------
    vertices_m : (n, 3) float64
        Vertices. [m]
    faces : (m, 3) intp
        Vertices of each triangle, anticlockwise from outside, in the order given.
    """

    vertices_m: Floats
    faces: Ints
    _order: Ints
    _middle: Floats
    _blocks: Blocks
    _rim: Floats  # vertices of edges where the skin is open
    _bounds: Floats
    _size: float

    @classmethod
    def from_arrays(cls, *, vertices_m: ArrayLike, faces: ArrayLike) -> Self:
        """Build from vertices and triangles; vertices no triangle uses are left out.

        Raises
        ------
        InputError
            "not-finite", "wrong-shape", "empty-mesh", "face-index", "inverted".
        """
        vertices = points(vertices_m, columns=3, field="vertices_m")
        vertices, triangles = _skin.drop_unused(vertices, checked_faces(faces, vertex_count=len(vertices)))
        solid = cls._assemble(vertices, triangles, spatial_order(vertices, triangles), _open_rim(vertices, triangles))
        if solid.volume_m3 < 0:
            raise InputError(
                f"the normals point inwards: the volume is {solid.volume_m3:.6g} m³",
                code="inverted",
                field="faces",
                value=solid.volume_m3,
                limit=0.0,
            )
        return solid

    @classmethod
    def of_closed(cls, *, vertices_m: Floats, faces: Ints) -> Self:
        """Build from a skin known to be closed, with outward normals and every vertex in use: nothing is checked."""
        return cls._assemble(vertices_m, faces, spatial_order(vertices_m, faces), np.empty((0, 3)))

    @classmethod
    def _assemble(cls, vertices: Floats, faces: Ints, order: Ints, rim: Floats) -> Self:
        low, high = vertices.min(axis=0), vertices.max(axis=0)
        middle = 0.5 * (low + high)
        return cls(
            vertices_m=vertices,
            faces=faces,
            _order=order,
            _middle=middle,
            _blocks=build(vertices - middle, faces[order]),
            _rim=rim,
            _bounds=np.stack([low, high]),
            _size=float((high - low).max()),
        )

    @cached_property
    def volume_m3(self) -> float:
        """Whole volume; NaN where the skin is open. [m³]"""
        if len(self._rim):
            return float("nan")
        return float(self._blocks.group_sums[:, [4, 8, 12]].sum() / 3.0)

    @cached_property
    def centroid_m(self) -> Floats:
        """(3,) centroid of the whole volume, ∫x_j²/2 N_j over its skin; NaN where the skin is open. [m]"""
        squares = self._blocks.group_sums[:, [16, 23, 30]].sum(axis=0)
        return np.asarray(0.5 * squares / self.volume_m3 + self._middle)

    @cached_property
    def skin_area_m2(self) -> float:
        """Area of the whole skin. [m²]"""
        return float(self._blocks.group_sums[:, 3].sum())

    @property
    def bounds_m(self) -> Floats:
        """(2, 3) least and greatest coordinates. [m]"""
        return self._bounds.copy()

    def cut(self, planes: Planes) -> Cuts:
        """Return what lies below each plane.

        Raises
        ------
        InputError
            "open-below-water", the row of the plane in ``field``.
        """
        return cut_together([self], planes, counts=[len(planes)])

    @property
    def _tolerance(self) -> float:
        return 8.0 * float(np.finfo(np.float64).eps) * (self._size + float(np.abs(self._middle).max()))

    def filling_range_m(self, normals: Floats) -> tuple[Floats, Floats]:
        """Return for (k, 3) unit normals the offsets between which a plane cuts the body.

        The first is that of the body's lowest point; the second that of its highest point or, where the skin
        is open, of its lowest opening.
        """
        heights = [self.vertices_m @ n for n in normals]
        low = np.array([h.min() for h in heights])
        if len(self._rim):
            return low, np.array([(self._rim @ n).min() for n in normals])
        return low, np.array([h.max() for h in heights])

    def section_area_m2(self, planes: Planes, *, x_m: float) -> Floats:
        """(k,) immersed area of the transverse section at x. [m²]

        At the after end of the body it is the area of the end itself.
        """
        return area_below(
            self._section(x_m),
            normals=planes.normals[:, 1:],
            offsets_m=planes.offsets_m - planes.normals[:, 0] * x_m,
        )

    def section_extent_m(self, *, x_m: float) -> Floats:
        """(2, 2) least and greatest y and z of the whole transverse section at x; NaN outside the body. [m]"""
        ends = self._section(x_m).reshape(-1, 2)
        return np.stack([ends.min(axis=0), ends.max(axis=0)]) if len(ends) else np.full((2, 2), np.nan)

    def _section(self, x_m: float) -> Floats:
        """(s, 2, 2) y and z of the ends of the segments in which x cuts the skin."""
        at_end = abs(x_m - self._bounds[0, 0]) <= self._tolerance
        pairs = segments_across(self._blocks, x=x_m - self._middle[0], tolerance=self._tolerance, forward=bool(at_end))
        return pairs + self._middle[1:]

    def bent(self, *, sag_m: float, length_bp_m: float) -> Self:
        """Return the body sagged by ``sag_m`` at midlength: z − sag (1 − (2x/L − 1)²); hog is negative."""
        vertices = self.vertices_m.copy()
        rim = self._rim.copy()
        for table in (vertices, rim):
            table[:, 2] -= sag_m * (1.0 - (2.0 * table[:, 0] / length_bp_m - 1.0) ** 2)
        return self._assemble(vertices, self.faces, self._order, rim)


def cut_together(solids: Sequence[SurfaceSolid], planes: Planes, *, counts: Sequence[int]) -> Cuts:
    """Return what lies below planes in several bodies, in one pass: quicker where each is small, as tanks are.

    Parameters
    ----------
    solids : sequence of SurfaceSolid
        The bodies.
    planes : Planes
        Those of the first body, of the second, and so on.
    counts : sequence of int
        How many planes belong to each body.

    Raises
    ------
    InputError
        "open-below-water", as ``SurfaceSolid.cut``.
    """
    ends = np.cumsum(counts)
    rows = [slice(int(end) - count, int(end)) for end, count in zip(ends, counts, strict=True)]
    middle = np.repeat([solid._middle for solid in solids], counts, axis=0)
    size = np.repeat([solid._size for solid in solids], counts)
    skin_area = np.repeat([solid.skin_area_m2 for solid in solids], counts)
    normals = planes.normals
    offsets = planes.offsets_m - np.einsum("kj,kj->k", normals, middle)
    tolerance = max(solid._tolerance for solid in solids)
    parts = np.empty((len(planes), PARTS))
    extent = np.empty((len(planes), 2, 3))
    step = max(1, _TESTS // sum(len(solid._blocks.group_middle) for solid in solids))
    for start in range(0, len(planes), step):
        stop = min(start + step, len(planes))
        here = [
            Body(solid._blocks, slice(max(its.start, start) - start, min(its.stop, stop) - start))
            for solid, its in zip(solids, rows, strict=True)
            if its.start < stop and its.stop > start
        ]
        parts[start:stop], extent[start:stop] = immersed_skin(
            here, normals=normals[start:stop], offsets=offsets[start:stop], tolerance=tolerance
        )
    _refuse_torn(normals, parts, OPEN_RATIO * skin_area)
    for solid, its in zip(solids, rows, strict=True):
        if len(solid._rim):
            _refuse_open(solid, normals[its], planes.offsets_m[its], first=its.start)
    return _answer(planes, offsets, parts, extent, middle=middle, size_m=size, skin_area_m2=skin_area)


def _refuse_torn(normals: Floats, parts: Floats, limit: Floats) -> None:
    """Refuse planes below which the area vectors of a skin do not close."""
    along = parts[:, :3] - np.einsum("kj,kj->k", parts[:, :3], normals)[:, None] * normals
    gap = np.linalg.norm(along, axis=1)
    for row in np.flatnonzero(gap > limit)[:1]:
        _refuse_row(int(row), f"area vectors that miss closing by {gap[row]:.6g} m²", gap[row], limit[row])


def _refuse_open(solid: SurfaceSolid, normals: Floats, offsets: Floats, *, first: int) -> None:
    """Refuse planes with an opening of the skin below them; ``first`` is the number of the body's first plane."""
    depth = offsets - np.array([(solid._rim @ n).min() for n in normals])
    limit = OPEN_RATIO * solid._size
    for row in np.flatnonzero(depth > limit)[:1]:
        x, y, z = solid._rim[np.argmin(solid._rim @ normals[row])]
        where = f"an opening {depth[row]:.6g} m below it at ({x:.6g}, {y:.6g}, {z:.6g}) m"
        _refuse_row(first + int(row), where, depth[row], limit)


def _refuse_row(row: int, what: str, value: float, limit: float) -> NoReturn:
    raise InputError(
        f"below plane {row} the skin is open: {what}",
        code="open-below-water",
        field=f"planes/{row}",
        value=float(value),
        limit=float(limit),
    )


def _answer(
    planes: Planes,
    offsets: Floats,
    parts: Floats,
    extent: Floats,
    *,
    middle: Floats,
    size_m: Floats,
    skin_area_m2: Floats,
) -> Cuts:
    """Return the cut from the sums over the immersed skin."""
    n, d = planes.normals, offsets[:, None]
    skin, area = parts[:, :3], parts[:, 3]
    w0 = np.einsum("kj,kj->k", n, skin)[:, None]
    w1 = np.einsum("ki,kij->kj", n, parts[:, 4:13].reshape(-1, 3, 3))
    w2 = parts[:, _SQUARE]
    n_w1 = np.einsum("kj,kj->k", n, w1)[:, None]
    w2_n = np.einsum("kij,kj->ki", w2, n)
    volume = (n_w1 - d * w0)[:, 0]
    moment = w2_n - d * w1 - 0.5 * n * (np.einsum("kj,kj->k", n, w2_n)[:, None] - 2 * d * n_w1 + d * d * w0)
    plan = -w0[:, 0]
    plan_moment = n * volume[:, None] - w1
    square = n[:, :, None] * moment[:, None, :]
    plan_square = square + square.transpose(0, 2, 1) - w2
    volume = np.where(volume > 1e-15 * size_m * area, volume, 0.0)
    plan = np.where(plan > 1e-14 * skin_area_m2, plan, 0.0)
    has_plan = plan > 0
    with np.errstate(divide="ignore", invalid="ignore"):
        centroid = np.where(volume[:, None] > 0, moment / volume[:, None], np.nan)
        centre = np.where(has_plan[:, None], plan_moment / plan[:, None], np.nan)
        skin_centre = np.where(area[:, None] > 0, parts[:, 13:16] / area[:, None], np.nan)
    central = plan_square - plan_moment[:, :, None] * np.where(has_plan[:, None], centre, 0.0)[:, None, :]
    flat = np.eye(3) - n[:, :, None] * n[:, None, :]
    return Cuts(
        planes=planes,
        volume_m3=volume,
        centroid_m=centroid + middle,
        waterplane_area_m2=plan,
        waterplane_centroid_m=centre + middle,
        waterplane_tensor_m4=np.where(has_plan[:, None, None], flat @ central @ flat, 0.0),
        waterplane_extent_m=np.where(has_plan[:, None, None], extent + middle[:, None], np.nan),
        wetted_area_m2=area,
        wetted_centroid_m=skin_centre + middle,
    )


def checked_faces(faces: ArrayLike, *, vertex_count: int) -> Ints:
    """Return ``faces`` as (m, 3) intp; refuse none at all, a wrong shape and a vertex that does not exist."""
    table = np.asarray(faces)
    if table.size == 0 or vertex_count == 0:
        raise InputError("the mesh has no triangle", code="empty-mesh", field="faces", value=0.0, limit=1.0)
    if table.ndim != 2 or table.shape[1] != 3 or table.dtype.kind not in "iu":
        raise InputError("must be a table of 3 columns of whole numbers", code="wrong-shape", field="faces")
    low, high = int(table.min()), int(table.max())
    if low < 0 or high >= vertex_count:
        wrong = low if low < 0 else high
        raise InputError(
            f"vertex {wrong} does not exist, there are {vertex_count}",
            code="face-index",
            field="faces",
            value=float(wrong),
            limit=float(vertex_count - 1),
        )
    return np.ascontiguousarray(table, dtype=np.intp)


def _open_rim(vertices: Floats, faces: Ints) -> Floats:
    """Return the (r, 3) vertices of edges where the skin is open by more than ``OPEN_RATIO`` of its size."""
    if _skin.edges_balance(faces, vertex_count=len(vertices)):
        return np.empty((0, 3))
    vertices, faces = _skin.merge_equal(vertices, faces)
    edges = _skin.unbalanced_edges(faces, vertex_count=len(vertices))
    if len(edges):
        gap = OPEN_RATIO * float(np.ptp(vertices, axis=0).max())
        faces = _skin.near_merge(vertices, faces, among=np.unique(edges), within_m=gap)
        edges = _skin.unbalanced_edges(faces, vertex_count=len(vertices))
    return vertices[np.unique(edges)]
