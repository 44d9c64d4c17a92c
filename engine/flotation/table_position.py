r"""Where a ship floats by her hydrostatic tables. Layer: engine.flotation.

Draft and trim follow from Δ(T, t) = mass and the centre of gravity on the vertical through the centre of buoyancy,

.. math:: x_G = \mathrm{LCB}(T, t) + (z_G - \mathrm{VCB})\,t/L, \qquad \tan\varphi = -y_G / GM

with GM reduced by the free surfaces. Liquids are not made to run lengthwise.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from engine.checks import Floats, finite, positive, within
from engine.deadline import checkpoint
from engine.errors import InputError, NotDeterminedError
from engine.flotation.tables import LARGEST_HEEL_DEG, HydrostaticTables, TablePoint


@dataclass(frozen=True)
class TablePosition:
    """Where she floats, and what the tables say there. [m], [deg]"""

    draft_m: float
    trim_m: float
    heel_deg: float
    gm_solid_m: float
    gm_fluid_m: float
    point: TablePoint


def table_position(
    *,
    tables: HydrostaticTables,
    density_t_per_m3: float,
    mass_t: float,
    centre_m: ArrayLike,
    free_surface_moment_tm: float = 0.0,
) -> TablePosition:
    """Find draft, trim and heel of a mass and centre.

    Parameters
    ----------
    tables : HydrostaticTables
        Of the ship.
    density_t_per_m3, mass_t : float
        Water; everything aboard. [t/m³], [t]
    centre_m : (3,) array_like
        Its centre, liquids where they lie. [m]
    free_surface_moment_tm : float
        Σ ρ i. [t·m]

    Raises
    ------
    NotDeterminedError
        ``beyond-tables``; ``heel-needs-hull``; ``gm-not-positive``; ``no-equilibrium``.
    """
    mass = positive(mass_t, field="mass_t", unit="t")
    centre = finite(centre_m, field="centre_m")
    if centre.shape != (3,):
        raise InputError("must be three numbers", code="wrong-shape", field="centre_m")
    surface = float(within(free_surface_moment_tm, low=0.0, high=1e9, field="free_surface_moment_tm", unit="t m"))
    y = float(centre[1])
    draft, trim, at = table_upright(tables=tables, density_t_per_m3=density_t_per_m3, mass_t=mass, centre_m=centre)
    solid = at.km_transverse_m - float(centre[2])
    fluid = solid - surface / mass
    if fluid <= 0:
        raise _unstable(fluid)
    heel = float(np.degrees(np.arctan(-y / fluid))) + 0.0
    if abs(heel) > LARGEST_HEEL_DEG:
        raise NotDeterminedError(
            f"the tables hold the upright ship, heel is {heel:.6g} deg",
            code="heel-needs-hull",
            field="centre_m",
            value=heel,
            limit=LARGEST_HEEL_DEG,
        )
    point = tables.at(draft_m=draft, trim_m=trim, heel_deg=heel, density_t_per_m3=density_t_per_m3)
    return TablePosition(draft, trim + 0.0, heel, solid, fluid, point)


class TableUpright(NamedTuple):
    """Where she floats with the heel held at 0, and what the tables say there. [m]"""

    draft_m: float
    trim_m: float
    point: TablePoint


def table_upright(
    *, tables: HydrostaticTables, density_t_per_m3: float, mass_t: float, centre_m: Floats
) -> TableUpright:
    """Find draft and trim of a mass and centre with the heel held at 0, whatever her GM.

    Parameters
    ----------
    tables, density_t_per_m3, mass_t
        As ``table_position``. [t/m³], [t]
    centre_m : (3,) float64
        y is left out of account. [m]

    Raises
    ------
    NotDeterminedError
        ``beyond-tables``; ``gm-not-positive``: lengthwise; ``no-equilibrium``.
    """
    x, _, z = centre_m.tolist()
    length, trim = tables.length_bp_m, float(tables.trims_m[np.argmin(np.abs(tables.trims_m))])
    for _ in range(100):  # the slope of the trimming lever is that of BM_L to first order: a strong contraction
        checkpoint()
        draft = _draft(tables, mass_t, trim, density_t_per_m3)
        at = tables.at(draft_m=draft, trim_m=trim, density_t_per_m3=density_t_per_m3)
        stiffness = at.km_longitudinal_m - z
        if stiffness <= 0:
            raise _unstable(stiffness)
        step = length * (at.lcb_m + (z - at.vcb_m) * trim / length - x) / stiffness
        trim += step
        if abs(step) <= 1e-11 * length:
            return TableUpright(draft, trim, at)
    raise NotDeterminedError("no draft and trim balance this centre", code="no-equilibrium", field="centre_m")


def table_at_trim(*, tables: HydrostaticTables, density_t_per_m3: float, mass_t: float, trim_m: float) -> TableUpright:
    """Find the draft of a mass with the heel held at 0 and the trim as given. [t/m³], [t], [m]

    Raises
    ------
    NotDeterminedError
        ``beyond-tables``.
    """
    draft = _draft(tables, mass_t, trim_m, density_t_per_m3)
    return TableUpright(draft, trim_m, tables.at(draft_m=draft, trim_m=trim_m, density_t_per_m3=density_t_per_m3))


def _draft(tables: HydrostaticTables, mass: float, trim: float, density: float) -> float:
    """Return the draft at midlength whose displacement is ``mass`` at a trim, by bisection and false position."""
    from scipy.optimize import brentq

    low, high = tables.draft_range_m(trim_m=trim)

    def excess(draft: float) -> float:
        checkpoint()
        return tables.at(draft_m=draft, trim_m=trim, density_t_per_m3=density).displacement_t - mass

    least, most = excess(low) + mass, excess(high) + mass
    if not least <= mass <= most:
        raise NotDeterminedError(
            f"the tables hold {least:.6g} to {most:.6g} t at this trim, {mass:.6g} t is asked for",
            code="beyond-tables",
            field="mass_t",
            value=mass,
            limit=least if mass < least else most,
        )
    return float(brentq(excess, low, high, xtol=1e-13, rtol=1e-14, maxiter=200))


def _unstable(gm: float) -> NotDeterminedError:
    return NotDeterminedError(
        f"GM is {gm:.6g} m: she does not float upright", code="gm-not-positive", field="centre_m", value=gm, limit=0.0
    )
