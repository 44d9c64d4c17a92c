"""The uncertainty expected of a plan. Layer: service.schemas."""

from typing import Literal

from engine.planning.optimise import Optimum
from engine.uncertainty import Budget
from service.edge.model import Model

ResultName = Literal["gm_fluid_m", "as_inclined_vcg_m", "lightship_mass_t", "lightship_vcg_m"]
SHARE_LIMIT_PERCENT = 1e-6
"""Rows below this share of the variance are left out."""


class ResultValues(Model):
    """One number for each result."""

    gm_fluid_m: float
    as_inclined_vcg_m: float
    lightship_mass_t: float
    lightship_vcg_m: float


class ExpectedRow(Model):
    """One source of error in one result: the error of the result if the source errs by one standard uncertainty."""

    result: ResultName
    source: str
    """Its place in the plan: instruments, tanks and items by number, in the order of the plan."""
    category: str
    value: float
    unit: str
    share_percent: float
    """Of the result's variance."""


class HalvingAnswer(Model):
    """What would halve a standard uncertainty: these sources, each divided by the factor."""

    result: ResultName
    sources: tuple[str, ...]
    factor_ratio: float


class ExpectedUncertainty(Model):
    """The uncertainty expected, to first order from planned values."""

    method: Literal["first_order"] = "first_order"
    standard_uncertainty: ResultValues
    expanded: ResultValues
    coverage_percent: float
    dominating: tuple[ExpectedRow, ...]
    """The largest source of each result."""
    halving: tuple[HalvingAnswer, ...]
    budget: tuple[ExpectedRow, ...]


class OptimumAnswer(Model):
    """The smallest set of weights that reaches the target, or the one that comes nearest."""

    reached: bool
    mass_t: float
    vcg_standard_uncertainty_m: float
    """Of the lightship."""
    group_count: int
    group_mass_t: float
    """Of the heaviest group."""
    pieces_t: tuple[tuple[float, ...], ...]
    """Mass of each piece, group by group."""
    arm_m: tuple[float, ...]
    starboard_heel_deg: float
    port_heel_deg: float
    sets_tried_count: int


def uncertainty_answer(budget: Budget) -> ExpectedUncertainty:
    """Return the budget as the answer has it."""
    rows = [
        ExpectedRow.model_validate(
            {
                "result": one.name,
                "source": row.name,
                "category": row.category,
                "value": row.value + 0.0,
                "unit": row.unit,
                "share_percent": row.share_percent,
            }
        )
        for one in budget.outputs
        for row in one.rows
        if row.share_percent > SHARE_LIMIT_PERCENT
    ]
    seen: set[str] = set()
    dominating = [row for row in rows if not (row.result in seen or seen.add(row.result))]  # type: ignore[func-returns-value]
    return ExpectedUncertainty(
        standard_uncertainty=ResultValues(**{one.name: one.standard_uncertainty for one in budget.outputs}),
        expanded=ResultValues(**{one.name: one.expanded_uncertainty for one in budget.outputs}),
        coverage_percent=budget.outputs[0].coverage_percent,
        dominating=tuple(dominating),
        halving=tuple(
            HalvingAnswer.model_validate(
                {
                    "result": one.name,
                    "sources": one.what_would_halve_it.names,
                    "factor_ratio": one.what_would_halve_it.factor_ratio,
                }
            )
            for one in budget.outputs
            if one.what_would_halve_it is not None
        ),
        budget=tuple(rows),
    )


def optimum_answer(found: Optimum) -> OptimumAnswer:
    """Return the optimum as the answer has it."""
    groups = found.chosen.groups
    starboard, port = found.chosen.expected.sides_deg
    return OptimumAnswer(
        reached=found.reached,
        mass_t=found.chosen.mass_t,
        vcg_standard_uncertainty_m=found.vcg_standard_uncertainty_m,
        group_count=len(groups),
        group_mass_t=max(group.mass_t for group in groups),
        pieces_t=tuple(group.pieces_t for group in groups),
        arm_m=tuple(abs(group.arm_m) for group in groups),
        starboard_heel_deg=starboard,
        port_heel_deg=port,
        sets_tried_count=found.tried_count,
    )
