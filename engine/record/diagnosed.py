"""Diagnosis, cross-checks and live guidance of a solved record. Layer: engine.record."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from engine.checks import Floats
from engine.diagnosis import cross_checks
from engine.diagnosis.cross_checks import CrossCheck, Height
from engine.diagnosis.incline import MOST_ENTRIES, diagnose
from engine.diagnosis.live import Guidance, guidance
from engine.diagnosis.result import Diagnosis
from engine.diagnosis.survey import diagnose_survey
from engine.diagnosis.survey_causes import SurveyDiagnosis
from engine.diagnosis.survey_displacement import Aboard, Loaded
from engine.errors import LimitError
from engine.findings import Finding
from engine.incline.instruments import heel_tangents
from engine.incline.moments import Plateaus
from engine.incline.regression import Regression
from engine.lightship.particulars import Lightship
from engine.record.budget import Uncertainty, reading_uncertainty_ratio
from engine.record.record import Parts, Record
from engine.record.solve import Solution, entries
from engine.survey.ledger import Item

LEAST_READING_RATIO = 1e-7
"""A reading stated as exact is judged as if it were known to this tangent: less is round-off."""
PREDICTED_MASS_PERCENT, PREDICTED_LCG_PERCENT, PREDICTED_VCG_PERCENT = 1.0, 0.5, 1.0
"""Standard uncertainties of a predicted lightship that states none: of its mass, of the length, of its VCG (our choice;
1 % of VCG is where SOLAS II-1/5 begins to ask)."""


def reading_uncertainty_by_instrument(parts: Parts, tangents: Floats) -> Floats:
    """Return (p,) the largest standard uncertainty of a tangent that each instrument states or is assumed to have."""
    spread = reading_uncertainty_ratio(parts, tangents)
    known = np.isfinite(spread)
    return np.asarray(np.maximum(np.where(known, spread, 0.0).max(axis=1), LEAST_READING_RATIO))


def incline_diagnoses(record: Record, solution: Solution) -> tuple[Diagnosis, ...]:
    """Return what the readings show to be wrong, against the fitted hull where there is one.

    An incline that gives no GM is looked at too: reversed instruments are found so. Nothing where she was not floated
    or the table of readings is larger than the search takes.
    """
    if solution.surveyed is None:
        return ()
    inclined = solution.inclined
    at = solution.surveyed.afloat if inclined is None else inclined.by_method["regression"].afloat
    tangents = heel_tangents(record.instruments, heel_at_zero_deg=at.heel_deg, reading_count=record.reading_count)
    fit = None if inclined is None else inclined.fit
    return diagnoses_alone(
        record,
        solution.plateaus,
        tangents,
        displacement_t=at.displacement_t,
        stiffening_m=0.0 if inclined is None else at.bm_transverse_m - at.free_surface_correction_m,
        predicted_tangent_ratio=None if fit is None else fit.tangent_ratio,
        regression=None if inclined is None else inclined.regression,
    )


def diagnoses_alone(
    parts: Parts,
    moved: Plateaus,
    tangents: Floats,
    *,
    displacement_t: float,
    stiffening_m: float = 0.0,
    predicted_tangent_ratio: Floats | None = None,
    regression: Regression | None = None,
) -> tuple[Diagnosis, ...]:
    """Return what the readings show to be wrong, nothing where their table is larger than the search takes."""
    try:
        return diagnose(
            moment_tm=moved.moment_tm,
            tangents=list(tangents),
            reading_standard_uncertainty_ratio=reading_uncertainty_by_instrument(parts, tangents),
            weights=parts.weights,
            moves=parts.moves,
            instruments=parts.instruments,
            predicted_tangent_ratio=predicted_tangent_ratio,
            stiffening_m=stiffening_m,
            displacement_t=displacement_t,
            regression=regression,
        )
    except LimitError:
        return ()


def diagnosis_left_out(parts: Parts) -> Iterator[Finding]:
    """Yield a finding where there are more readings than the diagnosis takes."""
    count = len(parts.instruments) * parts.reading_count
    if count > MOST_ENTRIES:
        yield Finding("diagnosis-left-out", f"{count} readings are more than the {MOST_ENTRIES} a diagnosis is made of")


def live_guidance(
    parts: Parts,
    moved: Plateaus,
    tangents: Floats,
    *,
    displacement_t: float,
    stiffening_m: float = 0.0,
    diagnoses: tuple[Diagnosis, ...] = (),
    regression: Regression | None = None,
) -> Guidance:
    """Return what a test still running shows, and what to expect of the next reading."""
    return guidance(
        moment_tm=moved.moment_tm,
        tangents=list(tangents),
        displacement_t=displacement_t,
        stiffening_m=stiffening_m,
        reading_standard_uncertainty_ratio=reading_uncertainty_by_instrument(parts, tangents),
        instruments=parts.instruments,
        diagnoses=diagnoses,
        regression=regression,
    )


def predicted_as_inclined(record: Record, solution: Solution, predicted: Lightship) -> Loaded | None:
    """Return what a predicted lightship makes of the ship as inclined: everything between the two put back."""
    if solution.surveyed is None or solution.inclined is None:
        return None
    plane = solution.inclined.at_zero.afloat.plane
    between = entries(record, solution.surveyed.liquids, normal=plane.normals[0])
    mass = predicted.mass_t - sum(one.mass_t for one in between)
    moment = predicted.mass_t * predicted.x_m - sum(one.mass_t * float(one.centre_m[0]) for one in between)
    known = predicted.spread
    of_mass = None if known is None else known.mass_t
    of_lcg = None if known is None else known.x_m
    return Loaded(
        mass_t=mass,
        lcg_m=moment / mass,
        mass_standard_uncertainty_t=of_mass or predicted.mass_t * PREDICTED_MASS_PERCENT / 100,
        lcg_standard_uncertainty_m=of_lcg or record.length_bp_m * PREDICTED_LCG_PERCENT / 100,
    )


def _surveyed(solution: Solution, spread: Uncertainty | None) -> Loaded | None:
    if solution.inclined is None or spread is None:
        return None
    at = solution.inclined.at_zero
    u = spread.standard_uncertainty
    return Loaded(at.afloat.displacement_t, float(at.centre_m[0]), u["displacement_t"], u["x_m"])


def _derived_vcg(solution: Solution, spread: Uncertainty | None) -> Height | None:
    if solution.derivation is None or spread is None:
        return None
    return Height(float(solution.derivation.lightship.centre_m[2]), spread.standard_uncertainty["z_m"])


def _predicted_vcg(predicted: Lightship) -> Height | None:
    if predicted.z_m is None:
        return None
    stated = None if predicted.spread is None else predicted.spread.z_m
    return Height(predicted.z_m, stated or abs(predicted.z_m) * PREDICTED_VCG_PERCENT / 100)


def survey_diagnoses(
    record: Record, solution: Solution, spread: Uncertainty | None, predicted: Lightship | None
) -> tuple[SurveyDiagnosis, ...]:
    """Return what the heights, and the displacement against a prediction, show to be wrong."""
    if solution.surveyed is None:
        return ()
    at = solution.surveyed.afloat.hydrostatics
    expected = None if predicted is None else predicted_as_inclined(record, solution, predicted)
    immersion = float(at.immersion_t_per_cm[0])
    weights = list(record.weights.values())
    total = sum(one.mass_t for one in weights)
    test_weights = Aboard(total, sum(one.mass_t * float(one.centre_m[0]) for one in weights) / total)
    counted = [i for i, item in enumerate(record.items) if item.action != "relocate"]
    found = diagnose_survey(
        heights=record.heights,
        length_bp_m=record.length_bp_m,
        surveyed=_surveyed(solution, spread),
        predicted=expected,
        items=[_aboard(record.items[i]) for i in counted],
        test_weights=test_weights,
        immersion_t_per_cm=immersion if np.isfinite(immersion) else None,
        lcf_m=float(at.lcf_m[0]),
    )
    return tuple(replace(one, items=tuple(counted[k] for k in one.items)) for one in found)


def _aboard(item: Item) -> Aboard:
    return Aboard(-item.mass_t if item.action == "add" else item.mass_t, float(item.centre_m[0]))


def checks_across(
    record: Record, solution: Solution, spread: Uncertainty | None, predicted: Lightship | None
) -> tuple[CrossCheck, ...]:
    """Return one part of the record held against another."""
    found = cross_checks.marks_against_freeboards(heights=record.heights, length_bp_m=record.length_bp_m)
    expected = None if predicted is None else predicted_as_inclined(record, solution, predicted)
    surveyed = _surveyed(solution, spread)
    if expected is not None and surveyed is not None:
        found += cross_checks.surveyed_against_predicted(
            surveyed=surveyed,
            predicted=expected,
            derived=_derived_vcg(solution, spread),
            expected=None if predicted is None else _predicted_vcg(predicted),
        )
    if solution.inclined is not None:
        moment, inclined = solution.plateaus.moment_tm, solution.inclined
        found += cross_checks.instruments_against_each_other(moment_tm=moment, tangents=list(inclined.tangents))
        found += cross_checks.zeros(moment_tm=moment, residual_ratio=inclined.regression.residual_ratio)
    return found
