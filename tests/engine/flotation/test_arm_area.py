"""Areas by the work of heeling: what they may be off by is told."""

import numpy as np
import pytest

from engine.flotation.arm_curve import side_curve
from engine.flotation.righting_arms import righting_arms
from engine.geometry import OffsetStation, SurfaceSolid, solid_from_offsets
from fixtures.simulator.hulls import WorkboatForm, mesh_of, stations_record

SEA = 1.025


def hull(kind):
    if kind == "skin":
        body = mesh_of(WorkboatForm(), counts=(8, 2, 8, 8))
        return SurfaceSolid.from_arrays(vertices_m=body.vertices_m, faces=body.faces)
    record = stations_record(WorkboatForm(), length_bp_m=50.0, counts=(4, 2, 4, 4))
    stations = [OffsetStation(x_m=one["x_m"], points_m=one["points_m"]) for one in record["stations"]]
    return solid_from_offsets(stations, between_points="straight").solid


def curve_of(kind, **more):
    arms = righting_arms(
        solid=hull(kind), density_t_per_m3=SEA, mass_t=1200.0, centre_m=[26.0, 0.0, 4.0], heel_deg=[0.0], **more
    )
    return side_curve(arms, side="port", range_deg=50.0)


@pytest.mark.parametrize("kind", ["skin", "sections"])
@pytest.mark.parametrize("trim", ["free", "fixed"])
def test_the_error_told_covers_the_error_made(kind, trim):
    # the truth: Gauss–Legendre of 6 nodes on each of 30 spans of 1°, arms solved at every node
    curve = curve_of(kind, trim=trim)
    nodes, weights = np.polynomial.legendre.leggauss(6)
    arms, _ = curve.at((np.arange(30)[:, None] + (nodes + 1) / 2).ravel())
    expected = (arms.reshape(30, 6) @ weights).sum() * np.radians(0.5)
    area = curve.areas([[0.0, 30.0]])[0]
    assert abs(area.area_m_rad - expected) <= area.error_m_rad + 1e-9
    assert area.error_m_rad < (5e-4 if kind == "sections" else 2e-7)
    assert area.area_m_rad == pytest.approx(expected, abs=1e-5)  # sections: steps as the waterline's ends pass stations
    assert area.agrees


@pytest.mark.parametrize("kind", ["skin", "sections"])
def test_areas_add_up_wherever_they_are_parted(kind):
    curve = curve_of(kind, free_surface_tm=120.0)
    whole, one, two, back, none = curve.areas([[3.2, 41.7], [3.2, 17.0], [17.0, 41.7], [41.7, 3.2], [20.0, 20.0]])
    room = 3e-6 if kind == "sections" else 3e-7  # four places in a gap with a step; the part of the work in n_x²
    assert one.area_m_rad + two.area_m_rad == pytest.approx(whole.area_m_rad, abs=room)
    assert back.area_m_rad == pytest.approx(-whole.area_m_rad, abs=1e-12)
    assert none.area_m_rad == pytest.approx(0.0, abs=1e-12)


def test_a_barge_by_sections_is_exact():
    # prismatic: GM (1 − cos φ) + BM (1/cos φ + cos φ − 2)/2, GM 19/28 and BM 24/7 m, before the bilge emerges
    points = [(0.0, 0.0), (6.0, 0.0), (6.0, 8.0)]
    stations = [OffsetStation(x_m=x, points_m=points) for x in (0.0, 60.0)]
    solid = solid_from_offsets(stations, between_points="straight").solid
    arms = righting_arms(solid=solid, density_t_per_m3=SEA, mass_t=2583.0, centre_m=[30.0, 0.0, 4.5], heel_deg=[0.0])
    cosine = np.cos(np.radians([12.3, 30.0]))
    expected = 19 / 28 * (1 - cosine) + 12 / 7 * (1 / cosine + cosine - 2)
    found = side_curve(arms, side="starboard", range_deg=50.0).areas([[0.0, 12.3], [0.0, 30.0]])
    np.testing.assert_allclose([area.area_m_rad for area in found], expected, atol=1e-11)
    assert max(area.error_m_rad for area in found) < 1e-9
