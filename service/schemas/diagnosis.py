"""Diagnoses, cross-checks and live guidance as an answer has them. Layer: service.schemas."""

from collections.abc import Sequence
from typing import Annotated, Literal

from engine.diagnosis.cross_checks import CrossCheck as EngineCrossCheck
from engine.diagnosis.live import Guidance as EngineGuidance
from engine.diagnosis.prediction import Expected as EngineExpected
from engine.diagnosis.result import Alternative as EngineAlternative
from engine.diagnosis.result import Diagnosis as EngineDiagnosis
from engine.diagnosis.survey_causes import SurveyDiagnosis as EngineSurveyDiagnosis
from engine.diagnosis.swing import RollCheck as EngineRollCheck
from engine.incline.instruments import Instrument
from service.edge.axes import Y
from service.edge.model import Model


class Alternative(Model):
    """Another class of causes."""

    trace: str
    likelihood_ratio: float
    """Its penalised likelihood over that of the class named."""


class Diagnosis(Model):
    """What went wrong in the incline, as far as the readings tell; causes and classes are listed in the methods."""

    cause: str
    trace: str
    """The class: causes that leave the same trace."""
    members: tuple[str, ...]
    is_fault: bool
    evidence: str
    action: str
    separate: str
    """The measurement that tells the members apart."""
    largest_shift_ratio: float
    """Of a tangent, to starboard +."""
    shift_over_reading_ratio: float
    """Its size over the standard uncertainty of a reading."""
    readings: tuple[int, ...]
    moves: tuple[int, ...]
    instruments: tuple[str, ...]
    weights: tuple[str, ...]
    moment_tm: float | None = None
    mass_t: float | None = None
    """True less logged."""
    arm_m: Annotated[float, Y] | None = None
    """True place less logged place."""
    reading_m: float | None = None
    reading_deg: float | None = None
    """Written less true, to starboard +."""
    length_ratio: float | None = None
    """True over logged."""
    gain_ratio: float | None = None
    """2 × log likelihood over no fault."""
    gain_limit_ratio: float | None = None
    alternatives: tuple[Alternative, ...]
    slope_with_per_tm: float | None = None
    slope_without_per_tm: float | None = None
    gm_with_m: float | None = None
    gm_without_m: float | None = None
    """GM fluid with the cause allowed for; no reading is dropped."""


class SurveyDiagnosis(Model):
    """What went wrong in the survey."""

    cause: str
    trace: str
    members: tuple[str, ...]
    is_fault: bool
    evidence: str
    action: str
    separate: str
    heights: tuple[int, ...]
    """Freeboards first, then marks."""
    items: tuple[int, ...]
    size_m: float | None = None
    """Water read too high +."""
    mass_t: float | None = None
    """Surveyed less predicted."""
    share_ratio: float | None = None
    gain_ratio: float | None = None
    gain_limit_ratio: float | None = None
    alternatives: tuple[Alternative, ...]
    draft_with_m: float | None = None
    draft_without_m: float | None = None
    trim_with_m: float | None = None
    trim_without_m: float | None = None
    heel_with_deg: float | None = None
    heel_without_deg: float | None = None


class CrossCheck(Model):
    """One part of the record against another."""

    name: str
    value: float
    limit: float
    unit: str
    agrees: bool
    message: str
    instrument: str | None = None


class ExpectedReading(Model):
    """The next reading of one instrument, with its prediction interval."""

    instrument: str
    tangent_ratio: float
    low_ratio: float
    high_ratio: float
    reading_m: float | None = None
    reading_low_m: float | None = None
    reading_high_m: float | None = None
    reading_deg: float | None = None
    reading_low_deg: float | None = None
    reading_high_deg: float | None = None


class RollCheck(Model):
    """GM by the roll period, (f B / T)²."""

    gm_m: float
    gm_standard_uncertainty_m: float
    deviation_ratio: float
    agrees: bool
    applies: bool
    """The rule is for ships up to 70 m."""


class LiveGuidance(Model):
    """What a test still running shows."""

    readings_count: int
    moves_count: int
    cannot_say: tuple[str, ...]
    coverage_percent: float
    stop: Literal["go_on", "may_stop", "complete", "explain"]
    reason: str
    straight: bool | None = None
    gm_fluid_m: float | None = None
    gm_standard_uncertainty_m: float | None = None
    gm_expanded_m: float | None = None
    slope_per_tm: float | None = None
    slope_standard_uncertainty_per_tm: float | None = None
    next_moment_tm: float | None = None
    expected: tuple[ExpectedReading, ...]
    basis: Literal["scatter", "stated", "expected_gm"] | None = None
    pair_uncertainty_ratio: float | None = None
    """Standard uncertainty of the slope after another pair of readings at the largest moments, over that now."""
    pair_expanded_ratio: float | None = None


def _alternatives(found: Sequence[EngineAlternative]) -> tuple[Alternative, ...]:
    return tuple(Alternative(trace=one.trace, likelihood_ratio=one.likelihood_ratio) for one in found)


def diagnoses(found: Sequence[EngineDiagnosis]) -> tuple[Diagnosis, ...]:
    """Return the diagnoses of an incline as the answer has them."""
    return tuple(
        Diagnosis(
            cause=one.cause,
            trace=one.trace,
            members=one.members,
            is_fault=one.is_fault,
            evidence=one.evidence,
            action=one.action,
            separate=one.separate,
            largest_shift_ratio=one.largest_shift_ratio,
            shift_over_reading_ratio=one.shift_over_reading_ratio,
            readings=one.readings,
            moves=one.moves,
            instruments=one.instruments,
            weights=one.weights,
            moment_tm=one.moment_tm,
            mass_t=one.mass_t,
            arm_m=one.arm_m,
            reading_m=one.reading_m,
            reading_deg=one.reading_deg,
            length_ratio=one.length_ratio,
            gain_ratio=one.gain,
            gain_limit_ratio=one.limit,
            alternatives=_alternatives(one.alternatives),
            slope_with_per_tm=one.slope_with_per_tm,
            slope_without_per_tm=one.slope_without_per_tm,
            gm_with_m=one.gm_with_m,
            gm_without_m=one.gm_without_m,
        )
        for one in found
    )


def survey_diagnoses(found: Sequence[EngineSurveyDiagnosis]) -> tuple[SurveyDiagnosis, ...]:
    """Return the diagnoses of a survey as the answer has them."""
    return tuple(
        SurveyDiagnosis(
            cause=one.cause,
            trace=one.trace,
            members=one.members,
            is_fault=one.is_fault,
            evidence=one.evidence,
            action=one.action,
            separate=one.separate,
            heights=one.heights,
            items=one.items,
            size_m=one.size_m,
            mass_t=one.mass_t,
            share_ratio=one.share_ratio,
            gain_ratio=one.gain,
            gain_limit_ratio=one.limit,
            alternatives=_alternatives(one.alternatives),
            draft_with_m=one.draft_with_m,
            draft_without_m=one.draft_without_m,
            trim_with_m=one.trim_with_m,
            trim_without_m=one.trim_without_m,
            heel_with_deg=one.heel_with_deg,
            heel_without_deg=one.heel_without_deg,
        )
        for one in found
    )


def cross_checks(found: Sequence[EngineCrossCheck], instruments: Sequence[Instrument]) -> tuple[CrossCheck, ...]:
    """Return the cross-checks as the answer has them."""
    return tuple(
        CrossCheck(
            name=one.name,
            value=one.value,
            limit=one.limit,
            unit=one.unit,
            agrees=one.agrees,
            message=one.message,
            instrument=None if one.instrument is None else instruments[one.instrument].id,
        )
        for one in found
    )


def roll_check(one: EngineRollCheck) -> RollCheck:
    """Return the roll period's GM as the answer has it."""
    return RollCheck(
        gm_m=one.gm_m,
        gm_standard_uncertainty_m=one.standard_uncertainty_m,
        deviation_ratio=one.deviation_ratio,
        agrees=one.agrees,
        applies=one.applies,
    )


def live_guidance(one: EngineGuidance, instruments: Sequence[Instrument]) -> LiveGuidance:
    """Return the guidance as the answer has it; ``instruments`` are those the guidance was asked for."""
    return LiveGuidance(
        readings_count=one.readings_count,
        moves_count=one.moves_count,
        cannot_say=one.cannot_say,
        coverage_percent=one.coverage_percent,
        stop=one.stop,
        reason=one.reason,
        straight=one.straight,
        gm_fluid_m=one.gm_fluid_m,
        gm_standard_uncertainty_m=one.gm_standard_uncertainty_m,
        gm_expanded_m=one.gm_expanded_m,
        slope_per_tm=one.slope_per_tm,
        slope_standard_uncertainty_per_tm=one.slope_standard_uncertainty_per_tm,
        next_moment_tm=one.next_moment_tm,
        expected=tuple(_expected(each, instruments[each.instrument]) for each in one.expected),
        basis=one.basis,
        pair_uncertainty_ratio=one.pair_uncertainty_ratio,
        pair_expanded_ratio=one.pair_expanded_ratio,
    )


def _expected(one: EngineExpected, instrument: Instrument) -> ExpectedReading:
    shown = (one.reading, one.reading_low, one.reading_high)
    angle = instrument.base_m is None
    metres, degrees = ((None, None, None), shown) if angle else (shown, (None, None, None))
    return ExpectedReading(
        instrument=instrument.id,
        tangent_ratio=one.tangent_ratio,
        low_ratio=one.low_ratio,
        high_ratio=one.high_ratio,
        reading_m=metres[0],
        reading_low_m=metres[1],
        reading_high_m=metres[2],
        reading_deg=degrees[0],
        reading_low_deg=degrees[1],
        reading_high_deg=degrees[2],
    )
