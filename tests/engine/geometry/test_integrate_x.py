"""Weights along x, against the integrals of polynomials."""

import numpy as np
import pytest

from engine.geometry.integrate_x import interpolant_share, interpolant_weights, panels


def integral(x_m, coefficients, power):
    """Integrate the polynomial times x**power with the panels' weights."""
    values = np.polynomial.polynomial.polyval(x_m, coefficients)
    pieces = panels(x_m, linked=np.diff(x_m) > 0)
    return sum(float(panel.weights[power] @ values[list(panel.members)]) for panel in pieces)


def exact(low, high, coefficients, power):
    polynomial = np.polynomial.Polynomial([0.0] * power + list(coefficients)).integ()
    return polynomial(high) - polynomial(low)


def test_equal_pair_is_simpson():
    # 1-4-1 rule.
    np.testing.assert_allclose(interpolant_weights(np.array([0.0, 1, 2]), low_m=0, high_m=2)[0], [1 / 3, 4 / 3, 1 / 3])


def test_last_interval_is_five_eight_minus_one():
    weights = interpolant_weights(np.array([0.0, 1, 2]), low_m=1, high_m=2)[0]
    np.testing.assert_allclose(weights, np.array([-1, 8, 5]) / 12, rtol=1e-14)


@pytest.mark.parametrize("x_m", [[0, 1, 2, 3, 4], [3, 3.5, 4, 5, 6], [0, 1, 2, 3], [0, 0.3, 1, 1.5, 4, 7]])
@pytest.mark.parametrize("power", [0, 1, 2])
def test_quadratics_are_exact_with_every_moment(x_m, power):
    x_m = np.array(x_m, float)
    coefficients = [2.0, -1.0, 0.7]
    np.testing.assert_allclose(
        integral(x_m, coefficients, power), exact(x_m[0], x_m[-1], coefficients, power), rtol=1e-12
    )


@pytest.mark.parametrize("x_m", [[0, 1, 2, 3, 4], [0, 0.5, 1, 2, 3, 5, 7]])
def test_cubics_are_exact_on_equal_pairs(x_m):
    x_m = np.array(x_m, float)
    coefficients = [2.0, -1.0, 0.7, 0.3]
    np.testing.assert_allclose(integral(x_m, coefficients, 0), exact(x_m[0], x_m[-1], coefficients, 0), rtol=1e-13)


def test_a_break_parts_the_runs():
    x_m = np.array([0.0, 1, 2, 2, 3, 4])
    values = np.array([1.0, 1, 1, 5, 5, 5])
    pieces = panels(x_m, linked=np.diff(x_m) > 0)
    assert [panel.members for panel in pieces] == [(0, 1, 2), (3, 4, 5)]
    assert sum(panel.weights[0] @ values[list(panel.members)] for panel in pieces) == pytest.approx(12, rel=1e-14)


def test_two_stations_are_ruled_and_unlinked_ones_straight():
    assert panels(np.array([0.0, 1]), linked=np.array([True]))[0].ruled
    straight = panels(np.array([0.0, 2]), linked=np.array([False]))[0]
    assert not straight.ruled
    np.testing.assert_allclose(straight.weights[0], [1, 1])
    np.testing.assert_allclose(straight.weights[1], [2 / 3, 4 / 3])


@pytest.mark.parametrize(
    ("lowest", "highest", "share"),
    [
        ([-1, -1, -1], [1, 1, 1], 1.0),  # all cut
        ([1, 2, 3], [4, 4, 4], 1.0),  # all dry
        ([-4, -4, -4], [-1, -2, -1], 1.0),  # all immersed
        ([-2, -1, 3], [1, 1, 4], 0.25),  # the keel emerges a quarter of the way from the middle station forward
        ([-2, -1, 0], [1, 1, 4], 1.0),  # ... just at the forward station: no step
        ([-2, 0, 3], [1, 1, 4], 0.0),  # ... just at the middle one, from aft
        ([3, -1, 1], [4, 1, 4], 1 - 0.25 - 0.5 + 2 * 0.25 * 0.5),  # dry at both ends
        ([-2, -2], [1, 1], 1.0),
        ([-1, 1], [1, 3], 0.0),
        ([-1, 0], [1, 3], 1.0),
    ],
)
def test_share_of_the_interpolant(lowest, highest, share):
    found = interpolant_share(np.array([lowest], float), np.array([highest], float))
    assert found[0] == pytest.approx(share, abs=1e-15)
