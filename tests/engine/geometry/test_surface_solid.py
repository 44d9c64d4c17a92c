"""The cut of a skin: closed forms, rational arithmetic, another library, invariants, refusals."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.errors import InputError
from engine.geometry.compound import Compound
from engine.geometry.plane import Planes
from engine.geometry.surface_solid import SurfaceSolid, cut_together
from tests.engine.geometry import meshes
from tests.engine.geometry.exact_clip import exact_cut

POLYHEDRA = {
    "box": (meshes.box(), 8.0),
    "wedge": (meshes.wedge(), 6.0),
    "trapezoid": (meshes.trapezoid(), 6.0),
    "raked_barge": (meshes.raked_barge(), 4.5),
}
PROFILE = settings(derandomize=True, deadline=None, max_examples=25)


def solid_of(mesh):
    return SurfaceSolid.from_arrays(vertices_m=mesh[0], faces=mesh[1])


@pytest.mark.parametrize("name", POLYHEDRA)
def test_polyhedra_at_any_heel_and_trim_equal_rational_arithmetic(name):
    (vertices, faces), depth = POLYHEDRA[name]
    solid = solid_of((vertices, faces))
    rng = np.random.default_rng(7)
    heel, trim = rng.uniform(-80, 80, 12), rng.uniform(-6, 6, 12)
    draft = rng.uniform(0.1, 0.9, 12) * depth
    planes = Planes.from_waterplanes(draft_m=draft, heel_deg=heel, trim_m=trim, length_bp_m=60.0)
    cuts = solid.cut(planes)
    length = 60.0
    for row in range(12):
        normal = (trim[row] / 60.0, np.tan(np.radians(heel[row])), 1.0)
        exact = exact_cut(vertices, faces, normal=normal, offset=draft[row] + 0.5 * trim[row])
        assert cuts.volume_m3[row] == pytest.approx(exact.volume, abs=1e-12 * solid.volume_m3)
        np.testing.assert_allclose(cuts.centroid_m[row], exact.moment / exact.volume, rtol=0, atol=1e-12 * length)
        assert cuts.waterplane_area_m2[row] == pytest.approx(exact.area, rel=1e-12)
        centre = exact.area_moment / exact.area
        np.testing.assert_allclose(cuts.waterplane_centroid_m[row], centre, rtol=0, atol=1e-12 * length)
        tensor = exact.area_square - exact.area * np.outer(centre, centre)
        np.testing.assert_allclose(
            cuts.waterplane_tensor_m4[row], tensor, rtol=0, atol=1e-11 * np.trace(exact.area_square)
        )


def test_box_heeled_and_trimmed_has_its_closed_forms():
    # closed forms, no corner immersed: yB = B² tan φ / 12T, zB = T/2 + B² tan² φ / 24T, xB = L t / 12T,
    # KB = T/2 + t²/24T (t the trim); to starboard is -y, to the stern -x
    cuts = solid_of(meshes.box()).cut(
        Planes.from_waterplanes(draft_m=3.5, heel_deg=[10, 0], trim_m=[0, 0.9], length_bp_m=60.0)
    )
    tangent = np.tan(np.radians(10))
    expected = [
        [30.0, -144 * tangent / 42, 1.75 + 144 * tangent**2 / 84],
        [30 - 60 * 0.9 / 42, 0.0, 1.75 + 0.81 / 84],
    ]
    np.testing.assert_allclose(cuts.volume_m3, 2520.0, rtol=1e-12)
    np.testing.assert_allclose(cuts.centroid_m, expected, rtol=0, atol=60e-12)
    np.testing.assert_allclose(cuts.waterplane_area_m2[0], 720 / np.cos(np.radians(10)), rtol=1e-12)
    # the heeled rectangle is 12/cos φ wide: I about its own long axis = L (B/cos φ)³ / 12
    along, normal = np.array([1.0, 0, 0]), cuts.planes.normals[0]
    across = np.cross(normal, along)
    assert across @ cuts.waterplane_tensor_m4[0] @ across == pytest.approx(
        60 * (12 / np.cos(np.radians(10))) ** 3 / 12, rel=1e-12
    )
    np.testing.assert_allclose(cuts.waterplane_extent_m[0, :, 1], [-6, 6], atol=1e-12)
    np.testing.assert_allclose(cuts.waterplane_extent_m[0, :, 2], 3.5 + np.array([-6, 6]) * tangent, atol=1e-12)


def test_planes_that_touch_faces_or_miss_the_body():
    cuts = solid_of(meshes.box()).cut(
        Planes.from_normals(normals=[0, 0, 1], offsets_m=[-1.0, 0.0, 8.0, 9.0])
    )  # below the keel, at the bottom, at the deck, above it
    np.testing.assert_allclose(cuts.volume_m3, [0, 0, 5760, 5760], rtol=1e-14)
    np.testing.assert_allclose(cuts.waterplane_area_m2, [0, 0, 720, 0], rtol=1e-14)
    np.testing.assert_allclose(cuts.wetted_area_m2, [0, 0, 720 + 1152, 2 * 720 + 1152], rtol=1e-14)
    assert np.isnan(cuts.centroid_m[:2]).all()
    np.testing.assert_allclose(cuts.centroid_m[2:], [[30, 0, 4]] * 2, atol=1e-12)
    assert np.isnan(cuts.waterplane_centroid_m[[0, 1, 3]]).all()
    assert np.isnan(cuts.waterplane_extent_m[[0, 1, 3]]).all()
    np.testing.assert_allclose(cuts.waterplane_extent_m[2], [[0, -6, 8], [60, 6, 8]], atol=1e-12)
    np.testing.assert_allclose(cuts.waterplane_tensor_m4[2], np.diag([216000.0, 8640, 0]), atol=1e-8)


def test_a_plane_through_vertices_and_edges():
    # the plane y + z = d through two long edges of a box 12 broad and 12 deep: half the body, closed form
    cuts = solid_of(meshes.box(depth=12.0)).cut(Planes.from_normals(normals=[0, 1, 1], offsets_m=[6.0]))
    np.testing.assert_allclose(cuts.volume_m3, 60 * 72, rtol=1e-14)
    np.testing.assert_allclose(cuts.waterplane_area_m2, 60 * 12 * np.sqrt(2), rtol=1e-14)
    np.testing.assert_allclose(cuts.centroid_m, [[30, -2, 4]], atol=1e-12)


def test_trimmed_volumes_of_a_compiled_library_agree():
    manifold3d = pytest.importorskip("manifold3d")
    vertices, faces = meshes.ellipsoid(120, a=30.0, b=6.0, c=4.0, draft=2.5)
    solid = solid_of((vertices, faces))
    other = manifold3d.Manifold(manifold3d.Mesh64(vert_properties=vertices, tri_verts=faces.astype(np.uint64)))
    rng = np.random.default_rng(3)
    normals = rng.normal(size=(25, 3))
    normals /= np.linalg.norm(normals, axis=1)[:, None]
    offsets = np.einsum("ij,ij->i", normals, rng.uniform(-0.8, 0.8, (25, 3)) * [15, 3, 2] + [0, 0, 4])
    cuts = solid.cut(Planes(normals=normals, offsets_m=offsets))
    expected = [other.trim_by_plane(tuple(-n), -d).volume() for n, d in zip(normals, offsets, strict=True)]
    np.testing.assert_allclose(cuts.volume_m3, expected, rtol=0, atol=1e-12 * solid.volume_m3)


def test_many_planes_at_once_equal_one_by_one():
    solid = solid_of(meshes.ellipsoid(64, a=30.0, b=6.0, c=4.0, draft=2.5))
    planes = Planes.from_waterplanes(
        draft_m=np.linspace(-1, 9, 21), heel_deg=np.linspace(-70, 70, 21), trim_m=1.0, length_bp_m=60.0
    )
    many = solid.cut(planes)
    for row in range(len(planes)):
        one = solid.cut(planes.take([row]))
        assert one.volume_m3[0] == pytest.approx(many.volume_m3[row], rel=1e-13, abs=1e-9)
        np.testing.assert_allclose(one.waterplane_tensor_m4[0], many.waterplane_tensor_m4[row], rtol=1e-11, atol=1e-7)
        np.testing.assert_allclose(one.waterplane_extent_m[0], many.waterplane_extent_m[row], rtol=1e-13)


@PROFILE
@given(
    heel=st.floats(-80, 80),
    trim=st.floats(-5, 5),
    draft=st.floats(0.5, 7.5),
    move=st.tuples(*[st.floats(-200, 200)] * 3),
)
def test_moving_the_origin_moves_the_centres(heel, trim, draft, move):
    vertices, faces = meshes.ellipsoid(24, a=30.0, b=6.0, c=4.0, draft=2.5)
    planes = Planes.from_waterplanes(draft_m=draft, heel_deg=heel, trim_m=trim, length_bp_m=60.0)
    here = solid_of((vertices, faces)).cut(planes)
    shift = np.array(move)
    there = solid_of((vertices + shift, faces)).cut(
        Planes(normals=planes.normals, offsets_m=planes.offsets_m + planes.normals @ shift)
    )
    np.testing.assert_allclose(there.volume_m3, here.volume_m3, rtol=1e-11)
    np.testing.assert_allclose(there.centroid_m, here.centroid_m + shift, atol=1e-9)
    np.testing.assert_allclose(there.waterplane_centroid_m, here.waterplane_centroid_m + shift, atol=1e-9)
    np.testing.assert_allclose(there.waterplane_tensor_m4, here.waterplane_tensor_m4, atol=1e-10 * 60**4)


@PROFILE
@given(heel=st.floats(-80, 80), trim=st.floats(-5, 5), draft=st.floats(0.5, 4.0))
def test_a_mirrored_body_gives_the_mirrored_answer(heel, trim, draft):
    vertices, faces = meshes.raked_barge()
    vertices = vertices * [1, 1.0, 1] + np.column_stack([np.zeros(8), 0.1 * vertices[:, 0], np.zeros(8)])  # skewed
    flip = np.array([1.0, -1.0, 1.0])
    cuts = [
        solid.cut(Planes.from_waterplanes(draft_m=draft, heel_deg=sign * heel, trim_m=trim, length_bp_m=60.0))
        for solid, sign in ((solid_of((vertices, faces)), 1), (solid_of((vertices * flip, faces[:, ::-1])), -1))
    ]
    np.testing.assert_allclose(cuts[1].volume_m3, cuts[0].volume_m3, rtol=1e-12)
    np.testing.assert_allclose(cuts[1].centroid_m, cuts[0].centroid_m * flip, atol=1e-10)
    np.testing.assert_allclose(
        cuts[1].waterplane_tensor_m4, cuts[0].waterplane_tensor_m4 * np.outer(flip, flip), atol=1e-11 * 60**4
    )


@PROFILE
@given(heel=st.floats(-80, 80), draft=st.floats(0.5, 7.5), ratio=st.floats(1e-3, 1e3))
def test_scaling_scales_by_the_power_of_the_length(heel, draft, ratio):
    vertices, faces = meshes.ellipsoid(24, a=30.0, b=6.0, c=4.0, draft=2.5)
    planes = Planes.from_waterplanes(draft_m=draft, heel_deg=heel, trim_m=0.3, length_bp_m=60.0)
    one = solid_of((vertices, faces)).cut(planes)
    other = solid_of((vertices * ratio, faces)).cut(Planes(normals=planes.normals, offsets_m=planes.offsets_m * ratio))
    np.testing.assert_allclose(other.volume_m3, one.volume_m3 * ratio**3, rtol=1e-11)
    np.testing.assert_allclose(other.wetted_area_m2, one.wetted_area_m2 * ratio**2, rtol=1e-11)
    np.testing.assert_allclose(other.centroid_m, one.centroid_m * ratio, atol=1e-10 * ratio)
    np.testing.assert_allclose(
        other.waterplane_tensor_m4, one.waterplane_tensor_m4 * ratio**4, atol=1e-10 * 60**4 * ratio**4
    )


@PROFILE
@given(heel=st.floats(-80, 80), trim=st.floats(-5, 5), draft=st.floats(0.5, 7.5))
def test_the_tensor_has_no_part_along_the_normal_and_the_centre_lies_in_the_plane(heel, trim, draft):
    planes = Planes.from_waterplanes(draft_m=draft, heel_deg=heel, trim_m=trim, length_bp_m=60.0)
    cuts = solid_of(meshes.box()).cut(planes)
    normal = planes.normals[0]
    assert cuts.waterplane_area_m2[0] > 0
    np.testing.assert_allclose(cuts.waterplane_tensor_m4[0] @ normal, 0, atol=1e-9)
    assert cuts.waterplane_centroid_m[0] @ normal == pytest.approx(planes.offsets_m[0], abs=1e-10)


def test_whole_volume_bounds_and_arrays_are_those_given():
    vertices, faces = meshes.box()
    solid = solid_of((vertices, faces))
    assert solid.volume_m3 == pytest.approx(60 * 12 * 8, rel=1e-14)
    np.testing.assert_array_equal(solid.bounds_m, [[0, -6, 0], [60, 6, 8]])
    np.testing.assert_array_equal(solid.vertices_m, vertices)
    np.testing.assert_array_equal(solid.faces, faces)


def test_a_vertex_no_triangle_uses_is_left_out():
    vertices, faces = meshes.box()
    solid = solid_of((np.vstack([[500.0, 0, 0], vertices]), faces + 1))
    np.testing.assert_array_equal(solid.bounds_m, [[0, -6, 0], [60, 6, 8]])


def test_section_areas_of_a_wedge_heeled():
    # closed form: the triangle's area below z = T - y tan φ, both sides wet: with y = ±k z, k = 1.5, the edges
    # meet the line at z = T/(1 ± k tan φ), area = k T² / (1 - k² tan² φ)
    solid = solid_of(meshes.wedge())
    planes = Planes.from_waterplanes(draft_m=3.0, heel_deg=[0, 10, -10], length_bp_m=60.0)
    tangent = np.tan(np.radians([0, 10, -10]))
    expected = 1.5 * 9 / (1 - 2.25 * tangent**2)
    for x in (0.0, 0.01, 30.0, 59.0, 60.0):
        np.testing.assert_allclose(solid.section_area_m2(planes, x_m=x), expected, rtol=1e-12)
    np.testing.assert_array_equal(solid.section_area_m2(planes, x_m=61.0), 0.0)
    np.testing.assert_array_equal(solid.section_area_m2(planes, x_m=-1.0), 0.0)


def test_section_areas_integrate_to_the_volume_when_trimmed():
    solid = solid_of(meshes.raked_barge())
    planes = Planes.from_waterplanes(draft_m=2.5, heel_deg=5.0, trim_m=1.0, length_bp_m=60.0)
    x = np.linspace(-5, 65, 1401)
    areas = [solid.section_area_m2(planes, x_m=float(at))[0] for at in x]
    assert np.trapezoid(areas, x) == pytest.approx(solid.cut(planes).volume_m3[0], rel=1e-5)


def test_bending_a_finely_meshed_box_lowers_it_by_the_parabola():
    # sag s: the section at x drops by s (1 - ξ²); mean over the length 2s/3, so V grows by B L 2s/3
    parts = [meshes.box(length=0.5, x0=0.5 * i) for i in range(120)]
    solid = Compound.of([solid_of(part) for part in parts]).bent(sag_m=0.3, length_bp_m=60.0)
    volume = solid.cut(Planes.from_waterplanes(draft_m=3.5, length_bp_m=60.0)).volume_m3[0]
    # chords of 120 steps miss (2/3) s / 120² of the parabola's mean
    assert volume == pytest.approx(2520 + 720 * 0.2 * (1 - 1 / 120**2), rel=1e-12)
    one = solid_of(meshes.box()).bent(sag_m=0.3, length_bp_m=60.0)  # ends only: nothing moves
    np.testing.assert_allclose(one.vertices_m, meshes.box()[0], atol=1e-14)


def test_a_skin_open_above_the_water_is_cut_and_one_open_below_it_refused():
    vertices, faces = meshes.box()
    open_deck = faces[~(vertices[faces][:, :, 2] == 8).all(axis=1)]
    solid = SurfaceSolid.from_arrays(vertices_m=vertices, faces=open_deck)
    assert np.isnan(solid.volume_m3)
    cuts = solid.cut(Planes.from_waterplanes(draft_m=[3.5, 8.0], length_bp_m=60.0))
    np.testing.assert_allclose(cuts.volume_m3, [2520, 5760], rtol=1e-12)
    np.testing.assert_allclose(cuts.waterplane_area_m2, 720, rtol=1e-12)
    with pytest.raises(InputError) as caught:
        solid.cut(Planes.from_waterplanes(draft_m=[3.5, 8.1], length_bp_m=60.0))
    assert (caught.value.code, caught.value.field) == ("open-below-water", "planes/1")
    assert caught.value.value == pytest.approx(0.1, abs=1e-12)  # the opening's depth
    assert "8) m" in caught.value.message


def test_a_tube_open_at_both_ends_is_refused_though_its_area_vectors_cancel():
    vertices, faces = meshes.box()
    ends = (vertices[faces][:, :, 0] == vertices[faces][:, :1, 0]).all(axis=1)
    solid = SurfaceSolid.from_arrays(vertices_m=vertices, faces=faces[~ends])
    with pytest.raises(InputError) as caught:
        solid.cut(Planes.from_waterplanes(draft_m=3.5, length_bp_m=60.0))
    assert caught.value.code == "open-below-water"


def test_a_seam_open_by_rounding_is_closed():
    vertices, faces = meshes.box()
    doubled = np.concatenate([vertices, vertices + 1e-13])
    split = faces.copy()
    split[: len(faces) // 2] += len(vertices)
    solid = SurfaceSolid.from_arrays(vertices_m=doubled, faces=split)
    assert solid.volume_m3 == pytest.approx(5760, rel=1e-10)
    cuts = solid.cut(Planes.from_waterplanes(draft_m=3.5, heel_deg=20, length_bp_m=60.0))
    assert cuts.volume_m3[0] == pytest.approx(2520, rel=1e-10)


@pytest.mark.parametrize(
    ("vertices", "faces", "code"),
    [
        (meshes.box()[0], meshes.box()[1][:, ::-1], "inverted"),
        (meshes.box()[0], np.empty((0, 3), dtype=int), "empty-mesh"),
        (meshes.box()[0], meshes.box()[1] + 1, "face-index"),
        (meshes.box()[0], meshes.box()[1] - 1, "face-index"),
        (meshes.box()[0], meshes.box()[1] * 1.0, "wrong-shape"),
        (meshes.box()[0][:, :2], meshes.box()[1], "wrong-shape"),
        (meshes.box()[0] * np.nan, meshes.box()[1], "not-finite"),
    ],
)
def test_arrays_that_cannot_be_a_body_are_refused(vertices, faces, code):
    with pytest.raises(InputError) as caught:
        SurfaceSolid.from_arrays(vertices_m=vertices, faces=faces)
    assert caught.value.code == code


@PROFILE
@given(st.integers(0, 2**31), st.lists(st.integers(0, 5), min_size=3, max_size=3).filter(any))
def test_bodies_cut_together_are_each_cut_alone(seed, counts):
    rng = np.random.default_rng(seed)
    bodies = [solid_of(meshes.box(9.0, 4.0, 2.0)), solid_of(meshes.wedge()), solid_of(meshes.wigley(12))]
    normals = rng.normal(size=(sum(counts), 3))
    normals /= np.linalg.norm(normals, axis=1)[:, None]
    planes = Planes(normals, rng.uniform(-8.0, 40.0, len(normals)))
    found = cut_together(bodies, planes, counts=counts)
    ends = np.cumsum(counts)
    for body, end, count in zip(bodies, ends, counts, strict=True):
        rows = np.arange(end - count, end)
        alone = body.cut(planes.take(rows))
        for name in ("volume_m3", "centroid_m", "waterplane_area_m2", "waterplane_tensor_m4", "waterplane_extent_m"):
            scale = max(1.0, float(np.nan_to_num(np.abs(getattr(alone, name))).max(initial=0.0)))
            np.testing.assert_allclose(
                getattr(found, name)[rows], getattr(alone, name), rtol=0, atol=1e-12 * scale, err_msg=name
            )


def test_an_opening_is_refused_by_the_number_of_its_plane_among_all():
    vertices, faces = meshes.box(9.0, 4.0, 2.0)
    whole = solid_of((vertices, faces))
    lidless = solid_of((vertices, faces[~(vertices[faces][:, :, 2] == vertices[:, 2].max()).all(axis=1)]))
    planes = Planes(np.tile([0.0, 0.0, 1.0], (3, 1)), np.array([5.0, 0.0, 5.0]) + vertices[:, 2].max() - 1.0)
    with pytest.raises(InputError) as caught:
        cut_together([whole, lidless], planes, counts=[1, 2])
    assert (caught.value.code, caught.value.field) == ("open-below-water", "planes/2")


@pytest.mark.parametrize("name", POLYHEDRA)
def test_the_centroid_of_the_whole_is_that_below_a_plane_above_it(name):
    (vertices, faces), _ = POLYHEDRA[name]
    solid = solid_of((vertices + [3.0, -1.0, 2.0], faces))  # noqa: RUF005
    top = Planes(np.array([[0.0, 0.0, 1.0]]), np.array([1000.0]))
    np.testing.assert_allclose(solid.centroid_m, solid.cut(top).centroid_m[0], rtol=0, atol=1e-12 * 60)


def test_a_skin_known_to_be_closed_is_the_one_that_was_checked():
    vertices, faces = meshes.raked_barge()
    taken, checked = SurfaceSolid.of_closed(vertices_m=vertices, faces=faces), solid_of((vertices, faces))
    assert taken.volume_m3 == checked.volume_m3
    np.testing.assert_array_equal(taken.centroid_m, checked.centroid_m)
