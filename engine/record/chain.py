r"""The whole chain made linear: what small errors of raw inputs do to the results. Layer: engine.record.

Every raw input acts in one or more of a few ways, gathered in ``Shift``: it moves the surveyed plane, scales the
buoyancy, adds mass, shifts moments at the readings, changes tangents read, or enters the ledger alone. What follows is
exact to first order and needs no further cut of the hull (but for its bend): with :math:`F_k` the gradient of the
potential at reading k (equilibrium.py), :math:`dp_k = -H_k^{-1}\,\partial F_k`, and the lever h of the geometric fit
moves by

.. math:: dh = (J^T J)^{-1} J^T (d\tau_{read} - d\tau_{model}),\qquad J = d\tau/dh\ \text{less each instrument's mean.}

The centre as surveyed is :math:`W(B + h n)`, so displacement, buoyancy, GM and the lightship move together, as they do.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from engine.checks import Floats
from engine.errors import NotDeterminedError
from engine.flotation.tables import HydrostaticTables
from engine.incline.geometric_fit import GeometricFit, slope_by_tangents
from engine.incline.moments import Plateaus
from engine.incline.regression import Regression
from engine.lightship.derivation import Derivation
from engine.record.record import Record
from engine.record.solve import Inclined, Solution, Surveyed
from engine.uncertainty import Output, SlopeScatter, plateaus_of, slope_scatter

OUTPUTS = (
    Output("mass_t", "t"),
    Output("x_m", "m"),
    Output("y_m", "m"),
    Output("z_m", "m"),
    Output("displacement_t", "t"),
    Output("gm_fluid_m", "m"),
)
"""The results: lightship mass and centre, displacement at reading 0, GM by regression."""

SAG_STEP_M = 1e-3


@dataclass(frozen=True, eq=False)
class Shift:
    """What a unit error of one input does directly.

    Attributes
    ----------
    numbers : (4,) float64
        Draft [m], trim [m], tan heel and sag [m] of the survey.
    buoyancy_ratio : float
        Relative error of water density times hull volume.
    aboard_mass_t, aboard_moment_tm : float, (3,) float64
        Mass aboard since the survey.
    weights_moment_tm, liquids_moment_tm : (m + 1, 3) float64 or 0
        First moment at each reading: of the inclining weights against reading 0; of the liquids.
    resting_moment_tm : (3,) float64
        First moment of the liquids as surveyed.
    tangents_ratio : (p, m + 1) float64 or 0
        Tangents read.
    lightship_mass_t, lightship_moment_tm : float, (3,) float64
        Put on the lightship by the ledger.
    """

    numbers: Floats = field(default_factory=lambda: np.zeros(4))
    buoyancy_ratio: float = 0.0
    aboard_mass_t: float = 0.0
    aboard_moment_tm: Floats = field(default_factory=lambda: np.zeros(3))
    weights_moment_tm: Floats | float = 0.0
    liquids_moment_tm: Floats | float = 0.0
    resting_moment_tm: Floats = field(default_factory=lambda: np.zeros(3))
    tangents_ratio: Floats | float = 0.0
    lightship_mass_t: float = 0.0
    lightship_moment_tm: Floats = field(default_factory=lambda: np.zeros(3))


def of_each(shifts: Sequence[Shift], name: str, shape: tuple[int, int]) -> Floats:
    """Return (s, *shape) one attribute of all shifts, a bare number holding everywhere."""
    found = np.empty((len(shifts), *shape))
    for row, shift in zip(found, shifts, strict=True):
        row[:] = getattr(shift, name)
    return found


def slope_of(regression: Regression, plateaus: Plateaus) -> SlopeScatter:
    """Return the scatter of the regression's slope, readings repeated at one moment being of one move.

    Raises
    ------
    NotDeterminedError
        Of ``slope_scatter``.
    """
    moment = plateaus.moment_tm
    return slope_scatter(residual_ratio=regression.residual_ratio, moment_tm=moment, plateau=plateaus_of(moment))


def slope_changes(
    tangents_ratio: Floats,
    weights_moment_tm: Floats,
    *,
    known: NDArray[np.bool_],
    slope_per_tm: float,
    by_tangents: Floats,
) -> Floats:
    """Return (s,) changes of the pooled slope by errors of the tangents read and of the weights' moments. [1/(t·m)]

    Parameters
    ----------
    tangents_ratio, weights_moment_tm : (s, p, m + 1), (s, m + 1, 3) float64
        The errors, of ``of_each``. [1, t·m]
    known, by_tangents : (p, m + 1)
        Which readings there are, and ``slope_by_tangents``.
    """
    change = np.where(known, tangents_ratio + slope_per_tm * weights_moment_tm[:, None, :, 1], 0.0)
    return np.asarray(np.einsum("spk,pk->s", change, by_tangents))


@dataclass(frozen=True, eq=False)
class Chain:
    """The solved record seen as a linear map from ``Shift`` to ``OUTPUTS``."""

    record: Record
    surveyed: Surveyed
    inclined: Inclined
    plateaus: Plateaus
    derivation: Derivation

    @classmethod
    def of(cls, record: Record, solution: Solution) -> "Chain":
        """Return the chain of a record solved to its lightship by the geometric fit.

        Raises
        ------
        NotDeterminedError
            What kept a step from being done.
        """
        surveyed, inclined, derivation = solution.surveyed, solution.inclined, solution.derivation
        if surveyed is None or inclined is None or inclined.fit is None or derivation is None:
            raise next(iter(solution.not_done.values()))
        return cls(record, surveyed, inclined, solution.plateaus, derivation)

    @property
    def fit(self) -> GeometricFit:
        """The geometric fit."""
        if self.inclined.fit is None:
            raise NotDeterminedError("no geometric fit to make linear", code="geometric-fit-not-determined")
        return self.inclined.fit

    def jacobian(self, shifts: Sequence[Shift]) -> Floats:
        """Return (6, s) derivatives of ``OUTPUTS`` by each shift."""
        fit, at = self.fit, self.surveyed.afloat
        density, weight = self.record.density_t_per_m3, at.displacement_t
        normal, lever = at.plane.normals[0], fit.lever_m
        count, rows = len(fit.tangent_ratio), len(self.record.instruments)
        total = float(fit.positions.mass_t[0])

        numbers = np.array([s.numbers for s in shifts])
        ratio = np.array([s.buoyancy_ratio for s in shifts])
        aboard = np.array([s.aboard_mass_t for s in shifts])
        weights = of_each(shifts, "weights_moment_tm", (count, 3))
        liquids = of_each(shifts, "liquids_moment_tm", (count, 3))
        read = of_each(shifts, "tangents_ratio", (rows, count))

        turn, rise = self._plane_by_numbers(numbers)
        volume, moment = self._immersed(turn, rise)
        bent = self._by_sag(numbers[:, 3])
        displaced = density * (volume + bent.volume[:, 0]) + weight * ratio
        buoyant = density * (moment + bent.moment[:, 0]) + (weight * ratio)[:, None] * at.buoyancy_m
        rigid = buoyant + lever * displaced[:, None] * normal + weight * lever * turn
        rigid += turn @ self._surface_tensor() - np.array([s.resting_moment_tm for s in shifts])

        mass = (displaced + aboard - total * ratio)[:, None] - density * bent.volume[:, 1:]
        at_reading = rigid + np.array([s.aboard_moment_tm for s in shifts])
        first = at_reading[:, None] + weights + liquids - density * bent.moment[:, 1:]
        first -= (total * ratio)[:, None, None] * fit.positions.cuts.centroid_m
        heel = fit.positions.response(mass_t=mass, moment_tm=first)[..., 1]
        stretch = 1 + fit.tangent_ratio**2
        angles = np.array([one.base_m is None for one in self.record.instruments])
        read = read + angles[:, None] * stretch * heel[:, :1, None]  # an angle's tangent needs the heel of reading 0
        known = np.isfinite(self.inclined.tangents)
        missing = np.where(known, read - (stretch * heel)[:, None, :], 0.0)
        moved = np.einsum("spk,pk->s", missing, fit.lever_by_tangents())

        lightship = self.derivation.lightship
        of_mass = displaced + aboard + np.array([s.lightship_mass_t for s in shifts])
        of_moment = at_reading + weight * moved[:, None] * normal + np.array([s.lightship_moment_tm for s in shifts])
        of_centre = (of_moment - of_mass[:, None] * lightship.centre_m) / lightship.mass_t
        slope = self.inclined.regression.slope_per_tm
        of_slope = slope_changes(read, weights, known=known, slope_per_tm=slope, by_tangents=self.slope_weights)
        gm = self.inclined.regression.gm_fluid_m
        of_gm = -gm * (of_slope / slope + (displaced + aboard) / total)
        return np.vstack([of_mass, of_centre.T, displaced + aboard, of_gm])

    @property
    def normals(self) -> Floats:
        """(m + 2, 3) normals of the survey and of each reading."""
        return np.vstack([self.surveyed.afloat.plane.normals, self.fit.positions.planes.normals])

    def lever_scatter(self) -> SlopeScatter:
        """Return the scatter of the lever.

        Raises
        ------
        NotDeterminedError
            Too few readings to show one.
        """
        return slope_scatter(
            residual_ratio=self.fit.residual_ratio,
            moment_tm=self.fit.tangent_by_lever_per_m,
            plateau=plateaus_of(self.plateaus.moment_tm),
        )

    def by_readings(self, spread_ratio: Floats) -> Floats:
        """Return (6,) change of ``OUTPUTS`` where every reading errs by its own spread, all independent."""
        lever = float(np.sqrt(np.nansum((self.fit.lever_by_tangents() * spread_ratio) ** 2)))
        return self.by_lever(lever, float(np.sqrt(np.nansum((self.slope_weights * spread_ratio) ** 2))))

    def by_lever(self, lever_m: float, slope_per_tm: float) -> Floats:
        """Return (6,) change of ``OUTPUTS`` where the lever and the slope change by themselves, as scatter does."""
        normal = self.surveyed.afloat.plane.normals[0]
        centre = self.surveyed.afloat.displacement_t * lever_m * normal / self.derivation.lightship.mass_t
        regression = self.inclined.regression
        return np.array([0.0, *centre, 0.0, -regression.gm_fluid_m * slope_per_tm / regression.slope_per_tm])

    @property
    def slope_weights(self) -> Floats:
        """(p, m + 1) derivatives of the pooled slope by each tangent; 0 where missed. [1/(t·m)]"""
        return slope_by_tangents(self.plateaus.moment_tm, self.inclined.tangents)

    def _plane_by_numbers(self, numbers: Floats) -> tuple[Floats, Floats]:
        """Return (s, 3) change of the normal and (s,) of the offset."""
        length, at = self.record.length_bp_m, self.surveyed.afloat.plane
        n, offset = at.normals[0], float(at.offsets_m[0])
        up = n[2]
        slopes = np.stack([numbers[:, 1] / length, numbers[:, 2], np.zeros(len(numbers))], axis=1)
        relative = -up * (slopes @ n)  # d(n_z)/n_z
        turn = relative[:, None] * n + up * slopes
        return turn, relative * offset + up * (numbers[:, 0] + 0.5 * numbers[:, 1])

    def _immersed(self, turn: Floats, rise: Floats) -> tuple[Floats, Floats]:
        """Return (s,) change of the volume and (s, 3) of its first moment as the survey's plane moves."""
        cuts = self.surveyed.afloat.cuts
        assert cuts is not None
        area, centre = cuts.waterplane_area_m2[0], cuts.waterplane_centroid_m[0]
        second = cuts.waterplane_tensor_m4[0] + area * np.outer(centre, centre)
        return area * (rise - turn @ centre), area * rise[:, None] * centre - turn @ second

    def _surface_tensor(self) -> Floats:
        """Σ ρ T of the liquids as surveyed. [t·m]"""
        normals = self.surveyed.afloat.plane.normals
        return sum(
            (one.density_t_per_m3 * one.at(normals).surface_tensor_m4[0] for one in self.surveyed.liquids),
            start=np.zeros((3, 3)),
        )

    def _by_sag(self, sag: Floats) -> "_Bent":
        """Return what bending the hull does at the survey and at each reading, planes held."""
        positions = self.fit.positions.planes
        count = len(positions) + 1
        if not sag.any():
            return _Bent(np.zeros((len(sag), count)), np.zeros((len(sag), count, 3)))
        planes = type(positions)(
            np.vstack([self.surveyed.afloat.plane.normals, positions.normals]),
            np.append(self.surveyed.afloat.plane.offsets_m, positions.offsets_m),
        )
        length, now = self.record.length_bp_m, self.surveyed.waterline.sag_m
        straight = self.record.hull
        assert not isinstance(straight, HydrostaticTables)
        more, less = (
            straight.bent(sag_m=now + step, length_bp_m=length).cut(planes) for step in (SAG_STEP_M, -SAG_STEP_M)
        )
        volume = (more.volume_m3 - less.volume_m3) / (2 * SAG_STEP_M)
        first = more.volume_m3[:, None] * more.centroid_m - less.volume_m3[:, None] * less.centroid_m
        return _Bent(np.outer(sag, volume), np.multiply.outer(sag, first / (2 * SAG_STEP_M)))


@dataclass(frozen=True, eq=False)
class _Bent:
    volume: Floats  # (s, m + 2)
    moment: Floats  # (s, m + 2, 3)
