"""Diagnoses, cross-checks and guidance as an answer has them."""

import json

import numpy as np
import pytest

from engine.diagnosis.cross_checks import instruments_against_each_other
from engine.diagnosis.incline import diagnose
from engine.diagnosis.live import guidance
from engine.diagnosis.survey import diagnose_survey
from engine.diagnosis.swing import check_roll_period
from engine.incline.instruments import Inclinometer, Instrument, Pendulum, heel_tangents
from engine.quantities import unit_of
from service.schemas.diagnosis import (
    Diagnosis,
    ExpectedReading,
    LiveGuidance,
    SurveyDiagnosis,
    cross_checks,
    diagnoses,
    live_guidance,
    roll_check,
    survey_diagnoses,
)
from tests.engine.diagnosis.surveyed import KINDS

MOMENT = np.array([0.0, 20, 41, 21, 0, -19, -40, -21, 0])


def instruments(taken: int) -> list[Instrument]:
    rng = np.random.default_rng(1)
    tangents = 0.001 * MOMENT[:taken] + 1e-4 * rng.standard_normal((2, taken))
    return [
        Pendulum("forward", 3.0, "port", 0.4 - 3.0 * tangents[0]),
        Inclinometer("aft", "starboard", 0.2 + np.degrees(np.arctan(tangents[1]))),
    ]


def test_a_diagnosis_is_carried_whole() -> None:
    read = instruments(9)
    table = heel_tangents(read, heel_at_zero_deg=0.0, reading_count=9)
    table[0, 4] += 5e-3
    found = diagnose(
        moment_tm=MOMENT,
        tangents=list(table),
        reading_standard_uncertainty_ratio=np.full(2, 1e-4),
        instruments=read,
        displacement_t=1000.0,
    )
    (answer,) = diagnoses(found)
    said = json.loads(answer.model_dump_json(exclude_none=True))
    assert said["instruments"] == ["forward"]
    assert said["readings"] == [4]
    assert said["reading_m"] == pytest.approx(0.015, abs=1e-3)  # 3 m × 5e-3
    assert "reading_deg" not in said
    assert said["gm_without_m"] == found[0].gm_without_m
    assert [one["trace"] for one in said["alternatives"]] == [one.trace for one in found[0].alternatives]


def test_guidance_gives_each_instrument_its_unit() -> None:
    read = instruments(6)
    table = heel_tangents(read, heel_at_zero_deg=0.0, reading_count=9)
    answer = live_guidance(
        guidance(moment_tm=MOMENT, tangents=list(table), displacement_t=1000.0, instruments=read), read
    )
    pendulum, angle = answer.expected
    assert (pendulum.instrument, angle.instrument) == ("forward", "aft")
    assert pendulum.reading_deg is None
    assert angle.reading_m is None
    assert pendulum.reading_m == pytest.approx(0.4 + 3.0 * 0.04, abs=3e-3)
    assert angle.reading_deg == pytest.approx(0.2 - np.degrees(np.arctan(0.04)), abs=0.05)
    assert answer.stop == "go_on"


def test_no_reading_at_all_is_an_answer() -> None:
    answer = live_guidance(guidance(moment_tm=MOMENT, tangents=[], displacement_t=1000.0), [])
    assert answer.cannot_say
    assert "gm_fluid_m" not in answer.model_dump(exclude_none=True)


def test_survey_and_checks() -> None:
    (first, *_) = survey_diagnoses(diagnose_survey(**KINDS["a foot"].make(700)))
    assert first.cause == "height-foot"
    assert first.draft_without_m is not None
    read = instruments(9)
    table = heel_tangents(read, heel_at_zero_deg=0.0, reading_count=9)
    found = cross_checks(instruments_against_each_other(moment_tm=MOMENT, tangents=list(table)), read)
    assert [one.instrument for one in found] == ["forward", "aft"]
    roll = roll_check(
        check_roll_period(
            period_s=8.8,
            period_standard_uncertainty_s=0.0,
            breadth_m=10.0,
            length_bp_m=50.0,
            coefficient=0.88,
            gm_fluid_m=1.0,
        )
    )
    assert roll.gm_m == pytest.approx(1.0)


@pytest.mark.parametrize("model", [Diagnosis, SurveyDiagnosis, LiveGuidance, ExpectedReading])
def test_numbers_tell_their_unit(model: type[Diagnosis]) -> None:
    for name, field in model.model_json_schema()["properties"].items():
        kinds = {field.get("type"), *(one.get("type") for one in field.get("anyOf", ()))}
        if kinds & {"number", "integer"}:
            assert unit_of(name) is not None, name
