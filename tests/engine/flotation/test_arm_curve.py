"""One side of a curve: zeros, extremes and areas against closed forms and quadrature of the closed forms."""

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

from engine.errors import InputError
from engine.flotation.arm_curve import side_curve
from engine.flotation.righting_arms import righting_arms
from engine.geometry import SurfaceSolid, solid_from_arrays
from engine.geometry.shapes import Box
from engine.liquids import Tank
from engine.liquids.running import Liquid
from fixtures.simulator.hulls import WorkboatForm, mesh_of
from tests.engine.flotation.arm_hulls import Ellipsoid, barge
from tests.engine.geometry import meshes

SEA = 1.025
BM, GM = 144 / 42, 1.75 + 144 / 42 - 4.5
BODY = mesh_of(WorkboatForm(), counts=(8, 2, 8, 8))
BOAT = SurfaceSolid.from_arrays(vertices_m=BODY.vertices_m, faces=BODY.faces)


def arms_of(solid, *, mass=SEA * 2520, centre=(30.0, 0.0, 4.5), density=SEA, **more):
    return righting_arms(solid=solid, density_t_per_m3=density, mass_t=mass, centre_m=centre, heel_deg=[0.0], **more)


def curve_of(solid, *, side="starboard", reach=90.0, **more):
    return side_curve(arms_of(solid, **more), side=side, range_deg=reach)


def wall_sided(bm, gm):
    return lambda turn: (gm + bm * np.tan(turn) ** 2 / 2) * np.sin(turn)


def test_areas_of_a_wall_sided_ship():
    # ∫ (GM + BM tan²/2) sin dφ = GM (1 − cos φ) + BM (1 − cos φ)²/(2 cos φ) … the figures below are that form for
    # BM 24/7 m and GM 19/28 m. A box of draft 10 m and breadth √(120 BM) keeps its bilge under to 40°.
    breadth = np.sqrt(120 * BM)
    curve = curve_of(
        barge(30.0, breadth_m=breadth), mass=SEA * 60 * breadth * 10, centre=(30.0, 0.0, 5 + BM - GM), reach=60.0
    )
    to_30, to_40, between = curve.areas([[0, 30], [0, 40], [30, 40]])
    assert to_30.area_m_rad == pytest.approx(0.126441519713, abs=1e-12)
    assert to_40.area_m_rad == pytest.approx(0.281244240657, abs=1e-12)
    assert between.area_m_rad == pytest.approx(0.154802720945, abs=1e-12)
    assert max(to_30.error_m_rad, to_40.error_m_rad, between.error_m_rad) < 1e-11
    assert curve.area_m_rad(40.0, 30.0) == pytest.approx(-between.area_m_rad, abs=1e-13)


def test_area_of_the_box_barge_to_30_degrees():
    curve = curve_of(barge(), reach=40.0)
    assert curve.area_m_rad(0.0, 30.0) == pytest.approx(0.126441519713, abs=1e-12)  # as above


def test_area_of_the_box_barge_through_bilge_and_deck_edge():
    # from 40° on both bilge and deck edge cross the water: GZ in closed form (see test_righting_arms), by quadrature
    def arm(turn):
        cotangent = 1 / np.tan(turn)
        y = -6 + (8 * 5.25**2 + cotangent**2 * 128 / 3) / 2 / 42
        return -y * np.cos(turn) - (4.5 - (4 - cotangent * 128 / 3 / 42)) * np.sin(turn)

    expected = quad(arm, np.radians(40), np.radians(85), epsabs=1e-13)[0]
    curve = curve_of(barge())
    assert curve.area_m_rad(40.0, 85.0) == pytest.approx(expected, abs=1e-11)
    top = brentq(lambda turn: arm(turn + 1e-30j).imag, 0.7, 0.9, xtol=1e-15)  # the derivative, by a complex step
    assert curve.maximum.arm_m == pytest.approx(arm(top), abs=1e-11)
    assert curve.maximum.heel_deg == pytest.approx(np.degrees(top), abs=1e-8)
    assert curve.vanishing_deg == pytest.approx(np.degrees(brentq(arm, 1.0, 1.5, xtol=1e-14)), abs=1e-9)
    assert not curve.maximum.at_end


@pytest.mark.parametrize("trim", ["free", "fixed"])
def test_areas_in_free_and_fixed_trim_are_the_integral_of_the_true_arms(trim):
    # Gauss–Legendre of 12 nodes on each of 45 spans of 1°, arms solved at every node
    tank = Tank.of_solid(Box(x_min_m=20, x_max_m=30, y_min_m=-3, y_max_m=4, z_min_m=1, z_max_m=3).solid())
    curve = curve_of(
        BOAT,
        mass=1150.0,
        centre=(27.5, 0.1, 4.0),
        liquids=[Liquid(tank, 60.0, 0.9)],
        trim=trim,
        free_surface_tm=30.0,
        reach=60.0,
    )
    nodes, weights = np.polynomial.legendre.leggauss(12)
    theta = (10.0 + np.arange(45)[:, None] + (nodes + 1) / 2).ravel()
    arms, _ = curve.at(theta)
    expected = (arms.reshape(45, 12) @ weights).sum() * np.radians(0.5)
    found = curve.areas([[10.0, 55.0]])[0]
    assert found.area_m_rad == pytest.approx(expected, abs=2e-7)
    assert abs(found.area_m_rad - expected) <= found.error_m_rad + 1e-9
    assert found.agrees


def test_both_sides_of_a_listed_ship():
    # a weight to starboard: she lies to starboard where GM tan φ + BM tan³ φ/2 = y_G (wall-sided cubic)
    off = 0.05
    tan = brentq(lambda t: GM * t + BM / 2 * t**3 - off, 0.0, 1.0, xtol=1e-15)
    starboard = curve_of(barge(), centre=(30.0, -off, 4.5))
    port = curve_of(barge(), centre=(30.0, -off, 4.5), side="port")
    assert starboard.start_deg == pytest.approx(np.degrees(np.arctan(tan)), abs=1e-9)
    assert starboard.intercepts[0].stable
    assert port.start_deg == 0.0
    assert port.arm_m[0] == pytest.approx(off, abs=1e-12)
    assert port.maximum.arm_m > starboard.maximum.arm_m
    # righted from port by weight and form: GZ of the upright ship plus y_G cos φ
    arm, _ = port.at([10.0, 20.0])
    turn = np.radians([10.0, 20.0])
    np.testing.assert_allclose(arm, wall_sided(BM, GM)(turn) + off * np.cos(turn), atol=1e-11)


def test_angle_of_loll_on_both_sides():
    # GM = −0.1 m: tan² φ = −2 GM/BM
    kg = 1.75 + BM + 0.1
    for side in ("starboard", "port"):
        curve = curve_of(barge(), centre=(30.0, 0.0, kg), side=side)
        assert curve.intercepts[0] == (0.0, False)
        assert curve.start_deg == pytest.approx(np.degrees(np.arctan(np.sqrt(0.2 / BM))), abs=1e-9)
        assert curve.vanishing_deg > curve.maximum.heel_deg > curve.start_deg
        assert curve.area_m_rad(0.0, curve.start_deg) < 0


def test_ellipsoid_rights_herself_from_any_heel():
    body = Ellipsoid(30.0, 5.0, 5.0)
    solid = body.solid()
    curve = curve_of(solid, mass=0.4 * solid.volume_m3, density=1.0, centre=(0, 0, 4.0), trim="fixed", reach=180.0)
    # GZ = (KM − KG) sin φ: area 2 (KM − KG) over the half turn, maximum at 90°
    assert curve.vanishing_deg is None or curve.vanishing_deg == pytest.approx(180.0, abs=1e-6)
    assert curve.area_m_rad(0.0, 180.0) == pytest.approx(2.0, abs=1e-11)
    assert curve.maximum.heel_deg == pytest.approx(90.0, abs=0.2)  # facets of 5° ripple the top
    assert curve.maximum.arm_m == pytest.approx(1.0, abs=1e-4)


def test_no_arm_at_all_and_a_curve_that_rises_to_its_end():
    tipping = curve_of(barge(), centre=(30.0, 0.0, 9.0), reach=80.0)
    assert (tipping.start_deg, tipping.maximum, tipping.vanishing_deg) == (None, None, None)
    short = curve_of(barge(), reach=20.0)
    assert short.maximum.at_end
    assert short.maximum.heel_deg == 20.0
    assert short.vanishing_deg is None
    with pytest.raises(InputError) as beyond:
        short.areas([[0.0, 30.0]])
    assert beyond.value.code == "out-of-range"


def test_a_curve_ends_where_the_hull_has_no_position():
    vertices, faces = meshes.box()
    top = (vertices[faces][:, :, 2] == 8.0).all(axis=1)
    curve = curve_of(solid_from_arrays(vertices_m=vertices, faces=faces[~top]).solid, reach=90.0)
    assert curve.end_deg == 35.0  # the rim goes under at 36.9° or so; nodes are 5° apart
    assert curve.end_code in ("volume-beyond-capacity", "open-below-water")


@pytest.mark.parametrize("reach", [0.0, -5.0, 181.0])
def test_a_range_that_is_none(reach):
    with pytest.raises(InputError):
        curve_of(barge(), reach=reach)
