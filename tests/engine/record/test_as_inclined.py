"""The ship at reading 0 where her heights were read otherwise loaded: what is refused or does not settle."""

import json
from dataclasses import replace
from itertools import count

import numpy as np
import pytest

from engine.errors import NotDeterminedError
from engine.lightship.derivation import Mass
from engine.record.as_inclined import at_reading_zero
from engine.record.regression_chain import RegressionChain
from engine.record.solve import solve
from service.schemas.record import StabilityTest
from tests.engine.record.test_chain import by_tables, demo

LATE = Mass(30.0, np.array([30.0, -3.0, 7.0]))


def solved(document):
    record, _ = StabilityTest.model_validate_json(json.dumps(document)).record()
    return record, solve(record)


@pytest.fixture(scope="module")
def with_hull():
    return solved(demo())


@pytest.fixture(scope="module")
def with_tables():
    return solved({name: part for name, part in by_tables().items() if name != "loading_conditions"})


def test_tables_do_not_float_her_anew(with_tables):
    record, _ = with_tables
    found = solve(replace(record, survey_differences=(LATE,)))
    assert found.inclined is None
    assert found.not_done["incline"].code == "tables-survey-differences"


def test_a_budget_by_regression_alone_does_not_know_survey_differences(with_tables):
    record, found = with_tables
    assert RegressionChain.of(record, found).derivation is found.derivation
    with pytest.raises(NotDeterminedError) as refused:
        RegressionChain.of(replace(record, survey_differences=(LATE,)), found)
    assert refused.value.code == "uncertainty-needs-geometry"


def test_a_gm_that_does_not_settle_is_told(with_hull):
    """A GM that swings between two values from step to step, as no readings give it, never settles."""
    record, found = with_hull
    surveyed, step = found.surveyed, count()

    def at_zero(gm):
        return at_reading_zero(
            hull=surveyed.hull,
            surveyed=surveyed.afloat,
            density_t_per_m3=record.density_t_per_m3,
            length_bp_m=record.length_bp_m,
            liquids=surveyed.liquids,
            differences=(LATE,),
            gm_fluid_m=gm,
        )

    assert at_zero(lambda _: 0.8)[1] == 0.8
    with pytest.raises(NotDeterminedError) as refused:
        at_zero(lambda _: 0.8 + 0.1 * (next(step) % 2))
    assert refused.value.code == "reading-zero-not-determined"
