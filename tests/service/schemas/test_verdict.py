"""The three statements, each branch in the words of the trade; the numbers are made up here and come back as given."""

import pytest

from service.schemas.check import CheckAnswer
from service.schemas.common import Finding, NotDetermined
from service.schemas.comparison import ComparisonAnswerOf, DeviationAnswer, NextTrigger, TriggerAnswer
from service.schemas.diagnosis import SurveyDiagnosis
from service.schemas.loading_answer import ArmColumns, ConditionAnswer, ConditionNotDetermined
from service.schemas.stability import CriterionAnswer, GoverningRule
from service.schemas.verdict import verdict

CHECK = {
    "rule_set": "imo-2008-is-code",
    "rule": "heel",
    "title": "Heel to each side",
    "clause": "B/8.2.2.8",
    "source": "2008 IS Code",
    "level": "required",
    "quantity": "heel_deg",
    "comparison": "at_least",
    "value": 1.5,
    "limit": 1.0,
    "unit": "deg",
    "outcome": "met",
}
FAULT = SurveyDiagnosis(
    cause="height-misread",
    trace="one-height",
    members=("height-misread",),
    is_fault=True,
    evidence="freeboard 3 is 0.05 m off the plane of the others",
    action="read it again",
    separate="",
    heights=(3,),
    items=(),
    alternatives=(),
)
UNDONE = ("incline", NotDetermined(findings=(Finding(code="moments-equal", message="all moments are equal"),)))
NO_LIGHTSHIP = ("lightship", NotDetermined(findings=(Finding(code="moments-equal", message="all moments are equal"),)))


def check(**change):
    return CheckAnswer(**{**CHECK, **change})


BROKEN = check(outcome="not_met", value=0.8)
OPEN = check(outcome="not_assessed", value=None, reason="no pendulum was read")


def stated(**given):
    nothing = {"checks": [check()], "faults": [], "undone": [], "suspicions": [], "comparisons": [], "conditions": []}
    return verdict(**{**nothing, "conditions_asked": bool(given.get("conditions")), **given})


@pytest.mark.parametrize(
    ("given", "answer", "words"),
    [
        ({}, "yes", "Sound: the 1 required check is met, and the readings show no fault."),
        ({"checks": [check()] * 2}, "yes", "Sound: all 2 required checks are met, and the readings show no fault."),
        (
            {"checks": [check(), check(outcome="not_met", value=0.8, source="a standard (from memory)")]},
            "not_known",
            "Sound by the rules whose text was read: 1 required check is met; 1 rule from memory is not met: "
            "look up the text.",
        ),
        (
            {"checks": [check(), check(outcome="not_assessed", value=None, quantity="procedure_notice_days")]},
            "yes",
            "Sound: the 1 required check is met, and the readings show no fault.",
        ),
        (
            {"suspicions": ["weights/0 lies 3 m outside the ship"]},
            "no",
            "In question: 1 entry of the record looks wrong.",
        ),
        ({"suspicions": ["a", "b"]}, "no", "In question: 2 entries of it look wrong."),
        (
            {"checks": [check(), OPEN]},
            "not_known",
            "Sound as far as it can be judged: 1 required check is met, 1 not assessed, and "
            "the readings show no fault.",
        ),
        ({"checks": []}, "not_known", "Not known: no required check could be assessed; the readings show no fault."),
        (
            {"checks": [check(level="advised")]},
            "not_known",
            "Not known: no required check could be assessed; the readings show no fault.",
        ),
        ({"checks": [check(), BROKEN]}, "no", "In question: 1 required check is not met."),
        ({"checks": [BROKEN] * 2}, "no", "In question: 2 required checks are not met."),
        ({"faults": [FAULT]}, "no", "In question: 1 fault is suspected."),
        (
            {"checks": [BROKEN], "faults": [FAULT] * 2, "undone": [UNDONE]},
            "no",
            "In question: 1 required check is not met, 2 faults are suspected, 1 step is not determined.",
        ),
    ],
)
def test_is_the_test_sound(given, answer, words):
    found = stated(**given).test_is_sound
    assert (found.answer, found.statement) == (answer, words)


def test_evidence_of_the_test():
    advised = check(level="advised", outcome="not_met", value=0.8)
    given = {"checks": [check(), BROKEN, OPEN, advised], "faults": [FAULT], "undone": [UNDONE]}
    assert stated(**given).test_is_sound.evidence == (
        "GM is not determined: all moments are equal",
        "suspected: height misread: freeboard 3 is 0.05 m off the plane of the others; read it again",
        "not met: Heel to each side: 0.8 deg, at least 1 deg asked for [B/8.2.2.8; 2008 IS Code]",
        "not assessed: Heel to each side: at least 1 deg asked for [B/8.2.2.8; 2008 IS Code]: no pendulum was read",
        "advised, not met: Heel to each side: 0.8 deg, at least 1 deg asked for [B/8.2.2.8; 2008 IS Code]",
        "1 required check is met",
    )
    between = check(comparison="within", limit=0.2, upper_limit=0.8, unit="1", value=0.9, outcome="not_met")
    (line, _) = stated(checks=[check(), between]).test_is_sound.evidence
    assert line == "not met: Heel to each side: 0.9, from 0.2 to 0.8 asked for [B/8.2.2.8; 2008 IS Code]"


def trigger(**change):
    facts = {
        "rule_set": "solas-ii-1-5",
        "rule": "mass",
        "title": "Lightship displacement",
        "against": "approved",
        "clause": "II-1/5.5",
        "source": "SOLAS",
        "source_status": "published",
        "quantity": "mass",
        "value": 1.0,
        "limit": 2.0,
        "outcome": "within",
        "action": "full_test",
        "certainty": "beyond_uncertainty",
    }
    return TriggerAnswer(**{**facts, **change})


def against(reference, *rows, next_trigger=None):
    off = DeviationAnswer(mass_t=-12.3, mass_percent=-1.0, x_m=0.1234, x_over_length_bp_percent=0.2, z_m=-0.05)
    rows = tuple(row.model_copy(update={"against": reference}) for row in rows)
    return ComparisonAnswerOf(against=reference, deviation=off, rows=rows, next_trigger=next_trigger)


OVER = trigger(value=2.5, outcome="exceeded")
NEAR_OVER = trigger(value=2.1, outcome="exceeded", certainty="within_uncertainty", action="survey_only")
NEAR_UNDER = trigger(value=1.9, certainty="within_uncertainty")
NO_LENGTH = trigger(outcome="not_assessed", value=None, limit=None, certainty=None, reason="no load-line length given")


@pytest.mark.parametrize(
    ("comparisons", "answer", "words"),
    [
        ([], "not_known", "Not known: no approved or sister lightship was given."),
        ([against("predicted", OVER)], "not_known", "Not known: no approved or sister lightship was given."),
        ([against("approved", NO_LENGTH)], "not_known", "Not known: no trigger could be assessed."),
        ([against("approved", trigger())], "no", "No: the 1 trigger is assessed and none is exceeded."),
        ([against("sister", *[trigger()] * 3)], "no", "No: all 3 triggers are assessed and none is exceeded."),
        (
            [against("approved", trigger()), against("predicted", OVER, OVER)],
            "no",
            "No: the 1 trigger is assessed and none is exceeded.",
        ),
        (
            [against("approved", trigger(), NEAR_UNDER)],
            "no",
            "No: all 2 triggers are assessed and none is exceeded, but 1 deviation is within the test's uncertainty of "
            "its limit.",
        ),
        (
            [against("approved", NEAR_UNDER, NEAR_UNDER)],
            "no",
            "No: all 2 triggers are assessed and none is exceeded, but 2 deviations are within the test's uncertainty "
            "of their limits.",
        ),
        (
            [against("approved", trigger(), OVER)],
            "yes",
            "Yes: 1 trigger is exceeded; what is asked for is a full stability test.",
        ),
        (
            [against("approved", NEAR_OVER)],
            "yes",
            "Yes: 1 trigger is exceeded, within the test's uncertainty; what is asked for is a lightweight survey.",
        ),
        (
            [against("approved", OVER), against("sister", NEAR_OVER)],
            "yes",
            "Yes: 2 triggers are exceeded, 1 of them within the test's uncertainty; what is asked for is a full "
            "stability test.",
        ),
        (
            [against("approved", NEAR_OVER, NEAR_OVER)],
            "yes",
            "Yes: 2 triggers are exceeded, all of them within the test's uncertainty; what is asked for is a "
            "lightweight survey.",
        ),
    ],
)
def test_does_the_lightship_differ(comparisons, answer, words):
    found = stated(comparisons=comparisons).differs_from_approved
    assert (found.answer, found.statement) == (answer, words)
    assert not any("predicted" in line for line in found.evidence)


def test_without_a_lightship_nothing_is_compared_or_loaded():
    found = stated(undone=[UNDONE, NO_LIGHTSHIP], conditions_asked=True)
    for one in (found.differs_from_approved, found.conditions_meet_criteria):
        assert (one.answer, one.statement) == ("not_known", "Not known: the lightship is not determined.")


def test_evidence_of_the_comparison():
    left = NextTrigger(
        rule_set="uscg-mtn-04-95", rule="mass", clause="table", action="survey_only", allowance_t=12.3456
    )
    lines = stated(
        comparisons=[against("approved", trigger(), OVER, NEAR_OVER, NEAR_UNDER, NO_LENGTH, next_trigger=left)]
    ).differs_from_approved.evidence
    assert lines == (
        "against the approved: mass -12.30 t (-1.00 %), LCG +0.123 m, VCG -0.050 m",
        "exceeded: Lightship displacement 2.5 %, limit 2 % [II-1/5.5; SOLAS]",
        "exceeded, within the uncertainty: Lightship displacement 2.1 %, limit 2 % [II-1/5.5; SOLAS]",
        "not exceeded, but within the uncertainty: Lightship displacement 1.9 %, limit 2 % [II-1/5.5; SOLAS]",
        "not assessed: Lightship displacement [II-1/5.5; SOLAS]: no load-line length given",
        "12.35 t may still change before a lightweight survey is asked for [table; uscg mtn 04 95]",
    )


def criterion(**change):
    facts = {"rule": "gm", "title": "GM", "clause": "A/2.2.4", "value": 0.5, "limit": 0.15, "unit": "m"}
    more = {"side": "starboard", "margin": 0.35, "statement": "met, 0.35 m, 20 standard uncertainties"}
    return CriterionAnswer(**{**CHECK, **facts, **more, **change})


def condition(**change):
    facts = {
        "name": "departure",
        "outcome": "met",
        "statement": "met, 0.12 m, 9 standard uncertainties",
        "displacement_t": 1200.0,
        "heel_deg": 0.0,
        "lcg_m": 28.0,
        "tcg_m": 0.0,
        "vcg_m": 5.0,
        "vcg_fluid_m": 5.0,
        "gm_solid_m": 0.5,
        "gm_fluid_m": 0.5,
        "free_surface_moment_tm": 0.0,
        "free_surfaces": (),
        "vcg_limit_m": 5.12,
        "vcg_margin_m": 0.12,
        "vcg_margin_standard_uncertainty_m": 0.0133,
        "governing": GoverningRule(rule_set="imo-2008-is-code", rule="gm", clause="A/2.2.4", side="starboard"),
        "criteria": (criterion(),),
        "righting_arms": ArmColumns(heel_deg=(0.0,), righting_arm_m=(0.0,), area_m_rad=(0.0,)),
        "loads": (),
        "findings": (),
        "limit_findings": (),
    }
    return ConditionAnswer(**{**facts, **change})


LIMIT = " (limit of VCG 5.120 m by GM [A/2.2.4; 2008 IS Code])"
NEAR = condition(
    name="arrival",
    vcg_margin_m=0.02,
    vcg_limit_m=5.02,
    statement="met, but within the test's uncertainty",
)
LOW_GM = criterion(outcome="not_met", value=0.1, margin=-0.05, statement="not met")
FAILED = condition(name="ballast", outcome="not_met", statement="not met", vcg_margin_m=-0.05, criteria=(LOW_GM,))
UNSAID = criterion(rule="area", title="Area", outcome="not_assessed", value=None, margin=None, reason="no openings")
UNJUDGED = condition(outcome="not_assessed", statement="not assessed", criteria=(criterion(), UNSAID))
SUNK = ConditionNotDetermined(
    name="deep", outcome="not_determined", findings=(Finding(code="sinks", message="she sinks"),)
)
UNCERTAIN = condition(statement="met, 0.12 m", vcg_margin_standard_uncertainty_m=None)
NO_LIMIT = condition(
    statement="met",
    vcg_limit_m=None,
    vcg_margin_m=None,
    vcg_margin_standard_uncertainty_m=None,
    governing=None,
)


@pytest.mark.parametrize(
    ("conditions", "answer", "words"),
    [
        ([], "not_known", "Not known: no loading condition was given."),
        (
            [condition()],
            "yes",
            "Met in the one condition given; the least margin of VCG is 0.12 m, 9 standard uncertainties (departure).",
        ),
        (
            [condition(), condition(name="b", vcg_margin_m=0.03)],
            "yes",
            "Met in all 2 conditions; the least margin of VCG is 0.030 m, 2.3 standard uncertainties (b).",
        ),
        (
            [condition(), NEAR],
            "yes",
            "Met in all 2 conditions, but in 1 of them within the test's uncertainty; the least margin of VCG is "
            "0.020 m, 1.5 standard uncertainties (arrival).",
        ),
        (
            [NEAR],
            "yes",
            "Met in the one condition given, but within the test's uncertainty; the least margin of VCG is 0.020 m, "
            "1.5 standard uncertainties (arrival).",
        ),
        (
            [UNCERTAIN],
            "yes",
            "Met in the one condition given; the least margin of VCG is 0.12 m, its uncertainty not known (departure).",
        ),
        ([NO_LIMIT], "yes", "Met in the one condition given; no criterion limits VCG."),
        ([FAILED], "no", "Not met in the one condition given."),
        ([condition(), FAILED], "no", "Not met in 1 of 2 conditions."),
        ([SUNK, FAILED], "no", "Not met in 1 of 2 conditions. 1 could not be judged in full."),
        ([UNJUDGED], "not_known", "Not known: 1 of 1 condition could not be judged in full."),
        ([condition(), SUNK], "not_known", "Not known: 1 of 2 conditions could not be judged in full."),
    ],
)
def test_do_the_conditions_meet_the_criteria(conditions, answer, words):
    found = stated(conditions=conditions).conditions_meet_criteria
    assert (found.answer, found.statement) == (answer, words)
    assert len(found.evidence) == len(conditions)


@pytest.mark.parametrize(
    ("one", "line"),
    [
        (condition(), "departure: met, 0.12 m, 9 standard uncertainties" + LIMIT),
        (
            NEAR,
            "arrival: met, but within the test's uncertainty: 0.020 m, 1.5 standard uncertainties"
            + LIMIT.replace("5.12", "5.02"),
        ),
        (UNCERTAIN, "departure: met, 0.12 m, its uncertainty not known" + LIMIT),
        (
            NO_LIMIT,
            "departure: met, without a limit of VCG; nearest to its limit: GM: met, 0.35 m, 20 standard uncertainties "
            "[A/2.2.4; 2008 IS Code]",
        ),
        (
            FAILED,
            f"ballast: not met: VCG is too high by 0.050 m, 4 standard uncertainties{LIMIT}: GM: 0.1 m, at least "
            "0.15 m asked for [A/2.2.4; 2008 IS Code]",
        ),
        (
            FAILED.model_copy(update={"vcg_margin_m": None, "vcg_limit_m": None}),
            "ballast: not met: GM: 0.1 m, at least 0.15 m asked for [A/2.2.4; 2008 IS Code]",
        ),
        (
            UNJUDGED,
            "departure: not assessed: Area: at least 0.15 m asked for [A/2.2.4; 2008 IS Code]: no openings; "
            "1 of 2 criteria met",
        ),
        (SUNK, "deep: not determined: she sinks"),
    ],
)
def test_evidence_of_a_condition(one, line):
    assert stated(conditions=[one]).conditions_meet_criteria.evidence == (line,)


def test_of_two_criteria_the_one_nearest_to_its_limit_is_told():
    wide, narrow = criterion(title="wide", margin=0.3, limit=0.1), criterion(title="narrow", margin=0.3, limit=10.0)
    (line,) = stated(
        conditions=[NO_LIMIT.model_copy(update={"criteria": (wide, narrow)})]
    ).conditions_meet_criteria.evidence
    assert "nearest to its limit: narrow" in line


@pytest.mark.parametrize(
    ("doubt", "why"),
    [
        ({"faults": [FAULT]}, "1 fault is suspected in the test"),
        ({"suspicions": ["weights/0 lies 3 m outside the ship"]}, "1 entry of the record looks wrong"),
        (
            {"faults": [FAULT, FAULT], "suspicions": ["a", "b"]},
            "2 faults are suspected in the test and 2 entries of the record look wrong",
        ),
    ],
)
def test_what_rests_on_doubtful_numbers_is_not_known(doubt, why):
    compared, loaded = [against("approved", NEAR_OVER, NEAR_OVER)], [condition()]
    sound, found = (stated(comparisons=compared, conditions=loaded, **given) for given in ({}, doubt))
    for name in ("differs_from_approved", "conditions_meet_criteria"):
        said, doubted = getattr(sound, name), getattr(found, name)
        assert said.answer == "yes"
        assert doubted.answer == "not_known"
        assert doubted.statement == f"Not known while {why}. As computed: {said.statement}"
        assert doubted.evidence == said.evidence
    assert found.test_is_sound.answer == "no"


def test_what_is_not_known_for_its_own_reason_stays_so():
    found = stated(faults=[FAULT])
    assert found.conditions_meet_criteria.statement == "Not known: no loading condition was given."
