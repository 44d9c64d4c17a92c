"""Particulars of one side: what is reported, what is left out, and what is said about it."""

import numpy as np
import pytest

from engine.errors import InputError
from engine.flotation.arm_area import Area
from engine.flotation.arm_curve import side_curve
from engine.flotation.arm_particulars import Slope, arm_particulars, openings_outside, slope_at_rest
from engine.flotation.immersion import Opening
from engine.flotation.righting_arms import righting_arms
from engine.geometry import OffsetStation, Planes, SurfaceSolid, solid_from_offsets
from engine.liquids import Tank
from engine.liquids.running import Liquid
from fixtures.simulator.hulls import WorkboatForm, mesh_of
from tests.engine.flotation.arm_hulls import barge

SEA = 1.025
BM, GM = 144 / 42, 1.75 + 144 / 42 - 4.5
BODY = mesh_of(WorkboatForm(), counts=(8, 2, 8, 8))
BOAT = SurfaceSolid.from_arrays(vertices_m=BODY.vertices_m, faces=BODY.faces)


def curve_of(solid=None, *, side="starboard", reach=90.0, mass=SEA * 2520, centre=(30.0, 0.0, 4.5), **more):
    arms = righting_arms(
        solid=barge() if solid is None else solid,
        density_t_per_m3=SEA,
        mass_t=mass,
        centre_m=centre,
        heel_deg=[0.0],
        **more,
    )
    return side_curve(arms, side=side, range_deg=reach)


def codes(found):
    return [one.code for one in found]


def test_a_sound_curve_has_nothing_to_say():
    found = arm_particulars(curve_of(), openings=[Opening(30.0, -5.0, 5.5)], deck_edge_m=[[30.0, -6.0, 8.0]])
    assert found.findings == ()
    assert [(area.from_deg, area.to_deg) for area in found.areas] == [(0, 30), (0, 40), (30, 40)]
    flooding = np.degrees(np.arctan(2.0 / 5.0))  # she turns about the middle of her waterline
    assert found.immersions.unprotected_deg == pytest.approx(flooding, abs=1e-9)
    assert [(area.from_deg, area.to_deg) for area in found.areas_to_flooding] == [(0, pytest.approx(flooding))]
    # GM (1 − cos φ) + BM/2 (1/cos φ + cos φ − 2): the wall-sided area to the flooding angle
    cosine = 5 / np.hypot(2, 5)
    expected = GM * (1 - cosine) + BM / 2 * (1 / cosine + cosine - 2)
    assert found.areas_to_flooding[0].area_m_rad == pytest.approx(expected, abs=1e-12)


def test_slope_upright_is_gm():
    slope = slope_at_rest(curve_of())
    assert slope.heel_deg == 0.0
    assert slope.slope_m_per_rad == pytest.approx(GM, abs=1e-9)
    assert slope.gm_fluid_m == pytest.approx(GM, abs=1e-12)


def test_slope_at_a_list_is_gm_there():
    # wall-sided at φ: dGZ/dφ of G off the middle = (GM + BM tan²/2) cos + BM tan/cos · sin/cos … by its derivative
    curve = curve_of(centre=(30.0, -0.05, 4.5))
    slope = slope_at_rest(curve)
    turn = np.radians(curve.start_deg)
    arm = lambda t: (GM + BM * np.tan(t) ** 2 / 2) * np.sin(t) - 0.05 * np.cos(t)  # noqa: E731
    assert slope.heel_deg == curve.start_deg > 1.0
    assert slope.slope_m_per_rad == pytest.approx((arm(turn + 1e-6) - arm(turn - 1e-6)) / 2e-6, abs=1e-7)
    assert slope.agrees
    assert slope_at_rest(curve_of(centre=(30.0, -0.05, 4.5), side="port")) is None


def test_slope_includes_free_surfaces_moving_or_corrected():
    tank = Tank.of_solid(barge(2.0, length_m=20.0, breadth_m=6.0))
    moving = slope_at_rest(curve_of(BOAT, mass=1100.0, centre=(27.0, 0.0, 4.0), liquids=[Liquid(tank, 120.0, 1.0)]))
    corrected = slope_at_rest(curve_of(BOAT, mass=1200.0, centre=(26.0, 0.0, 4.0), free_surface_tm=360.0))
    assert moving.agrees
    assert corrected.agrees
    assert corrected.gm_fluid_m == pytest.approx(
        slope_at_rest(curve_of(BOAT, mass=1200.0, centre=(26.0, 0.0, 4.0))).gm_fluid_m - 360 / 1200, abs=1e-12
    )


def test_a_knuckle_at_the_waterline_parts_slope_and_gm():
    # deck edge 1 cm above the water, under at 0.1°: within the differences the arms no longer rise by GM
    awash = curve_of(barge(3.51), centre=(30.0, 0.0, 1.0), reach=1.0)
    found = arm_particulars(awash)
    assert "slope-differs-from-gm" in codes(found.findings)
    assert not found.slope.agrees


def test_findings_of_a_short_or_missing_curve():
    short = arm_particulars(curve_of(reach=20.0), openings=[Opening(30.0, 0.0, 2.0), Opening(31.0, 0.0, 1.0)])
    assert codes(short.findings) == [
        "vanishing-not-reached",
        "maximum-at-end",
        "area-beyond-curve",
        "opening-immersed-upright",
    ]
    assert short.areas == ()
    assert short.areas_to_flooding == ()  # flooded from the start
    assert short.findings[3].count == 2
    assert short.findings[3].place_m == (30.0, 0.0, 2.0)
    tipping = arm_particulars(curve_of(centre=(30.0, 0.0, 9.0), reach=60.0))
    assert codes(tipping.findings) == ["no-righting-arm"]
    assert (tipping.maximum, tipping.areas, tipping.slope) == (None, (), None)


def test_areas_of_a_listed_ship_begin_where_she_lies():
    curve = curve_of(centre=(30.0, -0.05, 4.5))
    found = arm_particulars(curve)
    assert [area.from_deg for area in found.areas] == [curve.start_deg, curve.start_deg, 30.0]
    other = arm_particulars(curve_of(centre=(30.0, -0.05, 4.5), side="port"))
    assert [area.from_deg for area in other.areas] == [0.0, 0.0, 30.0]


def test_an_area_or_a_slope_that_does_not_agree():
    assert Area(0.0, 30.0, 0.1, 1e-9, 0.1005).agrees
    assert not Area(0.0, 30.0, 0.1, 1e-9, 0.12).agrees
    assert not Slope(0.0, 1.0, 1.01).agrees
    assert Slope(0.0, 1.0, 1.01, np.sqrt(1 - 1 / 1.01**2)).agrees


def test_a_hull_of_three_stations_is_told_too_coarsely_for_its_areas():
    """Between stations the rule of integration takes a parabola: with three of them work and arms part by 14 %."""
    points = [[(0.0, 0.0), (0.7 * b, 0.5), (b, 3.0), (b, z)] for b, z in ((0.3, 8.0), (6.3, 6.0), (0.3, 8.0))]
    stations = [OffsetStation(x_m=x, points_m=line) for x, line in zip((0.0, 30.0, 60.0), points, strict=True)]
    coarse = solid_from_offsets(stations, between_points="straight").solid
    curve = curve_of(coarse, mass=SEA * 0.5 * coarse.volume_m3, centre=(24.0, 0.0, 3.0), trim="fixed", reach=40.0)
    found = arm_particulars(curve)
    told = [one.message for one in found.findings if one.code == "areas-differ"]
    assert len(told) == sum(not area.agrees for area in found.areas) > 0
    assert all("told too coarsely" in words for words in told)


def test_slope_of_a_ship_trimmed_by_a_tenth_of_her_length():
    # GM is that of the inclined waterplane; heel about her own x: slope = GM √(1 − n_x²)
    for trim in ("free", "fixed"):
        slope = slope_at_rest(curve_of(barge(20.0), centre=(22.0, 0.0, 4.5), trim=trim))
        assert abs(slope.slope_ratio) > 0.08
        assert slope.slope_m_per_rad == pytest.approx(slope.gm_fluid_m * np.sqrt(1 - slope.slope_ratio**2), abs=1e-8)
        assert abs(slope.slope_m_per_rad - slope.gm_fluid_m) > 2e-3
        assert slope.agrees


def test_trim_held_out_of_balance_parts_slope_and_gm():
    start = Planes.from_waterplanes(draft_m=0.0, trim_m=6.0, length_bp_m=60.0)
    found = arm_particulars(curve_of(barge(20.0), trim="fixed", start=start))
    assert "slope-differs-from-gm" in codes(found.findings)


def test_openings_outside_the_hull_are_found_but_not_above_it():
    bounds = barge().bounds_m
    assert openings_outside([Opening(30.0, 0.0, 15.0), Opening(0.0, 6.0, 8.0)], bounds) == ()
    outside = openings_outside([Opening(30.0, 0.0, 9.0), Opening(61.0, 0.0, 9.0), Opening(30.0, -7.0, 9.0)], bounds)
    assert codes(outside) == ["opening-outside-hull"]
    assert outside[0].count == 2
    assert outside[0].place_m == (61.0, 0.0, 9.0)


def test_a_deck_edge_that_is_no_table():
    with pytest.raises(InputError) as refused:
        arm_particulars(curve_of(reach=20.0), deck_edge_m=[[1.0, 2.0]])
    assert (refused.value.code, refused.value.field) == ("wrong-shape", "deck_edge_m")
