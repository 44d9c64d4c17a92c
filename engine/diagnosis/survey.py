"""What went wrong in the survey: among its heights, and against the prediction. Layer: engine.diagnosis."""

from collections.abc import Sequence

from engine.diagnosis.survey_causes import SurveyDiagnosis
from engine.diagnosis.survey_displacement import Aboard, Loaded, diagnose_displacement
from engine.diagnosis.survey_heights import COMMON_FREEBOARD_M, diagnose_heights
from engine.survey.waterline import Heights


def diagnose_survey(
    *,
    heights: Heights,
    length_bp_m: float,
    surveyed: Loaded | None = None,
    predicted: Loaded | None = None,
    items: Sequence[Aboard] = (),
    test_weights: Aboard | None = None,
    immersion_t_per_cm: float | None = None,
    lcf_m: float | None = None,
    keel_plate_m: float | None = None,
    common_standard_uncertainty_m: float = COMMON_FREEBOARD_M,
    false_alarm_probability: float = 0.03,
) -> tuple[SurveyDiagnosis, ...]:
    """Name what is wrong in a survey, heights first.

    Parameters
    ----------
    heights, length_bp_m, keel_plate_m, common_standard_uncertainty_m
        See ``survey_heights.diagnose_heights``.
    surveyed, predicted, items, test_weights, immersion_t_per_cm, lcf_m
        See ``survey_displacement.diagnose_displacement``; left out where either displacement is.
    false_alarm_probability : float
        Of the two searches together; each gets half where both are made.
    """
    both = surveyed is not None and predicted is not None
    rate = false_alarm_probability / 2 if both else false_alarm_probability
    found = diagnose_heights(
        heights=heights,
        length_bp_m=length_bp_m,
        keel_plate_m=keel_plate_m,
        common_standard_uncertainty_m=common_standard_uncertainty_m,
        false_alarm_probability=rate,
    )
    if surveyed is None or predicted is None:
        return found
    return found + diagnose_displacement(
        surveyed=surveyed,
        predicted=predicted,
        length_bp_m=length_bp_m,
        items=items,
        test_weights=test_weights,
        immersion_t_per_cm=immersion_t_per_cm,
        lcf_m=lcf_m,
        keel_plate_m=keel_plate_m,
        false_alarm_probability=rate,
    )
