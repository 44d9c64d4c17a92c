"""Regression of tangents on moments: closed forms, and a textbook incline."""

import numpy as np
import pytest

from engine.errors import NotDeterminedError
from engine.incline.regression import regress

MOMENT = np.array([0.0, 20.0, 40.0, 20.0, 0.0, -20.0, -40.0, -20.0, 0.0])


def wall_sided_tangent(moment, *, displacement, gm, k):
    """Solve Δ(GM tan + k tan³/2) = m by Cardano's formula for one real root."""
    p, q = 2 * gm / k, -2 * moment / (displacement * k)
    root = np.sqrt((q / 2) ** 2 + (p / 3) ** 3)
    return np.cbrt(-q / 2 + root) + np.cbrt(-q / 2 - root)


def test_a_straight_line_gives_gm_whatever_the_zeros():
    tangent = MOMENT / (1000 * 1.25)
    fit = regress(moment_tm=MOMENT, tangents=[tangent + 0.01, tangent - 0.02], displacement_t=1000)
    assert fit.gm_fluid_m == pytest.approx(1.25, rel=1e-14)
    assert fit.intercept_ratio == pytest.approx(-0.005, abs=1e-15)
    assert fit.r_squared_ratio == pytest.approx(1.0, abs=1e-14)
    assert np.abs(fit.residual_ratio).max() < 1e-15
    assert [line.slope_per_tm for line in fit.lines] == pytest.approx([1 / 1250] * 2, rel=1e-14)


def test_the_cubic_term_makes_a_wall_sided_ship_exact_and_without_it_she_seems_stiffer():
    tangent = wall_sided_tangent(MOMENT, displacement=800.0, gm=0.9, k=4.5)
    exact = regress(moment_tm=MOMENT, tangents=[tangent], displacement_t=800.0, stiffening_m=4.5)
    assert exact.gm_fluid_m == pytest.approx(0.9, rel=1e-12)
    plain = regress(moment_tm=MOMENT, tangents=[tangent], displacement_t=800.0)
    assert plain.gm_fluid_m > 0.9 + 0.005


def test_missed_readings_are_left_out():
    tangent = MOMENT / 1250.0
    gappy = tangent.copy()
    gappy[[0, 3]] = np.nan
    fit = regress(moment_tm=MOMENT, tangents=[gappy, tangent], displacement_t=1000)
    assert fit.gm_fluid_m == pytest.approx(1.25, rel=1e-14)
    assert np.isnan(fit.residual_ratio[0, [0, 3]]).all()


def test_textbook_incline():
    # Ship Stability for Masters and Mates, inclining chapter (from memory): 25 t moved 15 m, 8000 t,
    # 0.20 m on a 4 m pendulum: GM 0.9375 m
    fit = regress(moment_tm=np.array([0.0, 25 * 15.0]), tangents=[np.array([0.0, 0.20 / 4])], displacement_t=8000)
    assert fit.gm_fluid_m == pytest.approx(0.9375, rel=1e-14)
    # the same book (from memory): 10 t × 12 m, GM 0.6 m, 0.25 m on 10 m: displacement 8000 t
    fit = regress(moment_tm=np.array([0.0, 120.0]), tangents=[np.array([0.0, 0.025])], displacement_t=8000)
    assert fit.gm_fluid_m == pytest.approx(0.6, rel=1e-14)


@pytest.mark.parametrize(
    ("moment", "tangent", "code"),
    [
        ([0.0], [0.0], "too-few-readings"),
        ([0.0, 10.0], [0.0, np.nan], "too-few-readings"),
        ([0.0, 0.0, 0.0], [0.0, 0.01, 0.0], "moments-equal"),
        ([0.0, 10.0, -10.0], [0.0, -0.01, 0.01], "gm-not-positive"),
    ],
)
def test_what_fixes_no_gm_is_refused(moment, tangent, code):
    with pytest.raises(NotDeterminedError) as caught:
        regress(moment_tm=np.array(moment), tangents=[np.array(tangent)], displacement_t=1000)
    assert caught.value.code == code
