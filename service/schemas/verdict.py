"""Three plain statements with their evidence: never a bare pass. Layer: service.schemas."""

from collections.abc import Sequence
from typing import Literal

from service.edge.model import Model
from service.schemas.check import CheckAnswer
from service.schemas.common import NotDetermined
from service.schemas.comparison import ComparisonAnswerOf
from service.schemas.diagnosis import Diagnosis, SurveyDiagnosis
from service.schemas.loading_answer import ConditionNotDetermined, ConditionResult

Answer = Literal["yes", "no", "not_known"]


class Statement(Model):
    """One question, its answer, and what the answer rests on."""

    question: str
    answer: Answer
    statement: str
    evidence: tuple[str, ...]
    """What speaks for it and against it, one line each."""


class Verdict(Model):
    """What can be said on the day. Preliminary: see the cautions."""

    test_is_sound: Statement
    differs_from_approved: Statement
    conditions_meet_criteria: Statement


def verdict(
    *,
    checks: Sequence[CheckAnswer],
    faults: Sequence[Diagnosis | SurveyDiagnosis],
    undone: Sequence[tuple[str, NotDetermined]],
    comparisons: Sequence[ComparisonAnswerOf],
    conditions: Sequence[ConditionResult],
    conditions_asked: bool,
) -> Verdict:
    """Return the three statements.

    Parameters
    ----------
    checks : sequence of CheckAnswer
        Of the test.
    faults : sequence of diagnoses
        Those that are faults.
    undone : sequence of (step, NotDetermined)
        Steps that could not be done.
    comparisons, conditions
        Empty where nothing was given to compare or to load.
    conditions_asked : bool
        Whether loading conditions were given.
    """
    return Verdict(
        test_is_sound=_sound(checks, faults, undone),
        differs_from_approved=_differs(comparisons),
        conditions_meet_criteria=_meets(conditions, asked=conditions_asked),
    )


def _sound(
    checks: Sequence[CheckAnswer],
    faults: Sequence[Diagnosis | SurveyDiagnosis],
    undone: Sequence[tuple[str, NotDetermined]],
) -> Statement:
    required = [one for one in checks if one.level == "required"]
    broken = [one for one in required if one.outcome == "not_met"]
    open_ = [one for one in required if one.outcome == "not_assessed"]
    evidence = [f"{step} is not determined: {one.findings[0].message}" for step, one in undone]
    evidence += [f"{one.cause}: {one.evidence}" for one in faults]
    evidence += [f"not met: {one.title} [{one.clause}, {one.rule_set}]" for one in broken]
    evidence += [f"not assessed: {one.title} [{one.clause}, {one.rule_set}]" for one in open_]
    met = sum(one.outcome == "met" for one in required)
    answer: Answer = "no" if undone or faults or broken else "not_known" if open_ else "yes"
    words = {
        "yes": f"Sound: all {met} required checks are met and the readings show no fault.",
        "not_known": f"Sound as far as it can be judged: {met} required checks are met, {len(open_)} not assessed, "
        "and the readings show no fault.",
        "no": f"Not without question: {len(broken)} required checks are not met, {len(faults)} faults are suspected, "
        f"{len(undone)} steps are not determined.",
    }
    return Statement(
        question="Is the test itself sound?", answer=answer, statement=words[answer], evidence=tuple(evidence)
    )


def _differs(comparisons: Sequence[ComparisonAnswerOf]) -> Statement:
    question = "Does the lightship differ from what was approved?"
    judged = [one for one in comparisons if one.against != "predicted"]
    if not judged:
        return Statement(
            question=question,
            answer="not_known",
            statement="Not known: no approved or sister lightship was given.",
            evidence=(),
        )
    evidence, exceeded, doubtful = [], 0, 0
    for one in judged:
        off = one.deviation
        evidence.append(
            f"against the {one.against}: mass {off.mass_t:+.2f} t ({off.mass_percent:+.2f} %), "
            f"LCG {off.x_m:+.3f} m" + ("" if off.z_m is None else f", VCG {off.z_m:+.3f} m")
        )
        for row in one.rows:
            if row.outcome == "exceeded":
                exceeded += 1
                doubtful += row.certainty == "within_uncertainty"
                sure = ", within its uncertainty" if row.certainty == "within_uncertainty" else ""
                evidence.append(
                    f"exceeded{sure}: {row.title} [{row.clause}, {row.rule_set}]: {row.action.replace('_', ' ')}"
                )
    if not exceeded:
        return Statement(
            question=question,
            answer="no",
            statement="No trigger is exceeded: the deviations stay within every limit assessed.",
            evidence=tuple(evidence),
        )
    firm = f"{exceeded} triggers are exceeded"
    words = firm + (f", {doubtful} of them within the test's own uncertainty." if doubtful else ".")
    return Statement(question=question, answer="yes", statement=words, evidence=tuple(evidence))


def _meets(conditions: Sequence[ConditionResult], *, asked: bool) -> Statement:
    question = "Does every loading condition meet every criterion?"
    if not conditions:
        why = "no loading conditions were given" if not asked else "the lightship is not determined"
        return Statement(question=question, answer="not_known", statement=f"Not known: {why}.", evidence=())
    evidence = tuple(
        f"{one.name}: {one.findings[0].message if one.outcome == 'not_determined' else one.statement}"
        for one in conditions
    )
    outcomes = [one.outcome for one in conditions]
    failed = outcomes.count("not_met")
    open_ = outcomes.count("not_assessed") + outcomes.count("not_determined")
    near = sum("within the test's uncertainty" in one for one in evidence)
    if failed:
        words = f"Not met in {failed} of {len(conditions)} conditions."
    elif open_:
        words = f"Not known: {open_} of {len(conditions)} conditions could not be judged in full."
    elif near:
        words = f"Met in all {len(conditions)} conditions, but in {near} of them within the test's uncertainty."
    else:
        words = f"Met in all {len(conditions)} conditions, each by the margin stated."
    answer: Answer = "no" if failed else "not_known" if open_ else "yes"
    return Statement(question=question, answer=answer, statement=words, evidence=evidence)


def _words(one: ConditionResult) -> str:
    return one.findings[0].message if isinstance(one, ConditionNotDetermined) else one.statement
