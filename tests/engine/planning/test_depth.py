"""Depth under the heeled box by closed form; the same by sections and by skin."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.geometry import SurfaceSolid
from engine.geometry.plane import Planes
from engine.planning.depth import lowest_offset_m, water_depth
from tests.engine.geometry import meshes
from tests.engine.planning.ships import HULL, LENGTH_M


def planes(heel, trim=0.0, draft=2.0):
    return Planes.from_waterplanes(draft_m=draft, heel_deg=heel, trim_m=trim, length_bp_m=LENGTH_M)


@given(heel=st.floats(-8, 8), trim=st.floats(-2, 2))
@settings(max_examples=25)
def test_the_bilge_of_a_box_is_the_deepest(heel, trim):
    # the corner (0 or L, ∓B/2, 0) lies n·(plane − corner) below the water
    at = planes([0.0, heel], trim)
    found = water_depth(hull=HULL, planes=at, margin_m=0.5)
    normal = at.normals[1]
    corner = np.array([0.0 if trim > 0 else LENGTH_M, -6.0 if heel > 0 else 6.0, 0.0])
    deepest = max(at.offsets_m[1] - normal @ corner, at.offsets_m[0] - at.normals[0] @ (corner * [1, 0, 1]))
    assert found.deepest_m == pytest.approx(deepest, abs=2e-3)
    assert found.needed_m == pytest.approx(found.deepest_m + 0.5, rel=1e-12)
    assert found.upright_m == pytest.approx(2.0 + abs(trim) / 2, abs=6e-3 + 0.002 * trim**2)


def test_heel_of_four_degrees_sinks_the_bilge():
    # T cos φ + B/2 sin φ
    found = water_depth(hull=HULL, planes=planes([0.0, -4.0, 4.0]))
    assert found.deepest_m == pytest.approx(2 * np.cos(np.radians(4)) + 6 * np.sin(np.radians(4)), abs=2e-3)
    assert found.row in (1, 2)


def test_a_point_below_the_hull_counts():
    dome = (30.0, 0.0, -1.2)
    found = water_depth(hull=HULL, planes=planes([0.0, 1.0]), projections_m=[dome])
    assert found.upright_m == pytest.approx(3.2, rel=1e-12)
    assert found.deepest_m == pytest.approx(3.2, abs=1e-3)


def test_skin_and_sections_agree():
    vertices, faces = meshes.box(LENGTH_M, 12.0, 8.0)
    moved = vertices - vertices.min(axis=0) + np.array([0.0, -6.0, 0.0])
    mesh = SurfaceSolid.from_arrays(vertices_m=moved, faces=faces)
    normals = planes([0.0, 3.0, -7.0], 0.8).normals
    assert lowest_offset_m(HULL, normals) == pytest.approx(lowest_offset_m(mesh, normals), abs=2e-3)
