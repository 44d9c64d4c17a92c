"""What a floating position found says of her stability upright. Layer: engine.flotation.

A position at rest is a stable one, and its GM is positive; that she has left another behind is told here.
"""

from collections.abc import Iterator, Sequence

from numpy.typing import ArrayLike

from engine.errors import NotDeterminedError
from engine.findings import Finding
from engine.flotation.equilibrium import Equilibrium, equilibrium
from engine.geometry.cut import Solid
from engine.liquids.running import Liquid

UPRIGHT_DEG = 1e-6
"""At less heel the position found is the upright one itself."""
BOTTOM_UP_DEG = 90.0


def of_rest(heel_deg: float, *, upright_gm_m: float | None) -> Iterator[Finding]:
    """Yield what a reader of a position at rest must know: that she is not stable upright, that she turned over.

    Parameters
    ----------
    heel_deg : float
        At rest, free in heel and trim.
    upright_gm_m : float or None
        GM with the heel held at 0, free surfaces counted; None where it is not known. [m]

    Yields
    ------
    Finding
        ``rests-bottom-up``, ``upright-unstable``.
    """
    over = abs(heel_deg) > BOTTOM_UP_DEG
    if over:
        where = f"{heel_deg:.6g} deg of heel, beyond {BOTTOM_UP_DEG:.6g} deg"
        yield Finding("rests-bottom-up", f"she turns over and rests at {where}; GM is that there")
    if upright_gm_m is None or upright_gm_m >= 0:
        return
    words = f"upright, trim free, GM is {upright_gm_m:.6g} m, free surfaces counted: she does not stay there"
    if over:
        words += " and turns over"
    elif abs(heel_deg) > UPRIGHT_DEG:
        words += f" and rests at an angle of loll, {heel_deg:.6g} deg"
    yield Finding("upright-unstable", words)


def upright_gm_m(
    at: Equilibrium,
    *,
    solid: Solid,
    density_t_per_m3: float,
    mass_t: ArrayLike,
    centre_m: ArrayLike,
    liquids: Sequence[Liquid] = (),
) -> float | None:
    """Return GM upright of what floats as ``at`` says, trim free; None where she has no position there. [m]

    Parameters
    ----------
    at : Equilibrium
        One position; the rest is what it was found from. [t/m³, t, m]
    """
    if abs(float(at.planes.heel_deg[0])) <= UPRIGHT_DEG:
        return float(at.gm_fluid_m[0])
    try:
        upright = equilibrium(
            solid=solid,
            density_t_per_m3=density_t_per_m3,
            mass_t=mass_t,
            centre_m=centre_m,
            liquids=liquids,
            hold="heel",
        )
    except NotDeterminedError:
        return None
    return float(upright.gm_fluid_m[0])
