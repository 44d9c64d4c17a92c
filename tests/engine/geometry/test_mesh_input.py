"""Meshes as they come in: read, described, refused."""

import re

import numpy as np
import pytest

from engine.errors import InputError, LimitError
from engine.geometry.mesh_input import read_mesh, solid_from_arrays
from engine.geometry.plane import Planes
from tests.engine.geometry import meshes

ELLIPSOID = meshes.ellipsoid(16, a=30.0, b=6.0, c=4.0, draft=2.5)
BOX = meshes.box()


def exported(mesh, kind):
    trimesh = pytest.importorskip("trimesh")
    data = trimesh.Trimesh(*mesh, process=False).export(file_type=kind)
    return data.encode() if isinstance(data, str) else data


def codes(result):
    return [finding.code for finding in result.findings]


def joined(*parts):
    vertices, faces, first = [], [], 0
    for v, f in parts:
        vertices.append(v)
        faces.append(f + first)
        first += len(v)
    return np.concatenate(vertices), np.concatenate(faces)


def refusal(call):
    with pytest.raises((InputError, LimitError)) as caught:
        call()
    return caught.value


@pytest.mark.parametrize(
    ("kind", "file_format", "rtol"),
    # binary STL and PLY hold float32; OBJ and OFF are written with 8 to 10 digits
    [
        ("stl", "stl", 1e-6),
        ("stl_ascii", "stl", 1e-7),
        ("obj", "obj", 1e-7),
        ("ply", "ply", 1e-6),
        ("off", "off", 1e-7),
    ],
)
def test_every_format_gives_the_same_body(kind, file_format, rtol):
    expected = solid_from_arrays(vertices_m=ELLIPSOID[0], faces=ELLIPSOID[1]).solid
    result = read_mesh(exported(ELLIPSOID, kind), file_format=file_format)
    assert result.solid.volume_m3 == pytest.approx(expected.volume_m3, rel=rtol)
    assert len(result.solid.faces) == len(ELLIPSOID[1])
    corners = 3 * len(ELLIPSOID[1]) - len(ELLIPSOID[0])
    assert [(f.code, f.count) for f in result.findings] == (
        [("vertices-merged", corners)] if file_format == "stl" else []
    )


def test_the_scale_is_the_file_unit_in_metres():
    mm = (BOX[0] * 1000, BOX[1])
    result = read_mesh(exported(mm, "off"), file_format="off", scale_ratio=0.001)
    assert result.solid.volume_m3 == pytest.approx(5760, rel=1e-12)
    assert refusal(lambda: read_mesh(exported(mm, "off"), file_format="off", scale_ratio=0)).field == "scale_ratio"


def test_polygons_are_cut_into_triangles_and_other_files_are_not_opened():
    quads = "\n".join(
        ["mtllib elsewhere.mtl", "usemtl paint", "# a name in Latin-1: \xe9"]
        + [f"v {x} {y} {z}" for x, y, z in BOX[0]]
        + ["f 4 3 2 1", "f 5 6 7 8", "f 1 2 6 5", "f 2 3 7 6", "f 3 4 8 7", "f 4 1 5 8"]
    ).encode("latin-1")
    result = read_mesh(quads, file_format="obj")
    assert result.solid.volume_m3 == pytest.approx(5760, rel=1e-12)
    assert len(result.solid.faces) == 12

    def backwards(match):
        return b"f " + b" ".join(b"%d//1" % (int(word) - 9) for word in match.group().split()[1:])

    relative = re.sub(rb"f \d.*", backwards, quads)
    assert read_mesh(relative, file_format="obj").solid.volume_m3 == pytest.approx(5760, rel=1e-12)
    assert refusal(lambda: read_mesh(quads + b"\nf 0 1 2", file_format="obj")).code == "mesh-unreadable"
    assert refusal(lambda: read_mesh(quads + b"\nf 1 2", file_format="obj")).code == "mesh-unreadable"
    assert refusal(lambda: read_mesh(quads + b"\nf 1 2 9", file_format="obj")).code == "face-index"
    polygons = b"OFF\n8 6 0\n" + quads.split(b"\xe9\n")[1].replace(b"v ", b"").split(b"f ")[0]
    for face in ("3 2 1 0", "4 5 6 7", "0 1 5 4", "1 2 6 5", "2 3 7 6", "3 0 4 7"):
        polygons += f"4 {face}\n".encode()
    assert read_mesh(polygons, file_format="off").solid.volume_m3 == pytest.approx(5760, rel=1e-12)


@pytest.mark.parametrize("kind", ["stl", "stl_ascii", "ply", "off"])
def test_a_file_that_breaks_off_is_refused_wherever_it_does(kind):
    data = exported(BOX, kind)
    for length in range(0, len(data) - 20, 37):
        error = refusal(lambda length=length: read_mesh(data[:length], file_format=kind[:3]))
        assert error.code in ("mesh-unreadable", "empty-mesh")
        assert error.field == "data"


def test_a_head_that_announces_more_than_the_file_holds_is_refused_before_anything_is_made():
    lying = b"\0" * 80 + (4_000_000_000).to_bytes(4, "little")
    assert refusal(lambda: read_mesh(lying, file_format="stl")).code == "mesh-unreadable"
    head = b"ply\nformat binary_little_endian 1.0\nelement vertex 4000000000\nproperty float x\nend_header\n"
    assert refusal(lambda: read_mesh(head, file_format="ply")).code == "mesh-unreadable"
    assert refusal(lambda: read_mesh(b"OFF\n9999999999 9999999999 0\n", file_format="off")).code == "mesh-unreadable"


@pytest.mark.parametrize("file_format", ["stl", "obj", "ply", "off"])
def test_bytes_of_any_kind_never_raise_anything_but_a_refusal(file_format):
    rng = np.random.default_rng(5)
    good = exported(BOX, file_format)
    seen = set()
    for _ in range(60):
        data = bytearray(good)
        for place in rng.integers(0, len(data), 4):
            data[place] = rng.integers(0, 256)
        try:
            solid = read_mesh(bytes(data), file_format=file_format).solid
            assert np.isfinite(solid.vertices_m).all()
        except (InputError, LimitError) as error:
            seen.add(error.code)
    assert seen
    assert refusal(lambda: read_mesh(b"", file_format=file_format)).code in ("mesh-unreadable", "empty-mesh")
    noise = rng.integers(0, 256, 3000, dtype=np.uint8).tobytes()
    assert refusal(lambda: read_mesh(noise, file_format=file_format)).code in ("mesh-unreadable", "empty-mesh")


def test_other_refusals_of_a_file():
    assert refusal(lambda: read_mesh(b"", file_format="dae")).code == "unknown-format"
    error = refusal(lambda: read_mesh(exported(BOX, "stl"), file_format="stl", triangle_limit=11))
    assert (error.code, error.value, error.limit) == ("too-many-triangles", 12, 11)
    nan = re.sub(rb"60\.0+", b"nan", exported(BOX, "off"), count=1)
    error = refusal(lambda: read_mesh(nan, file_format="off"))
    assert (error.code, error.field) == ("not-finite", "data")


def test_an_inverted_body_is_turned_and_said_so():
    result = solid_from_arrays(vertices_m=BOX[0], faces=BOX[1][:, ::-1])
    assert codes(result) == ["inverted-turned"]
    assert result.findings[0].count == 12
    assert result.solid.volume_m3 == pytest.approx(5760, rel=1e-12)
    open_deck = BOX[1][~(BOX[0][BOX[1]][:, :, 2] == 8).all(axis=1)]
    result = solid_from_arrays(vertices_m=BOX[0], faces=open_deck[:, ::-1])
    assert codes(result) == ["open-skin", "inverted-turned"]
    cut = result.solid.cut(Planes.from_waterplanes(draft_m=3.5, length_bp_m=60.0))
    assert cut.volume_m3[0] == pytest.approx(2520, rel=1e-12)


def test_an_open_skin_is_a_finding_with_its_lowest_edge():
    open_deck = BOX[1][~(BOX[0][BOX[1]][:, :, 2] == 8).all(axis=1)]
    finding = solid_from_arrays(vertices_m=BOX[0], faces=open_deck).findings[0]
    assert (finding.code, finding.count, finding.place_m[2]) == ("open-skin", 4, 8.0)


def test_triangles_that_face_opposite_ways_are_refused_with_count_and_place():
    faces = BOX[1].copy()
    faces[0] = faces[0, ::-1]
    error = refusal(lambda: solid_from_arrays(vertices_m=BOX[0], faces=faces))
    assert (error.code, error.value) == ("inconsistent-orientation", 3)  # the three edges of one triangle
    assert "(" in error.message


def test_triangles_without_area_are_counted_and_add_nothing():
    plain = solid_from_arrays(vertices_m=BOX[0], faces=BOX[1]).solid
    vertices = np.vstack([BOX[0], [30.0, -6, 0]])  # midway on an edge: slivers of exactly no area, both ways round
    read = solid_from_arrays(vertices_m=vertices, faces=np.vstack([BOX[1], [0, 8, 4], [0, 4, 8]]))
    assert [(one.code, one.count) for one in read.findings if one.code.startswith("degenerate")] == [
        ("degenerate-triangles", 2)
    ]
    planes = Planes.from_waterplanes(draft_m=2.0, heel_deg=10, length_bp_m=60)
    assert read.solid.cut(planes).volume_m3 == pytest.approx(plain.cut(planes).volume_m3, rel=1e-14)


def test_nothing_but_triangles_without_area_is_refused():
    error = refusal(lambda: solid_from_arrays(vertices_m=BOX[0], faces=[[0, 1, 1], [1, 0, 0]]))
    assert (error.code, error.value) == ("degenerate-triangles", 2)
    assert "(0, -6, 0)" in error.message


def test_equal_and_unused_vertices_are_counted():
    vertices = np.concatenate([BOX[0], BOX[0], [[9.0, 9, 9]]])
    faces = BOX[1].copy()
    faces[6:] += 8
    result = solid_from_arrays(vertices_m=vertices, faces=faces)
    merged = len(np.unique(faces)) - 8
    assert [(f.code, f.count) for f in result.findings] == [
        ("vertices-unused", 17 - 8 - merged),
        ("vertices-merged", merged),
    ]
    assert result.solid.volume_m3 == pytest.approx(5760, rel=1e-12)


def test_a_crack_within_the_tolerance_is_noted():
    vertices = np.concatenate([BOX[0], BOX[0] + 1e-12])
    faces = BOX[1].copy()
    faces[6:] += 8
    result = solid_from_arrays(vertices_m=vertices, faces=faces)
    assert "cracks-within-tolerance" in codes(result)
    assert "open-skin" not in codes(result)


def test_several_bodies_and_cavities_are_one_solid():
    inner = (BOX[0] * [0.5, 0.5, 0.5] + [10, 0, 1.0], BOX[1][:, ::-1])
    hollow = solid_from_arrays(vertices_m=joined(BOX, inner)[0], faces=joined(BOX, inner)[1])
    assert hollow.findings == ()
    assert hollow.solid.volume_m3 == pytest.approx(5760 * 7 / 8, rel=1e-12)
    twin = joined(BOX, (BOX[0] + [0, 20, 0], BOX[1]))
    assert solid_from_arrays(vertices_m=twin[0], faces=twin[1]).solid.volume_m3 == pytest.approx(11520, rel=1e-12)
    stray = joined(BOX, (BOX[0] * 0.5 + [0, 20, 0], BOX[1][:, ::-1]))
    error = refusal(lambda: solid_from_arrays(vertices_m=stray[0], faces=stray[1]))
    assert (error.code, error.value) == ("inconsistent-orientation", 12)


def test_bodies_that_touch_along_an_edge_are_allowed_and_noted():
    mesh = joined(BOX, (BOX[0] + [0, 12, 8], BOX[1]))
    result = solid_from_arrays(vertices_m=mesh[0], faces=mesh[1])
    assert codes(result) == ["vertices-merged", "edges-shared"]
    assert result.solid.volume_m3 == pytest.approx(11520, rel=1e-12)


def half_box():
    vertices, faces = meshes.prism_along_x([(0, 0), (6, 0), (6, 8), (0, 8)], 0, 60)
    return vertices, faces


def test_a_half_mesh_is_mirrored_and_its_centreline_faces_dropped():
    vertices, faces = half_box()
    result = solid_from_arrays(vertices_m=vertices, faces=faces, symmetry="half")
    assert [(f.code, f.count) for f in result.findings] == [("centreline-faces-dropped", 2)]
    whole = solid_from_arrays(vertices_m=BOX[0], faces=BOX[1]).solid
    planes = Planes.from_waterplanes(draft_m=3.5, heel_deg=20, trim_m=1, length_bp_m=60.0)
    np.testing.assert_allclose(result.solid.cut(planes).centroid_m, whole.cut(planes).centroid_m, atol=1e-11)
    on = (vertices[faces][:, :, 1] == 0).all(axis=1)
    assert codes(solid_from_arrays(vertices_m=vertices, faces=faces[~on], symmetry="half")) == []
    # one demihull, closed and clear of the centreline, becomes two
    twin = solid_from_arrays(vertices_m=BOX[0] + [0, 9, 0], faces=BOX[1], symmetry="half")
    assert (codes(twin), twin.solid.volume_m3) == ([], pytest.approx(11520, rel=1e-12))


def test_a_half_mesh_off_the_centreline_is_refused():
    vertices, faces = half_box()
    on = (vertices[faces][:, :, 1] == 0).all(axis=1)
    error = refusal(
        lambda: solid_from_arrays(vertices_m=vertices + np.array([0, 0.01, 0]), faces=faces[~on], symmetry="half")
    )
    assert (error.code, error.value) == ("half-mesh-off-centreline", 0.01)
    assert error.limit == pytest.approx(60e-9)
    error = refusal(lambda: solid_from_arrays(vertices_m=BOX[0], faces=BOX[1], symmetry="half"))
    assert (error.code, error.value) == ("half-mesh-off-centreline", 6.0)
    moved = solid_from_arrays(vertices_m=vertices + np.array([0, 1e-9, 0]), faces=faces[~on], symmetry="half")
    assert [(f.code, f.count) for f in moved.findings] == [("centreline-moved", 4)]
    assert moved.solid.volume_m3 == pytest.approx(5760, rel=1e-9)


def test_a_skin_that_encloses_nothing_and_other_arrays_are_refused():
    sheet = (np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0]]), np.array([[0, 1, 2], [2, 1, 0]]))
    assert refusal(lambda: solid_from_arrays(vertices_m=sheet[0], faces=sheet[1])).code == "no-volume"
    assert refusal(lambda: solid_from_arrays(vertices_m=BOX[0], faces=[])).code == "empty-mesh"
    assert refusal(lambda: solid_from_arrays(vertices_m=BOX[0], faces=BOX[1] + 8)).code == "face-index"
    assert (
        refusal(lambda: solid_from_arrays(vertices_m=np.where(BOX[0] == 8, np.inf, BOX[0]), faces=BOX[1])).code
        == "not-finite"
    )
    error = refusal(lambda: solid_from_arrays(vertices_m=BOX[0], faces=BOX[1], symmetry="both"))
    assert (error.code, error.field) == ("unknown-symmetry", "symmetry")
    error = refusal(lambda: solid_from_arrays(vertices_m=BOX[0], faces=BOX[1], symmetry="half", triangle_limit=23))
    assert (error.code, error.value, error.limit) == ("too-many-triangles", 24, 23)
