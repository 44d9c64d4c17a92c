"""Margins in standard uncertainties: against a Monte Carlo of the lightship, and the words."""

import numpy as np
import pytest

from engine.errors import InputError
from engine.lightship.derivation import Mass
from engine.rules import built_in_sets
from engine.stability import Assessed, LoadingCondition, ShipData, assess_conditions, judge, statement
from engine.stability.condition import ship_in
from tests.engine.stability.ships import DENSITY, LENGTH_M, WHOLE, box

SETS = [one for one in built_in_sets("stability") if one.name in ("imo-2008-is-code-a-2-2", "imo-2008-is-code-a-2-3")]
LIGHTSHIP = Mass(2000.0, np.array([29.8, 0.03, 4.4]))
CARGO = LoadingCondition(items=(Mass(500.0, np.array([31.0, 0.0, 5.0])),))
SHIP = ShipData(box(), DENSITY, LENGTH_M, WHOLE)
SPREAD = np.array([6.0, 0.05, 0.004, 0.03])
CORRELATION = np.array([[1, 0.3, 0, -0.5], [0.3, 1, 0, 0], [0, 0, 1, 0.2], [-0.5, 0, 0.2, 1]])
COVARIANCE = CORRELATION * np.outer(SPREAD, SPREAD)


def assessed(lightship=LIGHTSHIP, covariance=None, sets=SETS):
    (found,) = assess_conditions(
        ship=SHIP, lightship=lightship, conditions=[CARGO], rule_sets=sets, lightship_covariance=covariance
    )
    assert isinstance(found, Assessed)
    return found


def test_against_a_monte_carlo_of_the_lightship():
    found = assessed(covariance=COVARIANCE)
    draws = np.random.default_rng(20).multivariate_normal(np.zeros(4), COVARIANCE, size=100)
    margins = []
    for mass, *shift in draws:
        ship, _ = ship_in(SHIP, Mass(LIGHTSHIP.mass_t + mass, LIGHTSHIP.centre_m + shift), CARGO)
        criteria, _ = judge(ship.arms(), SETS, WHOLE)
        margins.append({(one.check.rule_set, one.check.rule): one.check.margin for one in criteria})
    # 100 draws know a standard deviation to 1/√(2 × 99) = 7.1 %; three times that is allowed
    for one in found.criteria:
        key = one.check.rule_set, one.check.rule
        spread = np.std([margin[key] for margin in margins], ddof=1)
        assert found.certainty.by_rule[key] == pytest.approx(spread, rel=0.21), key


def test_against_arms_computed_anew():
    # GUM 5.1.3 note 2 with the arms of the ship found anew at each of the eight places
    found = assessed(covariance=COVARIANCE)

    def margins(axis, sign):
        mass, centre = LIGHTSHIP.mass_t, LIGHTSHIP.centre_m.copy()
        if axis == 0:
            mass += sign * SPREAD[0]
        else:
            centre[axis - 1] += sign * SPREAD[axis]
        ship, _ = ship_in(SHIP, Mass(mass, centre), CARGO)
        criteria, _ = judge(ship.arms(), SETS, WHOLE)
        return {(one.check.rule_set, one.check.rule): one.check.margin for one in criteria}

    ends = [(margins(axis, 1.0), margins(axis, -1.0)) for axis in range(4)]
    for key, known in found.certainty.by_rule.items():
        changes = np.array([0.5 * (above[key] - below[key]) for above, below in ends])
        assert known == pytest.approx(np.sqrt(changes @ CORRELATION @ changes), rel=0.01), key


def test_margin_to_the_limit_against_a_monte_carlo():
    fishing = [one for one in built_in_sets("stability") if one.name == "us-46-cfr-28-570"]
    found = assessed(covariance=COVARIANCE, sets=fishing)
    assert found.limit.governing.check.rule == "gm"  # the limit is KM − 0.35 m of the box at each draw's draft
    draws = np.random.default_rng(21).multivariate_normal(np.zeros(4), COVARIANCE, size=20_000)
    mass = 2500 + draws[:, 0]
    draft = mass / (DENSITY * 60 * 12)
    vcg = ((2000 + draws[:, 0]) * (4.4 + draws[:, 3]) + 500 * 5.0) / mass
    spread = np.std(draft / 2 + 12 / draft - 0.35 - vcg, ddof=1)
    assert found.certainty.vcg_margin_m == pytest.approx(spread, rel=0.015)  # three times 1/√(2 × 20,000)


def test_gm_by_closed_form():
    # GM = d/2 + B²/12 d − ΣMz/Δ with d = Δ/(ρ L B): a change of z alone moves it by −W/Δ
    found = assessed(covariance=np.diag([0, 0, 0, 0.03]) ** 2)
    assert found.certainty.by_rule["imo-2008-is-code-a-2-2", "gm"] == pytest.approx(0.03 * 2000 / 2500, rel=1e-6)
    assert found.certainty.vcg_margin_m == pytest.approx(0.03 * 2000 / 2500, rel=1e-6)
    # and of the mass alone by (dKM/dd)/(ρ L B) − (z_ls − KG)/Δ
    by_mass = assessed(Mass(2000.0, np.array([30, 0, 4.4])), covariance=np.diag([6.0, 0, 0, 0]) ** 2)
    draft, kg = 2500 / (DENSITY * 60 * 12), (2000 * 4.4 + 500 * 5.0) / 2500
    slope = (0.5 - 144 / (12 * draft**2)) / (DENSITY * 60 * 12) - (4.4 - kg) / 2500
    assert by_mass.certainty.by_rule["imo-2008-is-code-a-2-2", "gm"] == pytest.approx(6 * abs(slope), rel=2e-3)


def test_correlation_counts():
    tied = np.outer(SPREAD, SPREAD) * np.array([[1, 0, 0, -1], [0, 1, 0, 0], [0, 0, 1, 0], [-1, 0, 0, 1]])
    free = np.diag(SPREAD**2)
    key = "imo-2008-is-code-a-2-2", "gm"
    one, other = (assessed(covariance=matrix).certainty.by_rule[key] for matrix in (tied, free))
    assert abs(one - other) > 0.05 * other


@pytest.mark.parametrize(
    ("covariance", "code"),
    [
        (np.eye(3), "wrong-shape"),
        (np.ones((5, 4)), "wrong-shape"),
        (np.array([[1, 2, 0, 0], [2, 1, 0, 0], [0, 0, 1, 0], [0, 0, 0, 1.0]]), "covariance-not-valid"),
        (np.diag([1.0, 1.0, -1.0, 1.0]), "covariance-not-valid"),
        (np.array([[1, 0.5, 0, 0], [0, 1, 0, 0], [0, 0, 1, 0], [0, 0, 0, 1.0]]), "covariance-not-valid"),
        (np.full((4, 4), np.nan), "not-finite"),
    ],
)
def test_what_is_not_a_covariance(covariance, code):
    with pytest.raises(InputError) as caught:
        assessed(covariance=covariance)
    assert caught.value.code == code


@pytest.mark.parametrize(
    ("outcome", "margin", "unit", "uncertainty", "words"),
    [
        ("met", 0.12, "m", 0.0133, "met, 0.12 m, 9 standard uncertainties"),
        ("met", 0.0266, "m", 0.0133, "met, 0.027 m, 2.0 standard uncertainties"),
        ("met", 0.0265, "m", 0.0133, "met, but within the test's uncertainty"),
        ("met", 0.0, "m", 0.0133, "met, but within the test's uncertainty"),
        ("met", 12.0, "deg", 2.0, "met, 12 deg, 6 standard uncertainties"),
        ("met", 1.0, "m", None, "met, 1.0 m"),
        ("met", 3.0, "1", None, "met, 3.0"),
        ("met", None, "deg", None, "met"),
        ("not_met", -0.5, "m", 0.0133, "not met"),
        ("not_assessed", None, "m", None, "not assessed"),
    ],
)
def test_statements(outcome, margin, unit, uncertainty, words):
    assert statement(outcome, margin=margin, unit=unit, standard_uncertainty=uncertainty) == words


def test_without_a_covariance_no_uncertainty_is_told():
    assert assessed().certainty is None
