"""Standard uncertainties, expanded ones, and where they come from. Layer: service.schemas."""

from engine.uncertainty import Budget
from service.edge.model import Model


class LightshipSpread(Model):
    """Standard uncertainties of the lightship."""

    mass_t: float
    x_m: float
    y_m: float
    z_m: float


class Expanded(LightshipSpread):
    """Expanded uncertainties: half-widths of the interval that covers the stated share."""

    coverage_percent: float


class BudgetRow(Model):
    """One kind of error in one result."""

    result: str
    """Which result: `mass_t`, `x_m`, `y_m`, `z_m`, `displacement_t` or `gm_fluid_m`."""
    name: str
    """The kind of input."""
    value: float
    """Standard uncertainty it alone gives the result."""
    unit: str
    share_percent: float
    """Of the result's variance."""
    source_count: int
    """Uncertain inputs of the kind."""
    largest: str
    """Place in the record of the largest of them, or the group it is common to."""


class BudgetSummary(Model):
    """What a result's uncertainty amounts to, what dominates it and what would halve it."""

    result: str
    standard_uncertainty: float
    expanded_uncertainty: float
    unit: str
    coverage_factor_ratio: float
    degrees_of_freedom_count: float | None = None
    """Effective (Welch-Satterthwaite); left out where unlimited."""
    dominating: str | None = None
    """The source with the largest share; left out where nothing is uncertain."""
    halved_by: tuple[str, ...] = ()
    """The fewest sources that can halve it, largest first."""
    halving_factor_ratio: float | None = None
    """By which each of those must be made smaller."""


class BudgetAnswer(Model):
    """The uncertainty of a lightship and of GM by the whole chain."""

    standard_uncertainty: LightshipSpread
    expanded: Expanded
    gm_standard_uncertainty_m: float
    budget: tuple[BudgetRow, ...]
    budget_summary: tuple[BudgetSummary, ...]


def budget_answer(budget: Budget) -> BudgetAnswer:
    """Return a whole budget as an answer has it."""
    gm = next(one.standard_uncertainty for one in budget.outputs if one.name == "gm_fluid_m")
    return BudgetAnswer(
        standard_uncertainty=spread(budget),
        expanded=expanded(budget),
        gm_standard_uncertainty_m=gm,
        budget=rows(budget),
        budget_summary=summaries(budget),
    )


def spread(budget: Budget) -> LightshipSpread:
    """Return the lightship's standard uncertainties."""
    by_name = {one.name: one.standard_uncertainty for one in budget.outputs}
    return LightshipSpread(**{name: by_name[name] for name in LightshipSpread.model_fields})


def expanded(budget: Budget) -> Expanded:
    """Return the lightship's expanded uncertainties."""
    by_name = {one.name: one.expanded_uncertainty for one in budget.outputs}
    return Expanded(
        coverage_percent=budget.outputs[0].coverage_percent,
        **{name: by_name[name] for name in LightshipSpread.model_fields},
    )


def rows(budget: Budget) -> tuple[BudgetRow, ...]:
    """Return the rows of every result by kind of input, largest share first."""
    return tuple(
        BudgetRow(
            result=output.name,
            name=row.name,
            value=row.value,
            unit=row.unit,
            share_percent=row.share_percent,
            source_count=row.input_count,
            largest=row.largest,
        )
        for output in budget.outputs
        for row in output.by_category.rows
    )


def summaries(budget: Budget) -> tuple[BudgetSummary, ...]:
    """Return one summary a result."""
    return tuple(
        BudgetSummary(
            result=one.name,
            standard_uncertainty=one.standard_uncertainty,
            expanded_uncertainty=one.expanded_uncertainty,
            unit=one.unit,
            coverage_factor_ratio=one.coverage_factor,
            degrees_of_freedom_count=one.degrees_of_freedom if one.degrees_of_freedom < 1e6 else None,
            dominating=None if one.dominating is None else one.dominating.name,
            halved_by=() if one.what_would_halve_it is None else one.what_would_halve_it.names,
            halving_factor_ratio=None if one.what_would_halve_it is None else one.what_would_halve_it.factor_ratio,
        )
        for one in (output.by_category for output in budget.outputs)
    )
