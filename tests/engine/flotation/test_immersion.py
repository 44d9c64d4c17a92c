"""Angles of immersion against the geometry of a wall-sided ship and the true height at the angle found."""

import numpy as np
import pytest

from engine.flotation.arm_curve import side_curve
from engine.flotation.immersion import Opening, heights_m, immersions
from engine.flotation.righting_arms import righting_arms
from engine.geometry import SurfaceSolid
from fixtures.simulator.hulls import WorkboatForm, mesh_of
from tests.engine.flotation.arm_hulls import barge

SEA = 1.025
EDGE = np.array([[x, y, 6.4] for x in (0.0, 30.0, 60.0) for y in (-6.0, 6.0)])


def curve_of(solid, *, side="starboard", reach=90.0, mass=SEA * 2520, centre=(30.0, 0.0, 4.5)):
    arms = righting_arms(solid=solid, density_t_per_m3=SEA, mass_t=mass, centre_m=centre, heel_deg=[0.0])
    return side_curve(arms, side=side, range_deg=reach)


def test_deck_edge_and_openings_of_a_wall_sided_ship():
    # before bilge or deck cross the water she turns about the middle of her waterline: tan φ = height / distance
    openings = [
        Opening(10.0, -4.0, 5.5),
        Opening(50.0, -5.0, 4.0, "weathertight"),
        Opening(30.0, 5.5, 4.5),
        Opening(30.0, 0.0, 50.0),
    ]
    found = immersions(curve_of(barge()), openings=openings, deck_edge_m=EDGE)
    assert found.openings_deg[0] == pytest.approx(np.degrees(np.arctan(2.0 / 4.0)), abs=1e-9)
    assert found.openings_deg[1] == pytest.approx(np.degrees(np.arctan(0.5 / 5.0)), abs=1e-9)
    assert found.openings_deg[2] > 90 or np.isnan(found.openings_deg[2])
    assert np.isnan(found.openings_deg[3])
    assert found.deck_edge_deg == pytest.approx(np.degrees(np.arctan(2.9 / 6.0)), abs=1e-9)
    assert found.unprotected_deg == found.openings_deg[0]
    assert found.weathertight_deg == found.openings_deg[1]
    other = immersions(curve_of(barge(), side="port"), openings=openings, deck_edge_m=EDGE)
    assert other.unprotected_deg == pytest.approx(np.degrees(np.arctan(1.0 / 5.5)), abs=1e-9)
    assert other.deck_edge_deg == pytest.approx(found.deck_edge_deg, abs=1e-9)


def test_the_water_stands_at_the_point_at_the_angle_found():
    body = mesh_of(WorkboatForm(), counts=(8, 2, 8, 8))
    solid = SurfaceSolid.from_arrays(vertices_m=body.vertices_m, faces=body.faces)
    openings = [Opening(4.0, -3.0, 5.8), Opening(40.0, -2.5, 7.0, "weathertight"), Opening(20.0, -1.0, 6.5)]
    edge = np.array([[x, -5.9, 5.6] for x in np.linspace(0, 30, 7)])
    curve = curve_of(solid, mass=1200.0, centre=(25.0, -0.1, 4.0), reach=120.0)
    found = immersions(curve, openings=openings, deck_edge_m=edge)
    for place, angle in [
        *zip([[[o.x_m, o.y_m, o.z_m]] for o in openings], found.openings_deg, strict=True),
        (edge, found.deck_edge_deg),
    ]:
        _, arms = curve.at([angle, angle - 0.01])
        height = heights_m(arms, np.array(place))
        assert height[0] == pytest.approx(0.0, abs=1e-9)
        assert height[1] > 0  # dry just before
    assert abs(curve.at([found.deck_edge_deg])[1].planes.normals[0, 0]) > 1e-3  # trimmed as she heels


def test_under_water_upright_and_nothing_to_look_at():
    found = immersions(curve_of(barge(), reach=30.0), openings=[Opening(30.0, 0.0, 3.0)])
    assert found.openings_deg.tolist() == [0.0]
    assert found.unprotected_deg == 0.0
    assert np.isnan(found.weathertight_deg)
    assert np.isnan(found.deck_edge_deg)
    none = immersions(curve_of(barge(), reach=30.0))
    assert none.openings_deg.shape == (0,)
    assert np.isnan(none.unprotected_deg)
