"""Cross-checks: exact data agree, a known difference is found with its size."""

import numpy as np
import pytest

from engine.diagnosis.cross_checks import (
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


def test_surveyed_against_predicted() -> None:
    """2 × hypot(3, 4) = 10 t and 2 × hypot(0.03, 0.04) = 0.1 m."""
    mass, lcg = surveyed_against_predicted(
        surveyed=Loaded(1000.0, 28.0, 3.0, 0.03), predicted=Loaded(1009.0, 28.2, 4.0, 0.04)
    )
    assert (mass.value, mass.limit, mass.agrees) == (-9.0, 10.0, True)
    assert lcg.limit == pytest.approx(0.1)
    assert not lcg.agrees


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
