"""Deleted-studentised residuals: against refits, and why 3 s cannot trip on nine points."""

import numpy as np
import pytest

from engine.errors import InputError, NotDeterminedError
from engine.incline.regression import regress
from engine.uncertainty import pooled_leverage, studentised

MOMENT = np.array([0.0, 20.0, 40.0, 20.0, 0.0, -20.0, -40.0, -20.0, 0.0])


def judged(table, moment=MOMENT):
    fit = regress(moment_tm=moment, tangents=list(table), displacement_t=1000.0)
    known = np.isfinite(table)
    leverage = pooled_leverage(moment_tm=moment, known=known)
    return fit, studentised(residual=fit.residual_ratio, leverage=leverage, parameter_count=len(table) + 1)


def design(known, moment):
    instrument, move = np.nonzero(known)
    return np.column_stack([instrument == i for i in range(len(known))] + [moment[move]]).astype(float)


def test_leverage_is_the_diagonal_of_the_hat_matrix():
    known = np.ones((2, 9), dtype=bool)
    known[0, [1, 7]] = False
    x = design(known, MOMENT)
    hat = np.diag(x @ np.linalg.inv(x.T @ x) @ x.T)
    leverage = pooled_leverage(moment_tm=MOMENT, known=known)
    assert leverage[known] == pytest.approx(hat, rel=1e-12)
    assert np.isnan(leverage[~known]).all()


def test_each_equals_a_refit_without_its_reading():
    rng = np.random.default_rng(4)
    table = MOMENT / 1250 + rng.normal(scale=2e-4, size=(2, 9))
    table[1, 3] = np.nan
    _, t = judged(table)
    known = np.isfinite(table)
    x, y, found = design(known, MOMENT), table[known], t[known]
    assert np.isnan(t[1, 3])
    for i in range(len(y)):
        keep = np.arange(len(y)) != i
        inverse = np.linalg.inv(x[keep].T @ x[keep])
        beta = inverse @ x[keep].T @ y[keep]
        s2 = np.sum((y[keep] - x[keep] @ beta) ** 2) / (len(y) - 1 - 3)
        assert found[i] == pytest.approx((y[i] - x[i] @ beta) / np.sqrt(s2 * (1 + x[i] @ inverse @ x[i])), rel=1e-8)


def test_three_s_cannot_trip_on_nine_points_and_the_deleted_residual_does():
    # Cauchy–Schwarz on the residual projector: r_i² ≤ (1 − h_i) Σr², so |r_i|/s ≤ √((n−2)(1−h_i)) ≤ √(7·8/9) = 2.4944
    bound = np.sqrt(7 * 8 / 9)
    assert bound == pytest.approx(2.4944, abs=1e-4)
    rng = np.random.default_rng(9)
    table = rng.normal(size=(1000, 9)) * 10.0 ** rng.uniform(-3, 3, size=(1000, 9))  # wild by six decades
    x = np.column_stack([np.ones(9), MOMENT])
    r = table - table @ x @ np.linalg.inv(x.T @ x) @ x.T
    s = np.sqrt(np.sum(r**2, axis=1, keepdims=True) / 7)
    assert (np.abs(r) / s).max() <= bound * (1 + 1e-12)
    # the bound is reached: one reading off by any amount, at a mean moment, all others perfect
    spoiled = (MOMENT / 1250)[None].copy()
    spoiled[0, 4] += 1000.0
    fit, t = judged(spoiled)
    ratio = abs(fit.residual_ratio[0, 4]) / fit.lines[0].residual_standard_deviation_ratio
    assert ratio == pytest.approx(bound, rel=1e-12)
    assert ratio < 3 < abs(t[0, 4])


def test_a_bad_reading_in_noise_stands_out_alone():
    rng = np.random.default_rng(2)
    table = (MOMENT / 1250 + rng.normal(scale=2e-4, size=9))[None]
    assert np.abs(judged(table)[1]).max() < 3
    table[0, 6] += 3e-3
    _, t = judged(table)
    assert np.flatnonzero(np.abs(t[0]) > 3).tolist() == [6]
    assert t[0, 6] > 0


def test_false_alarms_follow_students_t():
    # |t| > 3 with n − q − 1 = 6 degrees of freedom: 2 (1 − F(3)) = 2.40 % a reading (scipy.stats.t)
    from scipy.stats import t as student

    rng = np.random.default_rng(6)
    y = rng.normal(size=(4000, 9))
    x = np.column_stack([np.ones(9), MOMENT])
    r = y - y @ x @ np.linalg.inv(x.T @ x) @ x.T
    leverage = pooled_leverage(moment_tm=MOMENT, known=np.ones((1, 9)))[0]
    found = np.array([studentised(residual=row, leverage=leverage, parameter_count=2) for row in r])
    assert np.mean(np.abs(found) > 3) == pytest.approx(2 * student.sf(3, 6), abs=0.004)


def test_perfect_readings_and_a_reading_that_alone_fixes_its_zero():
    _, t = judged((MOMENT / 1024)[None])  # a power of two: the fit is exact
    assert (t[0] == 0).all()
    table = np.vstack([MOMENT / 1250 + 1e-4 * np.cos(np.arange(9)), np.full(9, np.nan)])
    table[1, 2] = 0.03
    assert np.isnan(judged(table)[1][1]).all()


def test_bad_arguments():
    with pytest.raises(NotDeterminedError, match="3 readings"):
        studentised(residual=[0.1, -0.2, 0.1], leverage=[0.8, 0.4, 0.8], parameter_count=2)
    with pytest.raises(InputError) as caught:
        studentised(residual=np.zeros(5), leverage=np.zeros(4), parameter_count=2)
    assert caught.value.code == "wrong-shape"
    with pytest.raises(NotDeterminedError) as undetermined:
        pooled_leverage(moment_tm=np.ones(4), known=np.ones((1, 4)))
    assert undetermined.value.code == "moments-equal"
