"""Liquid in tanks: against clipped polygons, summed strips, closed forms, and there and back again."""

import manifold3d
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.errors import InputError, NotDeterminedError
from engine.geometry.plane import Planes
from engine.geometry.shapes import Box, Cylinder, MeshShape, Prism
from engine.geometry.surface_solid import SurfaceSolid
from engine.liquids.running import Liquid
from engine.liquids.sounding import SoundingPipe
from engine.liquids.tank import Tank, liquid_in, sounding_at_volume, volume_at_sounding, volume_at_ullage
from tests.engine.geometry import meshes
from tests.engine.liquids.tanks import clipped_section, normal, standing_cylinder

SECTION = [(-2.5, 0.6), (2.5, 0.6), (2.5, 1.5), (-2.5, 1.5)]
BOX = Tank.of_solid(Box(0.0, 7.0, -2.5, 2.5, 0.6, 1.5).solid())
HOPPER = [(0.0, 0.0), (3.0, 0.0), (5.0, 2.0), (5.0, 4.0), (0.0, 4.0)]
WING = Tank.of_solid(Prism.constant(points_m=np.array(HOPPER), x_min_m=10.0, x_max_m=16.0).solid())
STANDING = Tank.of_solid(Cylinder("z", 1.5, 3.0, 4.0, 0.0, 1.5).solid())
LYING = Tank.of_solid(Cylinder("x", 1.5, 8.0, 4.0, 0.0, 1.5).solid())
UPRIGHT = [0.0, 0.0, 1.0]


@pytest.mark.parametrize("fill", [0.01, 0.2, 0.5, 0.7, 0.999])
@pytest.mark.parametrize("heel", [-35.0, -2.0, 0.0, 5.0, 20.0, 60.0])
@pytest.mark.parametrize(("tank", "section", "length"), [(BOX, SECTION, 7.0), (WING, HOPPER, 6.0)])
def test_heeled_prisms_are_their_clipped_sections_with_pockets_at_top_and_bottom(tank, section, length, heel, fill):
    volume = fill * tank.capacity_m3
    lying = liquid_in(tank, volume_m3=volume, normals=normal(heel))
    centre, width = clipped_section(section, heel_deg=heel, area=volume / length)
    np.testing.assert_allclose(lying.centroid_m[0, 1:], centre, rtol=0, atol=1e-9)
    assert lying.surface_area_m2[0] == pytest.approx(length * width, rel=1e-9)
    across = np.array([0.0, normal(heel)[2], -normal(heel)[1]])
    assert across @ lying.surface_tensor_m4[0] @ across == pytest.approx(length * width**3 / 12, rel=1e-9)
    assert lying.surface_tensor_m4[0, 0, 0] == pytest.approx(width * length**3 / 12, rel=1e-9)


def test_a_box_heeled_short_of_its_corners_has_the_wall_sided_closed_form():
    volume = 7 * 5 * 0.45
    for heel in (2.0, 8.0, -10.0):
        tangent = np.tan(np.radians(heel))
        found = liquid_in(BOX, volume_m3=volume, normals=normal(heel)).centroid_m[0]
        shift = 7 * 5**3 / 12 / volume  # i / V
        np.testing.assert_allclose(found, [3.5, -shift * tangent, 0.825 + shift * tangent**2 / 2], rtol=0, atol=1e-13)


def test_trim_runs_the_liquid_aft():
    slope = 0.05  # by the stern
    found = liquid_in(BOX, volume_m3=15.0, normals=normal(0.0, slope)).centroid_m[0]
    assert found[0] == pytest.approx(3.5 - 5 * 7**3 / 12 / 15.0 * slope, rel=1e-13)  # x = −(i_l / V) tan, closed form


@pytest.mark.parametrize("heel", [3.0, 15.0, 50.0, -70.0])
@pytest.mark.parametrize("fill", [0.05, 0.5, 0.9])
def test_a_standing_cylinder_against_summed_strips(fill, heel):
    volume = fill * STANDING.capacity_m3
    found = liquid_in(STANDING, volume_m3=volume, normals=normal(heel)).centroid_m[0]
    expected = standing_cylinder(radius=1.5, height=3.0, heel_deg=heel, volume=volume)
    np.testing.assert_allclose(found[1:], expected, rtol=0, atol=2e-5)  # 720 sides: 1e-5 of the radius


@pytest.mark.parametrize("heel", [4.0, 30.0])
@pytest.mark.parametrize("slope", [0.0, 0.08])
def test_a_lying_cylinder_against_a_fine_mesh_cut_by_another_library(slope, heel):
    volume = 0.3 * LYING.capacity_m3
    lying = liquid_in(LYING, volume_m3=volume, normals=normal(heel, slope))
    fine = manifold3d.Manifold.cylinder(8.0, 1.5, 1.5, 6000).rotate([0, 90, 0]).translate([0, 0, 1.5])
    part = fine.trim_by_plane((-normal(heel, slope)).tolist(), -lying.offsets_m[0])
    assert part.volume() == pytest.approx(volume, rel=2e-5)
    mesh = part.to_mesh()
    corners = np.asarray(mesh.vert_properties, dtype=np.float64)[:, :3][np.asarray(mesh.tri_verts)]
    parts = np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) / 6
    centre = parts @ corners.sum(axis=1) / 4 / parts.sum()
    np.testing.assert_allclose(lying.centroid_m[0], centre, rtol=0, atol=3e-5)


def test_a_lying_cylinder_only_turns_its_liquid():
    # closed form: the segment's centre stays 2/3 r³ sin³α / A from the axis, whatever the heel
    half_angle = np.arccos(0.5 / 1.5)  # depth 1
    area = 1.5**2 * (half_angle - np.sin(half_angle) * np.cos(half_angle))
    arm = 2 / 3 * 1.5**3 * np.sin(half_angle) ** 3 / area
    for heel in (0.0, 12.0, 75.0):
        n = normal(heel)
        found = liquid_in(LYING, volume_m3=8 * area, normals=n).centroid_m[0]
        np.testing.assert_allclose(found, [4, -arm * n[1], 1.5 - arm * n[2]], rtol=0, atol=3e-5)


@given(
    st.sampled_from([BOX, WING, STANDING, LYING]),
    st.floats(0.001, 0.999),
    st.floats(-75, 75),
    st.floats(-0.2, 0.2),
    st.floats(0.01, 1.0),
)
@settings(max_examples=40)
def test_level_and_volume_there_and_back(tank, fill, heel, slope, permeability):
    tank = Tank.of_solid(tank.solid, permeability_ratio=permeability)
    volume = fill * tank.capacity_m3
    lying = liquid_in(tank, volume_m3=volume, normals=normal(heel, slope))
    again = tank.solid.cut(Planes.from_normals(normals=normal(heel, slope), offsets_m=lying.offsets_m))
    assert permeability * again.volume_m3[0] == pytest.approx(volume, rel=2e-13)


@given(st.sampled_from([BOX, WING, STANDING]), st.floats(0, 1), st.floats(-20, 20), st.floats(-0.1, 0.1))
@settings(max_examples=40)
def test_sounding_and_volume_there_and_back_along_an_inclined_pipe(tank, share, heel, slope):
    low, high = tank.solid.bounds_m
    a, b = low + 0.2 * (high - low), low + 0.7 * (high - low)
    pipe = SoundingPipe.through([[*a[:2], low[2]], [*b[:2], 0.4 * low[2] + 0.6 * high[2]], [*b[:2], high[2] + 0.3]])
    tank = Tank.of_solid(tank.solid, pipe=pipe, permeability_ratio=0.97)
    sounding, n = share * pipe.length_m, normal(heel, slope)
    try:
        pipe.sounding_m(normals=n[None], offsets_m=np.zeros(1))
    except NotDeterminedError:
        return  # heeled beyond the pipe's own slope; its own test is in test_sounding
    volume = volume_at_sounding(tank, sounding_m=sounding, normals=n)
    if 1e-6 < volume[0] / tank.capacity_m3 < 1 - 1e-6:
        assert sounding_at_volume(tank, volume_m3=volume, normals=n)[0] == pytest.approx(sounding, abs=1e-7)
    by_ullage = volume_at_ullage(tank, ullage_m=pipe.length_m - sounding, normals=n)
    np.testing.assert_allclose(by_ullage, volume, rtol=1e-9, atol=1e-12)


def test_the_surface_passes_through_the_pipe_where_it_was_sounded():
    pipe = SoundingPipe.vertical(x_m=1.0, y_m=2.0, z_min_m=0.6, z_max_m=1.5)
    tank = Tank.of_solid(BOX.solid, pipe=pipe)
    tangent = np.tan(np.radians(4.0))
    # heeled to starboard the level stands lower at y = 2 than on the tank's middle, by 2 tan φ: closed form
    volume = volume_at_sounding(tank, sounding_m=0.3, normals=normal(4.0))[0]
    assert volume == pytest.approx(35 * (0.3 + 2 * tangent), rel=1e-13)
    assert volume_at_sounding(tank, sounding_m=0.3, normals=UPRIGHT)[0] == pytest.approx(10.5, rel=1e-13)
    assert volume_at_ullage(tank, ullage_m=0.6, normals=UPRIGHT)[0] == pytest.approx(10.5, rel=1e-13)


def test_permeability_scales_volume_and_surface_and_moves_no_centre():
    half = Tank.of_solid(BOX.solid, permeability_ratio=0.5)
    whole, part = (liquid_in(t, volume_m3=f * 12.0, normals=normal(12)) for t, f in ((BOX, 1.0), (half, 0.5)))
    assert half.capacity_m3 == pytest.approx(15.75, rel=1e-14)
    np.testing.assert_allclose(part.centroid_m, whole.centroid_m, rtol=0, atol=1e-13)
    np.testing.assert_allclose(part.surface_area_m2, 0.5 * whole.surface_area_m2, rtol=1e-12)
    np.testing.assert_allclose(part.surface_tensor_m4, 0.5 * whole.surface_tensor_m4, rtol=0, atol=1e-10)


class Uncut:
    """A solid that must not be asked."""

    def cut(self, planes):  # noqa: D102
        raise AssertionError("an empty or full tank was cut")


@pytest.mark.parametrize("volume", [0.0, BOX.capacity_m3])
def test_empty_and_full_tanks_have_no_surface_and_cost_no_cut(volume):
    tank = Tank(Uncut(), None, 1.0, BOX.pipe, BOX.capacity_m3, BOX.full_centroid_m)
    lying = liquid_in(tank, volume_m3=volume, normals=[UPRIGHT, normal(30)])
    np.testing.assert_allclose(lying.centroid_m, [[3.5, 0, 1.05]] * 2, rtol=0, atol=1e-14)
    assert not lying.surface_area_m2.any()
    assert not lying.surface_tensor_m4.any()
    assert np.isnan(lying.offsets_m).all()
    expected = 0.0 if volume == 0 else 0.9
    assert sounding_at_volume(tank, volume_m3=volume, normals=normal(10))[0] == expected


def test_many_planes_at_once_are_the_planes_one_by_one_with_or_without_a_guess():
    normals = np.array([normal(h, s) for h, s in ((0, 0), (3, 0.01), (-25, -0.1), (60, 0.02))])
    batch = liquid_in(WING, volume_m3=40.0, normals=normals)
    good = liquid_in(WING, volume_m3=40.0, normals=normals, start_m=batch.offsets_m + 1e-4)
    bad = liquid_in(WING, volume_m3=40.0, normals=normals, start_m=-50.0)
    for row, n in enumerate(normals):
        one = liquid_in(WING, volume_m3=40.0, normals=n)
        for other in (batch, good, bad):
            np.testing.assert_allclose(other.centroid_m[row], one.centroid_m[0], rtol=0, atol=1e-11)
            np.testing.assert_allclose(other.surface_tensor_m4[row], one.surface_tensor_m4[0], rtol=0, atol=1e-9)


def test_the_centre_moves_as_the_surface_tensor_says():
    # V dG = −T dn at constant volume: the relation Newton's method on the floating position rests on
    n = normal(25, 0.05)
    turn = np.array([0.3, -0.7, 0.2])
    turn -= n * (turn @ n)
    ahead, back = (
        liquid_in(WING, volume_m3=40.0, normals=(n + s * turn) / np.linalg.norm(n + s * turn)) for s in (1e-5, -1e-5)
    )
    slope = 40.0 * (ahead.centroid_m[0] - back.centroid_m[0]) / 2e-5
    tensor = liquid_in(WING, volume_m3=40.0, normals=n).surface_tensor_m4[0]
    np.testing.assert_allclose(slope, -tensor @ turn, rtol=0, atol=1e-5)


def test_a_liquid_carries_its_mass():
    liquid = Liquid(tank=BOX, volume_m3=10.0, density_t_per_m3=0.86)
    assert liquid.mass_t == pytest.approx(8.6)
    np.testing.assert_allclose(liquid.at(np.array([UPRIGHT])).centroid_m[0], [3.5, 0, 0.6 + 1 / 7], rtol=0, atol=1e-13)


def test_more_than_the_tank_holds_is_refused():
    with pytest.raises(InputError) as caught:
        liquid_in(Tank.of_solid(BOX.solid, permeability_ratio=0.5), volume_m3=[1.0, 16.0], normals=UPRIGHT)
    error = caught.value
    assert (error.code, error.field, error.value) == ("volume-beyond-capacity", "volume_m3", 16.0)
    assert error.limit == pytest.approx(15.75, rel=1e-14)


def open_box():
    vertices, faces = meshes.box()
    return SurfaceSolid.from_arrays(vertices_m=vertices, faces=faces[~(vertices[faces][:, :, 2] == 8).all(axis=1)])


@pytest.mark.parametrize(
    ("call", "code", "field"),
    [
        (lambda: Tank.of_solid(BOX.solid, permeability_ratio=0.0), "permeability-out-of-range", "permeability_ratio"),
        (lambda: Tank.of_solid(BOX.solid, permeability_ratio=1.01), "permeability-out-of-range", "permeability_ratio"),
        (lambda: Tank.of_solid(BOX.solid, permeability_ratio=np.nan), "not-finite", "permeability_ratio"),
        (lambda: Tank.of_solid(open_box()), "tank-skin-open", "shape"),
        (lambda: liquid_in(BOX, volume_m3=-1.0, normals=UPRIGHT), "out-of-range", "volume_m3"),
        (lambda: liquid_in(BOX, volume_m3=np.nan, normals=UPRIGHT), "not-finite", "volume_m3"),
        (lambda: liquid_in(BOX, volume_m3=1.0, normals=[0, 0, 0]), "zero-normal", "normals"),
        (lambda: liquid_in(BOX, volume_m3=1.0, normals=UPRIGHT, start_m=np.nan), "not-finite", "start_m"),
        (lambda: volume_at_sounding(BOX, sounding_m=0.91, normals=UPRIGHT), "out-of-range", "sounding_m"),
        (lambda: volume_at_ullage(BOX, ullage_m=-0.01, normals=UPRIGHT), "out-of-range", "ullage_m"),
    ],
)
def test_what_cannot_be_is_refused(call, code, field):
    with pytest.raises(InputError) as caught:
        call()
    assert (caught.value.code, caught.value.field) == (code, field)


def test_a_mesh_tank_is_a_tank_like_any_other():
    vertices, faces = meshes.box(length=7.0, breadth=5.0, depth=0.9)
    tank = Tank.of_solid(MeshShape(np.add(vertices, [0, 0, 0.6]), faces).solid())
    ours, theirs = (liquid_in(t, volume_m3=17.0, normals=normal(18, 0.03)) for t in (tank, BOX))
    np.testing.assert_allclose(ours.centroid_m, theirs.centroid_m, rtol=0, atol=1e-12)


def test_a_sounding_along_a_pipe_that_falls_at_that_heel_is_not_determined():
    """The pipe leans 45° to port: heeled 45° to port it lies level."""
    leaning = SoundingPipe.through([[3.0, 0.0, 0.6], [3.0, 0.9, 1.5]])
    tank = Tank.of_solid(Box(0.0, 7.0, -2.5, 2.5, 0.6, 1.5).solid(), pipe=leaning)
    assert volume_at_sounding(tank, sounding_m=0.5, normals=normal(-44.9)) > 0
    for read in (
        lambda: volume_at_sounding(tank, sounding_m=0.5, normals=normal(-45.1)),
        lambda: volume_at_ullage(tank, ullage_m=0.5, normals=normal(-45.1)),
    ):
        with pytest.raises(NotDeterminedError) as caught:
            read()
        assert caught.value.code == "pipe-not-rising"


@pytest.mark.parametrize(("y", "found"), [(2.54, []), (2.56, ["sounding-pipe-outside"])])
def test_a_pipe_beyond_the_slack_outside_its_tank_is_remarked_upon(y, found):
    """The box ends at y = 2.5 m; 0.05 m are left unsaid."""
    pipe = SoundingPipe.vertical(x_m=3.0, y_m=y, z_min_m=0.6, z_max_m=9.0)
    tank = Tank.of_solid(Box(0.0, 7.0, -2.5, 2.5, 0.6, 1.5).solid(), pipe=pipe)
    assert [one.code for one in tank.findings] == found
    assert all(one.place_m == (3.0, y, 0.6) for one in tank.findings)
