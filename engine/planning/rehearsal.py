"""The plan played through: what a crew would write down. Layer: engine.planning.

Readings follow from the floating positions of the real hull; noise, where asked for, is drawn by PCG64 from a seed, so
that one seed always gives one set of sheets. The ship is never changed, only what is written down.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from engine.checks import Floats, within
from engine.planning.instruments import Chosen
from engine.planning.moves import Expected
from engine.planning.stations import Station

BATTEN_ZERO_M = 0.5
"""Batten reading of an upright ship."""
LEVEL_ZERO_M = 1.0
"""Level in both legs of an upright ship."""


@dataclass(frozen=True)
class Noise:
    """Standard deviations of independent errors.

    Attributes
    ----------
    reading_m : float
        Each batten or level reading. [m]
    gust_ratio : float
        On the tangent of heel, common to all instruments at one reading.
    freeboard_m, freeboard_common_m : float
        Each freeboard; all of them together. [m]
    seed : int
        Of the generator, 0 or above.
    """

    reading_m: float = 0.0
    gust_ratio: float = 0.0
    freeboard_m: float = 0.0
    freeboard_common_m: float = 0.0
    seed: int = 0

    def __post_init__(self) -> None:
        for name in ("reading_m", "gust_ratio", "freeboard_m", "freeboard_common_m"):
            within(getattr(self, name), low=0.0, high=1.0, field=name)
        within(self.seed, low=0, high=2**63 - 1, field="seed")


@dataclass(frozen=True, eq=False)
class Sheet:
    """One instrument's readings 0 … m: a pendulum's batten, or the two legs of a U-tube. [m]"""

    kind: str
    length_m: float
    readings_m: Floats
    port_levels_m: Floats = field(default_factory=lambda: np.zeros(0))


@dataclass(frozen=True, eq=False)
class Rehearsal:
    """The sheets.

    Attributes
    ----------
    freeboards_m : (n,) float64
        In the order of the stations. [m]
    sheets : tuple of Sheet
        In the order of the instruments. A U-tube's ``readings_m`` is its starboard leg.
    """

    freeboards_m: Floats
    sheets: tuple[Sheet, ...]


def rehearse(
    *, expected: Expected, stations: Sequence[Station], instruments: Sequence[Chosen], noise: Noise | None = None
) -> Rehearsal:
    """Write down what the plan is expected to show.

    Notes
    -----
    Draws are made in one order whatever is zero: gusts, the common freeboard error, freeboards, then each instrument.
    """
    given = noise or Noise()
    generator = np.random.Generator(np.random.PCG64(given.seed))
    count = len(expected.tangent_ratio)

    def draw(deviation: float, size: int) -> Floats:
        return deviation * generator.standard_normal(size)

    tangents = expected.tangent_ratio + draw(given.gust_ratio, count)
    common = draw(given.freeboard_common_m, 1)
    free = np.array([one.freeboard_m for one in stations]) + common + draw(given.freeboard_m, len(stations))
    sheets = []
    for one in instruments:
        errors = draw(given.reading_m, 2 * count).reshape(2, count)
        if one.kind == "pendulum":
            sheets.append(Sheet("pendulum", one.length_m, BATTEN_ZERO_M + one.length_m * tangents + errors[0]))
        else:
            rise = 0.5 * one.length_m * tangents
            sheets.append(
                Sheet("u_tube", one.length_m, LEVEL_ZERO_M + rise + errors[0], LEVEL_ZERO_M - rise + errors[1])
            )
    return Rehearsal(free, tuple(sheets))
