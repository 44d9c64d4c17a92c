r"""The true shift of a tank's liquid at finite heel. Layer: engine.liquids.

With G₀ the liquid's centre in the upright ship and G that on the real shape at heel φ, the moment of the shift
about the upright position, in the earth's horizontal and to starboard +, is

.. math:: M = \rho V\,(G_0 - G)\cdot(0, \cos\varphi, -\sin\varphi)

In a wall-sided tank M = ρ i sin φ (1 + tan²φ/2); M / sin φ over Δ is the true virtual rise of G.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from engine.checks import Floats, positive, within
from engine.geometry.plane import HEEL_LIMIT_DEG
from engine.liquids.capacity import surface_moments
from engine.liquids.tank import Tank, liquid_in


@dataclass(frozen=True, eq=False)
class RunningShift:
    """A liquid's run at k heels.

    Attributes
    ----------
    heel_deg : (k,) float64
        To starboard +. [deg]
    shift_m : (k, 3) float64
        Of the liquid's centre from the upright position, in the ship's frame. [m]
    moment_tm : (k,) float64
        Heeling moment by the shift, to starboard +. [t·m]
    effective_free_surface_moment_tm : (k,) float64
        Moment / sin(heel): what ρ i would have to be; at no heel, ρ i of the real surface. [t·m]
    """

    heel_deg: Floats
    shift_m: Floats
    moment_tm: Floats
    effective_free_surface_moment_tm: Floats


def running_shift(
    tank: Tank, *, volume_m3: float, density_t_per_m3: float, heel_deg: ArrayLike, slope_ratio: float = 0.0
) -> RunningShift:
    """Return the true shift of a liquid, heeled from upright at one trim.

    Parameters
    ----------
    tank : Tank
        The tank.
    volume_m3 : float
        Liquid. [m³]
    density_t_per_m3 : float
        Of the liquid. [t/m³]
    heel_deg : (k,) array_like
        Within ±80. [deg]
    slope_ratio : float
        trim_m / length BP, by the stern +.

    Raises
    ------
    InputError, NotDeterminedError
        As ``liquid_in``; "out-of-range" for the heel; "not-positive".
    """
    density = positive(density_t_per_m3, field="density_t_per_m3", unit="t/m³")
    heel = np.atleast_1d(within(heel_deg, low=-HEEL_LIMIT_DEG, high=HEEL_LIMIT_DEG, field="heel_deg", unit="deg"))
    slope = float(within(slope_ratio, low=-1.0, high=1.0, field="slope_ratio"))
    angle = np.radians(np.append(0.0, heel))
    normals = np.stack([np.full(len(angle), slope), np.tan(angle), np.ones(len(angle))], axis=-1)
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    lying = liquid_in(tank, volume_m3=volume_m3, normals=normals)
    shift = lying.centroid_m[1:] - lying.centroid_m[0]
    sine, cosine = np.sin(angle[1:]), np.cos(angle[1:])
    moment = density * lying.volume_m3[1:] * (sine * shift[:, 2] - cosine * shift[:, 1])
    small = density * surface_moments(lying.surface_tensor_m4, normals)[0][1:]
    with np.errstate(divide="ignore", invalid="ignore"):
        effective = np.where(sine == 0, small, moment / sine)
    return RunningShift(heel, shift, moment, effective)
