"""The lightship with its uncertainty. Layer: service.schemas."""

from collections.abc import Sequence
from typing import Annotated, Literal

from engine.lightship.derivation import Derivation
from engine.record.solve import Solution
from engine.uncertainty import Budget
from service.edge.axes import X, Y
from service.edge.model import Model
from service.schemas.budget import (
    BudgetRow,
    BudgetSummary,
    Expanded,
    LightshipSpread,
    expanded,
    rows,
    spread,
    summaries,
)
from service.schemas.ledger_table import LedgerLine, lines


class MassAndCentre(Model):
    """A mass and its centre."""

    mass_t: float
    x_m: Annotated[float, X]
    y_m: Annotated[float, Y]
    z_m: float


class ByMethod(Model):
    """The lightship by each way of finding GM."""

    geometric: MassAndCentre | None = None
    regression: MassAndCentre | None = None


class LightshipAnswer(MassAndCentre):
    """The lightship."""

    method: Literal["geometric", "regression"]
    standard_uncertainty: LightshipSpread | None = None
    """Left out, with a finding, where it could not be determined."""
    expanded: Expanded | None = None
    by_method: ByMethod
    budget: tuple[BudgetRow, ...] = ()
    budget_summary: tuple[BudgetSummary, ...] = ()
    table: tuple[LedgerLine, ...]
    """Line by line from the ship as inclined."""


def mass_and_centre(derivation: Derivation) -> MassAndCentre:
    """Return a derived lightship's mass and centre."""
    x, y, z = derivation.lightship.centre_m.tolist()
    return MassAndCentre(mass_t=derivation.lightship.mass_t, x_m=x, y_m=y, z_m=z)


def lightship_answer(
    solution: Solution,
    budget: Budget | None,
    *,
    items: Sequence[str],
    weights: Sequence[str],
    tanks: Sequence[str],
) -> LightshipAnswer:
    """Return the lightship of a solved record as the answer has it."""
    assert solution.inclined is not None
    assert solution.derivation is not None
    return LightshipAnswer(
        method=solution.inclined.method,
        **dict(mass_and_centre(solution.derivation)),
        standard_uncertainty=None if budget is None else spread(budget),
        expanded=None if budget is None else expanded(budget),
        by_method=ByMethod(**{name: mass_and_centre(one) for name, one in solution.derivations.items()}),
        budget=() if budget is None else rows(budget),
        budget_summary=() if budget is None else summaries(budget),
        table=lines(solution.derivation.entries, items=items, weights=weights, tanks=tanks),
    )
