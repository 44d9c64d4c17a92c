"""Freeboard stations of a box and of a flared form, and the deck edge given."""

import numpy as np
import pytest

from engine.errors import InputError
from engine.geometry import OffsetStation, SurfaceSolid, solid_from_offsets
from engine.geometry.plane import Planes
from engine.planning.stations import freeboard_stations
from tests.engine.geometry import meshes
from tests.engine.planning.ships import HULL, LENGTH_M


def plane(draft=2.0, heel=0.0, trim=0.0):
    return Planes.from_waterplanes(draft_m=draft, heel_deg=heel, trim_m=trim, length_bp_m=LENGTH_M)


def test_five_a_side_equally_spaced_on_the_box():
    found = freeboard_stations(hull=HULL, plane=plane())
    assert [one.x_m for one in found[::2]] == [3.0, 16.5, 30.0, 43.5, 57.0]
    assert all(one.y_m == pytest.approx(6.0, abs=1e-6) for one in found[::2])
    assert all(one.y_m == pytest.approx(-6.0, abs=1e-6) for one in found[1::2])
    assert all(one.z_m == pytest.approx(8.0, abs=1e-6) for one in found)
    assert all(one.freeboard_m == pytest.approx(6.0, abs=1e-6) for one in found)
    assert not any(one.from_deck_edge for one in found)


def test_the_tape_hangs_plumb():
    # (z − water there) n_z, with water at T + t (½ − x/L) − y tan φ
    heel, trim = 1.5, 0.6
    for one in freeboard_stations(hull=HULL, plane=plane(heel=heel, trim=trim)):
        water = 2.0 + trim * (0.5 - one.x_m / LENGTH_M) - one.y_m * np.tan(np.radians(heel))
        upright = 1 / np.sqrt(1 + np.tan(np.radians(heel)) ** 2 + (trim / LENGTH_M) ** 2)
        assert one.freeboard_m == pytest.approx((one.z_m - water) * upright, rel=1e-9)


def test_a_flared_hull_gives_its_own_breadth_and_sheer():
    # half breadth and sheer both grow linearly forward: at x they are 3 + x/30 and 5 + x/60
    sections = [(x, 3 + x / 30, 5 + x / 60) for x in (0.0, 30.0, 60.0)]
    hull = solid_from_offsets(
        [OffsetStation(x_m=x, points_m=[(0, 0), (2, 0), (y, z)], knuckles=(), loops_m=()) for x, y, z in sections],
        between_points="straight",
    ).solid
    for one in freeboard_stations(hull=hull, plane=plane(), count=3):
        if one.x_m in (0.0, 30.0, 60.0):
            assert (abs(one.y_m), one.z_m) == pytest.approx((3 + one.x_m / 30, 5 + one.x_m / 60), abs=1e-5)


def test_a_mesh_answers_as_the_sections_do():
    vertices, faces = meshes.box(LENGTH_M, 12.0, 8.0)
    low = vertices.min(axis=0)
    moved = vertices - low + np.array([0.0, -6.0, 0.0])
    mesh = SurfaceSolid.from_arrays(vertices_m=moved, faces=faces)
    for one, other in zip(
        freeboard_stations(hull=mesh, plane=plane()), freeboard_stations(hull=HULL, plane=plane()), strict=True
    ):
        assert (one.x_m, one.y_m, one.z_m) == pytest.approx((other.x_m, other.y_m, other.z_m), abs=1e-5)


def test_the_deck_edge_given_is_used():
    edge = [(4.0, 5.0, 8.4), (30.0, 5.8, 8.0), (58.0, 3.0, 8.8)]
    found = freeboard_stations(hull=HULL, plane=plane(), count=7, deck_edge_m=edge)
    assert len(found) == 14
    assert np.ptp(np.diff([one.x_m for one in found[::2]])) < 0.011  # equally spaced, to the centimetre
    assert (found[0].x_m, found[0].y_m, found[0].z_m) == pytest.approx(edge[0])
    assert (found[-1].x_m, found[-1].y_m, found[-1].z_m) == pytest.approx((58.0, -3.0, 8.8))
    assert all(one.from_deck_edge for one in found)


@pytest.mark.parametrize(
    ("edge", "code"),
    [
        ([(4.0, 5.0, 8.0)], "too-few-points"),
        ([(4.0, 5.0, 8.0), (4.0, 5.0, 8.0)], "not-increasing"),
        ([(4.0, 5.0), (6.0, 5.0)], "wrong-shape"),
        ([(4.0, 5.0, np.inf), (6.0, 5.0, 8.0)], "not-finite"),
    ],
)
def test_deck_edges_refused(edge, code):
    with pytest.raises(InputError) as refused:
        freeboard_stations(hull=HULL, plane=plane(), deck_edge_m=edge)
    assert refused.value.code == code
