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


def of_rest(
    at: Equilibrium,
    *,
    solid: Solid,
    density_t_per_m3: float,
    mass_t: ArrayLike,
    centre_m: ArrayLike,
    liquids: Sequence[Liquid] = (),
) -> Iterator[Finding]:
    """Yield what a reader of one position at rest must know: that she is not stable upright, that she turned over.

    Parameters
    ----------
    at : Equilibrium
        One position, free in heel and trim; the rest is what it was found from. [t/m³, t, m]

    Yields
    ------
    Finding
        ``rests-bottom-up``, ``upright-unstable``. Where she has no position upright at all nothing is said of it.
    """
    heel = float(at.planes.heel_deg[0])
    if abs(heel) > BOTTOM_UP_DEG:
        words = f"she turns over and rests at {heel:.6g} deg of heel, beyond {BOTTOM_UP_DEG:.6g} deg; GM is that there"
        yield Finding("rests-bottom-up", words)
    if abs(heel) < UPRIGHT_DEG:
        return
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
        return
    gm = float(upright.gm_fluid_m[0])
    if gm < 0:
        lolls = abs(heel) <= BOTTOM_UP_DEG
        rest = f"and rests at an angle of loll, {heel:.6g} deg" if lolls else "and turns over"
        words = f"upright, trim free, GM is {gm:.6g} m, free surfaces counted: she does not stay there {rest}"
        yield Finding("upright-unstable", words)
