"""Extents of transverse sections: boxes, wedges and a pyramid's straight sides, all closed forms."""

import numpy as np
import pytest

from engine.geometry import Compound, SectionSolid, Shelled, SurfaceSolid

PYRAMID = SurfaceSolid.from_arrays(  # base 4 × 2 m at x = 0, tip at x = 10 on the axis y = 1, z = 3
    vertices_m=np.array([[0, -1, 2], [0, 3, 2], [0, 3, 4], [0, -1, 4], [10, 1, 3]], float),
    faces=np.array([[0, 2, 1], [0, 3, 2], [0, 1, 4], [1, 2, 4], [2, 3, 4], [3, 0, 4]]),
)
BOX = SectionSolid.from_loops(x_m=[0, 10], loops_m=[[[[-1, 2], [3, 2], [3, 4], [-1, 4], [-1, 2]]]] * 2)
STEPPED = SectionSolid.from_loops(  # half as broad and high from x = 4 on
    x_m=[0, 4, 4, 10],
    loops_m=[[[[-2, 0], [2, 0], [2, 2], [-2, 2], [-2, 0]]]] * 2 + [[[[-1, 0], [1, 0], [1, 1], [-1, 1], [-1, 0]]]] * 2,
)
TAPER = SectionSolid.from_loops(
    x_m=[0, 10],
    loops_m=[[[[-2, 0], [2, 0], [2, 2], [-2, 2], [-2, 0]]], [[[-1, 1], [1, 1], [1, 2], [-1, 2], [-1, 1]]]],
)


def extent(solid, x):
    return solid.section_extent_m(x_m=x).tolist()


@pytest.mark.parametrize("x", [0.0, 2.5, 9.0])
def test_a_mesh_and_its_similar_sections(x):
    part = 1 - x / 10
    assert np.allclose(extent(PYRAMID, x), [[1 - 2 * part, 3 - part], [1 + 2 * part, 3 + part]], rtol=0, atol=1e-12)


def test_stations_and_the_straight_lines_between_them():
    assert extent(BOX, 0.0) == extent(BOX, 3.0) == extent(BOX, 10.0) == [[-1, 2], [3, 4]]
    assert extent(TAPER, 2.5) == [[-1.75, 0.25], [1.75, 2.0]]


def test_both_sections_of_a_break():
    assert extent(STEPPED, 4.0) == [[-2, 0], [2, 2]]
    assert extent(STEPPED, 4.1) == [[-1, 0], [1, 1]]


@pytest.mark.parametrize("solid", [PYRAMID, BOX, Compound.of([BOX]), Shelled(BOX, 0.01)])
@pytest.mark.parametrize("x", [-0.1, 10.1])
def test_nothing_beyond_the_ends(solid, x):
    assert np.isnan(solid.section_extent_m(x_m=x)).all()


def test_parts_added_and_not_those_removed():
    keel = SectionSolid.from_loops(x_m=[5, 8], loops_m=[[[[0, 1], [1, 1], [1, 2], [0, 2], [0, 1]]]] * 2)
    whole = Compound.of([Shelled(BOX, 0.01), keel, STEPPED], signs=[1, 1, -1])
    assert extent(whole, 2.0) == [[-1, 2], [3, 4]]
    assert extent(whole, 6.0) == [[-1, 1], [3, 4]]
