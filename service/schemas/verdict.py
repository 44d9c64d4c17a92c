"""Three plain statements with their evidence: never a bare pass. Layer: service.schemas."""

from collections.abc import Sequence
from typing import Literal

from engine.stability.verdict import COVERAGE
from service.edge.model import Model
from service.schemas.check import CheckAnswer
from service.schemas.common import NotDetermined
from service.schemas.comparison import ComparisonAnswerOf, NextTrigger, TriggerAnswer
from service.schemas.diagnosis import Diagnosis, SurveyDiagnosis
from service.schemas.loading_answer import ConditionAnswer, ConditionResult
from service.schemas.plain_words import all_of, count, every_of, in_words, look
from service.schemas.stability import CriterionAnswer, GoverningRule
from service.schemas.verdict_doubt import NO_DOUBT, Doubt
from service.schemas.verdict_terms import (
    ASKED_FOR,
    FROM_MEMORY,
    NOT_IN_A_RECORD,
    OUT_OF_RANGE,
    OUTSIDE_SHIP,
    SIGNS,
    STEPS,
)

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
    suspicions: Sequence[str],
    comparisons: Sequence[ComparisonAnswerOf],
    conditions: Sequence[ConditionResult],
    conditions_asked: bool,
    references_doubted: Sequence[str] = (),
    doubt: Doubt = NO_DOUBT,
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
    suspicions : sequence of str
        Entries of the record that look wrong.
    comparisons, conditions
        Empty where nothing was given to compare or to load, or where there is no lightship to do it with.
    conditions_asked : bool
        Whether loading conditions were given.
    references_doubted : sequence of str
        What looks wrong of the lightships stated: the test does not rest on them.
    doubt : Doubt
        Evidence of an error that no diagnosis has named: the test is then not called sound, and what rests on it is
        not known.
    """
    lightship = all(step != "lightship" for step, _ in undone)
    differs = _differs(comparisons, lightship=lightship)
    wrong = tuple(f"looks wrong: {one}" for one in references_doubted)
    differs = differs.model_copy(update={"evidence": wrong + differs.evidence})
    meets = _meets(conditions, asked=conditions_asked, lightship=lightship)
    return Verdict(
        test_is_sound=_sound(checks, faults, undone, suspicions, doubt),
        differs_from_approved=_in_doubt(differs, len(faults), len(suspicions) + len(references_doubted), doubt),
        conditions_meet_criteria=_in_doubt(meets, len(faults), len(suspicions), doubt),
    )


def _in_doubt(said: Statement, faults: int, suspicions: int, doubt: Doubt) -> Statement:
    """Return what was said as not known where the numbers it rests on are in doubt themselves."""
    if said.answer == "not_known" or not (faults or suspicions or doubt):
        return said
    why = [f"{count(faults, 'fault')} suspected in the test"] if faults else []
    why += [f"{count(suspicions, 'entry', verb=False)} of the record {look(suspicions)} wrong"] if suspicions else []
    why += doubt.reasons()
    words = f"Not known while {' and '.join(why)}. As computed: {said.statement}"
    return Statement(question=said.question, answer="not_known", statement=words, evidence=said.evidence)


def _sound(
    checks: Sequence[CheckAnswer],
    faults: Sequence[Diagnosis | SurveyDiagnosis],
    undone: Sequence[tuple[str, NotDetermined]],
    suspicions: Sequence[str],
    doubt: Doubt,
) -> Statement:
    required = [one for one in checks if one.level == "required" and one.quantity not in NOT_IN_A_RECORD]
    remembered = [one for one in required if FROM_MEMORY in one.source and one.outcome == "not_met"]
    broken = [one for one in required if one.outcome == "not_met" and one not in remembered]
    open_ = [one for one in required if one.outcome == "not_assessed"]
    met = sum(one.outcome == "met" for one in required)
    elsewhere = [one for one in checks if one.level == "required" and one.quantity in NOT_IN_A_RECORD]
    evidence = [
        f"{STEPS.get(step, in_words(step))} is not determined: {one.findings[0].message}" for step, one in undone
    ]
    evidence += [f"suspected: {in_words(one.cause)}: {one.evidence}; {one.action}" for one in faults]
    evidence += [f"not met: {_observed(one)}" for one in broken]
    evidence += [f"not met by a rule from memory, look up its text: {_observed(one)}" for one in remembered]
    evidence += [f"looks wrong: {one}" for one in suspicions]
    evidence += doubt.evidence()
    evidence += [f"not assessed: {_observed(one)}" for one in open_]
    evidence += [f"not part of a record, to be shown otherwise: {_observed(one)}" for one in elsewhere]
    advised = [one for one in checks if one.level == "advised" and one.outcome == "not_met"]
    evidence += [f"advised, not met: {_observed(one)}" for one in advised]
    evidence += [f"{count(met, 'required check')} met"] if met else []
    if undone or faults or broken or suspicions:
        found = [
            (
                suspicions,
                "1 entry of the record looks wrong"
                if len(suspicions) == 1
                else f"{len(suspicions)} entries of it look wrong",
            ),
            (broken, f"{count(len(broken), 'required check')} not met"),
            (faults, f"{count(len(faults), 'fault')} suspected"),
            (undone, f"{count(len(undone), 'step')} not determined"),
        ]
        answer: Answer = "no"
        words = f"In question: {', '.join([*(told for ones, told in found if ones), *doubt.reasons()])}."
    elif doubt:
        answer, words = "not_known", doubt.statement()
    elif remembered:
        answer = "not_known"
        words = (
            f"Sound by the rules whose text was read: {count(met, 'required check')} met; "
            f"{count(len(remembered), 'rule', verb=False)} from memory "
            f"{'is' if len(remembered) == 1 else 'are'} not met: look up the text."
        )
    elif not met:
        answer, words = "not_known", "Not known: no required check could be assessed; the readings show no fault."
    elif open_:
        answer = "not_known"
        words = (
            f"Sound as far as it can be judged: {count(met, 'required check')} met, {len(open_)} not assessed, and "
            "the readings show no fault."
        )
    else:
        answer = "yes"
        words = f"Sound: {all_of(met, 'required check')} met, and the readings show no fault."
    return Statement(question="Is the test itself sound?", answer=answer, statement=words, evidence=tuple(evidence))


def _differs(comparisons: Sequence[ComparisonAnswerOf], *, lightship: bool) -> Statement:
    question = "Does the lightship differ from what was approved?"
    judged = [one for one in comparisons if one.against != "predicted"]  # a prediction is no approval
    rows = [row for one in judged for row in one.rows if row.outcome != "not_assessed"]
    evidence = tuple(line for one in judged for line in _deviating(one))
    if not rows:
        why = "no approved or sister lightship was given"
        if not lightship:
            why = "the lightship is not determined"
        elif judged:
            why = "no trigger could be assessed"
        return Statement(question=question, answer="not_known", statement=f"Not known: {why}.", evidence=evidence)
    exceeded = [row for row in rows if row.outcome == "exceeded"]
    near = sum(row.certainty == "within_uncertainty" for row in exceeded or rows)
    if not exceeded:
        words = f"No: {all_of(len(rows), 'trigger')} assessed and none is exceeded"
        of_which = "its limit" if near == 1 else "their limits"
        words += f", but {count(near, 'deviation')} within the test's uncertainty of {of_which}." if near else "."
        return Statement(question=question, answer="no", statement=words, evidence=evidence)
    most = max((row.action for row in exceeded), key=list(ASKED_FOR).index)
    words = f"Yes: {count(len(exceeded), 'trigger')} exceeded"
    if near:
        which = "" if len(exceeded) == 1 else "all of them " if near == len(exceeded) else f"{near} of them "
        words += f", {which}within the test's uncertainty"
    words += f"; what is asked for is {ASKED_FOR[most]}."
    return Statement(question=question, answer="yes", statement=words, evidence=evidence)


def _deviating(one: ComparisonAnswerOf) -> list[str]:
    off = one.deviation
    centre = f"LCG {off.x_m:+.3f} m" + ("" if off.z_m is None else f", VCG {off.z_m:+.3f} m")
    lines = [f"against the {one.against}: mass {off.mass_t:+.2f} t ({off.mass_percent:+.2f} %), {centre}"]
    for row in one.rows:
        unsure = row.certainty == "within_uncertainty"
        if row.outcome == "exceeded":
            lines.append(f"exceeded{', within the uncertainty' if unsure else ''}: {_trigger(row)}")
        elif row.outcome == "not_assessed":
            lines.append(f"not assessed: {_trigger(row)}" + (f": {row.reason}" if row.reason else ""))
        elif unsure:
            lines.append(f"not exceeded, but within the uncertainty: {_trigger(row)}")
    if one.next_trigger is not None:
        after = one.next_trigger
        lines.append(
            f"{after.allowance_t:.2f} t may still change before {ASKED_FOR[after.action]} is asked for "
            f"{_cited(after, one.rows)[1]}"
        )
    return lines


def _trigger(row: TriggerAnswer) -> str:
    numbers = "" if row.value is None or row.limit is None else f" {row.value:.3g} %, limit {row.limit:.3g} %"
    return f"{row.title}{numbers} [{row.clause}; {row.source}]"


def _meets(conditions: Sequence[ConditionResult], *, asked: bool, lightship: bool) -> Statement:
    question = "Does every loading condition meet every criterion?"
    if not conditions:
        why = "no loading condition was given"
        if asked:
            why = "the loading conditions were not computed" if lightship else "the lightship is not determined"
        return Statement(question=question, answer="not_known", statement=f"Not known: {why}.", evidence=())
    evidence = tuple(f"{one.name}: {_condition(one)}" for one in conditions)
    open_ = sum(one.outcome in ("not_assessed", "not_determined") or bool(_doubt(one)) for one in conditions)
    failed = sum(one.outcome == "not_met" and not _doubt(one) for one in conditions)
    near = sum(isinstance(one, ConditionAnswer) and one.outcome == "met" and _near(one) for one in conditions)
    every = f"in {every_of(len(conditions))}"
    if failed:
        answer: Answer = "no"
        words = (
            f"Not met {every}."
            if failed == len(conditions)
            else f"Not met in {failed} of {len(conditions)} conditions."
        )
        words += f" {open_} could not be judged in full." if open_ else ""
    elif open_:
        answer = "not_known"
        words = f"Not known: {open_} of {count(len(conditions), 'condition', verb=False)} could not be judged in full."
    else:
        answer = "yes"
        words = f"Met {every}"
        words += f", but in {near} of them within the test's uncertainty" if 0 < near < len(conditions) else ""
        words += ", but within the test's uncertainty" if near == len(conditions) else ""
        words += f"; {_least(conditions)}."
    return Statement(question=question, answer=answer, statement=words, evidence=evidence)


def _least(conditions: Sequence[ConditionResult]) -> str:
    """Return the least margin of VCG of conditions that are all met."""
    known = [one for one in conditions if isinstance(one, ConditionAnswer) and one.vcg_margin_m is not None]
    if not known:
        return "no criterion limits VCG"
    least = min(known, key=lambda one: one.vcg_margin_m or 0.0)
    return f"the least margin of VCG is {_margin(least)} ({least.name})"


def _condition(one: ConditionResult) -> str:
    if not isinstance(one, ConditionAnswer):
        return f"not determined: {one.findings[0].message}"
    limit = ""
    if one.governing is not None and one.vcg_limit_m is not None:
        title, cited = _cited(one.governing, one.criteria)
        limit = f" (limit of VCG {one.vcg_limit_m:.3f} m by {title} {cited})"
    required = [row for row in one.criteria if row.level == "required"]
    if doubt := _doubt(one):
        return f"not known: {in_words(one.outcome)} as computed, but {doubt}"
    if one.outcome == "met":
        if one.vcg_margin_m is None:
            return f"met, without a limit of VCG; nearest to its limit: {_nearest(required)}"
        unknown = "" if one.vcg_margin_standard_uncertainty_m is not None else ", its uncertainty not known"
        margin = f": {_margin(one)}" if _near(one) else ""
        return f"{one.statement}{margin}{unknown}{limit}"
    told = [_observed(row) for row in required if row.outcome == one.outcome]
    if one.outcome == "not_assessed":
        met = sum(row.outcome == "met" for row in required)
        return f"not assessed: {'; '.join(told)}; {met} of {count(len(required), 'criterion', verb=False)} met"
    if one.vcg_margin_m is not None and one.vcg_margin_m < 0:
        return f"not met: VCG is too high by {_margin(one)}{limit}: {'; '.join(told)}"
    return f"not met: {'; '.join(told)}"


def _doubt(one: ConditionResult) -> str:
    """Return why a condition is not known though it was computed: its items, or a formula beyond its range."""
    if outside := [found.message for found in one.findings if found.code == OUTSIDE_SHIP]:
        return "; ".join(outside)
    beyond = [found.message for found in one.findings if found.code == OUT_OF_RANGE and one.outcome == "met"]
    return f"a formula is beyond its range: {'; '.join(beyond)}" if beyond else ""


def _nearest(criteria: Sequence[CriterionAnswer]) -> str:
    """Return the criterion with the least margin for the size of its limit."""
    known = [row for row in criteria if row.margin is not None]
    if not known:
        return "no criterion has a margin"
    row = min(known, key=lambda row: (row.margin or 0.0) / (abs(row.limit or 0.0) or 1.0))
    return f"{row.title}: {row.statement} [{row.clause}; {row.source}]"


def _near(one: ConditionAnswer) -> bool:
    u = one.vcg_margin_standard_uncertainty_m
    return one.vcg_margin_m is not None and u is not None and one.vcg_margin_m < COVERAGE * u


def _margin(one: ConditionAnswer) -> str:
    """Return the size of the margin of VCG, in metres and in standard uncertainties."""
    size, u = abs(one.vcg_margin_m or 0.0), one.vcg_margin_standard_uncertainty_m
    words = f"{size:#.2g}".rstrip(".") + " m"
    if u is None:
        return f"{words}, its uncertainty not known"
    if not u:
        return words
    ratio = size / u
    return (
        f"{words}, {ratio:.0f} standard uncertainties" if ratio >= 3 else f"{words}, {ratio:.1f} standard uncertainties"
    )


def _observed(check: CheckAnswer) -> str:
    """Return what a check is about, what was found and what is asked, with its clause."""
    unit = "" if check.unit == "1" else f" {check.unit}"
    told = [] if check.value is None else [f"{check.value:.4g}{unit}"]
    if check.limit is not None:
        upper = "" if check.upper_limit is None else f" to {check.upper_limit:.4g}"
        told.append(f"{SIGNS[check.comparison]} {check.limit:.4g}{upper}{unit} asked for")
    reason = f": {check.reason}" if check.reason else ""
    return f"{check.title}{': ' if told else ''}{', '.join(told)} [{check.clause}; {check.source}]{reason}"


def _cited(named: NextTrigger | GoverningRule, rows: Sequence[TriggerAnswer | CriterionAnswer]) -> tuple[str, str]:
    """Return the title of a rule, and its clause and source in brackets, by the row it is one of."""
    for row in rows:
        if (row.rule_set, row.rule) == (named.rule_set, named.rule):
            return row.title, f"[{row.clause}; {row.source}]"
    return in_words(named.rule), f"[{named.clause}; {in_words(named.rule_set)}]"
