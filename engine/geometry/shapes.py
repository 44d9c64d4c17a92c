"""Solids of simple shape: box, prism between frames, cylinder, mesh. Layer: engine.geometry.

Boxes and prisms of flat faces are exact. A side of a prism whose four corners are not in one plane is cut into four
triangles through the mean of its corners: the volume is then that of the ruled surface, exactly. A cylinder is a
prism of ``CYLINDER_SIDES`` sides with the circle's own area: the volume is exact, and the sides stand off the
circle by no more than 1e-5 of the radius.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from engine.checks import Floats, finite, points, positive
from engine.errors import InputError, LimitError
from engine.geometry.ears import triangulate
from engine.geometry.mesh_input import solid_from_arrays
from engine.geometry.surface_solid import SurfaceSolid

CYLINDER_SIDES = 720
PRISM_POINT_LIMIT = 100_000
SECTION_POINT_LIMIT = 500

Axis = Literal["x", "y", "z"]


@dataclass(frozen=True)
class Box:
    """A box along the ship's axes. [m]

    Raises
    ------
    InputError
        "not-finite"; "box-ends": a least coordinate not below the greatest.
    """

    x_min_m: float
    x_max_m: float
    y_min_m: float
    y_max_m: float
    z_min_m: float
    z_max_m: float

    def __post_init__(self) -> None:
        for axis in "xyz":
            low, high = getattr(self, f"{axis}_min_m"), getattr(self, f"{axis}_max_m")
            for name, value in (("min", low), ("max", high)):
                finite(value, field=f"{axis}_{name}_m")
            if not low < high:
                raise InputError(
                    f"must be below the other end, {high:.6g} m, is {low:.6g} m",
                    code="box-ends",
                    field=f"{axis}_min_m",
                    value=float(low),
                    limit=float(high),
                )

    def solid(self) -> SurfaceSolid:
        """Return the box as a solid."""
        section = np.array([[self.y_min_m, self.z_min_m], [self.y_max_m, self.z_min_m]])
        section = np.concatenate([section, [[self.y_max_m, self.z_max_m], [self.y_min_m, self.z_max_m]]])
        return _drawn(np.array([self.x_min_m, self.x_max_m]), np.stack([section, section]))


@dataclass(frozen=True, eq=False)
class PrismSection:
    """A frame of a prism: a closed polygon at ``x_m``, the last point joined to the first. [m]"""

    x_m: float
    points_m: Floats


@dataclass(frozen=True, eq=False)
class Prism:
    """A body between transverse polygons, ruled from point i of one to point i of the next.

    Polygons may all run clockwise or all anticlockwise, and need not be convex. Two sections may have the same
    polygon: a constant section. Whether the sides of a strongly twisted body pass through each other is not searched.

    Raises
    ------
    InputError
        "too-few-sections", "too-few-points", "not-increasing", "section-points-differ", "sections-turn-opposite",
        "section-self-intersecting", "not-finite", "wrong-shape".
    LimitError
        "too-many-points": over 500 in a section or 100,000 in all.
    """

    sections: tuple[PrismSection, ...]

    def __post_init__(self) -> None:
        if len(self.sections) < 2:
            raise InputError(
                "a prism needs two sections",
                code="too-few-sections",
                field="sections",
                value=float(len(self.sections)),
                limit=2.0,
            )
        tables = []
        for i, section in enumerate(self.sections):
            field = f"sections/{i}/points_m"
            finite(section.x_m, field=f"sections/{i}/x_m")
            tables.append(_checked_polygon(points(section.points_m, columns=2, field=field), field=field))
            if i and len(tables[i]) != len(tables[0]):
                raise InputError(
                    f"has {len(tables[i])} points, the first section {len(tables[0])}",
                    code="section-points-differ",
                    field=field,
                    value=float(len(tables[i])),
                    limit=float(len(tables[0])),
                )
            if i and (signed_area_m2(tables[i]) > 0) != (signed_area_m2(tables[0]) > 0):
                raise InputError("runs the other way round", code="sections-turn-opposite", field=field)
            if i and section.x_m <= self.sections[i - 1].x_m:
                raise InputError(
                    f"must be forward of the section before, {self.sections[i - 1].x_m:.6g} m, is {section.x_m:.6g} m",
                    code="not-increasing",
                    field=f"sections/{i}/x_m",
                    value=float(section.x_m),
                    limit=float(self.sections[i - 1].x_m),
                )
        count = sum(map(len, tables))
        if count > PRISM_POINT_LIMIT:
            raise _too_many(count, PRISM_POINT_LIMIT, "sections")

    @classmethod
    def constant(cls, *, points_m: Floats, x_min_m: float, x_max_m: float) -> "Prism":
        """Return a prism of one section between two x. [m]"""
        return cls((PrismSection(x_min_m, points_m), PrismSection(x_max_m, points_m)))

    def solid(self) -> SurfaceSolid:
        """Return the prism as a solid."""
        polygons = np.array([section.points_m for section in self.sections], dtype=np.float64)
        if signed_area_m2(polygons[0]) < 0:
            polygons = polygons[:, ::-1]
        return _drawn(np.array([section.x_m for section in self.sections], dtype=np.float64), polygons)


@dataclass(frozen=True)
class Cylinder:
    """A circular cylinder: its axis along x, y or z, its middle, its length along the axis. [m]

    Raises
    ------
    InputError
        "unknown-axis", "not-positive", "not-finite".
    """

    axis: Axis
    radius_m: float
    length_m: float
    x_m: float
    y_m: float
    z_m: float

    def __post_init__(self) -> None:
        if self.axis not in ("x", "y", "z"):
            raise InputError("must be x, y or z", code="unknown-axis", field="axis")
        positive(self.radius_m, field="radius_m", unit="m")
        positive(self.length_m, field="length_m", unit="m")
        for name in ("x_m", "y_m", "z_m"):
            finite(getattr(self, name), field=name)

    def solid(self) -> SurfaceSolid:
        """Return the cylinder as a prism of the same volume."""
        turn = 2.0 * np.pi / CYLINDER_SIDES
        angles = turn * (np.arange(CYLINDER_SIDES) + 0.5)
        radius = self.radius_m * np.sqrt(turn / np.sin(turn))
        circle = radius * np.stack([np.cos(angles), np.sin(angles)], axis=1)
        ends = np.array([-0.5, 0.5]) * self.length_m
        rings = np.concatenate([np.column_stack([np.full(len(circle), end), circle]) for end in ends])
        caps = np.column_stack([ends, np.zeros((2, 2))])
        i = np.arange(CYLINDER_SIDES)
        j = (i + 1) % CYLINDER_SIDES
        n = CYLINDER_SIDES
        faces = np.concatenate(
            [
                np.column_stack([i, j, n + j]),
                np.column_stack([i, n + j, n + i]),
                np.column_stack([np.full(n, 2 * n), j, i]),
                np.column_stack([np.full(n, 2 * n + 1), n + i, n + j]),
            ]
        )
        place = {"x": [0, 1, 2], "y": [2, 0, 1], "z": [1, 2, 0]}[self.axis]  # cyclic: faces keep facing out
        vertices = np.concatenate([rings, caps])[:, place] + np.array([self.x_m, self.y_m, self.z_m])
        return SurfaceSolid.from_arrays(vertices_m=vertices, faces=faces)


@dataclass(frozen=True, eq=False)
class MeshShape:
    """A closed skin of triangles. [m]

    Attributes
    ----------
    vertices_m : (n, 3) array_like
        Vertices. [m]
    faces : (m, 3) array_like of int
        Triangles.
    """

    vertices_m: Floats
    faces: NDArray[np.intp]

    def solid(self) -> SurfaceSolid:
        """Return the mesh as a solid.

        Raises
        ------
        InputError
            As ``solid_from_arrays``; "tank-skin-open".
        """
        found = solid_from_arrays(vertices_m=self.vertices_m, faces=self.faces).solid
        if not np.isfinite(found.volume_m3):
            raise InputError("the skin of the tank is open", code="tank-skin-open", field="faces")
        return found


Shape = Box | Prism | Cylinder | MeshShape


def signed_area_m2(polygon_m: Floats) -> float:
    """Return the area of an (n, 2) polygon, positive anticlockwise. [m²]"""
    a, b = polygon_m - polygon_m[0], np.roll(polygon_m, -1, axis=0) - polygon_m[0]
    return float(0.5 * (a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum())


def _checked_polygon(polygon: Floats, *, field: str) -> Floats:
    import shapely

    if len(polygon) > SECTION_POINT_LIMIT:
        raise _too_many(len(polygon), SECTION_POINT_LIMIT, field)
    if len(polygon) < 3:
        raise InputError(
            f"a section needs three points, has {len(polygon)}",
            code="too-few-points",
            field=field,
            value=float(len(polygon)),
            limit=3.0,
        )
    if not shapely.Polygon(polygon).is_valid or signed_area_m2(polygon) == 0:
        raise InputError("the section crosses itself or has no area", code="section-self-intersecting", field=field)
    return polygon


def _too_many(count: int, limit: int, field: str) -> LimitError:
    return LimitError(
        f"{count} points, {limit} are allowed",
        code="too-many-points",
        field=field,
        value=float(count),
        limit=float(limit),
    )


def _drawn(x: Floats, polygons: Floats) -> SurfaceSolid:
    """Return the body between (s, n, 2) anticlockwise polygons at (s,) places."""
    s, n = polygons.shape[:2]
    vertices = np.concatenate([np.broadcast_to(x[:, None, None], (s, n, 1)), polygons], axis=2)
    ring = np.arange(s - 1)[:, None] * n
    i = np.arange(n)
    j = (i + 1) % n
    a, b, c, d = ((ring + k).ravel() for k in (i, j, n + j, n + i))
    corners = vertices.reshape(-1, 3)
    middles = 0.25 * (corners[a] + corners[b] + corners[c] + corners[d])
    m = s * n + np.arange(len(a))
    sides = [np.column_stack([p, q, m]) for p, q in ((a, b), (b, c), (c, d), (d, a))]
    aft, fore = triangulate(polygons[0])[:, ::-1], triangulate(polygons[-1]) + (s - 1) * n
    return SurfaceSolid.of_closed(
        vertices_m=np.concatenate([corners, middles]), faces=np.concatenate([*sides, aft, fore])
    )
