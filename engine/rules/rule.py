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
    """

    quantity: str
    comparison: Comparison
    limit: float
    upper_limit: float | None = None

    @property
    def unit(self) -> str:
        """The quantity's unit, "1" for counts and ratios."""
        return OBSERVABLE_BY_NAME[self.quantity].unit

    def holds(self, observed: Observed) -> bool | None:
        """Compare exactly, in float64, without tolerance; None where the value is not known."""
        value = known(observed, self.quantity)
        if value is None:
            return None
        if self.comparison == "at_most":
            return value <= self.limit
        return value >= self.limit and (self.upper_limit is None or value <= self.upper_limit)


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
    """Rules under one name; ``version`` changes whenever a number, clause or word does."""

    name: str
    title: str
    version: str
    rules: tuple[Rule, ...]


@dataclass(frozen=True)
class Check:
    """What came of one rule.

    Attributes
    ----------
    rule_set, rule, title, clause, source, source_status, level
        Of the rule; ``source`` carries the status unless published.
    quantity, comparison, limit, upper_limit, unit
        What was compared; ``upper_limit`` only for ``within``.
    value : float or None
        As observed; None where it is not known or infinite.
    outcome : {"met", "not_met", "not_assessed"}
        The answer.
    reason : str
        Why not assessed, or that it is met by the clause's alternative; else "".
    note : str
        Of the rule.
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
    limit: float
    upper_limit: float | None
    unit: str
    value: float | None
    outcome: Outcome
    reason: str = ""
    note: str = ""
