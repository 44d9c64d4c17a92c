"""Acceptance rules as data: parse a set, hold what was observed against it."""

from engine.rules.assess import assess
from engine.rules.observables import OBSERVABLE_BY_NAME, OBSERVABLES, OBSERVED_DECIMALS
from engine.rules.parse import built_in_sets, parse
from engine.rules.rule import Check, Observed, Requirement, Rule, RuleSet

__all__ = [
    "OBSERVABLES",
    "OBSERVABLE_BY_NAME",
    "OBSERVED_DECIMALS",
    "Check",
    "Observed",
    "Requirement",
    "Rule",
    "RuleSet",
    "assess",
    "built_in_sets",
    "parse",
]
