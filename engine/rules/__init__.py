"""Acceptance rules as data: parse a set, hold what was observed against it."""

from engine.rules.assess import assess
from engine.rules.observables import (
    NAMES_BY_SUBJECT,
    OBSERVABLE_BY_NAME,
    OBSERVABLES,
    OBSERVED_DECIMALS,
    TEST_OBSERVABLES,
)
from engine.rules.parse import built_in_sets, parse
from engine.rules.rule import Check, Observed, Requirement, Rule, RuleSet, Subject
from engine.rules.stability_observables import STABILITY_OBSERVABLES

__all__ = [
    "NAMES_BY_SUBJECT",
    "OBSERVABLES",
    "OBSERVABLE_BY_NAME",
    "OBSERVED_DECIMALS",
    "STABILITY_OBSERVABLES",
    "TEST_OBSERVABLES",
    "Check",
    "Observed",
    "Requirement",
    "Rule",
    "RuleSet",
    "Subject",
    "assess",
    "built_in_sets",
    "parse",
]
