r"""GM and VCG by fitting the real hull to the readings. Layer: engine.incline.

No wall-sided assumption. The centre of everything aboard lies on the vertical through the centre of buoyancy
at reading 0, :math:`G = B_0 + h\,n_0`; h is the one unknown of the ship, and each instrument has a zero of its
own. For a trial h the ship floats freely at every plateau, at constant displacement and with her liquids
running, and the tangents of her heel are compared with those read. Gauss-Newton with the derivative
:math:`d\tan\varphi/dh` from the equilibrium's own second derivatives.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from engine.checks import Floats
from engine.deadline import checkpoint
from engine.errors import NotDeterminedError
from engine.flotation.equilibrium import Equilibrium, equilibrium
from engine.geometry.cut import Solid
from engine.geometry.plane import Planes
from engine.liquids.running import Liquid

ITERATION_LIMIT = 30
TOLERANCE_M = 1e-11


@dataclass(frozen=True, eq=False)
class GeometricFit:
    """The fitted ship.

    Attributes
    ----------
    lever_m : float
        h, height of G above B along the vertical of reading 0. [m]
    centre_m : (3,) float64
        Centre of everything aboard at reading 0, liquids where they lie. [m]
    gm_fluid_m : float
        At reading 0, free surfaces included. [m]
    zero_ratio : (p,) float64
        Each instrument's zero, on the tangent.
    tangent_ratio : (m + 1,) float64
        Model's tangent of heel at each reading.
    residual_ratio : (p, m + 1) float64
        Read less model less zero; NaN where missed.
    tangent_by_lever_per_m : (m + 1,) float64
        Derivative of the model's tangents with h.
    positions : Equilibrium
        The m + 1 floating positions.
    """

    lever_m: float
    centre_m: Floats
    gm_fluid_m: float
    zero_ratio: Floats
    tangent_ratio: Floats
    residual_ratio: Floats
    tangent_by_lever_per_m: Floats
    positions: Equilibrium


def fit_geometry(
    *,
    hull: Solid,
    plane: Planes,
    buoyancy_m: Floats,
    displacement_t: float,
    density_t_per_m3: float,
    liquids: Sequence[Liquid],
    shift_tm: Floats,
    tangents: Sequence[Floats],
    lever_m: float,
) -> GeometricFit:
    """Fit the height of G and the instruments' zeros.

    Parameters
    ----------
    hull : Solid
        Bent as she floats.
    plane : Planes
        The one plane of reading 0.
    buoyancy_m : (3,) float64
        Centre of buoyancy there. [m]
    displacement_t, density_t_per_m3 : float
        [t], [t/m³]
    liquids : sequence of Liquid
        Running liquids.
    shift_tm : (m + 1, 3) float64
        First moment of the weights less that at reading 0. [t·m]
    tangents : sequence of (m + 1,) arrays
        Tangent of heel by each instrument, NaN where missed.
    lever_m : float
        First guess of h, from the regression. [m]

    Raises
    ------
    NotDeterminedError
        ``geometric-fit-not-determined``: the tangents do not fix h, or the fit does not settle.
    """
    read = np.stack([np.asarray(t, dtype=np.float64) for t in tangents])
    known = np.isfinite(read)
    normal = plane.normals[0]
    lying = sum((liquid.mass_t * liquid.at(plane.normals).centroid_m[0] for liquid in liquids), start=np.zeros(3))
    rigid_mass = displacement_t - sum(liquid.mass_t for liquid in liquids)
    start = plane.take(np.zeros(len(shift_tm), dtype=int))
    lever = lever_m
    for _ in range(ITERATION_LIMIT):
        checkpoint()
        rigid = displacement_t * (buoyancy_m + lever * normal) - lying
        positions = equilibrium(
            solid=hull,
            density_t_per_m3=density_t_per_m3,
            mass_t=rigid_mass,
            centre_m=(rigid + shift_tm) / rigid_mass,
            liquids=liquids,
            start=start,
        )
        start = positions.planes
        tangent = start.normals[:, 1] / start.normals[:, 2]
        turned = positions.response(mass_t=np.zeros(len(shift_tm)), moment_tm=displacement_t * normal)
        slope = (1 + tangent**2) * turned[:, 1]
        residual = _less_zero(read - tangent, known)
        column = _less_zero(np.broadcast_to(slope, read.shape), known)
        information = float(np.sum(column**2))
        if information <= 0:
            raise NotDeterminedError(
                "the readings do not change with the moments: no VCG follows", code="geometric-fit-not-determined"
            )
        step = float(np.sum(column * residual)) / information
        lever += step
        if abs(step) <= TOLERANCE_M:
            count = known.sum(axis=1)
            zero = np.where(known, read - tangent, 0.0).sum(axis=1) / np.where(count > 0, count, np.nan)
            return GeometricFit(
                lever_m=lever,
                centre_m=buoyancy_m + lever * normal,
                gm_fluid_m=float(positions.gm_fluid_m[0]),
                zero_ratio=zero,
                tangent_ratio=tangent,
                residual_ratio=np.where(known, residual, np.nan),
                tangent_by_lever_per_m=slope,
                positions=positions,
            )
    raise NotDeterminedError("the geometric fit does not settle", code="geometric-fit-not-determined")


def _less_zero(values: Floats, known: Floats) -> Floats:
    """Take each instrument's mean off, over the readings it has."""
    count = np.maximum(known.sum(axis=1, keepdims=True), 1)
    kept = np.where(known, values, 0.0)
    return np.where(known, kept - kept.sum(axis=1, keepdims=True) / count, 0.0)
