"""Hulls whose righting arms are known in closed form, and an independent way to cut a mesh."""

from dataclasses import dataclass

import numpy as np

from engine.geometry import SurfaceSolid
from engine.geometry.shapes import Box


def barge(depth_m=8.0, *, length_m=60.0, breadth_m=12.0):
    """A box, keel at z = 0, x from 0."""
    half = breadth_m / 2
    return Box(x_min_m=0, x_max_m=length_m, y_min_m=-half, y_max_m=half, z_min_m=0, z_max_m=depth_m).solid()


@dataclass(frozen=True)
class Ellipsoid:
    """A faceted ellipsoid of semi-axes a, b, c, keel at z = 0, middle at x = 0.

    It is a many-sided body of revolution about x, stretched: turned by a whole number of its ``sides`` it is the same,
    so before stretching its immersed part turns rigidly, and the closed forms of the smooth body hold exactly
    at the heels of ``exact_heel_deg``.
    """

    a: float
    b: float
    c: float
    sides: int = 72
    rings: int = 24

    def arrays(self):
        """Vertices and outward triangles."""
        along = np.pi * np.arange(1, self.rings) / self.rings
        turn = 2 * np.pi * np.arange(self.sides) / self.sides
        x = np.repeat(-self.a * np.cos(along), self.sides)
        r = np.repeat(np.sin(along), self.sides)
        y, z = r * np.tile(np.cos(turn), self.rings - 1), r * np.tile(np.sin(turn), self.rings - 1)
        vertices = np.concatenate(
            [np.column_stack([x, self.b * y, self.c * (1 + z)]), [[-self.a, 0, self.c], [self.a, 0, self.c]]]
        )
        i = np.arange(self.sides)
        j = (i + 1) % self.sides
        faces = []
        for ring in range(self.rings - 2):
            here, there = ring * self.sides, (ring + 1) * self.sides
            faces += [
                np.column_stack([here + i, here + j, there + j]),
                np.column_stack([here + i, there + j, there + i]),
            ]
        aft, fore, last = len(vertices) - 2, len(vertices) - 1, (self.rings - 2) * self.sides
        faces += [
            np.column_stack([np.full_like(i, aft), j, i]),
            np.column_stack([np.full_like(i, fore), last + i, last + j]),
        ]
        return vertices, np.concatenate(faces)

    def solid(self):
        """The body."""
        vertices, faces = self.arrays()
        return SurfaceSolid.from_arrays(vertices_m=vertices, faces=faces)

    def exact_heel_deg(self, sides):
        """Heel that turns the unstretched body by a number of sides: tan φ = (c/b) tan ψ."""
        turned = 2 * np.pi * np.asarray(sides) / self.sides
        return np.degrees(np.arctan2(self.c * np.sin(turned), self.b * np.cos(turned)))

    def arm_m(self, *, heel_deg, kb_m, kg_m):
        """GZ of the stretched body of revolution whose KB is ``kb_m``: the closed form, with ζ from KB."""
        sine, cosine = np.sin(np.radians(heel_deg)), np.cos(np.radians(heel_deg))
        zeta = (self.c - kb_m) / self.c
        root = np.sqrt(self.b**2 * sine**2 + self.c**2 * cosine**2)
        return (self.c - kg_m) * sine + zeta * (self.b**2 - self.c**2) * sine * cosine / root


def below(vertices, faces, normal, offset):
    """Volume and centroid below a plane by the compiled solid library, not the engine."""
    import manifold3d

    whole = manifold3d.Manifold(manifold3d.Mesh64(vert_properties=vertices, tri_verts=faces.astype(np.uint64)))
    kept = whole.trim_by_plane(tuple(-np.asarray(normal)), -offset).to_mesh64()
    corners = np.asarray(kept.vert_properties)[:, :3][np.asarray(kept.tri_verts).astype(int)]
    sixfold = np.einsum("kj,kj->k", corners[:, 0], np.cross(corners[:, 1], corners[:, 2]))
    return sixfold.sum() / 6, (sixfold[:, None] * corners.sum(axis=1)).sum(axis=0) / (4 * sixfold.sum())
