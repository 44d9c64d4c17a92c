r"""What uncertainty a plan may be expected to leave. Layer: engine.planning.

To first order, from planned values, before there is a reading. With b the slope of tangent on moment, x the moments
less their mean and S = Σ x²:

.. math::
    GM = \frac{1}{b\Delta},\qquad KG = KM - GM - FSC,\qquad z_{LS} = \frac{\Delta\,KG - \sum m_i z_i}{W}

so an error of a reading, a place, a length or a mass enters GM once, an error of draft moves Δ, KM and GM together
(dKG/dΔ = dKM/dΔ + GM/Δ), an error of density Δ and GM alone. Errors common to all readings do not average down. Rows
are put together by ``engine.uncertainty`` (JCGM 100:2008, 5.2).
"""

from collections.abc import Sequence

import numpy as np

from engine.errors import InputError
from engine.planning.expected_rows import (
    Setting,
    Spread,
    buoyancy_rows,
    ledger_rows,
    liquids_rows,
    readings_rows,
    weights_rows,
)
from engine.planning.instruments import Chosen
from engine.planning.predicted import PlannedShip
from engine.planning.stations import Station
from engine.planning.weights import WeightSet
from engine.uncertainty import Budget, Output, propagate

OUTPUTS = (
    Output("gm_fluid_m", "m"),
    Output("as_inclined_vcg_m", "m"),
    Output("lightship_mass_t", "t"),
    Output("lightship_vcg_m", "m"),
)


def expected_budget(
    ship: PlannedShip,
    chosen: WeightSet,
    *,
    instruments: Sequence[Chosen],
    stations: Sequence[Station],
    spread: Spread,
    coverage_percent: float = 95.0,
) -> Budget:
    """Return the budget expected of GM, VCG as inclined, and the lightship's mass and VCG.

    Parameters
    ----------
    ship, chosen : PlannedShip, WeightSet
        The plan.
    instruments : sequence of Chosen
        At least one.
    stations : sequence of Station
        Freeboards, at least one.
    spread : Spread
        Standard uncertainties.

    Raises
    ------
    InputError
        "too-few-readings": no instrument or no freeboard; "negative-uncertainty".
    """
    for name, given in (("instruments", instruments), ("stations", stations)):
        if not given:
            raise InputError("one at least is needed", code="too-few-readings", field=name, value=0.0, limit=1.0)
    at = chosen.condition
    lightship = ship.lightship
    setting = Setting(
        at.displacement_t,
        at.gm_fluid_m,
        float(at.position.centre_m[0, 2]),
        lightship.mass_t,
        float(lightship.centre_m[2]),
    )
    rows = [
        *readings_rows(chosen, setting, instruments, spread),
        *weights_rows(chosen, setting, spread),
        *buoyancy_rows(ship, chosen, setting, stations, spread),
        *liquids_rows(ship, chosen, setting, spread),
        *ledger_rows(ship, setting, spread),
    ]
    columns = np.array([column for _, column in rows]).T
    return propagate(
        jacobian=columns, inputs=[one for one, _ in rows], outputs=OUTPUTS, coverage_percent=coverage_percent
    )
