"""Periods of roll beside an incline: GM = (f B/T)², f read in a national copy of the rolling test."""

import json

import numpy as np
import pytest
from pydantic import ValidationError

from engine.errors import InputError
from service.resources.incline import InclineRequest, compute, example
from service.schemas.common import Finding, NotDetermined
from service.schemas.roll_period import TIMING_UNCERTAINTY_S, RollPeriods, rolled

GM = compute(InclineRequest.model_validate_json(json.dumps(example()))).incline
"""The demo's incline."""


def given(**change):
    body = {"period_s": [8.0, 8.2, 7.8, 8.0], "breadth_m": 10.0, **change}
    return RollPeriods.model_validate_json(json.dumps(body))


def test_gm_by_the_mean_period():
    found = rolled(given(), length_bp_m=56.0, incline=GM)
    assert found.gm_m == pytest.approx((0.88 * 10 / 8) ** 2)  # 1.21 m
    assert found.deviation_ratio == pytest.approx(1.21 / GM.gm_fluid_m - 1)
    # u(T) = s/√4 with s² = (0.04 + 0.04)/3; u(f)/f = 5 %, our choice
    assert found.gm_standard_uncertainty_m == pytest.approx(2 * 1.21 * np.hypot((0.08 / 3) ** 0.5 / 2 / 8, 0.05))
    assert found.applies
    assert not rolled(given(), length_bp_m=70.1, incline=GM).applies


@pytest.mark.parametrize(
    ("liquids", "factor"),
    [("empty_or_ballast", 0.88), ("20_percent", 0.78), ("10_percent", 0.75), ("5_percent", 0.73)],
)
def test_the_factor_is_that_of_the_load(liquids, factor):
    found = rolled(given(liquids=liquids), length_bp_m=56.0, incline=GM)
    assert found.gm_m == pytest.approx((factor * 10 / 8) ** 2)


def test_agreement_follows_the_gm():
    period = 0.88 * 10 / GM.gm_fluid_m**0.5
    assert rolled(given(period_s=[period]), length_bp_m=56.0, incline=GM).agrees
    assert not rolled(given(period_s=[0.7 * period]), length_bp_m=56.0, incline=GM).agrees


def test_one_or_two_periods_are_as_sure_as_a_hand_on_a_watch():
    for periods in ([8.0], [8.0, 8.0]):
        found = rolled(given(period_s=periods), length_bp_m=56.0, incline=GM)
        u = TIMING_UNCERTAINTY_S / len(periods) ** 0.5 / 8
        assert found.gm_standard_uncertainty_m == pytest.approx(2 * 1.21 * np.hypot(u, 0.05))


def test_nothing_to_check():
    assert rolled(None, length_bp_m=None, incline=GM) is None
    unknown = NotDetermined(findings=(Finding(code="too-few-readings", message="two readings are needed"),))
    assert rolled(given(), length_bp_m=56.0, incline=unknown) is None


def test_refusals():
    with pytest.raises(InputError) as refused:
        rolled(given(), length_bp_m=None, incline=GM)
    assert (refused.value.code, refused.value.field) == ("length-missing", "length_bp_m")
    for change in ({"period_s": []}, {"period_s": [0.0]}, {"breadth_m": -1.0}, {"liquids": "some"}):
        with pytest.raises(ValidationError):
            given(**change)
