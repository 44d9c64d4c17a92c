"""Where a ship lies in a loading condition, in numbers. Layer: engine.stability."""

from typing import NamedTuple

from engine.flotation.equilibrium import Equilibrium

DRAFT_HEEL_LIMIT_DEG = 80.0
"""Beyond this heel draft and trim are not told."""


class Rest(NamedTuple):
    """Heel, draft and trim, None where they are not told; GM without and with the free surfaces. [deg, m]"""

    heel_deg: float | None
    draft_m: float | None
    trim_m: float | None
    gm_solid_m: float
    gm_fluid_m: float


def rest_of(at: Equilibrium, *, length_bp_m: float, corrected_m: float) -> Rest:
    """Return one position as numbers.

    Parameters
    ----------
    at : Equilibrium
        One position.
    length_bp_m : float
        [m]
    corrected_m : float
        By which GM is less for free surfaces that are not run. [m]
    """
    heel = float(at.planes.heel_deg[0])
    shown = abs(heel) <= DRAFT_HEEL_LIMIT_DEG
    return Rest(
        heel_deg=heel + 0.0,
        draft_m=float(at.planes.draft_m(length_bp_m=length_bp_m)[0]) if shown else None,
        trim_m=float(at.planes.trim_m(length_bp_m=length_bp_m)[0]) + 0.0 if shown else None,
        gm_solid_m=float(at.gm_fluid_m[0] + at.free_surface_tm[0] / at.mass_t[0]),
        gm_fluid_m=float(at.gm_fluid_m[0]) - corrected_m,
    )
