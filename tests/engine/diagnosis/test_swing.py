"""Swinging instruments: closed forms and simulated swings."""

import numpy as np
import pytest

from engine.diagnosis.swing import ROLL_COEFFICIENTS, check_roll_period, rest_from_extremes, rest_from_series
from engine.errors import InputError, NotDeterminedError


def test_extremes_of_a_steady_swing() -> None:
    rest = rest_from_extremes(extremes=[110.0, 90.0, 110.0, 90.0, 110.0])
    assert rest.value == pytest.approx(100.0, abs=1e-12)
    assert rest.standard_uncertainty == pytest.approx(0.0, abs=1e-9)


def test_decay_is_taken_out_to_the_first_order() -> None:
    """Amplitudes 10, 9, 8, 7, 6 about 100: each triple (1, 2, 1)/4 is 100 exactly; the plain mean is 100.8."""
    rest = rest_from_extremes(extremes=[110.0, 91.0, 108.0, 93.0, 106.0])
    assert rest.value == pytest.approx(100.0, abs=1e-12)


def test_uncertainty_of_extremes_is_honest() -> None:
    """Ten extremes each wrong by 0.4: the stated variance is that of the means found, over 3000 swings, to 10 %."""
    rng = np.random.default_rng(6)
    swing = 100 + 8 * (-1.0) ** np.arange(10)
    rests = [rest_from_extremes(extremes=swing + 0.4 * rng.standard_normal(10)) for _ in range(3000)]
    actual = np.var([one.value for one in rests])
    stated = np.mean([one.standard_uncertainty**2 for one in rests])
    assert stated == pytest.approx(actual, rel=0.1)


def test_three_extremes_and_fewer() -> None:
    assert rest_from_extremes(extremes=[1.0, 0.0, 1.0]).value == pytest.approx(0.5)
    with pytest.raises(NotDeterminedError) as caught:
        rest_from_extremes(extremes=[1.0, 0.0])
    assert caught.value.code == "too-few-extremes"
    with pytest.raises(InputError) as refused:
        rest_from_extremes(extremes=[1.0, 2.0, 3.0])
    assert refused.value.code == "extremes-not-alternate"


def roll(rng: np.random.Generator, *, count: int, period_s: float, step_s: float) -> np.ndarray:
    """A lightly damped roll kept up by random pushes (an autoregression of order two), about 0.25."""
    decay = np.exp(-0.05 * 2 * np.pi * step_s / period_s)
    a, b = 2 * decay * np.cos(2 * np.pi * step_s / period_s), -(decay**2)
    push = rng.standard_normal(count + 400)
    heel = np.zeros(count + 400)
    for k in range(2, len(heel)):
        heel[k] = a * heel[k - 1] + b * heel[k - 2] + push[k]
    return 0.25 + 0.01 * heel[400:] / heel[400:].std()


def test_a_pure_sine_gives_its_mean_and_period() -> None:
    time = np.arange(600) * 0.25
    rest = rest_from_series(values=3.0 + 0.7 * np.sin(2 * np.pi * time / 9.3 + 0.4), step_s=0.25)
    assert rest.value == pytest.approx(3.0, abs=1e-3)
    assert rest.period_s == pytest.approx(9.3, abs=0.01)


def test_uncertainty_of_a_series_covers_the_mean() -> None:
    """A swing cancels, so s/√n would be wrong: ±t u holds the true rest in about 95 % of 150 series."""
    from scipy.stats import t as student

    rng = np.random.default_rng(7)
    inside, errors, stated, periods = 0, [], [], []
    for _ in range(150):
        rest = rest_from_series(values=roll(rng, count=1200, period_s=8.0, step_s=0.2), step_s=0.2)
        errors.append(rest.value - 0.25)
        stated.append(rest.standard_uncertainty)
        inside += abs(errors[-1]) <= student.ppf(0.975, rest.degrees_of_freedom) * stated[-1]
        periods.append(rest.period_s)
    assert inside >= 0.9 * 150
    assert np.mean(periods) == pytest.approx(8.0, rel=0.03)
    assert 0.5 < np.sqrt(np.mean(np.square(stated))) / np.std(errors) < 2.0


def test_too_short_a_series() -> None:
    with pytest.raises(NotDeterminedError) as caught:
        rest_from_series(values=np.sin(np.arange(20) * 0.5), step_s=0.5)
    assert caught.value.code == "roll-period-not-determined"
    with pytest.raises(NotDeterminedError):
        rest_from_series(values=np.ones(50), step_s=0.5)


def test_gm_by_the_roll_period() -> None:
    """(0.88 × 10/8)² = 1.21 m; f from a national copy of the 2008 IS Code, part B."""
    assert ROLL_COEFFICIENTS["empty-or-ballast"] == 0.88
    check = check_roll_period(
        period_s=8.0,
        period_standard_uncertainty_s=0.1,
        breadth_m=10.0,
        length_bp_m=60.0,
        coefficient=0.88,
        gm_fluid_m=1.1,
        gm_standard_uncertainty_m=0.01,
    )
    assert check.gm_m == pytest.approx(1.21)
    assert check.deviation_ratio == pytest.approx(0.1)
    assert check.standard_uncertainty_m == pytest.approx(2 * 1.21 * np.hypot(0.1 / 8, 0.05))
    assert check.agrees
    assert check.applies
    other = (
        check._asdict()
        | check_roll_period(
            period_s=8.0,
            period_standard_uncertainty_s=0.0,
            breadth_m=10.0,
            length_bp_m=90.0,
            coefficient=0.88,
            gm_fluid_m=2.0,
        )._asdict()
    )
    assert not other["agrees"]
    assert not other["applies"]
