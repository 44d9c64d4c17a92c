r"""Free-surface moment of a rectangular tank by the tabular formula, and the small-tank rule. Layer: engine.liquids.

.. math:: M_{fs} = v\,b\,\rho\,k\,\sqrt\delta,\qquad \delta = \frac{v}{b\,l\,h}

References
----------
.. [1] IMO resolution A.749(18), 3.3: the formula and k; from memory, the published two-decimal table agrees.
.. [2] 2008 IS Code, MSC.267(85), Part B, 3.1; location from memory. 3.1.12: the 0.01 m limit from memory.
"""

import numpy as np
from numpy.typing import ArrayLike

from engine.checks import Floats, positive, within
from engine.errors import InputError

SMALL_TANK_LIMIT_M = 0.01
SMALL_TANK_HEEL_DEG = 30.0


def tabular_coefficient(*, heel_deg: ArrayLike, breadth_m: float, height_m: float) -> Floats:
    r"""Return the dimensionless k of a rectangular tank at heels from 0 to 90.

    Notes
    -----
    With r = b/h, where cot θ ≥ r (the liquid of a half-filled tank reaches neither top nor bottom corner):
    k = (sin θ/12)(1 + tan²θ/2) r; else k = (cos θ/8)(1 + tan θ/r) − (cos θ/(12 r²))(1 + cot²θ/2).

    Raises
    ------
    InputError
        "out-of-range", "not-positive", "not-finite".
    """
    angle = np.radians(within(heel_deg, low=0.0, high=90.0, field="heel_deg", unit="deg"))
    ratio = positive(breadth_m, field="breadth_m", unit="m") / positive(height_m, field="height_m", unit="m")
    sine, cosine = np.sin(angle), np.cos(angle)
    wall_sided = cosine >= ratio * sine
    c = np.where(wall_sided, np.maximum(cosine, 1e-9), 1.0)
    s = np.where(wall_sided, 1.0, np.maximum(sine, 1e-9))
    before = sine / 12.0 * (1.0 + 0.5 * (sine / c) ** 2) * ratio
    # cos θ tan θ = sin θ: the second form holds at 90° too
    after = (cosine + sine / ratio) / 8.0 - cosine / (12.0 * ratio**2) * (1.0 + 0.5 * (cosine / s) ** 2)
    return np.asarray(np.where(wall_sided, before, after))


def tabular_moment_tm(
    *,
    capacity_m3: float,
    length_m: float,
    breadth_m: float,
    height_m: float,
    density_t_per_m3: float,
    heel_deg: ArrayLike,
) -> Floats:
    """Return M_fs at heels, for the tank's greatest length, breadth and height. [t·m]

    Raises
    ------
    InputError
        "capacity-beyond-box": more than length × breadth × height; "out-of-range", "not-positive".
    """
    volume = positive(capacity_m3, field="capacity_m3", unit="m³")
    box = positive(length_m, field="length_m", unit="m") * breadth_m * height_m
    k = tabular_coefficient(heel_deg=heel_deg, breadth_m=breadth_m, height_m=height_m)
    if volume > box * (1.0 + 1e-12):
        raise InputError(
            f"the capacity {volume:.6g} m³ is more than length × breadth × height, {box:.6g} m³",
            code="capacity-beyond-box",
            field="capacity_m3",
            value=volume,
            limit=box,
        )
    density = positive(density_t_per_m3, field="density_t_per_m3", unit="t/m³")
    return np.asarray(volume * breadth_m * density * k * np.sqrt(volume / box))


def is_small_tank(
    *,
    capacity_m3: float,
    length_m: float,
    breadth_m: float,
    height_m: float,
    density_t_per_m3: float,
    minimum_displacement_t: float,
) -> bool:
    """Say whether M_fs at 30° over the least displacement is below 0.01 m, so that the tank may be left out.

    Parameters
    ----------
    capacity_m3, length_m, breadth_m, height_m, density_t_per_m3
        As ``tabular_moment_tm``.
    minimum_displacement_t : float
        Ship with 10 % stores and the least ballast. [t]
    """
    moment = tabular_moment_tm(
        capacity_m3=capacity_m3,
        length_m=length_m,
        breadth_m=breadth_m,
        height_m=height_m,
        density_t_per_m3=density_t_per_m3,
        heel_deg=SMALL_TANK_HEEL_DEG,
    )
    least = positive(minimum_displacement_t, field="minimum_displacement_t", unit="t")
    return bool(float(moment) / least < SMALL_TANK_LIMIT_M)
