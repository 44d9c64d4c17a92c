"""What the engine's speed is measured against: other ways to the same numbers."""

from typing import Any

import manifold3d
import numpy as np
import shapely
import trimesh

from engine.checks import Floats
from engine.geometry.plane import Planes
from engine.geometry.section_solid import SectionSolid


def compiled(vertices: Floats, faces: np.ndarray) -> manifold3d.Manifold:
    """Return a compiled general-purpose library's solid, made as far as its volume."""
    solid = manifold3d.Manifold(manifold3d.Mesh64(vert_properties=vertices, tri_verts=faces.astype(np.uint64)))
    solid.volume()
    return solid


def compiled_volume(solid: manifold3d.Manifold, planes: Planes, row: int) -> float:
    """Return the volume below one plane by that library."""
    return float(solid.trim_by_plane(tuple(-planes.normals[row]), -planes.offsets_m[row]).volume())


def sliced_volume(mesh: trimesh.Trimesh, planes: Planes, row: int) -> float:
    """Return the volume below one plane by slicing, capping and taking mass properties."""
    normal = planes.normals[row]
    part = mesh.slice_plane(normal * planes.offsets_m[row], -normal, cap=True, engine="manifold")
    return float(part.mass_properties["volume"])


def clipped_volume(vertices: Floats, faces: np.ndarray, planes: Planes, row: int) -> float:
    """Return the volume below one plane by a plain clip of every triangle: ∫ s n·dA over what lies below s = 0."""
    normal, offset = planes.normals[row], planes.offsets_m[row]
    height = (vertices @ normal - offset)[faces]
    corner = vertices[faces]
    facing = 0.5 * np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]) @ normal
    below = height < 0
    wet = below.sum(axis=1)
    volume = float((facing * height.sum(axis=1) / 3.0)[wet == 3].sum())
    for count, sign in ((1, 1.0), (2, -1.0)):
        rows = np.flatnonzero(wet == count)
        lone = np.argmax(below[rows] == (count == 1), axis=1)
        a, b, c = (height[rows, (lone + turn) % 3] for turn in range(3))
        small = facing[rows] * a / (a - b) * a / (a - c) * a / 3.0
        whole = facing[rows] * (a + b + c) / 3.0 if count == 2 else 0.0
        volume += float((whole + sign * small).sum())
    return volume


def polygons_of(solid: SectionSolid) -> Any:
    """Return the sections as (n,) polygons."""
    return np.array([shapely.Polygon(loops[0].points_m) for loops in solid.contours])


def polygon_areas(sections: Any, x_m: Floats, planes: Planes, *, reach_m: float) -> tuple[Floats, Any]:
    """Return (k, n) areas and centroids of the sections below planes, by clipping polygons with half planes."""
    n_x, n_y, n_z = planes.normals.T
    across = np.hypot(n_y, n_z)
    n_y, n_z = (n_y / across)[:, None], (n_z / across)[:, None]
    foot = (planes.offsets_m / across)[:, None] - (n_x / across)[:, None] * x_m
    corners = []
    for along, deep in ((-1, 0), (1, 0), (1, -1), (-1, -1)):
        level = foot + reach_m * deep
        corners.append(np.stack([n_y * level + n_z * along * reach_m, n_z * level - n_y * along * reach_m], axis=-1))
    half = shapely.polygons(np.stack(corners, axis=2))
    cut = shapely.intersection(sections[None, :], half)
    return shapely.area(cut), shapely.centroid(cut)
