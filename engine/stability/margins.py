"""How far inside each limit a ship is, on the side where she fares worse. Layer: engine.stability.

Rules are asked one by one and a quantity is computed when a rule asks for it: a search that looks for one rule that
fails, or follows one alone, pays for no other.
"""

import math
from collections.abc import Mapping, Sequence

from engine.errors import InputError
from engine.rules import Observed, Rule, RuleSet
from engine.stability.observe import Observation

Key = tuple[str, str]
"""Names of a set and of a rule in it."""


def rules_of(rule_sets: Sequence[RuleSet]) -> dict[Key, Rule]:
    """Return the rules by their keys; refuse a set that judges tests.

    Raises
    ------
    InputError
        "rule-set-subject".
    """
    for position, rule_set in enumerate(rule_sets):
        if rule_set.subject != "stability":
            raise InputError(
                "the set judges stability tests, not stability", code="rule-set-subject", field=f"rules/{position}"
            )
    return {(rule_set.name, rule.id): rule for rule_set in rule_sets for rule in rule_set.rules}


def needed(rule_sets: Sequence[RuleSet]) -> tuple[str, ...]:
    """Return the names of the quantities the sets ask for; refuse a set that judges tests."""
    return tuple(
        dict.fromkeys(
            name
            for rule in rules_of(rule_sets).values()
            for needs in (rule.requirement, *rule.applies_when, *rule.alternative)
            for name in needs.quantities
        )
    )


class Margins:
    """The margins of some rules.

    Parameters
    ----------
    observed : sequence of Observed
        Of each side.
    rules : mapping of Key to Rule
        Which.
    """

    def __init__(self, observed: Sequence[Observed], rules: Mapping[Key, Rule]) -> None:
        self._observed, self._rules = observed, rules

    def of(self, key: Key) -> float | None:
        """Return the margin of one rule, None where it is not assessed or does not apply.

        Infinite where the rule holds or fails whatever the loading. A rule met by its alternative has the larger
        margin.
        """
        found = [_margin(self._rules[key], observed) for observed in self._observed]
        return min((margin for margin in found if margin is not None), default=None)

    def every(self) -> dict[Key, float]:
        """Return the margins that there are."""
        found = {key: self.of(key) for key in self._rules}
        return {key: margin for key, margin in found.items() if margin is not None}

    def worst(self) -> float:
        """Return the least, infinite where there is none."""
        return min(self.every().values(), default=math.inf)

    def undecided(self) -> bool:
        """Whether a rule does not hold so far, and what lies beyond the end of cross curves may make it hold."""
        return any(
            (rule.requirement.margin(observed) or 0.0) < 0 and _may_hold(rule, observed)
            for rule in self._rules.values()
            for observed in self._observed
        )

    def failing(self, first: Key | None = None) -> Key | None:
        """Return a rule that is not met, None if there is none; ``first`` is looked at before the others."""
        order = self._rules if first is None else dict.fromkeys((first, *self._rules))
        return next((key for key in order if (self.of(key) or 0.0) < 0), None)


def _margin(rule: Rule, observed: Observed) -> float | None:
    for needs in rule.applies_when:
        if needs.holds(observed) is not True:
            return None
    own = rule.requirement.margin(observed)
    if own is None or (own < 0 and _may_hold(rule, observed)):
        return None
    if not rule.alternative:
        return own
    others = [needs.margin(observed) for needs in rule.alternative]
    known = [margin for margin in others if margin is not None]
    return max(own, min(known)) if len(known) == len(others) else own


def _may_hold(rule: Rule, observed: Observed) -> bool:
    """Whether what lies beyond the end of cross curves may make a rule hold that does not so far."""
    if not isinstance(observed, Observation) or not observed.open_upwards:
        return False
    asked = {name: observed[name] for name in rule.requirement.quantities}
    return rule.requirement.holds({**asked, **observed.open_upwards}) is True
