"""Uncertainty of results: inputs with groups, one Jacobian, a budget, scatter of repeated readings."""

from engine.uncertainty.budget import Budget, BudgetRow, Halving, Output, OutputBudget, propagate
from engine.uncertainty.coverage import coverage_factor, effective_degrees_of_freedom
from engine.uncertainty.inputs import Input
from engine.uncertainty.repeated import SlopeScatter, plateaus_of, slope_scatter
from engine.uncertainty.straightness import Straightness, straightness
from engine.uncertainty.studentised import pooled_leverage, studentised

__all__ = [
    "Budget",
    "BudgetRow",
    "Halving",
    "Input",
    "Output",
    "OutputBudget",
    "SlopeScatter",
    "Straightness",
    "coverage_factor",
    "effective_degrees_of_freedom",
    "plateaus_of",
    "pooled_leverage",
    "propagate",
    "slope_scatter",
    "straightness",
    "studentised",
]
