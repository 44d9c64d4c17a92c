"""The smallest set of weights that reaches a standard uncertainty of VCG. Layer: engine.planning.

Sets are tried lightest first, four groups before two before one, each at the longest arms the limits of heel allow,
because the uncertainty falls with the moment.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from engine.checks import positive
from engine.deadline import checkpoint
from engine.planning.deck import Deck, Stock
from engine.planning.expected import expected_budget
from engine.planning.expected_rows import Spread
from engine.planning.instruments import Needs, Place, choose_instruments
from engine.planning.predicted import PlannedShip, predict
from engine.planning.stations import Station
from engine.planning.weights import SCHEMES, TRIAL_LIMIT, Candidate, HeelRange, WeightSet, candidates, fitted, floated
from engine.uncertainty import Budget

VCG = 3
"""Rank of the lightship's VCG among the budget's results."""


@dataclass(frozen=True, eq=False)
class Optimum:
    """What was found.

    Attributes
    ----------
    chosen : WeightSet
        The smallest set that reaches the target; where none does, the one with the least uncertainty.
    budget : Budget
        Its expected budget.
    reached : bool
        Whether the target is reached.
    tried_count : int
        Sets floated.
    """

    chosen: WeightSet
    budget: Budget
    reached: bool
    tried_count: int

    @property
    def vcg_standard_uncertainty_m(self) -> float:
        """Of the lightship's VCG. [m]"""
        return self.budget.outputs[VCG].standard_uncertainty


def optimise(
    ship: PlannedShip,
    *,
    stock: Sequence[Stock],
    deck: Deck,
    heel: HeelRange,
    places: Sequence[Place],
    needs: Needs,
    stations: Sequence[Station],
    spread: Spread,
    vcg_standard_uncertainty_m: float,
) -> Optimum | None:
    """Find the smallest set that reaches a standard uncertainty of the lightship's VCG; None where none keeps the heel.

    Raises
    ------
    InputError
        "not-positive": the target; else as ``expected_budget``.
    """
    target = positive(vcg_standard_uncertainty_m, field="vcg_standard_uncertainty_m", unit="m")
    bare = predict(ship)
    best: tuple[WeightSet, Budget] | None = None
    tried = 0
    for groups in SCHEMES:
        for candidate in _thinned(list(candidates(stock, deck, groups=groups))):
            checkpoint()
            chosen = floated(ship, candidate.groups, bare=bare)
            if chosen is not None and max(chosen.expected.sides_ratio) > heel.high_ratio:
                chosen = fitted(ship, candidate, bare=bare, aim_ratio=0.98 * heel.high_ratio)
            if chosen is None:
                continue
            sides = chosen.expected.sides_ratio
            if min(sides) < heel.low_ratio or max(sides) > heel.high_ratio:
                continue
            tried += 1
            instruments = choose_instruments(places, sides_ratio=sides, needs=needs)
            budget = expected_budget(ship, chosen, instruments=instruments, stations=stations, spread=spread)
            if budget.outputs[VCG].standard_uncertainty <= target:
                return Optimum(chosen, budget, True, tried)
            if best is None or budget.outputs[VCG].standard_uncertainty < best[1].outputs[VCG].standard_uncertainty:
                best = chosen, budget
    return None if best is None else Optimum(*best, reached=False, tried_count=tried)


def _thinned(every: list[Candidate]) -> list[Candidate]:
    """Return at most ``TRIAL_LIMIT`` of them, evenly, first and last included."""
    if len(every) <= TRIAL_LIMIT:
        return every
    return [every[round(i * (len(every) - 1) / (TRIAL_LIMIT - 1))] for i in range(TRIAL_LIMIT)]
