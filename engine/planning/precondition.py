"""One precondition of a test, and the rows of package data it comes from. Layer: engine.planning."""

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from importlib.resources import files
from typing import Any, Literal, get_args

from engine.planning.practice import Responsible
from engine.planning.who_brings import Need
from engine.rules import Check
from engine.rules.rule import Level, SourceStatus

Outcome = Literal["met", "not_met", "not_yet_known"]
DeviationState = Literal["accepted", "requested", "refused"]
Topic = Literal[
    "procedure",
    "tanks",
    "list",
    "trim",
    "deadweight",
    "weights",
    "moorings",
    "depth",
    "tide",
    "wind",
    "people",
    "drawings",
    "certificates",
    "equipment",
    "deviations",
]
TOPICS: tuple[Topic, ...] = get_args(Topic)
NO_DAY = date.min


@dataclass(frozen=True)
class Precondition:
    """What must hold before the test.

    Attributes
    ----------
    id : str
        Stable; for a rule "set/rule", for a certificate or a deviation its number in the request.
    topic : str
        What it is about.
    title : str
        In plain words.
    outcome : {"met", "not_met", "not_yet_known"}
        Not yet known where nobody has said.
    level : {"required", "advised"}
        Only what is required can block.
    clause, source, source_status
        Of the demand.
    responsible : str
        Who mends it.
    due, begin_by : date
        By when it must hold; by when mending must begin.
    blocks : bool
        Required, not met, and no deviation accepted.
    too_late : bool
        Open, and the day to begin is past.
    value, limit, upper_limit, unit
        Where a number is held against a limit.
    comparison : str
        "at_most", "at_least", "within"; "" without a number.
    deviation : str or None
        State of the deviation asked for.
    deviates_from : str or None
        Of a deviation's own row: the precondition.
    name : str or None
        The caller's name for a certificate.
    reason : str
        Why, with numbers; never a string of the request.
    """

    id: str
    topic: Topic
    title: str
    level: Level
    clause: str
    source: str
    source_status: SourceStatus
    responsible: Responsible
    due_working_days: int
    mend_working_days: int
    outcome: Outcome = "not_yet_known"
    due: date | None = None
    begin_by: date = NO_DAY
    blocks: bool = False
    too_late: bool = False
    value: float | None = None
    limit: float | None = None
    upper_limit: float | None = None
    unit: str = ""
    comparison: str = ""
    deviation: DeviationState | None = None
    deviates_from: str | None = None
    name: str | None = None
    reason: str = ""

    @property
    def topic_rank(self) -> int:
        """Its topic's place in the order of the list."""
        return TOPICS.index(self.topic)


@cache
def _data() -> Mapping[str, Any]:
    data: Mapping[str, Any] = json.loads(
        (files("engine.planning") / "readiness_items.json").read_text(encoding="utf-8")
    )
    return data


def statement_rows() -> dict[str, Precondition]:
    """Return the statements by id, nothing known of any."""
    return {row["id"]: Precondition(**row) for row in _data()["statements"]}


def computed_row(name: str) -> Precondition:
    """Return a row whose outcome is computed."""
    return next(Precondition(**row) for row in _data()["computed"] if row["id"] == name)


def rule_quantities() -> frozenset[str]:
    """Return the observed quantities whose rules are preconditions."""
    return frozenset(_data()["rules"])


def of_check(check: Check, test_date: date) -> Precondition:
    """Return a rule's check as a precondition; notice is due so many days before the test as the rule says."""
    outcomes: Mapping[str, Outcome] = {"met": "met", "not_met": "not_met", "not_assessed": "not_yet_known"}
    due = None
    if check.quantity == "procedure_notice_days" and check.limit is not None:
        due = test_date - timedelta(days=math.ceil(check.limit))
    return Precondition(
        id=f"{check.rule_set}/{check.rule}",
        title=check.title,
        level=check.level,
        clause=check.clause,
        source=check.source,
        source_status=check.source_status,
        outcome=outcomes[check.outcome],
        due=due,
        value=check.value,
        limit=check.limit,
        upper_limit=check.upper_limit,
        unit=check.unit,
        comparison=check.comparison,
        reason=" ".join(words for words in (check.reason, check.note) if words),
        **_data()["rules"][check.quantity],
    )


def of_need(need: Need) -> Precondition:
    """Return a thing or a person needed as a precondition: met when confirmed."""
    return Precondition(
        id=f"need-{need.id}",
        topic="people" if need.kind == "person" else "equipment",
        title=need.title,
        level=need.level,
        clause=need.clause,
        source=need.source,
        source_status=need.source_status,
        responsible=need.party,
        due_working_days=need.due_working_days,
        mend_working_days=need.mend_working_days,
        outcome="not_yet_known" if need.confirmed is None else "met" if need.confirmed else "not_met",
        reason="who brings it is still to be agreed" if need.party == "to_be_agreed" else "",
    )
