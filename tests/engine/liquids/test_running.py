"""Liquids run together lie as each runs alone, whatever is known beforehand of where."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.geometry.plane import normals_at
from engine.geometry.section_solid import SectionSolid
from engine.geometry.shapes import Box
from engine.geometry.surface_solid import SurfaceSolid
from engine.liquids.running import Liquid, keep_together, lying_together
from engine.liquids.sounding_table import SoundingTable
from engine.liquids.tank import Tank, liquid_in
from tests.engine.geometry import meshes

COLUMNS = ("volume_m3", "centroid_m", "offsets_m", "surface_centroid_m", "surface_area_m2", "surface_tensor_m4")
PROFILE = settings(derandomize=True, deadline=None, max_examples=40)


def many_triangles():
    vertices, faces = meshes.ellipsoid(16, a=3.0, b=2.0, c=1.5, draft=1.0)
    return SurfaceSolid.from_arrays(vertices_m=np.add(vertices, [8.0, 1.0, 2.0]), faces=faces)


def wedge():
    square = [[0.0, 0.0], [2.0, 0.0], [2.0, 2.0], [0.0, 2.0]]
    return SectionSolid.from_loops(x_m=[0.0, 4.0], loops_m=[[square], [(0.5 * np.array(square)).tolist()]])


def table():
    return SoundingTable.from_columns(
        sounding_m=[0.0, 1.0, 2.0],
        volume_m3=[0.0, 8.0, 16.0],
        x_m=[5.0] * 3,
        y_m=[0.0] * 3,
        z_m=[0.0, 0.5, 1.0],
        free_surface_moment_m4=[2.0] * 3,
    )


BOX = Tank.of_solid(Box(0.0, 5.0, -3.0, -1.0, 0.0, 2.0).solid(), permeability_ratio=0.95)
TANKS = (
    BOX,
    Tank.of_solid(Box(9.0, 20.0, -4.0, 4.0, 1.0, 1.5).solid()),
    Tank.of_solid(many_triangles()),
    Tank.of_solid(wedge()),
    Tank.of_table(table()),
)


def alone(liquid, normals):
    return liquid_in(liquid.tank, volume_m3=liquid.volume_m3, normals=normals)


def assert_same(found, expected):
    for name in COLUMNS:
        one, other = getattr(found, name), getattr(expected, name)
        np.testing.assert_allclose(one, other, rtol=1e-9, atol=1e-9, err_msg=name)


@PROFILE
@given(
    fills=st.lists(st.one_of(st.sampled_from([0.0, 1.0]), st.floats(0.02, 0.98)), min_size=5, max_size=5),
    heels=st.lists(st.floats(-1.2, 1.2), min_size=1, max_size=4),
    slope=st.floats(-0.2, 0.2),
    off=st.floats(-3.0, 3.0),
)
def test_together_as_alone_from_any_guess(fills, heels, slope, off):
    liquids = [Liquid(tank, fill * tank.capacity_m3, 0.9) for tank, fill in zip(TANKS, fills, strict=True)]
    normals = normals_at(heel_rad=np.array(heels), slope_ratio=np.full(len(heels), slope))
    nowhere = np.full((len(heels), len(liquids), 3), np.nan)
    first = lying_together(liquids, normals, near_m=nowhere)
    centres = np.stack([one.surface_centroid_m for one in first], axis=1)
    for near in (nowhere, centres, centres + off):
        for liquid, found in zip(liquids, lying_together(liquids, normals, near_m=near), strict=True):
            assert_same(found, alone(liquid, normals))


def test_no_liquids_lie_nowhere():
    assert lying_together([], np.array([[0.0, 0.0, 1.0]]), near_m=np.empty((1, 0, 3))) == []


def test_an_answer_is_kept_for_the_same_normals():
    liquid = Liquid(BOX, 10.0, 1.0)
    normals = np.array([[0.0, 0.1, np.sqrt(0.99)], [0.0, 0.0, 1.0]])
    assert liquid.at(normals[:1]) is liquid.at(normals[:1].copy())
    assert_same(liquid.at(normals[:1]), alone(liquid, normals[:1]))
    assert_same(liquid.at(normals[1:]), alone(liquid, normals[1:]))
    assert liquid.at(normals) is liquid.at(normals)
    assert_same(liquid.at(normals), alone(liquid, normals))


def test_what_is_kept_together_is_what_each_finds_alone():
    liquids = [Liquid(tank, 0.4 * tank.capacity_m3, 1.0) for tank in TANKS]
    normals = np.array([[0.0, 0.1, np.sqrt(0.99)], [0.0, 0.0, 1.0]])
    known = liquids[0].at(normals)
    keep_together(liquids, normals)
    assert liquids[0].at(normals) is known
    for liquid in liquids:
        assert liquid.at(normals) is liquid.at(normals)
        assert_same(liquid.at(normals), alone(liquid, normals))


def test_a_box_is_looked_for_where_its_surface_lies():
    # closed form: 9.5 m³ at 95 % fill 1 m of 10 m²
    np.testing.assert_allclose(Liquid(BOX, 9.5, 1.0).about_m, [2.5, -2.0, 1.0], rtol=0, atol=1e-12)
    assert np.isnan(Liquid(TANKS[4], 9.5, 1.0).about_m).all()


@pytest.mark.parametrize("count", [1, 7])
def test_a_tank_not_found_in_few_steps_is_searched_for(count):
    # a tank as thin as a plate, begun from far below: the first steps see no surface at all
    liquid = Liquid(TANKS[1], 0.3 * TANKS[1].capacity_m3, 1.0)
    normals = normals_at(heel_rad=np.linspace(0.0, 1.3, count), slope_ratio=np.zeros(count))
    near = np.full((count, 1, 3), -100.0)
    assert_same(lying_together([liquid], normals, near_m=near)[0], alone(liquid, normals))
