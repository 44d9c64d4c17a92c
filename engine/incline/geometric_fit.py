r"""VCG by fitting the real hull to the readings. Layer: engine.incline.

No wall-sided assumption. As she was surveyed, the centre of everything aboard lies on the vertical through the centre
of buoyancy, :math:`G = B + h\,n`; h is the one unknown of the ship, and each instrument has a zero of its own. For a
trial h the ship floats freely at every plateau, at constant displacement and with her liquids running, and the
tangents of her heel are compared with those read. Gauss-Newton with the derivative :math:`d\tan\varphi/dh` from the
equilibrium's own second derivatives. It is begun at the heels read, with one step for planes and h together.
"""

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from engine.checks import Floats
from engine.deadline import checkpoint
from engine.errors import EngineError, NotDeterminedError
from engine.flotation.equilibrium import Equilibrium, Hold, equilibrium
from engine.geometry.cut import Solid
from engine.geometry.plane import Planes, normals_at
from engine.liquids.running import Liquid

ITERATION_LIMIT = 30
LEAST_INFORMATION_PER_M2 = 1e-18
"""With less, round-off of 1e-12 in the tangents moves the centre by a millimetre: the readings say nothing of it."""
FIRST_STEP_RATIO = 0.1
"""Of the tangents read: what the first step of the lever may change them by; more is left to floating positions."""
TOLERANCE_RATIO = 1e-11
"""The fit has settled when its step moves no tangent by more: the floating positions are found to 1e-12 rad."""


@dataclass(frozen=True, eq=False)
class GeometricFit:
    """The fitted ship.

    Attributes
    ----------
    lever_m : float
        h, height of G above B along the vertical of the survey. [m]
    zero_ratio : (p,) float64
        Each instrument's zero, on the tangent.
    tangent_ratio : (m + 1,) float64
        Model's tangent of heel at each reading.
    residual_ratio : (p, m + 1) float64
        Read less model less zero; NaN where missed.
    tangent_by_lever_per_m : (m + 1,) float64
        Derivative of the model's tangents with h.
    positions : Equilibrium
        The m + 1 floating positions; the first is that of reading 0.
    """

    lever_m: float
    zero_ratio: Floats
    tangent_ratio: Floats
    residual_ratio: Floats
    tangent_by_lever_per_m: Floats
    positions: Equilibrium

    @property
    def centre_m(self) -> Floats:
        """(3,) centre of everything aboard at reading 0, liquids where they lie. [m]"""
        centre: Floats = self.positions.centre_m[0]
        return centre

    @property
    def gm_fluid_m(self) -> float:
        """GM at reading 0, free surfaces included. [m]"""
        return float(self.positions.gm_fluid_m[0])

    def lever_by_tangents(self) -> Floats:
        """Return (p, m + 1) derivatives of h by each reading's tangent; 0 where missed. [m]"""
        known = np.isfinite(self.residual_ratio)
        column = less_zero(np.broadcast_to(self.tangent_by_lever_per_m, known.shape), known)
        by_tangents: Floats = column / np.sum(column**2)
        return by_tangents


def fit_geometry(
    *,
    hull: Solid,
    plane: Planes,
    density_t_per_m3: float,
    liquids: Sequence[Liquid],
    rigid_mass_t: float,
    moment_tm: Floats,
    moment_by_lever_t: Floats,
    shift_tm: Floats,
    tangents: Floats,
    lever_m: float,
) -> GeometricFit:
    """Fit the height of G and the instruments' zeros.

    Parameters
    ----------
    hull : Solid
        Bent as she floats.
    plane : Planes
        One plane to start from.
    density_t_per_m3 : float
        [t/m³]
    liquids : sequence of Liquid
        Running liquids.
    rigid_mass_t : float
        Everything aboard at reading 0 but the liquids. [t]
    moment_tm, moment_by_lever_t : (3,) float64
        Its first moment is ``moment_tm + h moment_by_lever_t``. [t·m], [t]
    shift_tm : (m + 1, 3) float64
        First moment of the weights less that at reading 0. [t·m]
    tangents : (p, m + 1) float64
        Tangent of heel by each instrument, NaN where missed.
    lever_m : float
        First guess of h, from the regression. [m]

    Raises
    ------
    NotDeterminedError
        ``geometric-fit-not-determined``: the tangents do not fix h, or the fit does not settle.
    """
    known = np.isfinite(tangents)

    def floating(lever_m: float, start: Planes, surfaces_m: Floats | None, hold: Hold) -> tuple[Equilibrium, Floats]:
        positions = equilibrium(
            solid=hull,
            density_t_per_m3=density_t_per_m3,
            mass_t=rigid_mass_t,
            centre_m=(moment_tm + lever_m * moment_by_lever_t + shift_tm) / rigid_mass_t,
            liquids=liquids,
            start=start,
            hold=hold,
            near=True,
            surfaces_m=surfaces_m,
        )
        return positions, positions.response(mass_t=np.zeros(len(shift_tm)), moment_tm=moment_by_lever_t)

    lever, start, surfaces = lever_m, _read(plane, tangents, hull), None
    # the planes read may be none the hull can lie at: then there is no first step
    with suppress(EngineError, np.linalg.LinAlgError):
        positions, turned = floating(lever, start, surfaces, "everything")
        resting = positions.to_rest()
        step = _first_step(tangents, positions, resting[:, 1], turned[:, 1])
        if np.isfinite(resting).all():
            start, surfaces = _moved(positions.planes, resting + step * turned), positions.surfaces_m
            lever += step
    for _ in range(ITERATION_LIMIT):
        checkpoint()
        positions, turned = floating(lever, start, surfaces, "nothing")
        tangent = _tangents(positions)
        slope = (1 + tangent**2) * turned[:, 1]
        residual = less_zero(tangents - tangent, known)
        column = less_zero(np.broadcast_to(slope, tangents.shape), known)
        information = float(np.sum(column**2))
        if information <= LEAST_INFORMATION_PER_M2:
            raise NotDeterminedError(
                "the readings do not change with the moments: no VCG follows", code="geometric-fit-not-determined"
            )
        step = float(np.sum(column * residual)) / information
        lever += step
        start, surfaces = _moved(positions.planes, step * turned), positions.surfaces_m
        if abs(step) * float(np.abs(slope).max()) <= TOLERANCE_RATIO:
            count = known.sum(axis=1)
            zero = np.where(known, tangents - tangent, 0.0).sum(axis=1) / np.where(count > 0, count, np.nan)
            return GeometricFit(
                lever_m=lever,
                zero_ratio=zero,
                tangent_ratio=tangent,
                residual_ratio=np.where(known, residual, np.nan),
                tangent_by_lever_per_m=slope,
                positions=positions,
            )
    raise NotDeterminedError("the geometric fit does not settle", code="geometric-fit-not-determined")


def _tangents(positions: Equilibrium) -> Floats:
    return np.asarray(positions.planes.normals[:, 1] / positions.planes.normals[:, 2])


def _first_step(tangents: Floats, at: Equilibrium, resting_rad: Floats, turned_rad_per_m: Floats) -> float:
    """Return the step of the lever that fits the tangents foretold from planes not at rest.

    None where it would be no small correction: the lever is then left to floating positions.
    """
    known, stretch = np.isfinite(tangents), 1 + _tangents(at) ** 2
    foretold = _tangents(at) + stretch * resting_rad
    column = less_zero(np.broadcast_to(stretch * turned_rad_per_m, tangents.shape), known)
    information = float(np.sum(column**2))
    if not information > LEAST_INFORMATION_PER_M2:
        return 0.0
    step = float(np.sum(column * less_zero(tangents - foretold, known))) / information
    read = float(np.abs(less_zero(tangents, known)).max())
    return step if abs(step) * float(np.abs(column).max()) <= FIRST_STEP_RATIO * read else 0.0


def _read(plane: Planes, tangents: Floats, hull: Solid) -> Planes:
    """Return the plane turned, about the middle of its waterline, to the heel of each reading; (m + 1) of them.

    Only a start: from wherever it begins the position is the same.
    """
    known = np.isfinite(tangents)
    change = np.where(known, tangents - tangents[:, :1], 0.0).sum(axis=0) / np.maximum(known.sum(axis=0), 1)
    change = np.where(np.isfinite(change), change, 0.0)
    normal, offset = plane.normals[0], float(plane.offsets_m[0])
    middle = hull.bounds_m[:, 0].mean()
    through = np.array([middle, 0.0, (offset - normal[0] * middle) / normal[2]])
    heel = np.arctan(normal[1] / normal[2] + change)
    normals = normals_at(heel_rad=heel, slope_ratio=np.full(len(heel), normal[0]))
    return Planes(normals=normals, offsets_m=normals @ through)


def _moved(planes: Planes, change: Floats) -> Planes:
    """Return the planes after a (k, 3) change of offset, heel [rad] and n_x."""
    slope = planes.normals[:, 0] + change[:, 2]
    if not (np.abs(slope) < 1).all():
        raise NotDeterminedError(
            "the geometric fit leads to no floating position; see the diagnoses of the readings",
            code="geometric-fit-not-determined",
        )
    return Planes.from_angles(
        heel_deg=planes.heel_deg + np.degrees(change[:, 1]),
        slope_ratio=slope,
        offsets_m=planes.offsets_m + change[:, 0],
    )


def slope_by_tangents(moment_tm: Floats, tangents: Floats) -> Floats:
    """Return (p, m + 1) derivatives of the pooled slope by each tangent; 0 where missed. [1/(t·m)]"""
    known = np.isfinite(tangents)
    centred = less_zero(np.broadcast_to(moment_tm, known.shape), known)
    by_tangents: Floats = centred / np.sum(centred**2)
    return by_tangents


def less_zero(values: Floats, known: NDArray[np.bool_]) -> Floats:
    """Take each instrument's mean off, over the readings it has; 0 where missed."""
    count = np.maximum(known.sum(axis=1, keepdims=True), 1)
    kept = np.where(known, values, 0.0)
    return np.where(known, kept - kept.sum(axis=1, keepdims=True) / count, 0.0)
