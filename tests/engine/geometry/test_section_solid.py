"""Solids given by sections: polyhedra, shapely's clipping of the same sections, invariants, refusals."""

import dataclasses

import numpy as np
import pytest
import shapely
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.errors import InputError
from engine.geometry import Planes, SectionSolid, SurfaceSolid

LENGTH = 60.0


def rectangle(breadth, low, high, y=0.0):
    b = breadth / 2
    return np.array([[y, low], [y + b, low], [y + b, high], [y - b, high], [y - b, low]], float)


def box(x0=0.0, length=LENGTH, breadth=12.0, depth=8.0):
    return [x0, x0 + length], [[rectangle(breadth, 0, depth)]] * 2


def wedge():
    return [0, LENGTH], [[np.array([[0, 0], [9, 6], [-9, 6]], float)]] * 2


def trapezoid():
    return [0, LENGTH], [[np.array([[0, 0], [4, 0], [7, 6], [-7, 6], [-4, 0]], float)]] * 2


def raked_barge():
    """Bottom from x = 10 to 50, ends raked 1 in 3, depth 3.6: four stations and two repeated ones at the knuckles."""
    x = [-2, 10, 10, 50, 50, 62]
    lows = [3.6, 0, 0, 0, 0, 3.6]
    return x, [[rectangle(12, low, 3.6)] for low in lows]


def hull(count=41, points=20):
    """A smooth ship-like body with a deck, its stations 2.5 m apart."""
    angle = np.linspace(0, np.pi / 2, points)
    x = np.linspace(0, 100, count)
    sections = []
    for along in x / 100:
        breadth = 8 * (1 - abs(2 * along - 1) ** 3) + 0.05
        keel = 3 * max(0.0, along - 0.8) / 0.2
        half = np.column_stack([breadth * np.sin(angle) ** 0.6, keel + (10 - keel) * (1 - np.cos(angle))])
        sections.append([np.concatenate([half, half[::-1] * [-1, 1]])])
    return x, sections


def sections(made):
    return SectionSolid.from_loops(x_m=made[0], loops_m=made[1])


def polyhedron(made):
    """The same body as a skin; every one here is convex."""
    points = np.concatenate([np.column_stack([np.full(len(s[0]), x), s[0]]) for x, s in zip(*made, strict=True)])
    convex = trimesh.convex.convex_hull(points)
    return SurfaceSolid.from_arrays(vertices_m=convex.vertices, faces=convex.faces)


def differences(a, b):
    """Largest difference of each field of two cuts, NaN where they disagree on what exists."""
    found = {}
    for field in dataclasses.fields(a):
        if field.name != "planes":
            one, other = getattr(a, field.name), getattr(b, field.name)
            same = np.isnan(one) & np.isnan(other)
            found[field.name] = float(np.where(same, 0.0, np.abs(one - other)).max())
    return found


def agree(a, b, *, rtol=1e-12, size_m=LENGTH):
    powers = {"volume_m3": 3, "waterplane_area_m2": 2, "waterplane_tensor_m4": 4, "wetted_area_m2": 2}
    for name, difference in differences(a, b).items():
        assert difference <= rtol * size_m ** powers.get(name, 1), name


ATTITUDES = Planes.from_waterplanes(
    draft_m=[3.0, 3.0, 1.5, 2.5, 1.0, 2.0, 0.4, 3.5],
    heel_deg=[0, 12, 35, -50, 0, 5, -2, 70],
    trim_m=[0, 0, 0.7, -1, 4, -6, 2, 3],
    length_bp_m=LENGTH,
)


@pytest.mark.parametrize("made", [box, wedge, trapezoid, raked_barge])
def test_polyhedra_given_by_their_ends_are_exact_at_any_heel_and_trim(made):
    # The same body as a polyhedron, whose integrals are exact; trims put the keel's end and the deck's in the water.
    agree(sections(made()).cut(ATTITUDES), polyhedron(made()).cut(ATTITUDES))


def test_box_upright():
    # Closed forms: V = LBT, KB = T/2, It = LB³/12, Il = BL³/12, S = LB + 2T(L + B).
    cuts = sections(box()).cut(Planes.from_waterplanes(draft_m=3.5, length_bp_m=LENGTH))
    assert cuts.volume_m3[0] == pytest.approx(2520, rel=1e-14)
    assert cuts.centroid_m[0] == pytest.approx([30, 0, 1.75], rel=1e-14)
    assert np.diag(cuts.waterplane_tensor_m4[0]) == pytest.approx([12 * 60**3 / 12, 60 * 12**3 / 12, 0], rel=1e-13)
    assert cuts.wetted_area_m2[0] == pytest.approx(1224, rel=1e-14)
    assert cuts.waterplane_extent_m[0].tolist() == [[0, -6, 3.5], [60, 6, 3.5]]


def test_raked_barge_upright():
    # Closed forms: V = BT(L0 + r) with T = 3, L0 = 40, r = 10: 1800; KB 1.6; It = (L0 + 2r)B³/12.
    cuts = sections(raked_barge()).cut(Planes.from_waterplanes(draft_m=3, length_bp_m=LENGTH))
    assert cuts.volume_m3[0] == pytest.approx(1800, rel=1e-13)
    assert cuts.centroid_m[0, 2] == pytest.approx(1.6, rel=1e-13)
    assert cuts.waterplane_tensor_m4[0, 1, 1] == pytest.approx(60 * 144, rel=1e-13)
    assert cuts.waterplane_extent_m[0, :, 0] == pytest.approx([0, 60])


def test_a_polyhedron_of_many_stations_is_exact_too():
    # 31 stations of a box: keel, deck and bilges meet the water anywhere between them.
    x = np.linspace(0, LENGTH, 31)
    many = SectionSolid.from_loops(x_m=x, loops_m=[[rectangle(12, 0, 8)]] * 31)
    agree(many.cut(ATTITUDES), polyhedron(box()).cut(ATTITUDES))


def test_no_step_when_the_water_leaves_a_station():
    # A rising keel forward and a sheer aft. At every draft at which a station's keel leaves the water or its deck goes
    # under, 0.1 µm more draft either way may add what the waterplane allows (1600 m² x 0.2 µm) and a bend, no step;
    # without the shares of ``interpolant_share`` steps here reach 0.9 m³.
    x, made = hull()
    sheer = [[station[0] * [1, 1 + 0.3 * (xi / 100 - 0.6) ** 2]] for xi, station in zip(x, made, strict=True)]
    solid = SectionSolid.from_loops(x_m=x, loops_m=sheer)
    heights = np.array([[station[0][:, 1].min(), station[0][:, 1].max()] for station in sheer])
    drafts = np.unique((heights - (0.5 - x / 100)[:, None]).ravel())
    assert len(drafts) > 60
    below, above = (
        solid.cut(Planes.from_waterplanes(draft_m=drafts + change, trim_m=1, length_bp_m=100)).volume_m3
        for change in (-1e-7, 1e-7)
    )
    assert np.abs(above - below).max() < 1e-3


def test_forty_one_stations_against_shapely():
    # The same sections clipped by shapely; Simpson's rule on 40 equal intervals written out here.
    made = hull()
    solid = sections(made)
    x = np.asarray(made[0])
    planes = Planes.from_waterplanes(
        draft_m=[4.0, 6.0, 7.0], heel_deg=[0, 15, -25], trim_m=[0, 0.5, -0.5], length_bp_m=100
    )
    cuts = solid.cut(planes)
    simpson = np.ones(41)
    simpson[1:-1:2], simpson[2:-1:2] = 4, 2
    simpson *= 2.5 / 3
    for row in range(3):
        n, d = planes.normals[row], planes.offsets_m[row]
        areas, moments, breadths = [], [], []
        for xi, section in zip(x, made[1], strict=True):
            foot = (d - n[0] * xi) * n[1:] / (n[1] ** 2 + n[2] ** 2)
            along = np.array([n[2], -n[1]]) / np.hypot(n[1], n[2]) * 500
            deep = n[1:] / np.hypot(n[1], n[2]) * -500
            polygon = shapely.Polygon(section[0])
            below = polygon.intersection(
                shapely.Polygon([foot - along, foot + along, foot + along + deep, foot - along + deep])
            )
            areas.append(below.area)
            moments.append(below.area * np.array(below.centroid.coords[0]))
            breadths.append(polygon.intersection(shapely.LineString([foot - along, foot + along])).length)
        areas, breadths = np.array(areas), np.array(breadths)
        assert cuts.volume_m3[row] == pytest.approx(simpson @ areas, rel=1e-12)
        assert cuts.centroid_m[row, 1:] == pytest.approx(simpson @ np.array(moments) / (simpson @ areas), abs=1e-12)
        across = np.hypot(n[1], n[2])
        assert cuts.waterplane_area_m2[row] == pytest.approx(simpson @ breadths / across, rel=1e-12)
        assert solid.section_area_m2(planes.take([row]), x_m=50.0)[0] == pytest.approx(areas[20], rel=1e-12)


def test_uneven_stations():
    # A solid of revolution, paraboloid r² = R²(1 - ξ²): sections are circles whose area is a parabola in x, so any
    # spacing integrates it: V = (4/3) a π R²/2 · ... = (2/3)·2a·πR² with the polygon's own area in place of πR².
    turn = np.linspace(0, 2 * np.pi, 64, endpoint=False) - np.pi / 2
    ring = np.column_stack([np.cos(turn), np.sin(turn)])
    x = np.array([-1, -0.95, -0.9, -0.7, -0.5, -0.1, 0.2, 0.6, 0.8, 1.0]) * 10
    solid = SectionSolid.from_loops(x_m=x, loops_m=[[ring * 3 * np.sqrt(1 - (xi / 10) ** 2)] for xi in x])
    area = shapely.Polygon(ring * 3).area
    assert solid.volume_m3 == pytest.approx(2 / 3 * 20 * area, rel=1e-12)


def test_catamaran_moonpool_and_asymmetric_hull():
    # Closed forms for boxes: two hulls 3 wide at y = ±5; a box with a hole of 4 x 8; a box standing off the centreline.
    hulls = [rectangle(3, 0, 8, y=5), rectangle(3, 0, 8, y=-5)]
    holed = [rectangle(12, 0, 8), rectangle(4, 0, 8)]
    planes = Planes.from_waterplanes(draft_m=2.0, heel_deg=0.0, length_bp_m=LENGTH)
    cut = SectionSolid.from_loops(x_m=[0, LENGTH], loops_m=[hulls, hulls]).cut(planes)
    assert cut.volume_m3[0] == pytest.approx(2 * 3 * 2 * LENGTH, rel=1e-13)
    assert cut.waterplane_tensor_m4[0, 1, 1] == pytest.approx(LENGTH * 2 * (3**3 / 12 + 3 * 25), rel=1e-13)
    assert cut.waterplane_extent_m[0, :, 1] == pytest.approx([-6.5, 6.5])
    cut = SectionSolid.from_loops(x_m=[0, LENGTH], loops_m=[holed, holed]).cut(planes)
    assert cut.volume_m3[0] == pytest.approx(8 * 2 * LENGTH, rel=1e-13)
    assert cut.waterplane_tensor_m4[0, 1, 1] == pytest.approx(LENGTH * (12**3 - 4**3) / 12, rel=1e-13)
    aside = rectangle(3, 0, 8, y=5)
    cut = SectionSolid.from_loops(x_m=[0, LENGTH], loops_m=[[aside], [aside]]).cut(planes)
    assert cut.centroid_m[0] == pytest.approx([30, 5, 1])
    assert cut.waterplane_centroid_m[0] == pytest.approx([30, 5, 2])


def test_a_break_counts_its_face():
    # A box 12 wide to x = 30, 8 wide beyond: the step wets (12 - 8) x 2.
    wide, narrow = rectangle(12, 0, 8), rectangle(8, 0, 8)
    solid = SectionSolid.from_loops(x_m=[0, 30, 30, 60], loops_m=[[wide], [wide], [narrow], [narrow]])
    cut = solid.cut(Planes.from_waterplanes(draft_m=2.0, length_bp_m=LENGTH))
    assert cut.volume_m3[0] == pytest.approx(2 * 30 * 20, rel=1e-13)
    assert cut.wetted_area_m2[0] == pytest.approx(30 * (12 + 8) + 2 * 60 * 2 + 2 * (12 + 8 + 4), rel=1e-13)
    areas = solid.section_area_m2(Planes.from_waterplanes(draft_m=2.0, length_bp_m=LENGTH), x_m=30)
    assert areas[0] == pytest.approx(24)


def test_loops_that_change_without_a_break_go_straight():
    # Trapezoidal rule between a section of area 4·2 and two hulls of 2·2·2, over 10 m.
    one, two = [rectangle(4, 0, 4)], [rectangle(2, 0, 4, y=3), rectangle(2, 0, 4, y=-3)]
    solid = SectionSolid.from_loops(x_m=[0, 10], loops_m=[one, two])
    planes = Planes.from_waterplanes(draft_m=2.0, length_bp_m=10)
    assert solid.cut(planes).volume_m3[0] == pytest.approx(80, rel=1e-14)
    assert solid.section_area_m2(planes, x_m=4.0)[0] == pytest.approx(8, rel=1e-14)


def test_dry_full_and_volume():
    solid = sections(box())
    cuts = solid.cut(Planes.from_normals(normals=[[0, 0, 1], [0, 0, 1], [0.1, 0.2, -1]], offsets_m=[-1, 9, 0.0]))
    assert cuts.volume_m3[:2].tolist() == [0, pytest.approx(60 * 12 * 8)]
    assert cuts.waterplane_area_m2[:2].tolist() == [0, 0]
    assert np.isnan(cuts.centroid_m[0]).all()
    assert np.isnan(cuts.waterplane_extent_m[:2]).all()
    assert cuts.wetted_area_m2[1] == pytest.approx(2 * (60 * 12 + 60 * 8 + 12 * 8))
    assert solid.volume_m3 == pytest.approx(5760, rel=1e-14)
    assert solid.bounds_m.tolist() == [[0, -6, 0], [60, 6, 8]]


def test_upside_down_the_rest_is_above():
    solid = sections(hull())
    planes = Planes.from_waterplanes(draft_m=5.0, heel_deg=10, length_bp_m=100)
    over = Planes.from_normals(normals=-planes.normals, offsets_m=-planes.offsets_m)
    both = solid.cut(planes).volume_m3 + solid.cut(over).volume_m3
    assert both == pytest.approx(solid.volume_m3, rel=1e-12)


def test_section_area_between_stations():
    # Ruled wedge: at x = 15 the raked end has its bottom at 3.6 (1 - 5/12)... here the barge's aft rake, x = 4.
    planes = Planes.from_waterplanes(draft_m=3.0, length_bp_m=LENGTH)
    solid = sections(raked_barge())
    assert solid.section_area_m2(planes, x_m=4.0)[0] == pytest.approx(12 * (3 - 1.8), rel=1e-13)
    assert solid.section_area_m2(planes, x_m=-2.5)[0] == 0.0
    # On a smooth length the parabola through the panel's stations.
    x, made = hull()
    smooth = SectionSolid.from_loops(x_m=x, loops_m=made)
    at = [smooth.section_area_m2(planes, x_m=value)[0] for value in (50.0, 52.5, 55.0)]
    assert smooth.section_area_m2(planes, x_m=51.25)[0] == pytest.approx(np.dot(at, [0.375, 0.75, -0.125]), rel=1e-12)


def test_bent_box():
    # Sagging by s lowers a box's bottom by a mean of 2s/3; the deck stays dry: V = LB(T + 2s/3), by Simpson exactly.
    solid = sections(box()).bent(sag_m=0.3, length_bp_m=LENGTH)
    planes = Planes.from_waterplanes(draft_m=3.5, length_bp_m=LENGTH)
    assert solid.cut(planes).volume_m3[0] == pytest.approx(60 * 12 * (3.5 + 0.2), rel=1e-13)
    assert solid.volume_m3 == pytest.approx(5760, rel=1e-13)
    assert solid.bounds_m[0, 2] == pytest.approx(-0.3)
    back = solid.bent(sag_m=-0.3, length_bp_m=LENGTH)
    assert back.cut(planes).volume_m3[0] == pytest.approx(2520, rel=1e-13)


def test_wetted_area_of_a_smooth_body_against_its_skin():
    # The same points as a skin of triangles; the slope along x is a parabola's: 0.05 % of the area.
    x, made = hull()
    planes = Planes.from_waterplanes(draft_m=[5.0, 6.0], heel_deg=[0, 10], length_bp_m=100)
    rows = np.array([np.column_stack([np.full(len(s[0]), xi), s[0]]) for xi, s in zip(x, made, strict=True)])
    n = rows.shape[1]
    i, j = np.meshgrid(np.arange(len(x) - 1), np.arange(n), indexing="ij")
    k = (j + 1) % n
    a, b, c, d = ((p * n + q).ravel() for p, q in ((i, j), (i + 1, j), (i + 1, k), (i, k)))
    faces = np.concatenate([np.column_stack([a, d, c]), np.column_stack([a, c, b])])
    ends = [np.column_stack([np.full(n - 2, 0), np.arange(1, n - 1), np.arange(2, n)]) for _ in range(2)]
    faces = np.concatenate([faces, ends[0][:, ::-1], ends[1] + (len(x) - 1) * n])
    mesh = trimesh.Trimesh(vertices=rows.reshape(-1, 3), faces=faces)
    mesh.merge_vertices()
    mesh.update_faces(mesh.nondegenerate_faces())
    mesh.fix_normals()
    surface = SurfaceSolid.from_arrays(vertices_m=mesh.vertices, faces=mesh.faces).cut(planes)
    cuts = SectionSolid.from_loops(x_m=x, loops_m=made).cut(planes)
    assert cuts.volume_m3 == pytest.approx(surface.volume_m3, rel=1e-3)
    assert cuts.wetted_area_m2 == pytest.approx(surface.wetted_area_m2, rel=5e-4)
    assert cuts.wetted_centroid_m == pytest.approx(surface.wetted_centroid_m, abs=0.02)


@settings(derandomize=True, deadline=None, max_examples=25)
@given(
    draft=st.floats(1.0, 9.0),
    heel=st.floats(-60, 60),
    trim=st.floats(-6, 6),
    shift=st.tuples(st.floats(-50, 50), st.floats(-20, 20), st.floats(-20, 20)),
    scale=st.floats(0.1, 8.0),
)
def test_moved_scaled_and_mirrored(draft, heel, trim, shift, scale):
    x, made = hull(count=12, points=9)
    planes = Planes.from_waterplanes(draft_m=draft, heel_deg=heel, trim_m=trim, length_bp_m=100)
    plain = SectionSolid.from_loops(x_m=x, loops_m=made).cut(planes)
    moved = SectionSolid.from_loops(
        x_m=x * scale + shift[0], loops_m=[[loop * scale + shift[1:] for loop in station] for station in made]
    ).cut(Planes(planes.normals, planes.offsets_m * scale + planes.normals @ np.array(shift)))
    flipped = SectionSolid.from_loops(x_m=x, loops_m=[[loop * [-1, 1] for loop in station] for station in made]).cut(
        Planes(planes.normals * [1, -1, 1], planes.offsets_m)
    )
    for name, power in (
        ("volume_m3", 3),
        ("waterplane_area_m2", 2),
        ("waterplane_tensor_m4", 4),
        ("wetted_area_m2", 2),
    ):
        size = np.abs(getattr(plain, name)).max()
        np.testing.assert_allclose(getattr(moved, name) / scale**power, getattr(plain, name), atol=1e-8 * size + 1e-9)
    np.testing.assert_allclose((moved.centroid_m - shift) / scale, plain.centroid_m, atol=1e-7)
    np.testing.assert_allclose(flipped.centroid_m * [1, -1, 1], plain.centroid_m, atol=1e-9)
    np.testing.assert_allclose(flipped.volume_m3, plain.volume_m3, rtol=1e-10)
    np.testing.assert_allclose(np.einsum("kij,kj->ki", plain.waterplane_tensor_m4, planes.normals), 0, atol=1e-6)


@pytest.mark.parametrize(
    ("x_m", "count", "code"),
    [
        ([0.0], 1, "too-few-stations"),
        ([0.0, 2.0, 1.0], 3, "stations-not-ascending"),
        ([0.0, 1.0, 1.0, 1.0, 2.0], 5, "station-repeated"),
        ([1.0, 1.0], 2, "no-length"),
        ([0.0, 1.0], 3, "wrong-shape"),
        ([0.0, np.nan], 2, "not-finite"),
    ],
)
def test_refused_stations(x_m, count, code):
    with pytest.raises(InputError) as caught:
        SectionSolid.from_loops(x_m=x_m, loops_m=[[rectangle(2, 0, 1)]] * count)
    assert caught.value.code == code
    assert caught.value.field == "x_m"


def test_a_plane_square_to_x_is_refused():
    with pytest.raises(InputError) as caught:
        sections(box()).cut(Planes.from_normals(normals=[[1, 0, 0]], offsets_m=[30]))
    assert caught.value.code == "plane-square-to-x"
