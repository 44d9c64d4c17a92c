"""Skins of triangles as they come in: checked, described, never repaired in silence. Layer: engine.geometry.

What is done to a skin (vertices of exactly equal coordinates made one, an inverted body turned, a half
mirrored) is a finding; what cannot be a body is refused.
"""

from typing import NamedTuple, NoReturn

import numpy as np
from numpy.typing import ArrayLike

from engine.checks import Floats, points, positive
from engine.errors import InputError, LimitError
from engine.findings import Finding
from engine.geometry import skin as _skin
from engine.geometry.half_mesh import mirrored
from engine.geometry.mesh_files import FileFormat, arrays_of_file
from engine.geometry.skin import Ints
from engine.geometry.surface_solid import OPEN_RATIO, SurfaceSolid, checked_faces

TRIANGLE_LIMIT = 2_000_000


class MeshInput(NamedTuple):
    """The solid and what was noticed about its skin."""

    solid: SurfaceSolid
    findings: tuple[Finding, ...]


def read_mesh(
    data: bytes,
    *,
    file_format: FileFormat,
    scale_ratio: float = 1.0,
    symmetry: str = "full",
    triangle_limit: int = TRIANGLE_LIMIT,
) -> MeshInput:
    """Read a mesh file held in memory. No other file is opened, whatever this one names.

    Parameters
    ----------
    data : bytes
        The file: STL (binary or ASCII), OBJ, PLY or OFF; polygons are cut into triangles.
    file_format : {"stl", "obj", "ply", "off"}
        Which of them.
    scale_ratio : float
        File unit × scale_ratio = metres.
    symmetry : {"full", "half"}
        "half": the mesh is one side of the centreline and is mirrored in y = 0.
    triangle_limit : int
        Triangles allowed, after mirroring.

    Raises
    ------
    InputError
        "mesh-unreadable", or as ``solid_from_arrays``.
    LimitError
        "too-many-triangles".
    """
    vertices, faces = arrays_of_file(data, file_format=file_format, triangle_limit=triangle_limit)
    del data  # large: held by nobody while the solid is built
    vertices *= positive(scale_ratio, field="scale_ratio")
    try:
        return solid_from_arrays(vertices_m=vertices, faces=faces, symmetry=symmetry, triangle_limit=triangle_limit)
    except (InputError, LimitError) as error:
        if error.field.split("/")[0] in ("vertices_m", "faces"):
            error.field = "data"
        raise


def solid_from_arrays(
    *, vertices_m: ArrayLike, faces: ArrayLike, symmetry: str = "full", triangle_limit: int = TRIANGLE_LIMIT
) -> MeshInput:
    """Check a skin and build its solid.

    Parameters
    ----------
    vertices_m : (n, 3) array_like
        Vertices. [m]
    faces : (m, 3) array_like of int
        Triangles, all with outward normals or all with inward ones.
    symmetry : {"full", "half"}
        "half": one side of the centreline, mirrored in y = 0. Its centreline edges must have y = 0 within
        1e-9 of the body's size.
    triangle_limit : int
        Triangles allowed, after mirroring.

    Raises
    ------
    InputError
        "not-finite", "wrong-shape", "empty-mesh", "face-index", "unknown-symmetry", "degenerate-triangles",
        "inconsistent-orientation", "half-mesh-off-centreline", "no-volume".
    LimitError
        "too-many-triangles".

    Notes
    -----
    Findings: "vertices-merged", "vertices-unused", "centreline-faces-dropped", "centreline-moved",
    "cracks-within-tolerance", "degenerate-triangles", "open-skin", "edges-shared", "inverted-turned".
    """
    vertices = points(vertices_m, columns=3, field="vertices_m")
    triangles = checked_faces(faces, vertex_count=len(vertices))
    if symmetry not in ("full", "half"):
        raise InputError("must be full or half", code="unknown-symmetry", field="symmetry")
    count = len(triangles) * (2 if symmetry == "half" else 1)
    if count > triangle_limit:
        raise LimitError(
            f"{count} triangles, {triangle_limit} are allowed",
            code="too-many-triangles",
            field="faces",
            value=float(count),
            limit=float(triangle_limit),
        )
    findings: list[Finding] = []
    vertices, triangles = _tidied(vertices, triangles, findings)
    _note_degenerate(vertices, triangles, findings)
    if symmetry == "half":
        vertices, triangles = mirrored(vertices, triangles, findings)
    triangles = _oriented(vertices, triangles, findings)
    return MeshInput(SurfaceSolid.from_arrays(vertices_m=vertices, faces=triangles), tuple(findings))


def _tidied(vertices: Floats, faces: Ints, findings: list[Finding]) -> tuple[Floats, Ints]:
    """Drop unused vertices and make one of exactly equal ones."""
    used, faces = _skin.drop_unused(vertices, faces)
    if len(used) < len(vertices):
        count = len(vertices) - len(used)
        findings.append(Finding("vertices-unused", f"{count} vertices belong to no triangle and are left out", count))
    merged, faces = _skin.merge_equal(used, faces)
    if len(merged) < len(used):
        count = len(used) - len(merged)
        findings.append(Finding("vertices-merged", f"{count} vertices exactly equal to another one are merged", count))
    return merged, faces


def _note_degenerate(vertices: Floats, faces: Ints, findings: list[Finding]) -> None:
    """Note triangles without area: they add nothing to any integral, and may be what closes the skin."""
    flat = _skin.degenerate(vertices, faces)
    if len(flat) == len(faces):
        _refuse("triangles have no area", "degenerate-triangles", len(flat), vertices[faces[flat[0], 0]])
    if len(flat):
        place = vertices[faces[flat[0], 0]]
        findings.append(
            Finding(
                "degenerate-triangles", f"{len(flat)} triangles have no area and add nothing", len(flat), _tuple(place)
            )
        )


def _refuse(what: str, code: str, count: int, place: Floats) -> NoReturn:
    x, y, z = place
    raise InputError(
        f"{count} {what}, the first at ({x:.6g}, {y:.6g}, {z:.6g}) m",
        code=code,
        field="faces",
        value=float(count),
        limit=0.0,
    )


def _oriented(vertices: Floats, faces: Ints, findings: list[Finding]) -> Ints:
    """Return the triangles with outward normals; note openings and refuse a skin without a clear inside."""
    if _skin.edges_balance(faces, vertex_count=len(vertices)):
        middle = 0.5 * (vertices.min(axis=0) + vertices.max(axis=0))
        counts = _skin.count_edges(faces, vertex_count=len(vertices))
    else:
        counts, middle = _openings(vertices, faces, findings)
    if len(counts.shared):
        place = vertices[counts.shared[0, 0]]
        findings.append(
            Finding(
                "edges-shared",
                f"{len(counts.shared)} edges belong to more than two triangles, as often one way as the other",
                len(counts.shared),
                _tuple(place),
            )
        )
    parts = _skin.volume_about(vertices, faces, point=middle)
    volume = float(parts.sum())
    size = float(np.ptp(vertices, axis=0).max())
    if abs(volume) <= 1e-12 * size**3:
        raise InputError(f"the skin encloses {volume:.6g} m³", code="no-volume", field="faces", value=volume, limit=0.0)
    if volume < 0:
        faces, parts = np.ascontiguousarray(faces[:, ::-1]), -parts
        findings.append(
            Finding("inverted-turned", f"all {len(faces)} triangles faced inwards and are turned", len(faces))
        )
    if not len(counts.open):
        _refuse_stray_cavities(vertices, faces, parts)
    return faces


def _openings(vertices: Floats, faces: Ints, findings: list[Finding]) -> tuple[_skin.EdgeCounts, Floats]:
    """Return the edges of a skin that does not close, cracks within the tolerance closed, and a point of its rim."""
    before = _skin.count_edges(faces, vertex_count=len(vertices))
    if len(before.inconsistent):
        place = vertices[before.inconsistent[0, 0]]
        _refuse(
            "edges join triangles that face opposite ways", "inconsistent-orientation", len(before.inconsistent), place
        )
    gap = OPEN_RATIO * float(np.ptp(vertices, axis=0).max())
    welded = _skin.near_merge(vertices, faces, among=np.unique(before.open), within_m=gap)
    after = _skin.count_edges(welded, vertex_count=len(vertices))
    cracks = len(before.open) - len(after.open)
    if cracks:
        findings.append(
            Finding("cracks-within-tolerance", f"{cracks} edges stand apart by less than {gap:.6g} m", cracks)
        )
    if len(after.inconsistent):
        place = vertices[after.inconsistent[0, 0]]
        _refuse(
            "edges join triangles that face opposite ways", "inconsistent-orientation", len(after.inconsistent), place
        )
    if not len(after.open):
        return after, 0.5 * (vertices.min(axis=0) + vertices.max(axis=0))
    rim = vertices[np.unique(after.open)]
    lowest = rim[np.argmin(rim[:, 2])]
    findings.append(
        Finding(
            "open-skin",
            f"{len(after.open)} edges are open, the lowest at z = {lowest[2]:.6g} m; water must stay below them",
            len(after.open),
            _tuple(lowest),
        )
    )
    return after, np.asarray(rim.mean(axis=0), dtype=np.float64)


def _refuse_inconsistent(vertices: Floats, edges: Ints) -> None:
    if len(edges):
        what = "edges join triangles that face opposite ways"
        _refuse(what, "inconsistent-orientation", len(edges), vertices[edges[0, 0]])


def _refuse_stray_cavities(vertices: Floats, faces: Ints, volumes: Floats) -> None:
    """Refuse a body turned inside out that lies within no other."""
    body = _skin.bodies(faces, vertex_count=len(vertices))
    total = np.bincount(body, weights=volumes)
    if (total >= 0).all():
        return
    order = np.argsort(body, kind="stable")
    starts = np.searchsorted(body[order], np.arange(len(total)))
    corners = vertices[faces[order]]
    low = np.minimum.reduceat(corners.min(axis=1), starts, axis=0)
    high = np.maximum.reduceat(corners.max(axis=1), starts, axis=0)
    outer = np.flatnonzero(total > 0)
    for inner in np.flatnonzero(total < 0):
        inside = (low[outer] <= low[inner]).all(axis=1) & (high[outer] >= high[inner]).all(axis=1)
        if not inside.any():
            count = int((body == inner).sum())
            place = vertices[faces[order[starts[inner]], 0]]
            _refuse("triangles of a body that lies in no other face inwards", "inconsistent-orientation", count, place)


def _tuple(place: Floats) -> tuple[float, float, float]:
    return float(place[0]), float(place[1]), float(place[2])
