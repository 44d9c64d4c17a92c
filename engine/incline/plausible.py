"""What no incline comes to: slips of a unit, told before their numbers are believed. Layer: engine.incline.

Every limit here is our choice (docs/methods/incline.md), set a thousandfold slip apart from what is seen in practice.
"""

from collections.abc import Iterator, Sequence
from statistics import median_low

import numpy as np

from engine.checks import Floats
from engine.errors import NotDeterminedError
from engine.findings import Finding

SHARE_MOST_PERCENT = 20.0
"""Of the displacement: no single weight that heels a ship by a few degrees is as heavy."""
SUM_LEAST_PERCENT = 0.01
"""Of the displacement: all weights together, of a ship that can be inclined at all."""
ALIKE_RATIO = 200.0
"""Inclining weights are made alike; kilograms for tonnes are 1000 times too much."""
VCG_MARGIN_RATIO = 1.0
"""Heights of the hull by which a centre of gravity may lie below its keel or above its top."""
GM_MOST_RATIO = 30.0
"""GM as a part of the cube root of the displacement in m3 of fresh water: rafts and twin hulls stay well below."""


def off_median(mass_t: float, *, median_t: float, low_ratio: float, high_ratio: float, of: str) -> str | None:
    """Return in words how far a mass is from the median ``of`` its list, None where between the ratios. [t]"""
    ratio = mass_t / median_t
    if low_ratio < ratio < high_ratio:
        return None
    return f"{mass_t:.6g} t is {ratio:.6g} times the median of {of}, {median_t:.6g} t: is the unit right?"


def masses_out_of_scale(*, masses_t: Sequence[float], displacement_t: float | None) -> Iterator[Finding]:
    """Yield weights whose mass does not go with the others or with the displacement, where that is known. [t]"""
    middle = median_low(masses_t) if masses_t else 1.0  # of two the lesser
    for i, mass in enumerate(masses_t):
        words = off_median(mass, median_t=middle, low_ratio=1 / ALIKE_RATIO, high_ratio=ALIKE_RATIO, of="the weights")
        if displacement_t is not None and 100 * mass > SHARE_MOST_PERCENT * displacement_t:
            share = f"{100 * mass / displacement_t:.6g} % of the displacement, {displacement_t:.6g} t"
            words = f"{mass:.6g} t is {share}: is the unit right?"
        if words is not None:
            yield Finding("mass-out-of-scale", f"weights/{i}: {words}")
    total = sum(masses_t)
    if displacement_t is not None and total > 0 and 100 * total < SUM_LEAST_PERCENT * displacement_t:
        words = (
            f"all weights together are {total:.6g} t, {100 * total / displacement_t:.3g} % of {displacement_t:.6g} t"
        )
        words += f"; under {SUM_LEAST_PERCENT:.6g} % no ship heels to be seen: are both in tonnes?"
        yield Finding("displacement-out-of-scale", words)


def refuse_implausible_vcg(vcg_m: float, *, gm_m: float, heights_m: Floats) -> None:
    """Refuse a GM that puts the centre of gravity far outside the hull.

    Parameters
    ----------
    vcg_m, gm_m : float
        As inclined. [m]
    heights_m : (2,) float64
        Keel and top of the hull, z. [m]

    Raises
    ------
    NotDeterminedError
        ``gm-implausible`` at ``weights``.
    """
    low, high = heights_m.tolist()
    margin = VCG_MARGIN_RATIO * (high - low)
    if low - margin <= vcg_m <= high + margin:
        return
    raise NotDeterminedError(
        f"GM would be {gm_m:.6g} m and VCG {vcg_m:.6g} m, the hull reaches from {low:.6g} to {high:.6g} m: check the "
        "masses of the weights, their places and the readings",
        code="gm-implausible",
        field="weights",
        value=vcg_m,
        limit=low - margin if vcg_m < low else high + margin,
    )


def refuse_implausible_gm(gm_m: float, *, displacement_t: float) -> None:
    """Refuse a GM no ship of that displacement has, where no hull says more. [m, t]

    Raises
    ------
    NotDeterminedError
        ``gm-implausible`` at ``weights``.
    """
    limit = GM_MOST_RATIO * float(np.cbrt(displacement_t))
    if gm_m <= limit:
        return
    raise NotDeterminedError(
        f"GM would be {gm_m:.6g} m; {limit:.6g} m is beyond any ship of {displacement_t:.6g} t: check the masses of "
        "the weights, their places and the readings",
        code="gm-implausible",
        field="weights",
        value=gm_m,
        limit=limit,
    )
