"""What one rule set asks for, and what would change it. Layer: engine.lightship."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from engine.lightship.trigger_rows import TriggerRow
from engine.lightship.triggers import Action, Decision, Deviating
from engine.rules.rule import SourceStatus

RANK: dict[Action | Decision, int] = {"neither": 0, "amended_information": 0, "survey_only": 1, "full_test": 2}
DECISIONS: tuple[Decision, ...] = ("neither", "survey_only", "full_test")

ClauseOutcome = Literal["applies", "does_not_apply", "not_due", "not_assessed", "authority_may_allow"]
Stage = Literal["anticipated", "found", "awaited"]

WORDS: dict[Deviating, str] = {
    "mass_percent": "deviation of displacement",
    "lcg_over_length_bp_percent": "deviation of LCG over the length between perpendiculars",
    "lcg_over_load_line_length_percent": "deviation of LCG over the load-line length",
    "vcg_percent": "deviation of VCG",
    "aggregate_percent": "aggregate weight change",
}


@dataclass(frozen=True)
class ClauseRow:
    """A clause without a deviation: what it asks for, and whether it applies."""

    rule_set: str
    rule: str
    title: str
    clause: str
    source: str
    source_status: SourceStatus
    decision: Decision
    outcome: ClauseOutcome
    reason: str = ""
    note: str = ""


@dataclass(frozen=True)
class Staged:
    """A trigger by the weight calculation ("anticipated"), by the survey ("found"), or waiting for one ("awaited")."""

    stage: Stage
    row: TriggerRow


@dataclass(frozen=True)
class Change:
    """What would change a set's decision, and to what."""

    rule_set: str
    rule: str
    clause: str
    decision: Decision
    condition: str
    allowance_t: float | None = None


@dataclass(frozen=True)
class SetDecision:
    """What one rule set asks for.

    Attributes
    ----------
    decision : str or None
        None where the set speaks of the case but what it depends on is not given.
    amended_information : bool
        Whether it asks for amended stability information.
    reasons : tuple of str
        The clauses that decide.
    """

    rule_set: str
    decision: Decision | None
    amended_information: bool
    reasons: tuple[str, ...]


def decide(rule_set: str, clauses: Sequence[ClauseRow], rows: Sequence[Staged]) -> SetDecision:
    """Return the strictest of what applies and what is exceeded; the assumed VCG of 170.200 lowers it."""
    asked: list[tuple[Decision, str]] = []
    for clause in clauses:
        if clause.outcome == "applies" and not _lowers(clause):
            asked.append((clause.decision, f"{clause.clause}: {clause.title}"))
        elif clause.outcome == "not_due":
            asked.append(("neither", f"{clause.clause}: {clause.reason}"))
    exceeded = [one for one in rows if one.row.outcome == "exceeded"]
    asked += [(DECISIONS[RANK[one.row.action]], _words(one)) for one in exceeded]
    if not asked:
        return SetDecision(rule_set, None, False, tuple(one.reason for one in clauses if one.reason))
    highest = max((decision for decision, _ in asked), key=RANK.__getitem__)
    lowering = [clause for clause in clauses if _lowers(clause) and RANK[clause.decision] < RANK[highest]]
    reasons = tuple(words for decision, words in asked if decision == highest)
    if lowering:
        highest, reasons = lowering[0].decision, tuple(f"{one.clause}: {one.title}" for one in lowering)
    amended = any(one.row.action == "amended_information" for one in exceeded)
    return SetDecision(rule_set, highest, amended, reasons)


def _lowers(clause: ClauseRow) -> bool:
    """Whether it is the assumed VCG of 170.200, which makes a test unnecessary."""
    return clause.rule == "assumed-vcg" and clause.outcome == "applies"


def changes(decided: SetDecision, clauses: Sequence[ClauseRow], rows: Sequence[Staged]) -> list[Change]:
    """Return what would raise or lower a set's decision."""
    now = RANK[decided.decision] if decided.decision is not None else -1
    found = []
    for one in clauses:
        other = RANK[one.decision] != now
        if one.outcome == "authority_may_allow" and other:
            words = "the authority allows it"
        elif one.outcome == "not_due" and RANK[one.decision] > now:
            words = f"the interval runs out ({one.reason})"
        elif one.outcome == "not_assessed" and other:
            words = f"it applies ({one.reason})"
        else:
            continue
        found.append(Change(decided.rule_set, one.rule, one.clause, one.decision, words))
    for staged in rows:
        row, to = staged.row, DECISIONS[RANK[staged.row.action]]
        if row.limit is None or row.outcome == "exceeded" or RANK[to] <= now:
            continue
        size = "" if row.limit_t is None else f" or {row.limit_t:.6g} t"
        size = size if row.limit_m is None else f" or {row.limit_m:.6g} m"
        words = f"{staged.stage} {WORDS[row.quantity]} above {row.limit:.6g} %{size}"
        found.append(Change(decided.rule_set, row.rule, row.clause, to, words, row.allowance_t))
    raised = [one for one in rows if one.row.outcome == "exceeded" and RANK[one.row.action] == now > 0]
    return found + _lowering(decided, clauses, rows, raised)


def _lowering(
    decided: SetDecision, clauses: Sequence[ClauseRow], rows: Sequence[Staged], raised: Sequence[Staged]
) -> list[Change]:
    """Return what the set would ask for were the triggers that decide within their limits."""
    if not raised:
        return []
    without = decide(decided.rule_set, clauses, [one for one in rows if one not in raised])
    if without.decision is None or without.decision == decided.decision:
        return []
    words = "every trigger that decides now comes within its limit"
    return [Change(decided.rule_set, one.row.rule, one.row.clause, without.decision, words) for one in raised]


def _words(staged: Staged) -> str:
    row = staged.row
    return f"{row.clause}: {staged.stage} {WORDS[row.quantity]} {row.value:.6g} % against {row.limit:.6g} %"
