"""Section functions by pieces, against the clipped edges of the same polygons and closed forms."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.geometry.polygon_cut import PolygonLayout, cut_polygons
from engine.geometry.section_functions import SectionFunctions

POWERS = {"_m": 1, "_m2": 2, "_m3": 3}


def closed(loop):
    return np.vstack([loop, loop[:1]]).astype(float)


def laid_out(polygons, normal):
    """Level and along of all points, lengths of all edges (those between loops as they come), the layout."""
    points = np.concatenate([closed(loop) for loops in polygons for loop in loops])
    level, along = points @ normal, points @ (np.array(normal)[::-1] * [1, -1])
    layout = PolygonLayout.of([[len(loop) + 1 for loop in loops] for loops in polygons])
    return {"level_m": level, "along_m": along, "skin_m": np.hypot(*np.diff(points, axis=0).T), "layout": layout}


def compare(polygons, normal, parts):
    """Hold both forms together at heights between and at all levels, as far apart as rounding."""
    made = laid_out(polygons, normal)
    functions = SectionFunctions.of(**made)
    assert functions is not None
    level, layout = made["level_m"], made["layout"]
    low, high = level.min(), level.max()
    heights = np.concatenate([level, low + np.array(parts) * (high - low)])[:, None] + np.zeros(len(polygons))
    owner = np.append(layout.owner, len(polygons) - 1)
    clipped = cut_polygons(
        level_m=level - heights[:, owner],
        along_m=np.repeat(made["along_m"][None], len(heights), axis=0),
        skin_m=made["skin_m"],
        layout=layout,
    )
    size = max(np.ptp(level), np.ptp(made["along_m"]), np.abs(made["along_m"]).max(), np.abs(heights - low).max())
    for name, one, other in zip(clipped._fields, functions.cut(heights), clipped, strict=True):
        met = np.isfinite(other)
        np.testing.assert_array_equal(one[~met], other[~met], err_msg=name)
        difference = np.abs(one[met] - other[met]).max(initial=0.0)
        assert difference <= 1e-12 * size ** POWERS["_" + name.split("_")[-1]] * max(1, len(level) / 50), name


SQUARE = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])


def test_square():
    # Closed forms below h of a square of side 2, with d = h + 1: A = 2d, ∫f = -d², ∫l² = 2/3, skin 2 + 2d, and 8 above.
    made = laid_out([[SQUARE]], [0.0, 1.0])
    functions = SectionFunctions.of(**made)
    heights = np.array([[-2.0], [-1.0], [-0.5], [1.0], [3.0]])
    cut = functions.cut(heights)
    assert cut.area_m2.ravel().tolist() == [0, 0, 1, 4, 4]
    assert cut.level_moment_m3.ravel().tolist() == [0, 0, -0.25, -4, -12]
    assert cut.line_m.ravel().tolist() == [0, 0, 2, 2, 0]
    assert cut.line_second_m3.ravel() == pytest.approx([0, 0, 2 / 3, 2 / 3, 0])
    assert cut.skin_m.ravel().tolist() == [0, 0, 3, 6, 8]
    assert cut.line_least_m.ravel().tolist() == [np.inf, np.inf, -1, -1, np.inf]
    assert cut.lowest_m.ravel().tolist() == [1, 0, -0.5, -2, -4]


def test_a_sliver_keeps_its_relative_accuracy():
    # Closed form: a wedge of slope 1 immersed by h has area h² and ∫f = -h³/3; other polygons before it do no harm.
    h = 1e-7
    wedge = [[0, 0], [1, 1], [-1, 1]]
    cut = SectionFunctions.of(**laid_out([[SQUARE * 100], [wedge]], [0.0, 1.0])).cut(np.array([[50.0, h]]))
    np.testing.assert_allclose(cut.area_m2[0, 1], h**2, rtol=1e-14)
    np.testing.assert_allclose(cut.level_moment_m3[0, 1], -(h**3) / 3, rtol=1e-14)


ANGLES = st.one_of(st.sampled_from([0.0, 90.0, 180.0, -90.0]), st.floats(-180.0, 180.0))
PARTS = st.lists(st.floats(-0.5, 1.5), min_size=1, max_size=12)


def normal_at(angle, exact):
    """Direction of a heel; the exact one has level edges where sine and cosine leave 1e-16."""
    found = np.array([np.sin(np.radians(angle)), np.cos(np.radians(angle))])
    return found.round(15) if exact else found


@settings(derandomize=True, deadline=None, max_examples=150)
@given(
    stars=st.lists(st.lists(st.floats(0.3, 3.0), min_size=3, max_size=12), min_size=1, max_size=4),
    hole=st.floats(0.1, 0.9),
    angle=ANGLES,
    parts=PARTS,
)
def test_stars_with_holes(stars, hole, angle, parts):
    polygons = []
    for radii in stars:
        turn = np.linspace(0, 2 * np.pi, len(radii), endpoint=False)
        star = np.array(radii)[:, None] * np.column_stack([np.cos(turn), np.sin(turn)])
        polygons.append([star, star[::-1] * hole])
    compare(polygons, normal_at(angle, exact=False), parts)


@settings(derandomize=True, deadline=None, max_examples=150)
@given(
    columns=st.lists(st.tuples(st.integers(0, 4), st.integers(5, 9)), min_size=1, max_size=9),
    hulls=st.integers(1, 2),
    angle=ANGLES,
    exact=st.booleans(),
    parts=PARTS,
)
def test_steps_of_level_and_upright_edges(columns, hulls, angle, exact, parts):
    # Columns of whole heights side by side: level and vertical edges, tunnels, repeated levels, points in a line.
    bottom = [[y, low] for i, (low, _) in enumerate(columns) for y in (i, i + 1)]
    top = [[y, high] for i, (_, high) in enumerate(columns) for y in (i, i + 1)]
    loop = np.array(bottom + top[::-1])
    hole = np.array([[0.25, 4.25], [0.25, 4.75], [0.75, 4.75], [0.75, 4.25]])
    polygon = [np.add(part, [hull * 20, hull * 3]) for hull in range(hulls) for part in (loop, hole)]
    compare([polygon, [loop]], normal_at(angle, exact=exact), parts)


def test_edges_that_cross_are_left_to_clipping():
    # Two squares, one turned: where their edges cross the outer end of the water line bends between two levels.
    turned = SQUARE @ np.array([[0.8, 0.6], [-0.6, 0.8]]) + [0.3, 0]
    assert SectionFunctions.of(**laid_out([[SQUARE, turned]], [0.0, 1.0])) is None


def test_edges_that_span_most_levels_are_left_to_clipping():
    # Forty teeth, each edge over some forty levels: the pieces cost more than they save.
    teeth = np.arange(80)
    comb = np.column_stack([teeth, np.where(teeth % 2, 100.0, 0.0) + 0.1 * teeth])
    assert SectionFunctions.of(**laid_out([[np.vstack([comb, [[79, 200], [0, 200]]])]], [0.0, 1.0])) is None
