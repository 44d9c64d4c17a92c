"""The greatest rise that meets all: margins given as functions of the rise (closed forms)."""

import math

import pytest

from engine.errors import NotDeterminedError
from engine.rules import Requirement, Rule
from engine.stability.limit_search import around, last_met
from engine.stability.margins import Margins

NAMES = ("gm_fluid_m", "gz_maximum_m", "gz_area_to_30_m_rad")
RULES = {
    ("house", name): Rule(name, name, Requirement(name, "at_least", 0.0), "1", "House", "our choice", "required")
    for name in NAMES
}


def at(*functions):
    """Margins by rise of as many rules as there are functions."""

    def margins(rise):
        values = {name: function(rise) for name, function in zip(NAMES, functions, strict=False)}
        return Margins([values], {key: RULES[key] for key in RULES if key[1] in values})

    return margins


@pytest.mark.parametrize(
    ("functions", "root"),
    [
        ([lambda x: 0.3 - x], 0.3),
        ([lambda x: 2.0 - math.exp(x)], math.log(2.0)),
        ([lambda x: 0.8 - x, lambda x: 0.3 - x**3], 0.3 ** (1 / 3)),
        # at 1 the first fails by most, at its root 0.5 the second fails, at the root of that, 0.4, the third: 0.25
        ([lambda x: 10 * (0.5 - x), lambda x: 0.4 - x, lambda x: 0.1 * (0.25 - x)], 0.25),
        ([lambda x: 1.0 if x < 0.37 else -2.0], 0.37),  # it jumps
        ([lambda x: math.inf if x < 0.37 else 0.6 - x], 0.6),
        ([lambda x: None if x < 0.37 else 0.6 - x], 0.6),  # not assessed low down: it fails nothing there
    ],
)
def test_the_last_rise_that_meets_all(functions, root):
    found = last_met(at(*functions), 0.0, 1.0)
    assert found == pytest.approx(root, abs=1e-12)
    assert at(*functions)(found).failing() is None


def test_ends_are_widened_until_they_hold_the_root():
    for root in (-3.0, -1e-9, 0.0, 2e-9, 0.7):
        low, high = around(at(lambda x, root=root: root - x), 1e-9)
        assert low <= root < high


def test_a_limit_that_is_nowhere_near():
    with pytest.raises(NotDeterminedError, match="the limit is lost between two computations"):
        around(at(lambda _: 1.0), 1e-3)
