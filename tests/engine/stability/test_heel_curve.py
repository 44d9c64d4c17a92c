"""Interpolation along heel: exact for cubics, roots and areas against the polynomial itself."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import CubicHermiteSpline

from engine.errors import InputError
from engine.stability.heel_curve import HeelCurve

HEEL = np.linspace(-1.0, 1.0, 9)


def cubic(*coefficients):
    p = np.polynomial.Polynomial(coefficients)
    return p, HeelCurve(HEEL, p(HEEL), p.deriv()(HEEL))


def test_a_cubic_is_itself_between_the_points_and_so_is_its_area():
    p, curve = cubic(0.3, -1.0, 0.7, 2.0)
    for at in (-1.0, -0.31, 0.0, 0.777, 1.0):
        assert curve.at(at) == pytest.approx(p(at), abs=1e-14)
    whole = p.integ()
    assert curve.area(-0.93, 0.61) == pytest.approx(whole(0.61) - whole(-0.93), abs=1e-14)
    assert curve.area(0.61, -0.93) == pytest.approx(whole(-0.93) - whole(0.61), abs=1e-14)


def test_maximum_lies_between_the_points():
    # x − x³ rises to x = 1/√3 (closed form)
    _, curve = cubic(0.0, 1.0, 0.0, -1.0)
    heel, value = curve.maximum(0.0, 1.0)
    assert heel == pytest.approx(1 / np.sqrt(3), abs=1e-12)
    assert value == pytest.approx(2 / (3 * np.sqrt(3)), abs=1e-14)
    assert curve.maximum(0.7, 0.9) == pytest.approx((0.7, 0.7 - 0.343), abs=1e-14)


def test_first_crossings_up_and_down():
    _, curve = cubic(0.0, 1.0, 0.0, -1.0)
    rise, fall = curve.first_rise(0.2, 0.0, 1.0), curve.first_fall(0.2, 0.5, 1.0)
    for root in (rise, fall):
        assert root - root**3 == pytest.approx(0.2, abs=1e-13)
    assert rise < 1 / np.sqrt(3) < fall
    assert curve.first_rise(0.5, 0.0, 1.0) is None
    assert curve.first_rise(-0.1, 0.0, 1.0) == 0.0  # there from the beginning
    assert curve.first_fall(0.0, 0.1, 1.0) == pytest.approx(1.0, abs=1e-13)


def test_two_crossings_within_one_step_are_seen():
    # 1e-3 − (x − 0.1)² is above 0 within ±0.0316 of 0.1, all between the points 0 and 0.25
    _, curve = cubic(1e-3 - 0.01, 0.2, -1.0)
    assert curve.first_rise(0.0, 0.0, 1.0) == pytest.approx(0.1 - np.sqrt(1e-3), abs=1e-12)


def test_slopes_of_a_spline_where_none_are_known():
    degrees = np.linspace(0.0, 90.0, 37)
    curve = HeelCurve.from_points(heel_deg=degrees, value=np.sin(np.radians(degrees)))
    assert curve.at(np.radians(41.3)) == pytest.approx(np.sin(np.radians(41.3)), abs=1e-7)
    assert curve.area(0.0, np.pi / 2) == pytest.approx(1.0, abs=1e-7)


@pytest.mark.parametrize(("heels", "code"), [([0, 10, 10, 20], "not-increasing"), ([0, 10, 20], "wrong-shape")])
def test_refusals(heels, code):
    with pytest.raises(InputError) as caught:
        HeelCurve.from_points(heel_deg=np.array(heels), value=np.zeros(len(heels)))
    assert caught.value.code == code


NUMBER = st.floats(-3.0, 3.0).map(lambda x: round(x, 3))
COLUMN = st.lists(NUMBER, min_size=len(HEEL), max_size=len(HEEL))
DENSE = np.linspace(-1.0, 1.0, 4001)


@given(COLUMN, COLUMN, NUMBER, st.floats(-1.0, 0.9))
def test_first_crossings_of_any_curve_are_the_first_and_are_crossings(values, slopes, level, low):
    curve = HeelCurve(HEEL, np.array(values), np.array(slopes))
    passed = curve.values(DENSE[low <= DENSE])
    for sense, found in ((1.0, curve.first_rise(level, low, 1.0)), (-1.0, curve.first_fall(level, low, 1.0))):
        if found is None:
            assert (sense * (passed - level) < 1e-12).all()
            continue
        before = DENSE[(low <= DENSE) & (found - 1e-9 > DENSE)]
        assert (sense * (curve.values(before) - level) < 1e-12).all()
        assert curve.at(found) == pytest.approx(level, abs=1e-11) or found == low


@given(COLUMN, COLUMN, st.floats(-1.0, 0.0), st.floats(0.001, 1.0))
def test_the_maximum_of_any_curve_is_above_all_of_it_and_on_it(values, slopes, low, high):
    curve = HeelCurve(HEEL, np.array(values), np.array(slopes))
    heel, most = curve.maximum(low, high)
    assert low <= heel <= high
    assert most == pytest.approx(curve.at(heel), abs=1e-13)
    inside = DENSE[(low <= DENSE) & (high >= DENSE)]
    assert most >= curve.values(inside).max(initial=-np.inf) - 1e-13


@given(COLUMN, COLUMN, st.floats(-1.0, 1.0), st.floats(-1.0, 1.0))
def test_the_area_of_any_curve_is_the_sum_of_its_cubics(values, slopes, low, high):
    curve = HeelCurve(HEEL, np.array(values), np.array(slopes))
    from_scipy = CubicHermiteSpline(HEEL, values, slopes).integrate(low, high)  # an independent implementation
    assert curve.area(low, high) == pytest.approx(float(from_scipy), abs=1e-13)
