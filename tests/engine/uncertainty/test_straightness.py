"""Straightness of the plot: false alarms at the stated rate whatever the number of readings, bad readings still found.

Every record is drawn here: normal errors on a straight line, seeded. ``python -m tests.performance.straightness`` draws
thousands.
"""

import numpy as np
import pytest
from scipy.stats import binom, norm
from scipy.stats import t as student

from engine.errors import NotDeterminedError
from engine.uncertainty import pooled_leverage, straightness, studentised
from engine.uncertainty.straightness import equivalent_normal_deviate
from engine.uncertainty.studentised import pooled_residual

MOMENT = np.array([0.0, 20, 40, 20, 0, -20, -40, -20, 0])
RECORDS = 400


def deviates(readings, errors, *, common=0.0, told=None, spoiled=0.0, seed=1, records=RECORDS):
    """Draw records with one instrument for each standard deviation; ``spoiled``: one reading off by so many of its."""
    rng = np.random.default_rng(seed)
    sigma = np.array(errors, dtype=float)[:, None] * np.ones(readings)
    reading = sigma if told is None else np.array(told, dtype=float)[:, None] * np.ones(readings)
    found = []
    for _ in range(records):
        error = sigma * rng.normal(size=sigma.shape) + common * rng.normal(size=readings)
        place = rng.integers(len(sigma)), rng.integers(readings)
        error[place] += spoiled * sigma[place]
        table = 1e-4 * error + MOMENT[:readings] / 1250  # any straight part is fitted away
        one = straightness(residual_ratio=table, moment_tm=MOMENT[:readings], reading_ratio=1e-4 * reading)
        found.append(one.deviate_ratio)
    return np.array(found)


SOUND = [(5, 2), (5, 3), (7, 1), (9, 1), (9, 2), (9, 3), (3, 3)]


@pytest.mark.parametrize(("readings", "instruments"), SOUND)
def test_a_sound_test_fails_as_often_as_stated(readings, instruments):
    found = deviates(readings, [1.0] * instruments, seed=readings * 10 + instruments)
    for limit in (2.0, 3.0):  # 4.55 % and 0.27 % by the normal distribution
        nominal = 2 * norm.sf(limit)
        assert np.sum(found > limit) <= binom.ppf(0.9995, RECORDS, nominal)
    # Šidák's bound is close: not fewer than would be seen once in 2,000 draws at two thirds of the nominal rate
    assert np.sum(found > 2.0) >= binom.ppf(0.0005, RECORDS, 2 / 3 * 2 * norm.sf(2.0))


@pytest.mark.parametrize("common", [0.0, 1.0, 3.0])
def test_coarse_instruments_and_gusts_are_no_fault(common):
    """A U-tube three times as coarse as a long pendulum, and gusts common to a move, fail no sound test more often."""
    found = deviates(9, [1.0, 2.0, 3.0], common=common, seed=5)
    assert np.sum(found > 2.0) <= binom.ppf(0.9995, RECORDS, 2 * norm.sf(2.0))
    assert np.sum(found > 3.0) <= binom.ppf(0.9995, RECORDS, 2 * norm.sf(3.0))


def test_without_the_weights_the_coarse_one_would_be_called_a_fault():
    found = deviates(9, [1.0, 2.0, 3.0], told=[1.0, 1.0, 1.0], seed=5)
    assert np.sum(found > 2.0) > binom.ppf(0.9995, RECORDS, 2 * norm.sf(2.0))


@pytest.mark.parametrize(
    ("instruments", "off", "least"),
    [(3, 6.0, 0.7), (3, 8.0, 0.95), (2, 6.0, 0.5), (2, 8.0, 0.9), (1, 10.0, 0.65), (1, 14.0, 0.9)],
)
def test_a_reading_off_is_caught(instruments, off, least):
    """Shares as drawn by the thousand (docs/methods/uncertainty.md, section 4), less four standard deviations here."""
    assert np.mean(deviates(9, [1.0] * instruments, spoiled=off, seed=7) > 3.0) >= least


@pytest.mark.parametrize(("readings", "instruments"), [(2, 1), (2, 2), (2, 3), (3, 1), (3, 2), (5, 1)])
def test_too_few_to_judge_one_by(readings, instruments):
    table = np.random.default_rng(1).normal(size=(instruments, readings))
    with pytest.raises(NotDeterminedError, match="over to judge one by") as caught:
        straightness(residual_ratio=table, moment_tm=MOMENT[:readings], reading_ratio=np.ones_like(table))
    assert caught.value.code == "too-few-readings"
    assert (caught.value.value, caught.value.limit) == (instruments * readings - instruments - 2, 3)


def test_the_deviate_of_one_residual_and_of_many():
    # closed form of Student's t with 2 degrees of freedom: P(|T| > t) = 1 − t/√(2 + t²)
    size = 4.0
    tail = 1 - size / np.sqrt(2 + size**2)
    one = equivalent_normal_deviate(largest=size, degrees_of_freedom=2, count=1)
    assert 2 * norm.sf(one) == pytest.approx(tail, rel=1e-12)
    five = equivalent_normal_deviate(largest=size, degrees_of_freedom=2, count=5)
    assert 2 * norm.sf(five) == pytest.approx(1 - (1 - tail) ** 5, rel=1e-12)
    assert equivalent_normal_deviate(largest=0.0, degrees_of_freedom=7, count=9) == 0.0
    assert equivalent_normal_deviate(largest=np.inf, degrees_of_freedom=7, count=9) == np.inf
    # far out the tails are Student's, not 0: 6.41 of 9 with 6 degrees of freedom is 1 − (1 − 2 F(−6.41))⁹
    far = equivalent_normal_deviate(largest=6.41, degrees_of_freedom=6, count=9)
    assert 2 * norm.sf(far) == pytest.approx(1 - (1 - 2 * student.sf(6.41, 6)) ** 9, rel=1e-9)


def test_weighted_leverage_and_residual_are_those_of_the_design_matrix():
    rng = np.random.default_rng(3)
    table = rng.normal(size=(2, 9))
    table[1, [2, 6]] = np.nan
    weight = rng.uniform(0.2, 5.0, size=(2, 9))
    known = np.isfinite(table)
    instrument, move = np.nonzero(known)
    x = np.column_stack([instrument == 0, instrument == 1, MOMENT[move]]) * np.sqrt(weight[known])[:, None]
    hat = x @ np.linalg.inv(x.T @ x) @ x.T
    y = table[known] * np.sqrt(weight[known])
    assert pooled_leverage(moment_tm=MOMENT, known=known, weight=weight)[known] == pytest.approx(np.diag(hat))
    left = pooled_residual(values=table, moment_tm=MOMENT, weight=weight)
    assert left[known] * np.sqrt(weight[known]) == pytest.approx(y - hat @ y)
    assert np.isnan(left[~known]).all()
    with pytest.raises(NotDeterminedError) as caught:
        pooled_residual(values=table, moment_tm=np.ones(9), weight=weight)
    assert caught.value.code == "moments-equal"


def test_equal_or_exact_readings_are_judged_as_the_plain_fit_has_it():
    table = np.random.default_rng(4).normal(size=(2, 9)) * 1e-4
    known = np.ones((2, 9), dtype=bool)
    left = pooled_residual(values=table, moment_tm=MOMENT, weight=np.ones((2, 9)))
    plain = studentised(residual=left, leverage=pooled_leverage(moment_tm=MOMENT, known=known), parameter_count=3)
    for reading in (np.full((2, 9), 1e-5), np.zeros((2, 9))):  # far finer than they scatter, and exact
        one = straightness(residual_ratio=table, moment_tm=MOMENT, reading_ratio=reading)
        assert one.studentised_ratio == pytest.approx(plain)
        assert one.degrees_of_freedom == 18 - 3 - 1


def test_a_perfect_line_is_straight_and_one_reading_off_it_is_not():
    table = (MOMENT / 1024)[None].copy()  # a power of two: the fit is exact
    exact = np.zeros((1, 9))
    assert straightness(residual_ratio=table, moment_tm=MOMENT, reading_ratio=exact).deviate_ratio == 0.0
    table[0, 4] += 1.0
    assert straightness(residual_ratio=table, moment_tm=MOMENT, reading_ratio=exact).deviate_ratio == np.inf


def test_what_cannot_be_read_is_on_the_line():
    """At the mean moment of nine 1 − h is 8/9: one off an exact line by d of u has t = (8/9) d / (0.1 √(8/9))."""
    for off, straight in ((0.5, True), (2.0, False)):
        table = (MOMENT / 1024)[None].copy()
        table[0, 4] += off * 1e-4
        one = straightness(residual_ratio=table, moment_tm=MOMENT, reading_ratio=np.full((1, 9), 1e-4))
        of_t = 10 * off * np.sqrt(8 / 9)
        assert one.studentised_ratio[0, 4] == pytest.approx(of_t)
        assert one.deviate_ratio == pytest.approx(
            equivalent_normal_deviate(largest=of_t, degrees_of_freedom=6, count=9)
        )
        assert (one.deviate_ratio <= 3) == straight
