"""The first point to go under: all points at once against each curve alone and against roots of the polynomials."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.polynomial import Polynomial

from engine.stability.going_under import first_under_rad
from engine.stability.heel_curve import HeelCurve

HEEL = np.radians(np.concatenate([np.arange(0.0, 60.0, 7.5), np.arange(60.0, 91.0, 10.0)]))
NUMBER = st.floats(-3.0, 3.0).map(lambda x: round(x, 3))
CURVE = st.lists(st.tuples(NUMBER, NUMBER), min_size=len(HEEL), max_size=len(HEEL))
ABOVE = st.lists(st.tuples(st.floats(0.05, 3.0), NUMBER), min_size=len(HEEL), max_size=len(HEEL))


def columns(curves):
    table = np.array(curves, dtype=np.float64).reshape(-1, len(HEEL), 2)
    return table[:, :, 0], table[:, :, 1]


def one_by_one(heights, slopes):
    """The least of the curves' own answers."""
    curves = [HeelCurve(HEEL, height, slope) for height, slope in zip(heights, slopes, strict=True)]
    found = [curve.first_fall(0.0, 0.0, curve.last_rad) for curve in curves]
    return min((heel for heel in found if heel is not None), default=np.inf)


def by_roots(heights, slopes):
    """The first real root of any gap's cubic by the companion matrix, or a point's beginning under."""
    if (heights[:, 0] <= 0).any():
        return 0.0
    least = np.inf
    for height, slope in zip(heights, slopes, strict=True):
        for gap, width in enumerate(np.diff(HEEL)):
            rise = (height[gap + 1] - height[gap]) / width
            c, d = 3 * rise - 2 * slope[gap] - slope[gap + 1], slope[gap] + slope[gap + 1] - 2 * rise
            roots = Polynomial([height[gap], slope[gap] * width, c * width, d * width]).roots()  # of t / width
            real = roots.real[(np.abs(roots.imag) < 1e-9) & (roots.real >= -1e-12) & (roots.real <= 1 + 1e-12)]
            if len(real):
                least = min(least, HEEL[gap] + width * real.min())
                break
    return least


@given(st.lists(CURVE, max_size=5))
def test_any_points_are_those_taken_one_by_one(curves):
    heights, slopes = columns(curves)
    assert first_under_rad(HEEL, heights, slopes) == one_by_one(heights, slopes)


@given(st.lists(ABOVE, min_size=1, max_size=5))
def test_points_above_the_water_at_every_heel_may_dip_between(curves):
    heights, slopes = columns(curves)
    assert first_under_rad(HEEL, heights, slopes) == one_by_one(heights, slopes)


@given(st.lists(CURVE, min_size=1, max_size=4))
def test_against_roots_of_the_polynomials(curves):
    heights, slopes = columns(curves)
    found, expected = first_under_rad(HEEL, heights, slopes), by_roots(heights, slopes)
    if np.isfinite(expected) and np.isfinite(found):
        # numbers of three decimals: a double root apart, the companion matrix knows a root to 1e-9
        lowest = min(HeelCurve(HEEL, *one).at(min(found, expected)) for one in zip(heights, slopes, strict=True))
        assert found == pytest.approx(expected, abs=1e-8) or abs(lowest) < 1e-12
    else:
        assert found == expected or min_between(heights, slopes) < 1e-9


def min_between(heights, slopes):
    """How near the curves come to the water, over all heels."""
    curves = [HeelCurve(HEEL, -height, -slope) for height, slope in zip(heights, slopes, strict=True)]
    return abs(min(-curve.maximum(0.0, curve.last_rad)[1] for curve in curves))


@given(CURVE, st.integers(1, 6))
def test_equal_points_are_as_one(curve, count):
    assert first_under_rad(HEEL, *columns([curve] * count)) == first_under_rad(HEEL, *columns([curve]))


def test_a_point_at_the_water_or_under_it_upright_is_there_from_the_beginning():
    for begins in (0.0, -0.3):
        height = np.full((1, len(HEEL)), 1.0)
        height[0, 0] = begins
        assert first_under_rad(HEEL, height, np.ones_like(height)) == 0.0


def test_points_that_never_go_under_and_no_points_at_all():
    height = np.full((3, len(HEEL)), 1.0)
    assert first_under_rad(HEEL, height, np.zeros_like(height)) == np.inf
    assert first_under_rad(HEEL, height[:0], height[:0]) == np.inf


def test_touching_between_heels_at_an_extreme():
    # (x − m)² with m the middle of the third gap: twice the same root, which round-off may leave just above 0
    middle = 0.5 * (HEEL[2] + HEEL[3])
    touching, slope = (HEEL - middle) ** 2, 2 * (HEEL - middle)
    for lift, expected in ((-1e-9, middle - np.sqrt(1e-9)), (1e-9, np.inf)):
        assert first_under_rad(HEEL, touching[None] + lift, slope[None]) == pytest.approx(expected, abs=1e-12)


def test_touching_at_a_heel():
    touching, slope = (HEEL - HEEL[4]) ** 2, 2 * (HEEL - HEEL[4])
    assert first_under_rad(HEEL, touching[None], slope[None]) == HEEL[4]
