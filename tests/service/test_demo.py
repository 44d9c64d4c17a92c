"""The answer to the shipped demonstration, against the ship that floated and against the errors put on it."""

import json
import math
from pathlib import Path

import pytest
from scipy.stats import chi2

from fixtures.demo import demo_record as noiseless_record
from service.demo import demo_record
from service.resources.stability_tests import compute
from service.schemas.record import StabilityTest

TRUTH = json.loads((Path(__file__).parents[2] / "fixtures/demo/truth.json").read_text())  # made by fixtures/demo
FREEDOM = 7
"""Nine readings less a line; ten freeboards less a plane."""
LOW, HIGH = (math.sqrt(chi2.ppf(p, FREEDOM) / FREEDOM) for p in (0.005, 0.995))
"""Between these a sample's standard deviation over its expectation lies in 99 % of cases: 0.38 and 1.70."""


def answered(record):
    return compute(StabilityTest.model_validate_json(json.dumps(record)))


@pytest.fixture(scope="module")
def answer():
    return answered(demo_record())


def read_with(deviation, division):
    """Standard deviation of a reading with an error, rounded to a division: a rectangle's beside it, GUM 4.3.7."""
    return math.hypot(deviation, division / math.sqrt(12))


@pytest.mark.parametrize("name", ["mass_t", "x_m", "y_m", "z_m"])
def test_the_lightship_that_floated_lies_within_the_expanded_uncertainty(answer, name):
    found, ship = answer.lightship, TRUTH["lightship"]
    assert found.method == "geometric"
    off = abs(getattr(found, name) - ship[name])
    assert 0 < off <= getattr(found.expanded, name)


def test_the_readings_scatter_as_they_were_read(answer):
    lengths = [one.get("length_m", one.get("spread_m", 1.0)) for one in demo_record()["instruments"]]
    stated = [
        read_with(0.0005, 0.0005) / lengths[0],
        math.sqrt(2) * read_with(0.0005, 0.001) / lengths[1],  # the difference of two legs
        math.radians(read_with(0.01, 0.01)),
    ]
    found = [one.residual_standard_deviation_ratio for one in answer.incline.instruments]
    for one, expected in zip(found, stated, strict=True):
        assert LOW * expected < one < HIGH * expected
    assert answer.incline.r_squared_ratio < 0.99999


def test_the_freeboards_scatter_as_they_were_read(answer):
    residuals = answer.waterline.residual_m
    found = math.sqrt(sum(one**2 for one in residuals) / FREEDOM)
    assert LOW < found / read_with(0.005, 0.005) < HIGH


def test_errors_of_this_size_raise_no_suspicion_and_turn_no_check(answer):
    perfect = answered(noiseless_record(instruments="three_kinds"))
    assert [one.cause for one in answer.incline.diagnoses if one.is_fault] == []
    assert [(one.rule, one.outcome) for one in answer.checks] == [(one.rule, one.outcome) for one in perfect.checks]
    assert answer.verdict.test_is_sound.answer == perfect.verdict.test_is_sound.answer
