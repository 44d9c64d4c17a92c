"""The uncertainty of the lightship, GM and displacement: one Jacobian, one budget. Layer: engine.record."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from engine.checks import Floats
from engine.errors import NotDeterminedError
from engine.record.chain import OUTPUTS, Chain, slope_of
from engine.record.record import Parts, Record
from engine.record.regression_chain import RegressionChain
from engine.record.solve import Solution
from engine.record.source import Source
from engine.record.sources import sources
from engine.record.survey_sources import AnyChain, height_factor
from engine.uncertainty import Budget, Input, SlopeScatter, propagate

RESOLUTION_SHARE_RATIO = 0.5
"""Readings that happen to agree better than they can be read are not known better for it: their scatter counts as at
least this share of what is assumed or stated of a reading (JCGM 100:2008, F.2.2.1; the share is our choice)."""

SCATTER = "scatter of the readings"


@dataclass(frozen=True, eq=False)
class Uncertainty:
    """What is known of the results' uncertainty.

    Attributes
    ----------
    budget : Budget
        Of ``chain.OUTPUTS``, in that order.
    sources : tuple of Source
        Every raw input but the readings.
    scatter : SlopeScatter or None
        Of the lever, from the readings' scatter about the fit; None where readings are too few and their assumed
        uncertainty stands in.
    heights_factor : float
        By which the heights' uncertainties were raised because they scatter more than stated.
    """

    budget: Budget
    sources: tuple[Source, ...]
    scatter: SlopeScatter | None
    heights_factor: float

    @property
    def standard_uncertainty(self) -> dict[str, float]:
        """By the outputs' names."""
        return {one.name: one.standard_uncertainty for one in self.budget.outputs}


def chain_of(record: Record, solution: Solution) -> AnyChain:
    """Return the chain of a solved record: by the geometric fit, or by the regression where there is none.

    Raises
    ------
    NotDeterminedError
        What kept a step from being done.
    """
    if solution.inclined is not None and solution.inclined.fit is None:
        return RegressionChain.of(record, solution)
    return Chain.of(record, solution)


def uncertainty(
    chain: AnyChain, *, coverage_percent: float = 95.0, readings: Literal["scatter", "assumed"] = "scatter"
) -> Uncertainty:
    """Return the budget of a solved record.

    Parameters
    ----------
    chain : Chain or RegressionChain
        Of ``chain_of``.
    coverage_percent : float
        Of the expanded uncertainties.
    readings : {"scatter", "assumed"}
        "assumed" leaves the scatter aside and takes what is assumed of a reading: for a test that is only planned.

    Raises
    ------
    NotDeterminedError
        ``geometric-fit-not-determined``.
    """
    found = sources(chain)
    jacobian = chain.jacobian([one.shift for one in found])
    reading, scatter = _readings(chain, assumed=readings == "assumed")
    budget = propagate(
        jacobian=np.hstack([jacobian, reading[0][:, None]]),
        inputs=[*(one.input for one in found), reading[1]],
        outputs=OUTPUTS,
        coverage_percent=coverage_percent,
    )
    return Uncertainty(budget, found, scatter, height_factor(chain))


def _readings(chain: AnyChain, *, assumed: bool) -> tuple[tuple[Floats, Input], SlopeScatter | None]:
    """Return the column and input of the readings: by their scatter, or by what is assumed where it does not show."""
    found = None if assumed else _scatter(chain)
    if found is None:
        column = chain.by_readings(reading_uncertainty_ratio(chain.record, chain.inclined.tangents))
        freedom = np.inf
    else:
        seen = chain.by_lever(found[0].slope_standard_uncertainty_per_tm, found[1].slope_standard_uncertainty_per_tm)
        spread = reading_uncertainty_ratio(chain.record, chain.inclined.tangents)
        least = chain.by_readings(RESOLUTION_SHARE_RATIO * spread)
        column = np.where(np.abs(seen) >= np.abs(least), seen, least)
        freedom = found[0].degrees_of_freedom
    return (column, scatter_input(freedom)), None if found is None else found[0]


def scatter_input(degrees_of_freedom: float) -> Input:
    """Return the readings as an input of a budget, whose derivatives are then standard uncertainties themselves."""
    return Input(
        name=SCATTER,
        value=0.0,
        standard_uncertainty=1.0,
        unit="1",
        category="readings",
        degrees_of_freedom=degrees_of_freedom,
    )


def _scatter(chain: AnyChain) -> tuple[SlopeScatter, SlopeScatter] | None:
    """Return the scatter of the lever and of the slope, None where too few readings show it."""
    try:
        lever = chain.lever_scatter()
        return lever, slope_of(chain.inclined.regression, chain.plateaus)
    except NotDeterminedError:
        return None


def reading_uncertainty_ratio(record: Parts, tangents: Floats) -> Floats:
    """Return (p, m + 1) the assumed or stated standard uncertainty of each tangent read; NaN where missed."""
    spread = np.full(tangents.shape, np.nan)
    for j, instrument in enumerate(record.instruments):
        for k in np.flatnonzero(np.isfinite(tangents[j])):
            stated = [
                record.stated[path].standard_uncertainty
                for name in ("deflections_m", "angles_deg", "port_levels_m", "starboard_levels_m")
                if (path := f"instruments/{j}/{name}/{k}") in record.stated
            ]
            worst = max((one for one in stated if one is not None), default=None)
            spread[j, k] = instrument.tangent_uncertainty_ratio(
                reading_m=record.assumed.reading_m if worst is None else worst,
                reading_deg=record.assumed.reading_deg if worst is None else worst,
            )
    return spread
