"""GM by the period of roll beside GM by the incline. Layer: service.schemas."""

from typing import Annotated, Literal

import numpy as np
from pydantic import Field

from engine.diagnosis.swing import ROLL_COEFFICIENTS, check_roll_period
from engine.errors import InputError
from service.edge.model import Model
from service.edge.quantities import Survey
from service.schemas.common import NotDetermined
from service.schemas.diagnosis import RollCheck, roll_check
from service.schemas.incline_answer import InclineAnswer

TIMING_UNCERTAINTY_S = 0.3
"""Standard uncertainty of one period timed by hand, where fewer than three show their own scatter: our choice."""
FEWEST_FOR_SCATTER = 3


class RollPeriods(Model):
    """Periods of free roll at the test, timed at small angles with the lines slack."""

    period_s: Annotated[tuple[Annotated[float, Field(gt=0, le=100)], ...], Field(min_length=1, max_length=1000)]
    """Each of one whole roll, to one side and back through the other."""
    breadth_m: Annotated[float, Survey("m", gt=0, le=200)]
    """Of the ship, moulded."""
    liquids: Literal["empty_or_ballast", "20_percent", "10_percent", "5_percent"] = "empty_or_ballast"
    """Part of the total load that is liquids; it chooses f of the rolling test."""

    def check(self, *, length_bp_m: float, gm_fluid_m: float, gm_standard_uncertainty_m: float | None) -> RollCheck:
        """Return GM by these periods beside GM by the incline."""
        name = self.liquids.replace("_", "-")
        name = name if name in ROLL_COEFFICIENTS else f"liquids-{name}"
        count = len(self.period_s)
        scatter = float(np.std(self.period_s, ddof=1)) if count >= FEWEST_FOR_SCATTER else TIMING_UNCERTAINTY_S
        return roll_check(
            check_roll_period(
                period_s=float(np.mean(self.period_s)),
                period_standard_uncertainty_s=scatter / count**0.5,
                breadth_m=self.breadth_m,
                length_bp_m=length_bp_m,
                coefficient=ROLL_COEFFICIENTS[name],
                gm_fluid_m=gm_fluid_m,
                gm_standard_uncertainty_m=gm_standard_uncertainty_m or 0.0,
            )
        )


def rolled(
    given: RollPeriods | None, *, length_bp_m: float | None, incline: InclineAnswer | NotDetermined
) -> RollCheck | None:
    """Return the cross-check of an incline's GM; None where no periods were given or GM is not known yet.

    Parameters
    ----------
    given : RollPeriods, optional
        As timed.
    length_bp_m : float, optional
        The rule is for ships up to 70 m. [m]
    incline : InclineAnswer or NotDetermined
        With GM fluid.

    Raises
    ------
    InputError
        ``length-missing``: periods without a length.
    """
    if given is None:
        return None
    if length_bp_m is None:
        raise InputError("the roll period's rule needs the length", code="length-missing", field="length_bp_m")
    if isinstance(incline, NotDetermined):
        return None
    return given.check(
        length_bp_m=length_bp_m,
        gm_fluid_m=incline.gm_fluid_m,
        gm_standard_uncertainty_m=incline.gm_standard_uncertainty_m,
    )
