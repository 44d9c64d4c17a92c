"""GM and lightship where no hull is given: displacement, KM or VCG come as numbers. Layer: engine.record.

GM fluid = 1/(slope Δ) by the straight line; without a hull there is no BM and so no stiffening term, no geometric fit.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from engine.checks import Floats
from engine.errors import NotDeterminedError
from engine.incline.geometric_fit import slope_by_tangents
from engine.incline.instruments import heel_tangents, refuse_implausible
from engine.incline.moments import Plateaus
from engine.incline.plausible import refuse_implausible_gm
from engine.incline.regression import Regression, regress
from engine.lightship.derivation import Derivation, Entry, Mass, derive_lightship
from engine.record.budget import reading_uncertainty_ratio, scatter_input
from engine.record.chain import of_each, slope_changes, slope_of
from engine.record.part_sources import incline_sources, item_sources
from engine.record.record import Parts
from engine.uncertainty import Budget, Input, Output, propagate


@dataclass(frozen=True)
class Number:
    """A value somebody found elsewhere, with its standard uncertainty in the same unit; 0 takes it as exact."""

    value: float
    standard_uncertainty: float = 0.0

    def input(self, name: str, unit: str) -> Input:
        """Return it as an input of a budget."""
        return Input(
            name=name, value=self.value, standard_uncertainty=self.standard_uncertainty, unit=unit, category="given"
        )


@dataclass(frozen=True, eq=False)
class GmAlone:
    """GM by regression alone.

    Attributes
    ----------
    regression : Regression
        GM.
    tangents : (p, m + 1) float64
        Against the heel of reading 0, which is not known and taken as 0.
    plateaus : Plateaus
        The weights' shifts.
    budget : Budget
        Of ``gm_fluid_m``.
    """

    regression: Regression
    tangents: Floats
    plateaus: Plateaus
    budget: Budget


def gm_alone(parts: Parts, *, displacement_t: Number) -> GmAlone:
    """Return GM from the moves, the readings and a displacement.

    Raises
    ------
    EngineError
        Of ``Parts.moved``, ``regress`` and ``refuse_implausible_gm``.
    """
    moved = parts.moved()
    tangents = heel_tangents(parts.instruments, heel_at_zero_deg=0.0, reading_count=parts.reading_count)
    refuse_implausible(tangents, heel_at_zero_deg=0.0)
    fit = regress(moment_tm=moved.moment_tm, tangents=tangents, displacement_t=displacement_t.value)
    refuse_implausible_gm(fit.gm_fluid_m, displacement_t=displacement_t.value)
    by_tangents = slope_by_tangents(moved.moment_tm, tangents)
    sources = list(incline_sources(parts, moved, tangents))
    shifts = [one.shift for one in sources]
    of_inputs = slope_changes(
        of_each(shifts, "tangents_ratio", tangents.shape),
        of_each(shifts, "weights_moment_tm", (parts.reading_count, 3)),
        known=np.isfinite(tangents),
        slope_per_tm=fit.slope_per_tm,
        by_tangents=by_tangents,
    )
    scatter, freedom = _scatter(parts, fit, tangents, moved, by_tangents)
    of_slope, of_displacement = -fit.gm_fluid_m / fit.slope_per_tm, -fit.gm_fluid_m / displacement_t.value
    budget = propagate(
        jacobian=[[*(of_slope * of_inputs), of_slope * scatter, of_displacement]],
        inputs=[*(one.input for one in sources), scatter_input(freedom), displacement_t.input("displacement_t", "t")],
        outputs=[Output("gm_fluid_m", "m")],
    )
    return GmAlone(fit, tangents, moved, budget)


def _scatter(
    parts: Parts, fit: Regression, tangents: Floats, moved: Plateaus, by_tangents: Floats
) -> tuple[float, float]:
    """Return the slope's standard uncertainty from its scatter, else from what is assumed of a reading; its freedom."""
    try:
        found = slope_of(fit, moved)
    except NotDeterminedError:
        spread = np.nan_to_num(reading_uncertainty_ratio(parts, tangents))
        return float(np.sqrt(np.sum((by_tangents * spread) ** 2))), np.inf
    return found.slope_standard_uncertainty_per_tm, found.degrees_of_freedom


@dataclass(frozen=True, eq=False)
class LightshipAlone:
    """A lightship from numbers, with its budget."""

    derivation: Derivation
    budget: Budget


def lightship_alone(
    parts: Parts, *, displacement_t: Number, centre_m: Sequence[Number], entries: Sequence[Entry]
) -> LightshipAlone:
    """Derive the lightship from the displacement and solid centre of the ship as inclined.

    Parameters
    ----------
    parts : Parts
        Its items' uncertainties are propagated; weights and liquids are taken off as given.
    displacement_t, centre_m : Number, three of Number
        As inclined, liquids where they lie.
    entries : sequence of Entry
        Everything between that and the lightship.

    Raises
    ------
    NotDeterminedError
        ``lightship-not-positive``.
    """
    centre = np.array([one.value for one in centre_m])
    found = derive_lightship(as_inclined=Mass(displacement_t.value, centre), entries=entries)
    inputs = [displacement_t.input("displacement_t", "t")]
    inputs += [one.input(name, "m") for one, name in zip(centre_m, ("lcg_m", "tcg_m", "vcg_m"), strict=True)]
    masses, moments = [1.0, 0.0, 0.0, 0.0], [centre, *(displacement_t.value * np.eye(3))]
    for one in item_sources(parts):
        inputs.append(one.input)
        masses.append(one.shift.lightship_mass_t)
        moments.append(one.shift.lightship_moment_tm)
    mass, moment = np.array(masses), np.array(moments)
    of_centre = (moment - np.outer(mass, found.lightship.centre_m)) / found.lightship.mass_t
    outputs = [Output("mass_t", "t"), Output("x_m", "m"), Output("y_m", "m"), Output("z_m", "m")]
    return LightshipAlone(found, propagate(jacobian=np.vstack([mass, of_centre.T]), inputs=inputs, outputs=outputs))
