"""A mesh computed by its sections beside the same mesh computed by its skin."""

from itertools import pairwise

import numpy as np
import pytest
import trimesh

from engine.errors import InputError
from engine.geometry import Planes, SurfaceSolid, sections_of_mesh


def loft(rows):
    """A closed mesh through rings (r, n, 3) of a half section with its mirror image."""
    rings = np.concatenate([rows, rows[:, :0:-1] * [1, -1, 1]], axis=1)
    r, n = rings.shape[:2]
    i, j = np.meshgrid(np.arange(r - 1) * n, np.arange(n), indexing="ij")
    k = (j + 1) % n
    a, b, c, d = ((i + j).ravel(), (i + n + j).ravel(), (i + n + k).ravel(), (i + k).ravel())
    vertices = np.concatenate([rings.reshape(-1, 3), rings[[0, -1]].mean(axis=1)])
    ring = np.column_stack([np.arange(n), (np.arange(n) + 1) % n])
    ends = [np.column_stack([ring + at, np.full(n, hub)]) for at, hub in ((0, r * n), ((r - 1) * n, r * n + 1))]
    faces = np.concatenate([np.column_stack([a, b, c]), np.column_stack([a, c, d]), *ends])
    mesh = trimesh.Trimesh(vertices=vertices, faces=faces)
    mesh.merge_vertices()
    mesh.update_faces(mesh.nondegenerate_faces())
    mesh.fix_normals()
    assert mesh.is_watertight
    return mesh.vertices, mesh.faces


def ship(nx=80, nz=16):
    """60 m: immersed transom, parallel body, raked stem."""
    angle = np.linspace(0, np.pi / 2, nz + 1)
    rows = []
    for u in np.linspace(0, 1, nx + 1):
        breadth = 6 * (1 - max(0.0, (u - 0.55) / 0.45) ** 2.2) * (0.75 + 0.25 * np.sin(min(u / 0.4, 1) * np.pi / 2))
        keel = max(0.0, (0.2 - u) / 0.2) ** 2 * 2.5
        fullness = 0.35 + 0.4 * np.sin(np.pi * min(max(u, 0.02), 0.98))
        z = keel + (8 - keel) * (1 - np.cos(angle))
        y = max(breadth, 1e-9) * np.sin(angle) ** (2 * (1 - fullness))
        rows.append(np.column_stack([u * 60 + z / 8 * 4 * max(0.0, (u - 0.8) / 0.2), y, z]))
    return loft(np.array(rows))


def parabolic(nx=80, nz=40, length=100.0, breadth=10.0, draft=6.25):
    rows = []
    for u in np.linspace(-1, 1, nx + 1):
        z = np.linspace(0, draft, nz + 1)
        y = breadth / 2 * (1 - u**2) * (1 - (1 - z / draft) ** 2)
        rows.append(np.column_stack([np.full(nz + 1, u * length / 2), y, z]))
    return loft(np.array(rows))


PLANES = Planes.from_waterplanes(
    draft_m=[3, 4, 4, 4, 5, 4], heel_deg=[0, 0, 20, 0, 15, 45], trim_m=[0, 0, 0, 3, -2, 6], length_bp_m=60.0
)


@pytest.mark.parametrize("made", [ship, parabolic])
def test_sections_agree_with_the_skin(made):
    vertices, faces = made()
    skin = SurfaceSolid.from_arrays(vertices_m=vertices, faces=faces)
    solid = sections_of_mesh(vertices_m=vertices, faces=faces)
    one, other = solid.cut(PLANES), skin.cut(PLANES)
    assert solid.volume_m3 == pytest.approx(skin.volume_m3, rel=1e-3)
    assert one.volume_m3 == pytest.approx(other.volume_m3, rel=1e-3)
    assert one.waterplane_area_m2 == pytest.approx(other.waterplane_area_m2, rel=1e-3)
    assert one.wetted_area_m2 == pytest.approx(other.wetted_area_m2, rel=2e-3)
    assert one.centroid_m == pytest.approx(other.centroid_m, abs=0.01)
    assert one.waterplane_tensor_m4[:, 0, 0] == pytest.approx(other.waterplane_tensor_m4[:, 0, 0], rel=2e-3)


def boxes(*spans):
    """Boxes (x0, x1, breadth) 8 deep, welded by a union done here: coaxial steps, skin made of quads."""
    vertices, faces = [], []

    def quad(a, b, c, d):
        n = len(vertices)
        vertices.extend([a, b, c, d])
        faces.extend([[n, n + 1, n + 2], [n, n + 2, n + 3]])

    def plate(x, y0, y1):
        quad((x, y0, 0), (x, y1, 0), (x, y1, 8), (x, y0, 8))

    for x0, x1, breadth in spans:
        b = breadth / 2
        ring = [(-b, 0), (b, 0), (b, 8), (-b, 8)]
        for p, q in zip(ring, ring[1:] + ring[:1], strict=True):
            quad((x0, *p), (x1, *p), (x1, *q), (x0, *q))
    for (_, x, wide), (_, _, narrow) in pairwise(spans):
        for side in (-1, 1):
            plate(x, side * wide / 2, side * narrow / 2)
    plate(spans[0][0], -spans[0][2] / 2, spans[0][2] / 2)
    plate(spans[-1][1], -spans[-1][2] / 2, spans[-1][2] / 2)
    return np.array(vertices, float), np.array(faces)


def test_flat_faces_are_breaks():
    # Closed form: 12 x 30 and 8 x 30 at draft 2; wetted bottom, sides, ends and step.
    vertices, faces = boxes((0, 30, 12), (30, 60, 8))
    solid = sections_of_mesh(vertices_m=vertices, faces=faces)
    assert np.count_nonzero(solid.x_m == 30) == 2
    cut = solid.cut(Planes.from_waterplanes(draft_m=2.0, length_bp_m=60.0))
    assert cut.volume_m3[0] == pytest.approx(1200, rel=1e-9)
    assert cut.wetted_area_m2[0] == pytest.approx(600 + 2 * 60 * 2 + 2 * (12 + 8 + 4), rel=1e-9)


def test_chosen_positions_are_used():
    vertices, faces = boxes((0, 60, 12))
    solid = sections_of_mesh(vertices_m=vertices, faces=faces, x_positions_m=[10, 20, 60, 90])
    assert solid.x_m.tolist() == [0, 10, 20, 60]


def test_a_hole_through_the_mesh_is_a_hole_in_its_sections():
    # A tube: outer 12 x 8, inner 6 x 4, 60 long; V = 60 (96 - 24).
    outer = trimesh.creation.box(extents=[60, 12, 8])
    tube = trimesh.boolean.difference([outer, trimesh.creation.box(extents=[70, 6, 4])], engine="manifold")
    solid = sections_of_mesh(vertices_m=tube.vertices, faces=tube.faces)
    assert solid.volume_m3 == pytest.approx(60 * 72, rel=1e-9)
    assert len(solid.contours[5]) == 2


def test_an_open_mesh_is_refused():
    vertices, faces = boxes((0, 60, 12))
    with pytest.raises(InputError) as caught:
        sections_of_mesh(vertices_m=vertices, faces=faces[2:])
    assert caught.value.code == "section-not-closed"


@pytest.mark.parametrize(
    ("vertices", "faces", "code"),
    [
        ([[0, 0, 0], [0, 1, 0], [0, 0, 1]], [[0, 1, 2]], "no-length"),
        ([[0, 0, 0], [1, 1, 0], [0, 0, 1]], [], "wrong-shape"),
        ([[0, 0], [1, 1], [0, 0]], [[0, 1, 2]], "wrong-shape"),
        ([[0, 0, 0], [np.nan, 1, 0], [0, 0, 1]], [[0, 1, 2]], "not-finite"),
    ],
)
def test_refused(vertices, faces, code):
    with pytest.raises(InputError) as caught:
        sections_of_mesh(vertices_m=vertices, faces=faces)
    assert caught.value.code == code
