r"""Heel and moment of a wall-sided ship, for first estimates. Layer: engine.planning.

.. math:: \Delta\,(GM\tan\varphi + \tfrac12 k\tan^3\varphi) = m

with k = BM − FSC; k = 0 gives the first-order tan φ = m/(Δ GM) of the textbooks.
"""

from engine.checks import positive
from engine.deadline import checkpoint
from engine.errors import NotDeterminedError

ITERATION_LIMIT = 50


def moment_tm(*, displacement_t: float, gm_m: float, tangent_ratio: float, stiffening_m: float = 0.0) -> float:
    """Return the moment that heels a ship from upright to a tangent. [t·m]"""
    return displacement_t * (gm_m * tangent_ratio + 0.5 * stiffening_m * tangent_ratio**3)


def tangent_ratio(*, displacement_t: float, gm_m: float, moment_tm: float, stiffening_m: float = 0.0) -> float:
    """Return the tangent of heel a moment gives; a stiffening below 0 is taken as none.

    Raises
    ------
    InputError
        "not-positive": displacement or GM.
    NotDeterminedError
        "no-equilibrium": the tangent does not settle.
    """
    mass = positive(displacement_t, field="displacement_t", unit="t")
    gm = positive(gm_m, field="gm_m", unit="m")
    stiff = max(stiffening_m, 0.0)
    tangent = moment_tm / (mass * gm)
    for _ in range(ITERATION_LIMIT):  # Newton on a function without inflection on either side of 0
        checkpoint()
        over = mass * (gm * tangent + 0.5 * stiff * tangent**3) - moment_tm
        step = over / (mass * (gm + 1.5 * stiff * tangent**2))
        tangent -= step
        if abs(step) <= 1e-14 * max(1.0, abs(tangent)):
            return tangent
    raise NotDeterminedError("the heel by the moment does not settle", code="no-equilibrium", field="moment_tm")
