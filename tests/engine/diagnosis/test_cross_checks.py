"""Cross-checks: exact data agree, a known difference is found with its size."""

import numpy as np
import pytest
from scipy.stats import binom, norm

from engine.diagnosis.cross_checks import (
    Height,
    instruments_against_each_other,
    marks_against_freeboards,
    regression_against_geometric_fit,
    surveyed_against_predicted,
    zeros,
)
from engine.diagnosis.survey_displacement import Loaded
from engine.incline.regression import regress
from tests.engine.diagnosis.surveyed import ship

MOMENT = np.array([0.0, 20, 41, 21, 0, -19, -40, -21, 0])


def test_marks_against_freeboards() -> None:
    one = ship(5)
    (sound,) = marks_against_freeboards(heights=one.given()["heights"], length_bp_m=one.length)
    assert sound.agrees
    one.read[one.marks] += 0.05
    (off,) = marks_against_freeboards(heights=one.given()["heights"], length_bp_m=one.length)
    assert off.value - sound.value == pytest.approx(0.05, abs=1e-9)
    assert not off.agrees
    one.marks[:] = False
    assert marks_against_freeboards(heights=one.given()["heights"], length_bp_m=one.length) == ()


def sidak(deviate: float, count: int) -> float:
    """The factor of each of so many that together are passed as seldom as one normal deviate."""
    return float(norm.isf(-np.expm1(np.log1p(-2 * norm.sf(deviate)) / count) / 2))


def test_surveyed_against_predicted() -> None:
    """hypot(3, 4) = 5 t and hypot(0.03, 0.04) = 0.05 m, times the factor for two as seldom passed as one of 2."""
    factor = sidak(2.0, 2)
    assert factor == pytest.approx(2.273, abs=0.001)  # 1 − √(1 − 0.0455) = 0.0230, z(0.0115)
    surveyed, predicted = Loaded(1000.0, 28.0, 3.0, 0.03), Loaded(1011.0, 28.2, 4.0, 0.04)
    mass, lcg = surveyed_against_predicted(surveyed=surveyed, predicted=predicted)
    assert (mass.value, mass.agrees) == (-11.0, True)
    assert mass.limit == pytest.approx(factor * 5.0)
    assert lcg.limit == pytest.approx(factor * 0.05)
    assert not lcg.agrees


def test_vcg_against_predicted() -> None:
    """The lightship 0.147 m above a prediction of 2.71 m known to 1 %: arms or masses wrong, or she changed."""
    ship = Loaded(1000.0, 28.0, 3.0, 0.03)
    expected = Height(2.71, 0.0271)
    found = surveyed_against_predicted(surveyed=ship, predicted=ship, derived=Height(2.857, 0.0055), expected=expected)
    assert [one.agrees for one in found] == [True, True, False]
    height = found[2]
    assert (height.name, height.unit) == ("vcg-against-predicted", "m")
    assert height.value == pytest.approx(0.147)
    assert height.limit == pytest.approx(sidak(2.0, 3) * np.hypot(0.0271, 0.0055))
    near = surveyed_against_predicted(surveyed=ship, predicted=ship, derived=Height(2.76, 0.0055), expected=expected)
    assert near[2].agrees
    for given in ({"derived": expected}, {"expected": expected}):
        assert len(surveyed_against_predicted(surveyed=ship, predicted=ship, **given)) == 2


@pytest.mark.parametrize(("instruments", "common"), [(2, 0.0), (3, 1.0)])
def test_sound_readings_disagree_as_seldom_as_stated(instruments: int, common: float) -> None:
    """600 drawn tests: 0.27 % by the normal distribution for all instruments together, and for all zeros."""
    rng = np.random.default_rng(instruments)
    apart = zeros_apart = 0
    for _ in range(600):
        error = rng.normal(size=(instruments, 9)) + common * rng.normal(size=9)
        table = list(0.001 * MOMENT + 1e-4 * error)
        apart += any(not one.agrees for one in instruments_against_each_other(moment_tm=MOMENT, tangents=table))
        fit = regress(moment_tm=MOMENT, tangents=table, displacement_t=1000.0)
        (one,) = zeros(moment_tm=MOMENT, residual_ratio=fit.residual_ratio)
        zeros_apart += not one.agrees
    most = binom.ppf(0.9995, 600, 2 * norm.sf(3.0))
    assert apart <= most
    assert zeros_apart <= most


def test_what_the_form_explains_is_no_difference() -> None:
    check = regression_against_geometric_fit(
        gm_regression_m=1.004, gm_geometric_m=1.0, gm_of_model_m=1.005, standard_uncertainty_m=0.001
    )
    assert check.value == pytest.approx(-0.001)
    assert check.agrees


def test_instruments_against_each_other() -> None:
    rng = np.random.default_rng(8)
    gusts = 3e-4 * rng.standard_normal(9)
    table = 0.001 * MOMENT + gusts + 2e-5 * rng.standard_normal((3, 9))
    assert all(one.agrees for one in instruments_against_each_other(moment_tm=MOMENT, tangents=list(table)))
    table[1] *= 1.03
    found = instruments_against_each_other(moment_tm=MOMENT, tangents=list(table))
    assert found[1].value == pytest.approx(0.03, abs=0.005)
    assert not found[1].agrees
    assert instruments_against_each_other(moment_tm=MOMENT, tangents=[table[0]]) == ()


def test_zeros() -> None:
    rng = np.random.default_rng(9)
    table = 0.001 * MOMENT + 1e-4 * rng.standard_normal((3, 9))

    def check(tangents: np.ndarray) -> tuple[bool, float]:
        fit = regress(moment_tm=MOMENT, tangents=list(tangents), displacement_t=1000.0)
        (one,) = zeros(moment_tm=MOMENT, residual_ratio=fit.residual_ratio)
        return one.agrees, one.value

    assert check(table)[0]
    table[:, 4] += 1e-3
    table[:, 8] += 2e-3
    agrees, value = check(table)
    assert not agrees
    assert value == pytest.approx(2e-3, abs=3e-4)
    assert zeros(moment_tm=MOMENT[:4], residual_ratio=np.zeros((1, 4))) == ()
