r"""Metacentric height from the period of roll, a cross-check of small ships. Layer: engine.stability.

.. math:: GM = (f B / T)^2

References
----------
.. [1] Rolling test for ships of at most 70 m, annexed to the 2008 IS Code; f read in a national copy.
"""

from typing import Literal

from engine.checks import positive
from engine.errors import NotDeterminedError

LoadState = Literal["empty", "liquids_20_percent", "liquids_10_percent", "liquids_5_percent"]

FACTOR: dict[LoadState, float] = {
    "empty": 0.88,
    "liquids_20_percent": 0.78,
    "liquids_10_percent": 0.75,
    "liquids_5_percent": 0.73,
}
"""f by state: empty or in ballast; fully loaded with this part of the total load as liquids. [s/√m]"""

LENGTH_LIMIT_M = 70.0


def gm_by_roll_period_m(*, length_m: float, breadth_m: float, period_s: float, state: LoadState) -> float:
    """Return GM from the natural period of a full roll. [m]

    Parameters
    ----------
    length_m : float
        At most 70. [m]
    breadth_m, period_s : float
        Breadth of the ship; seconds for one oscillation, starboard to port and back. [m, s]
    state : {"empty", "liquids_20_percent", "liquids_10_percent", "liquids_5_percent"}
        What she carries.

    Raises
    ------
    NotDeterminedError
        "roll-test-too-long": a ship longer than 70 m.
    """
    length = positive(length_m, field="length_m", unit="m")
    if length > LENGTH_LIMIT_M:
        raise NotDeterminedError(
            f"the rolling test is for ships of at most {LENGTH_LIMIT_M:.6g} m, this one has {length:.6g} m",
            code="roll-test-too-long",
            field="length_m",
            value=length,
            limit=LENGTH_LIMIT_M,
        )
    breadth, period = positive(breadth_m, field="breadth_m", unit="m"), positive(period_s, field="period_s", unit="s")
    return (FACTOR[state] * breadth / period) ** 2
