"""Righting arms against closed forms, exact clipping and independent solves."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq, fsolve

from engine.deadline import watched_by
from engine.errors import InputError, NotDeterminedError
from engine.flotation.equilibrium import equilibrium
from engine.flotation.righting_arms import righting_arms, solid_weight
from engine.geometry import OffsetStation, Planes, SurfaceSolid, solid_from_arrays, solid_from_offsets
from engine.geometry.shapes import Box
from engine.liquids import SoundingTable, Tank
from engine.liquids.running import Liquid
from fixtures.simulator.hulls import WorkboatForm, mesh_of, mirrored, stations_record
from tests.engine.flotation.arm_hulls import Ellipsoid, barge, below
from tests.engine.geometry import meshes
from tests.engine.geometry.exact_clip import exact_cut

SEA = 1.025
MASS = SEA * 60 * 12 * 3.5
BM, GM = 144 / 42, 1.75 + 144 / 42 - 4.5
AT = {"density_t_per_m3": SEA, "mass_t": MASS, "centre_m": [30.0, 0.0, 4.5]}
WORKBOAT = mesh_of(WorkboatForm(), counts=(8, 2, 8, 8))
BOAT = SurfaceSolid.from_arrays(vertices_m=WORKBOAT.vertices_m, faces=WORKBOAT.faces)
BOAT_AT = {"density_t_per_m3": SEA, "mass_t": 1200.0, "centre_m": [26.0, 0.0, 4.0]}


def test_box_barge_at_10_and_30_degrees():
    arms = righting_arms(solid=barge(), heel_deg=[10.0, 30.0, -10.0, -30.0], **AT)
    # GZ = (GM + BM tan² φ / 2) sin φ, sides neither immersed nor bilge out: tan 30° < 3.5/6; the figures of that form
    np.testing.assert_allclose(arms.gz_m[:2], [0.1270880021675, 0.625], atol=5e-13, rtol=0)
    np.testing.assert_allclose(arms.gz_m[2:], -arms.gz_m[:2], atol=1e-13)


@pytest.mark.parametrize("heel", [33.0, 36.5, 37.0, 37.2])
def test_box_barge_while_the_bilge_emerges_and_the_deck_edge_goes_under(heel):
    # bilge out beyond tan φ = 3.5/6 (30.26°); deck edge under beyond 36.9° or so: clipped in rational numbers
    arms = righting_arms(solid=barge(), heel_deg=heel, **AT)
    normal, offset = arms.planes.normals[0], arms.planes.offsets_m[0]
    exact = exact_cut(*meshes.box(), normal=normal, offset=offset)
    assert SEA * exact.volume == pytest.approx(MASS, rel=1e-13)
    apart = np.array([30.0, 0.0, 4.5]) - exact.moment / exact.volume
    turn = np.radians(heel)
    assert arms.gz_m[0] == pytest.approx(apart[1] * np.cos(turn) - apart[2] * np.sin(turn), abs=1e-12)
    assert abs(np.dot(apart, [normal[2], 0.0, -normal[0]])) < 1e-11  # balanced lengthwise


@pytest.mark.parametrize("heel", [38.0, 45.0, 60.0, 75.0, 89.0, 90.0, 105.0, 140.0])
def test_box_barge_with_the_deck_edge_under(heel):
    # Bottom and deck both cross the water. At height u below mid-depth the section is wet over a breadth
    # w0 + u/tan φ, w0 = 42 m²/8 m; so y_B = −6 + ∫ w²/2 du / 42, z_B = 4 − ∫ u w du / 42, u from −4 to 4.
    turn = np.radians(heel)
    cotangent = 1 / np.tan(turn)
    y = -6 + (8 * 5.25**2 + cotangent**2 * 128 / 3) / 2 / 42
    z = 4 - cotangent * 128 / 3 / 42
    arms = righting_arms(solid=barge(), heel_deg=[heel, -heel], **AT)
    expected = -y * np.cos(turn) - (4.5 - z) * np.sin(turn)
    np.testing.assert_allclose(arms.gz_m, [expected, -expected], atol=1e-11)


@settings(max_examples=20)
@given(st.floats(1.0, 3.0), st.floats(4.0, 6.0), st.floats(-25.0, 25.0))
def test_wall_sided_formula(breadth_share, kg, heel):
    # GZ = (GM + BM tan² φ/2) sin φ while neither bilge nor deck edge crosses the water
    breadth, draft, length = 4.0 * breadth_share, 3.0, 50.0
    arms = righting_arms(
        solid=barge(6.0, length_m=length, breadth_m=breadth),
        density_t_per_m3=1.0,
        mass_t=length * breadth * draft,
        centre_m=[25.0, 0.0, kg],
        heel_deg=heel,
    )
    turn, bm = np.radians(heel), breadth**2 / (12 * draft)
    assert arms.gz_m[0] == pytest.approx((draft / 2 + bm - kg + bm * np.tan(turn) ** 2 / 2) * np.sin(turn), abs=1e-11)


@pytest.mark.parametrize("axes", [(6.0, 6.0, 6.0), (30.0, 5.0, 5.0)])
@pytest.mark.parametrize("trim", ["free", "fixed"])
def test_sphere_and_ellipsoids_of_equal_breadth_and_height(axes, trim):
    # b = c: the water always cuts the same section, so GZ = (KM − KG) sin φ with KM = c, all the way round
    body = Ellipsoid(*axes)
    solid = body.solid()
    # whole sides of the 72; beyond 90° a sphere with G below its middle stands no trim, see the next test
    heel = 5.0 * (np.arange(-36, 37) if trim == "fixed" else np.arange(-17, 18))
    arms = righting_arms(
        solid=solid, density_t_per_m3=1.0, mass_t=0.4 * solid.volume_m3, centre_m=[0, 0, 4.2], heel_deg=heel, trim=trim
    )
    np.testing.assert_allclose(arms.gz_m, (body.c - 4.2) * np.sin(np.radians(heel)), atol=1e-11)


def test_a_heel_at_which_no_trim_is_stable_has_no_position():
    solid = Ellipsoid(6.0, 6.0, 6.0).solid()
    arms = righting_arms(
        solid=solid,
        density_t_per_m3=1.0,
        mass_t=0.4 * solid.volume_m3,
        centre_m=[0, 0, 4.2],
        heel_deg=[0, 60, 120, 180],
    )
    assert arms.codes == ("", "", "no-equilibrium", "no-equilibrium")  # she would turn end over end


@pytest.mark.parametrize("share", [0.25, 0.5, 0.7])
def test_ellipsoid_of_three_axes_at_its_own_heels(share):
    body = Ellipsoid(30.0, 7.0, 4.0)
    solid = body.solid()
    heel = body.exact_heel_deg(np.arange(0, 37))
    arms = righting_arms(
        solid=solid, density_t_per_m3=1.0, mass_t=share * solid.volume_m3, centre_m=[0, 0, 3.5], heel_deg=heel
    )
    expected = body.arm_m(heel_deg=heel, kb_m=arms.cuts.centroid_m[0, 2], kg_m=3.5)
    np.testing.assert_allclose(arms.gz_m, expected, atol=2e-11)


def test_ellipsoid_of_three_axes_at_any_heel_as_the_facets_shrink():
    # smooth half-immersed ellipsoid: KB = 5c/8, so ζ = 3/8; facets halved twice, errors fall fourfold, and
    # Richardson's (4 fine − coarse)/3 of the last two is left with less than 3e-6 m
    heel = np.array([10.0, 27.0, 63.0])
    found = []
    for sides, rings in ((72, 36), (144, 72), (288, 144)):
        body = Ellipsoid(30.0, 7.0, 4.0, sides, rings)
        solid = body.solid()
        arms = righting_arms(
            solid=solid, density_t_per_m3=1.0, mass_t=0.5 * solid.volume_m3, centre_m=[0, 0, 3.5], heel_deg=heel
        )
        found.append(arms.gz_m)
    expected = body.arm_m(heel_deg=heel, kb_m=5 * 4.0 / 8, kg_m=3.5)
    errors = [np.abs(one - expected).max() for one in found]
    assert 3.5 < errors[0] / errors[1] < 4.5
    np.testing.assert_allclose((4 * found[2] - found[1]) / 3, expected, atol=3e-6)


@pytest.mark.parametrize("heel", [12.0, 35.0, 70.0, 110.0])
def test_free_trim_of_a_shipshape_hull_against_a_solid_library(heel):
    # manifold3d cuts the mesh; scipy finds offset and n_x at which weight and lengthwise moment balance
    turn, centre = np.radians(heel), np.array([26.0, 0.0, 4.0])
    volume = 1200.0 / SEA

    def normal_at(sink):
        return np.array([sink, np.sqrt(1 - sink**2) * np.sin(turn), np.sqrt(1 - sink**2) * np.cos(turn)])

    def unbalanced(at):
        normal = normal_at(at[1])
        held, buoyancy = below(WORKBOAT.vertices_m, WORKBOAT.faces, normal, at[0])
        along = np.array([1.0, 0.0, 0.0]) - normal[0] * normal
        return [(held - volume) / volume, np.dot(centre - buoyancy, along) / 10]

    found, _, flag, _ = fsolve(unbalanced, [3.0 * np.cos(turn), 0.0], full_output=True, xtol=1e-13)
    assert flag in (1, 4)
    assert np.abs(unbalanced(found)).max() < 1e-11
    _, buoyancy = below(WORKBOAT.vertices_m, WORKBOAT.faces, normal_at(found[1]), found[0])
    apart = centre - buoyancy
    arms = righting_arms(solid=BOAT, heel_deg=heel, **BOAT_AT)
    assert arms.planes.normals[0, 0] == pytest.approx(found[1], abs=1e-10)
    assert arms.gz_m[0] == pytest.approx(apart[1] * np.cos(turn) - apart[2] * np.sin(turn), abs=1e-9)


def test_fixed_trim_holds_the_upright_trim_or_the_one_given():
    free = righting_arms(solid=BOAT, heel_deg=[0.0, 40.0], **BOAT_AT)
    fixed = righting_arms(solid=BOAT, heel_deg=[0.0, 40.0], trim="fixed", **BOAT_AT)
    assert free.planes.normals[1, 0] != pytest.approx(free.planes.normals[0, 0], abs=1e-4)
    np.testing.assert_allclose(fixed.planes.normals[:, 0], free.planes.normals[0, 0], atol=1e-15)
    given = Planes.from_waterplanes(draft_m=0.0, trim_m=1.0, length_bp_m=50.0)
    held = righting_arms(solid=BOAT, heel_deg=[40.0], trim="fixed", start=given, **BOAT_AT)
    np.testing.assert_allclose(held.planes.normals[0, 0], given.normals[0, 0], atol=1e-15)
    apart = held.centre_m[0] - held.cuts.centroid_m[0]
    assert abs(np.dot(apart, [1.0, 0.0, 0.0])) > 0.1  # not balanced: held, not found
    assert SEA * held.cuts.volume_m3[0] == pytest.approx(1200.0, rel=1e-12)


def test_mirrored_ship():
    shape = Box(x_min_m=20, x_max_m=30, y_min_m=0.5, y_max_m=4, z_min_m=1, z_max_m=3).solid()
    other = Box(x_min_m=20, x_max_m=30, y_min_m=-4, y_max_m=-0.5, z_min_m=1, z_max_m=3).solid()
    heel = np.array([-120.0, -50.0, -20.0, 0.0, 5.0, 35.0, 80.0, 170.0])
    body = mirrored(WORKBOAT)
    ours = righting_arms(
        solid=BOAT,
        density_t_per_m3=SEA,
        mass_t=1150.0,
        centre_m=[26.0, 0.2, 4.0],
        heel_deg=heel,
        liquids=[Liquid(Tank.of_solid(shape), 35.0, 0.9)],
    )
    theirs = righting_arms(
        solid=SurfaceSolid.from_arrays(vertices_m=body.vertices_m, faces=body.faces),
        density_t_per_m3=SEA,
        mass_t=1150.0,
        centre_m=[26.0, -0.2, 4.0],
        heel_deg=-heel,
        liquids=[Liquid(Tank.of_solid(other), 35.0, 0.9)],
    )
    np.testing.assert_allclose(theirs.gz_m, -ours.gz_m, atol=1e-10)
    assert abs(ours.gz_m[3]) > 0.1  # lopsided enough to matter


TANK = Box(x_min_m=20, x_max_m=40, y_min_m=-3, y_max_m=3, z_min_m=0.5, z_max_m=2.5).solid()
LIQUID = Liquid(Tank.of_solid(TANK), 100.0, 0.9)


def _rectangle_below(half, low, high, area, heel):
    """Centre of the part of an upright rectangle below a plane heeled ``heel``, of a given area: shapely and brentq."""
    import shapely

    turn = np.radians(heel)
    up = np.array([np.sin(turn), np.cos(turn)])
    side = np.array([up[1], -up[0]])
    rectangle = shapely.box(-half, low, half, high)

    def wet(d):
        corners = [up * d + side * 99, up * d - side * 99, up * (d - 99) - side * 99, up * (d - 99) + side * 99]
        return rectangle.intersection(shapely.Polygon(corners))

    level = brentq(lambda d: wet(d).area - area, -20.0, 20.0, xtol=1e-14, rtol=1e-15)
    return np.array(wet(level).centroid.coords[0])


@pytest.mark.parametrize("heel", [3.0, 15.0, 40.0, 80.0, 120.0])
def test_moving_liquid_against_polygons_cut_by_another_library(heel):
    # barge and tank are prisms about midlength: no trim, so the problem is two rectangles
    total = MASS + LIQUID.mass_t
    buoyancy = _rectangle_below(6.0, 0.0, 8.0, total / SEA / 60, heel)
    liquid = _rectangle_below(3.0, 0.5, 2.5, 100.0 / 20, heel)
    centre = (MASS * np.array([0.0, 4.5]) + LIQUID.mass_t * liquid) / total
    turn = np.radians(heel)
    expected = (centre - buoyancy) @ [np.cos(turn), -np.sin(turn)]
    arms = righting_arms(solid=barge(), heel_deg=[heel, -heel], liquids=[LIQUID], **AT)
    np.testing.assert_allclose(arms.gz_m, [expected, -expected], atol=1e-10)


def test_moving_liquid_becomes_the_correction_at_small_angles():
    total = MASS + LIQUID.mass_t
    upright_centre = (
        MASS * np.array([30.0, 0.0, 4.5]) + LIQUID.mass_t * np.array([30.0, 0.0, 0.5 + 100 / 240])
    ) / total
    surface = 0.9 * 20 * 6**3 / 12  # ρ l b³/12
    heel = np.array([0.02, 0.2, 2.0])
    common = {"solid": barge(), "density_t_per_m3": SEA, "heel_deg": heel}
    moving = righting_arms(mass_t=MASS, centre_m=AT["centre_m"], liquids=[LIQUID], **common)
    corrected = righting_arms(mass_t=total, centre_m=upright_centre, free_surface_tm=surface, **common)
    difference = (corrected.gz_m - moving.gz_m) * total / np.sin(np.radians(heel))
    # wall-sided tank: the moving liquid takes ρ i (1 + tan² φ/2) sin φ
    np.testing.assert_allclose(difference, surface * np.tan(np.radians(heel)) ** 2 / 2, atol=2e-7)
    at_zero = moving.at(0.0), corrected.at(0.0)
    assert at_zero[0].slope_m_per_rad[0] == pytest.approx(at_zero[1].slope_m_per_rad[0], abs=1e-11)
    assert at_zero[0].gm_fluid_m[0] == pytest.approx(at_zero[1].gm_fluid_m[0], abs=1e-11)
    assert at_zero[0].free_surface_tm[0] == pytest.approx(surface, rel=1e-12)


def test_slope_and_trimming_are_the_differences_of_true_arms():
    liquids = [LIQUID, Liquid(Tank.of_solid(barge(3.0, length_m=8.0, breadth_m=4.0)), 40.0, 1.0)]
    for trim in ("free", "fixed"):
        arms = righting_arms(solid=BOAT, heel_deg=[8.0, 33.0, 77.0, 130.0], liquids=liquids, trim=trim, **BOAT_AT)
        step = np.degrees(1e-4)
        ahead, behind = arms.at(arms.heel_deg + step), arms.at(arms.heel_deg - step)
        np.testing.assert_allclose((ahead.gz_m - behind.gz_m) / 2e-4, arms.slope_m_per_rad, atol=2e-5)
        trimming = (ahead.planes.normals[:, 0] - behind.planes.normals[:, 0]) / 2e-4
        np.testing.assert_allclose(trimming, arms.trimming_per_rad, atol=2e-6)


def test_the_arm_is_nothing_where_she_floats_by_herself():
    off_centre = {**BOAT_AT, "centre_m": [26.0, -0.4, 4.0]}
    heeled = equilibrium(solid=BOAT, **off_centre)
    heel = float(heeled.planes.heel_deg[0])
    assert heel > 5.0
    arms = righting_arms(solid=BOAT, heel_deg=[heel, heel + 1.0, heel - 1.0], **off_centre)
    assert arms.gz_m[0] == pytest.approx(0.0, abs=1e-10)
    assert arms.gz_m[1] > 0.01 > -0.01 > arms.gz_m[2]


def test_order_of_heels_and_asking_again():
    arms = righting_arms(solid=BOAT, heel_deg=[60.0, -10.0, 0.0, 25.0], **BOAT_AT)
    assert arms.heel_deg.tolist() == [60.0, -10.0, 0.0, 25.0]
    again = arms.at([25.0, 60.0])
    np.testing.assert_allclose(again.gz_m, arms.gz_m[[3, 0]], atol=1e-11)
    assert arms.mass_t == 1200.0


def test_where_an_opening_of_the_skin_goes_under_there_is_no_position():
    vertices, faces = meshes.box()
    top = (vertices[faces][:, :, 2] == 8.0).all(axis=1)
    assert top.sum() == 2
    open_box = solid_from_arrays(vertices_m=vertices, faces=faces[~top]).solid
    arms = righting_arms(solid=open_box, heel_deg=[-60.0, 0.0, 20.0, 36.0, 60.0], **AT)
    assert [bool(code) for code in arms.codes] == [True, False, False, False, True]
    assert set(arms.codes) - {""} <= {"volume-beyond-capacity", "open-below-water"}
    np.testing.assert_array_equal(np.isnan(arms.gz_m), [True, False, False, False, True])
    closed = righting_arms(solid=barge(), heel_deg=[0.0, 20.0, 36.0], **AT)
    np.testing.assert_allclose(arms.gz_m[1:4], closed.gz_m, atol=1e-12)
    with pytest.raises(InputError):
        righting_arms(solid=open_box, heel_deg=[60.0, 70.0], start=arms.planes.take(np.array([1])), **AT)


def test_a_tank_by_its_table_is_run_to_80_degrees_and_no_further():
    table = SoundingTable.from_columns(
        sounding_m=[0.0, 1.0, 2.0],
        volume_m3=[0.0, 50.0, 100.0],
        x_m=[30.0, 30.0, 30.0],
        y_m=[0.0, 0.0, 0.0],
        z_m=[0.0, 0.5, 1.0],
        free_surface_moment_m4=[100.0, 100.0, 100.0],
    )
    arms = righting_arms(
        solid=barge(), heel_deg=[0.0, 79.0, 85.0], liquids=[Liquid(Tank.of_table(table), 50.0, 1.0)], **AT
    )
    assert arms.codes == ("", "", "table-beyond-heel")


def test_solid_weight_takes_the_liquids_out_where_they_lie_upright():
    mass, centre = solid_weight(displacement_t=1000.0, centre_m=[30.0, 0.1, 4.0], liquids=[LIQUID])
    assert mass == pytest.approx(910.0)
    # 90 t at (30, 0, 0.5 + 100/120 / 2)
    np.testing.assert_allclose(910 * centre + 90 * np.array([30, 0, 0.5 + 100 / 240]), [30000, 100, 4000], rtol=1e-12)
    with pytest.raises(InputError) as refused:
        solid_weight(displacement_t=80.0, centre_m=[30.0, 0.0, 4.0], liquids=[LIQUID])
    assert refused.value.code == "liquids-over-displacement"


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"mass_t": 6000.0}, "sinks"),
        ({"mass_t": SEA * 60 * 12 * 8}, "sinks"),  # no reserve at all
        ({"mass_t": -1.0}, "not-positive"),
        ({"density_t_per_m3": 0.0}, "not-positive"),
        ({"heel_deg": []}, "too-few-points"),
        ({"heel_deg": [181.0]}, "out-of-range"),
        ({"heel_deg": [np.nan]}, "not-finite"),
        ({"free_surface_tm": -1.0}, "out-of-range"),
        ({"centre_m": [30.0, 0.0]}, "wrong-shape"),
    ],
)
def test_refusals(change, code):
    with pytest.raises((InputError, NotDeterminedError)) as refused:
        righting_arms(**{"solid": barge(), "heel_deg": [10.0], **AT, **change})
    assert refused.value.code == code


def test_sections_whose_energy_steps_are_solved_in_few_cuts():
    # a form by 15 sections, trimmed by the head until stations leave the water, started 0.001 off in n_x: along the way
    # the energy of the sections rises while weight and moment come into balance
    form = stations_record(WorkboatForm(), length_bp_m=50.0, counts=(4, 2, 4, 4))
    stations = [OffsetStation(x_m=one["x_m"], points_m=one["points_m"]) for one in form["stations"]]
    solid = solid_from_offsets(stations, between_points="straight").solid
    cuts = []
    start = Planes.from_angles(heel_deg=-45.0, slope_ratio=-0.32568824, offsets_m=0.0)
    with watched_by(lambda: cuts.append(1)):
        found = equilibrium(
            solid=solid,
            density_t_per_m3=SEA,
            mass_t=2361.7447314300534,
            centre_m=[29.295543666331714, 0.6197293748337106, 6.706836564329466],
            start=start,
            hold="heel",
        )
    assert len(cuts) < 200  # 117 steps of loops; a search by the energy alone took over 1,000 and found nothing
    apart = found.centre_m[0] - found.cuts.centroid_m[0]
    normal = found.planes.normals[0]
    along = np.array([1.0, 0.0, 0.0]) - normal[0] * normal
    assert abs(apart @ along) < 1e-9
    assert SEA * found.cuts.volume_m3[0] == pytest.approx(2361.7447314300534, rel=1e-11)
