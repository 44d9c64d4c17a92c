"""A rule, a set of rules, and the check that comes of a rule. Layer: engine.rules."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from engine.rules.observables import OBSERVABLE_BY_NAME

Comparison = Literal["at_least", "at_most", "within"]
SourceStatus = Literal["published", "from memory", "common practice, no source", "our choice"]
Level = Literal["required", "advised"]
Outcome = Literal["met", "not_met", "not_assessed"]
Subject = Literal["test", "stability"]
Observed = Mapping[str, float | None]


def known(observed: Observed, quantity: str) -> float | None:
    """Return the observed value, None where there is none or it is NaN; an infinity is a value."""
    value = observed.get(quantity)
    return None if value is None or math.isnan(value) else float(value)


@dataclass(frozen=True)
class Requirement:
    """A quantity against its limit; the limit itself passes.

    Attributes
    ----------
    quantity : str
        Name of an observed quantity.
    comparison : {"at_least", "at_most", "within"}
        ``within`` takes both ends.
    limit : float
        In the quantity's unit; the lower end of ``within``.
    upper_limit : float or None
        The upper end of ``within``, else None.
    limit_quantity : str or None
        Name of an observed quantity the limit moves with: it is then ``limit`` + ``limit_slope`` × its value.
    limit_slope : float
        In the unit of ``quantity`` per unit of ``limit_quantity``.
    """

    quantity: str
    comparison: Comparison
    limit: float
    upper_limit: float | None = None
    limit_quantity: str | None = None
    limit_slope: float = 1.0

    @property
    def unit(self) -> str:
        """The quantity's unit, "1" for counts and ratios."""
        return OBSERVABLE_BY_NAME[self.quantity].unit

    @property
    def quantities(self) -> tuple[str, ...]:
        """The observed quantities it takes to compare."""
        return (self.quantity,) if self.limit_quantity is None else (self.quantity, self.limit_quantity)

    def limit_at(self, observed: Observed) -> float | None:
        """Return the limit; None where it moves with a quantity that is not known."""
        if self.limit_quantity is None:
            return self.limit
        moves_with = known(observed, self.limit_quantity)
        return None if moves_with is None else self.limit + self.limit_slope * moves_with

    def margin(self, observed: Observed) -> float | None:
        """Return how far inside the limit the value is, negative outside; None where either is not known."""
        value, limit = known(observed, self.quantity), self.limit_at(observed)
        if value is None or limit is None:
            return None
        if self.comparison == "at_most":
            return limit - value if limit != value else 0.0
        inside = value - limit if limit != value else 0.0
        return inside if self.upper_limit is None else min(inside, self.upper_limit - value)

    def holds(self, observed: Observed) -> bool | None:
        """Compare exactly, in float64, without tolerance; None where the value or its limit is not known."""
        value, limit = known(observed, self.quantity), self.limit_at(observed)
        if value is None or limit is None:
            return None
        if self.comparison == "at_most":
            return value <= limit
        return value >= limit and (self.upper_limit is None or value <= self.upper_limit)


@dataclass(frozen=True)
class Rule:
    """One acceptance number with where it comes from.

    Attributes
    ----------
    id : str
        Kebab-case, unique in its set.
    title : str
        The rule in plain words.
    requirement : Requirement
        What must hold.
    clause, source : str
        Where in which text; ``source_status`` says how well that is known.
    source_status : str
        "published": the number was read in a copy of the text or in a summary named as such; "from memory";
        "common practice, no source"; "our choice".
    level : {"required", "advised"}
        "required" where the text says must or should, and for a number of ours without which what a text demands
        (a straight line, fair freeboards) or the answer itself (a positive GM) could not be judged; else "advised".
    applies_when : tuple of Requirement
        All must hold for the rule to apply.
    alternative : tuple of Requirement
        Where not empty: the rule is also met if all of these hold.
    note : str
        What else a reader must know, "" if nothing.
    """

    id: str
    title: str
    requirement: Requirement
    clause: str
    source: str
    source_status: SourceStatus
    level: Level
    applies_when: tuple[Requirement, ...] = ()
    alternative: tuple[Requirement, ...] = ()
    note: str = ""

    @property
    def cited_source(self) -> str:
        """The source with its status in brackets unless it is published, so that none can be quoted as better."""
        if self.source_status == "published" or self.source == self.source_status:
            return self.source
        return f"{self.source} ({self.source_status})"


@dataclass(frozen=True)
class RuleSet:
    """Rules under one name; ``version`` changes whenever a number, clause or word does.

    ``subject`` says what they judge: the stability test, or the stability of a ship in a loading condition.
    """

    name: str
    title: str
    version: str
    rules: tuple[Rule, ...]
    subject: Subject = "test"


@dataclass(frozen=True)
class Check:
    """What came of one rule.

    Attributes
    ----------
    rule_set, rule, title, clause, source, source_status, level
        Of the rule; ``source`` carries the status unless published.
    quantity, comparison, upper_limit, unit
        What was compared; ``upper_limit`` only for ``within``.
    limit : float or None
        What it was held against; None where it moves with a quantity that is not known or infinite.
    value : float or None
        As observed; None where it is not known or infinite.
    outcome : {"met", "not_met", "not_assessed"}
        The answer.
    reason : str
        Why not assessed, or that it is met by the clause's alternative; else "".
    note : str
        Of the rule.
    margin : float or None
        How far inside the limit, negative outside; in ``unit``. None where not known or infinite.
    """

    rule_set: str
    rule: str
    title: str
    clause: str
    source: str
    source_status: SourceStatus
    level: Level
    quantity: str
    comparison: Comparison
    limit: float | None
    upper_limit: float | None
    unit: str
    value: float | None
    outcome: Outcome
    reason: str = ""
    note: str = ""
    margin: float | None = None
