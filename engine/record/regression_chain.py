r"""The chain made linear where GM comes from the regression alone: tables for a hull, or no geometric fit.

The centre as surveyed is :math:`B + (BM - GM - \sum\rho i/\Delta)\,n` with :math:`GM = 1/(b\Delta)`. What the surveyed
plane and the water's density do to it is taken by central differences of the hydrostatics; all else is in closed form.
That an error of a tank's contents also changes the free surface's i is left out. Layer: engine.record.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from engine.checks import Floats
from engine.errors import NotDeterminedError
from engine.incline.geometric_fit import slope_by_tangents
from engine.incline.moments import Plateaus
from engine.lightship.derivation import Derivation
from engine.record.as_inclined import afloat
from engine.record.chain import Shift, of_each, slope_changes, slope_of
from engine.record.record import Record
from engine.record.solve import Inclined, Solution, Surveyed, survey_plane
from engine.uncertainty import SlopeScatter

STEPS = np.array([1e-4, 1e-4, 1e-5, 1e-4])
"""Of draft, trim, tan heel and sag. [m], [m], [1], [m]"""
DENSITY_STEP_RATIO = 1e-5


@dataclass(frozen=True, eq=False)
class RegressionChain:
    """The solved record seen as a linear map from ``Shift`` to ``chain.OUTPUTS``."""

    record: Record
    surveyed: Surveyed
    inclined: Inclined
    plateaus: Plateaus
    derivation: Derivation

    @classmethod
    def of(cls, record: Record, solution: Solution) -> "RegressionChain":
        """Return the chain of a record solved to its lightship by regression.

        Raises
        ------
        NotDeterminedError
            What kept a step from being done; ``uncertainty-needs-geometry`` with survey differences.
        """
        surveyed, inclined, derivation = solution.surveyed, solution.inclined, solution.derivation
        if surveyed is None or inclined is None or derivation is None:
            raise next(iter(solution.not_done.values()))
        if record.survey_differences:
            raise NotDeterminedError(
                "with survey differences the uncertainty needs the geometric fit",
                code="uncertainty-needs-geometry",
                field="survey_differences",
            )
        return cls(record, surveyed, inclined, solution.plateaus, derivation)

    @property
    def normals(self) -> Floats:
        """(1, 3) the normal of the survey."""
        return self.surveyed.afloat.plane.normals

    @property
    def slope_weights(self) -> Floats:
        """(p, m + 1) derivatives of the pooled slope by each tangent; 0 where missed. [1/(t·m)]"""
        return slope_by_tangents(self.plateaus.moment_tm, self.inclined.tangents)

    def lever_scatter(self) -> SlopeScatter:
        """Return the scatter of the slope."""
        return slope_of(self.inclined.regression, self.plateaus)

    def by_readings(self, spread_ratio: Floats) -> Floats:
        """Return (6,) change of ``OUTPUTS`` where every reading errs by its own spread, all independent."""
        slope = float(np.sqrt(np.nansum((self.slope_weights * spread_ratio) ** 2)))
        return self.by_lever(slope, slope)

    def by_lever(self, lever_m: float, slope_per_tm: float) -> Floats:
        """Return (6,) change of ``OUTPUTS`` where the slope changes by itself; there is no lever apart from it."""
        return self._results(np.zeros(1), np.zeros((1, 3)), np.array([slope_per_tm]), np.zeros(1))[:, 0]

    def jacobian(self, shifts: Sequence[Shift]) -> Floats:
        """Return (6, s) derivatives of ``OUTPUTS`` by each shift."""
        count, rows = len(self.plateaus.moment_tm), len(self.record.instruments)
        numbers = np.array([s.numbers for s in shifts])
        ratio = np.array([s.buoyancy_ratio for s in shifts])
        by_numbers, by_density = self._survey_differences()
        surveyed = numbers @ by_numbers + np.outer(ratio, by_density)  # (s, 4): displacement, moment
        of_slope = slope_changes(
            of_each(shifts, "tangents_ratio", (rows, count)),
            of_each(shifts, "weights_moment_tm", (count, 3)),
            known=np.isfinite(self.inclined.tangents),
            slope_per_tm=self.inclined.regression.slope_per_tm,
            by_tangents=self.slope_weights,
        )
        moment = surveyed[:, 1:] - np.array([s.resting_moment_tm for s in shifts])
        moment += np.array([s.lightship_moment_tm for s in shifts])
        kept = np.array([s.lightship_mass_t for s in shifts])
        return self._results(surveyed[:, 0], moment, of_slope, kept)

    def _results(self, displaced: Floats, moment: Floats, of_slope: Floats, kept: Floats) -> Floats:
        """Return (6, s) the outputs' changes; ``moment`` is the lightship's but for what GM does."""
        fit, ship = self.inclined.regression, self.derivation.lightship
        at = self.surveyed.afloat
        relative = -of_slope / fit.slope_per_tm
        of_mass = displaced + kept
        gm_moment = -at.displacement_t * fit.gm_fluid_m * relative[:, None] * at.plane.normals[0]
        of_centre = (moment + gm_moment - of_mass[:, None] * ship.centre_m) / ship.mass_t
        of_gm = fit.gm_fluid_m * (relative - displaced / at.displacement_t)
        return np.vstack([of_mass, of_centre.T, displaced, of_gm])

    def _survey_differences(self) -> tuple[Floats, Floats]:
        """Return (4, 4) and (4,): derivatives of displacement and moment by the numbers and by density."""
        by_numbers = np.zeros((4, 4))
        for i, step in enumerate(STEPS):
            ahead, behind = (self._at(np.eye(4)[i] * step * sign, 0.0) for sign in (1.0, -1.0))
            by_numbers[i] = (ahead - behind) / (2 * step)
        more, less = (self._at(np.zeros(4), sign * DENSITY_STEP_RATIO) for sign in (1.0, -1.0))
        return by_numbers, (more - less) / (2 * DENSITY_STEP_RATIO)

    def _at(self, numbers: Floats, ratio: float) -> Floats:
        """Return (4,) displacement, and the moment of everything aboard but the liquids, the slope held."""
        fit = self.surveyed.waterline
        moved = replace(
            fit,
            draft_m=fit.draft_m + numbers[0],
            trim_m=fit.trim_m + numbers[1],
            heel_deg=float(np.degrees(np.arctan(np.tan(np.radians(fit.heel_deg)) + numbers[2]))),
            sag_m=fit.sag_m + numbers[3],
        )
        hull, plane = survey_plane(self.record, moved)
        liquids = self.surveyed.liquids
        at = afloat(
            hull=hull,
            plane=plane,
            density_t_per_m3=self.record.density_t_per_m3 * (1 + ratio),
            length_bp_m=self.record.length_bp_m,
            liquids=liquids,
        )
        gm = 1.0 / (self.inclined.regression.slope_per_tm * at.displacement_t)
        centre = at.centre_m(gm_solid_m=gm + at.free_surface_correction_m)
        resting = sum((one.mass_t * one.at(plane.normals).centroid_m[0] for one in liquids), start=np.zeros(3))
        return np.array([at.displacement_t, *(at.displacement_t * centre - resting)])
