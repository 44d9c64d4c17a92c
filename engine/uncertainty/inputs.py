"""One measured input and its standard uncertainty. Layer: engine.uncertainty."""

import math
from dataclasses import dataclass

from engine.checks import finite
from engine.errors import InputError


@dataclass(frozen=True, kw_only=True)
class Input:
    """A measured value that enters the result.

    Attributes
    ----------
    name : str
        Label of its row in the budget.
    value : float
        Estimate, in ``unit``.
    standard_uncertainty : float
        In ``unit``, 0 or above; 0 says the value is taken as exact.
    unit : str
        Unit of the value.
    category : str
        Kind of source ("weights", "freeboards", "scatter"); rows are summed up by it in reports.
    group : str or None
        Inputs of one group are fully correlated (+1): one common error moves them all, each by its own
        standard uncertainty. None: independent of every other input.
    degrees_of_freedom : float
        Of the standard uncertainty, above 0; infinite where it is taken as known.

    Raises
    ------
    InputError
        ``not-finite``, ``negative-uncertainty`` or ``not-positive`` (degrees of freedom).
    """

    name: str
    value: float
    standard_uncertainty: float
    unit: str
    category: str
    group: str | None = None
    degrees_of_freedom: float = math.inf

    def __post_init__(self) -> None:
        finite(self.value, field="value")
        if float(finite(self.standard_uncertainty, field="standard_uncertainty")) < 0:
            raise InputError(
                f"a standard uncertainty is 0 or above, is {self.standard_uncertainty:.6g}",
                code="negative-uncertainty",
                field="standard_uncertainty",
                value=float(self.standard_uncertainty),
                limit=0.0,
            )
        if not self.degrees_of_freedom > 0:  # a NaN is refused too
            raise InputError(
                f"degrees of freedom must be above 0, are {self.degrees_of_freedom:.6g}",
                code="not-positive",
                field="degrees_of_freedom",
                value=float(self.degrees_of_freedom),
                limit=0.0,
            )
