"""Polygons cut by a line, against shapely's clipping and closed forms."""

import numpy as np
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.geometry.polygon_cut import PolygonLayout, cut_polygons


def cut_one(*loops, angle=0.0, at=0.0):
    """Cut one polygon by the line through (0, at) turned by ``angle``; loops are closed here."""
    closed = np.concatenate([np.vstack([loop, loop[:1]]) for loop in (np.asarray(each, float) for each in loops)])
    c, s = np.cos(angle), np.sin(angle)
    along, level = closed @ [c, s], closed @ [-s, c] - at
    skin = np.hypot(*np.diff(closed, axis=0).T)
    layout = PolygonLayout.of([[len(loop) + 1 for loop in loops]])
    cut = cut_polygons(level_m=level[None], along_m=along[None], skin_m=skin, layout=layout)
    return {name: float(value[0, 0]) for name, value in cut._asdict().items()}


SQUARE = [[-1, -1], [1, -1], [1, 1], [-1, 1]]


def test_a_square_to_its_middle():
    # Closed form: area 2 x 1, ∫f = -1/2 x 2, line from -1 to 1: ∫l² = 2/3, immersed edges 2 + 1 + 1.
    cut = cut_one(SQUARE)
    assert cut["area_m2"] == 2.0
    assert cut["level_moment_m3"] == -1.0
    assert cut["along_moment_m3"] == 0.0
    assert (cut["line_m"], cut["line_moment_m2"]) == (2.0, 0.0)
    np.testing.assert_allclose(cut["line_second_m3"], 2 / 3, rtol=1e-15)
    assert cut["skin_m"] == 4.0
    assert cut["skin_level_m2"] == -2 * 1.0 - 2 * 0.5
    assert (cut["line_least_m"], cut["line_greatest_m"]) == (-1.0, 1.0)
    assert (cut["lowest_m"], cut["highest_m"]) == (-1.0, 1.0)


def test_dry_and_full():
    dry, full = cut_one(SQUARE, at=-1.0), cut_one(SQUARE, at=1.5)
    assert (dry["lowest_m"], dry["area_m2"], dry["line_m"], dry["skin_m"]) == (0, 0, 0, 0)
    assert dry["line_least_m"] == np.inf
    assert dry["line_greatest_m"] == -np.inf
    assert (full["highest_m"], full["area_m2"], full["line_m"], full["skin_m"]) == (-0.5, 4, 0, 8)


def test_two_hulls_and_a_hole():
    # Closed form: two squares of side 2 centred at y = ±3, one with a square hole of side 1, cut at z = 0.
    hole = np.array(SQUARE)[::-1] * 0.5 + [3, 0]
    cut = cut_one(np.add(SQUARE, [-3, 0]), np.add(SQUARE, [3, 0]), hole)
    np.testing.assert_allclose(cut["area_m2"], 4 - 0.5, rtol=1e-14)
    np.testing.assert_allclose(cut["line_m"], 4 - 1, rtol=1e-14)
    np.testing.assert_allclose(cut["line_second_m3"], 2 * (4**3 - 2**3) / 3 - (3.5**3 - 2.5**3) / 3, rtol=1e-14)
    np.testing.assert_allclose(cut["skin_m"], 8 + 2, rtol=1e-14)


def test_a_sliver_keeps_its_relative_accuracy():
    # Closed form: a wedge of slope 1 immersed by h has area h² and ∫f = -h³/3.
    h = 1e-7
    cut = cut_one([[0, -h], [1, 1 - h], [-1, 1 - h]])
    np.testing.assert_allclose(cut["area_m2"], h**2, rtol=1e-8)
    np.testing.assert_allclose(cut["level_moment_m3"], -(h**3) / 3, rtol=1e-8)


def test_any_order_in_memory():
    # Rows of one array by columns: the same digits as the same numbers by rows.
    closed = np.array([*SQUARE, SQUARE[0]], float)
    level, along = closed[:, 1] - np.array([[0.0], [0.5]]), np.repeat(closed[None, :, 0], 2, axis=0)
    layout = PolygonLayout.of([[5]])
    by_rows, by_columns = (
        cut_polygons(
            level_m=np.array(level, order=order),
            along_m=np.array(along, order=order),
            skin_m=np.full(4, 2.0),
            layout=layout,
        )
        for order in ("C", "F")
    )
    for one, other in zip(by_rows, by_columns, strict=True):
        np.testing.assert_array_equal(one, other)


@settings(derandomize=True, deadline=None, max_examples=60)
@given(
    radii=st.lists(st.floats(0.3, 3.0), min_size=5, max_size=12),
    angle=st.floats(-3.1, 3.1),
    at=st.floats(-2.5, 2.5),
)
def test_star_polygons_against_shapely(radii, angle, at):
    turn = np.linspace(0, 2 * np.pi, len(radii), endpoint=False)
    points = np.array(radii)[:, None] * np.column_stack([np.cos(turn), np.sin(turn)])
    cut = cut_one(points, angle=angle, at=at)
    c, s = np.cos(angle), np.sin(angle)
    turned = shapely.Polygon(points @ np.array([[c, -s], [s, c]]) - [0, at])
    below = turned.intersection(shapely.box(-10, -10, 10, 0))
    assert abs(cut["area_m2"] - below.area) <= 1e-12
    moments = below.area * np.array(below.centroid.coords[0]) if below.area > 0 else np.zeros(2)
    np.testing.assert_allclose([cut["along_moment_m3"], cut["level_moment_m3"]], moments, atol=1e-12)
    line = turned.intersection(shapely.LineString([(-10, 0), (10, 0)]))
    assert abs(cut["line_m"] - line.length) <= 1e-12
    skin = turned.exterior.intersection(shapely.box(-10, -10, 10, 0))
    assert abs(cut["skin_m"] - skin.length) <= 1e-9
