"""Pendulums and U-tubes long enough to read. Layer: engine.planning.

The deflection wanted is 0.15 m each side (IMO 2008 IS Code, B/Annex 1, 2.4 and 2.5, from memory): pendulum length ×
tangent, or the difference of level of a U-tube, spread × tangent. Where the head-room is too short for a pendulum a
U-tube needs only breadth. Lengths differ, so that readers cannot copy one another (same source).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from engine.checks import positive, within
from engine.errors import InputError

Kind = Literal["pendulum", "u_tube"]

LENGTH_STEP_M = 0.05
"""Pendulum lengths are rounded down to this: our choice."""
LENGTH_DIFFERENCE_M = 0.10
"""Two pendulums differ by this at least where they can: our choice."""
BATTEN_MARGIN_M = 0.10
"""Batten beyond the travel expected, each end: our choice."""


@dataclass(frozen=True)
class Place:
    """Where an instrument can hang or stand.

    Attributes
    ----------
    head_room_m : float
        Longest pendulum that fits, pivot to batten; 0 where none does. [m]
    spread_m : float
        Widest U-tube that fits, athwart; 0 where none does. [m]
    """

    head_room_m: float = 0.0
    spread_m: float = 0.0

    def __post_init__(self) -> None:
        for name in ("head_room_m", "spread_m"):
            value = getattr(self, name)
            if not value >= 0:
                raise InputError(
                    f"must be 0 m or more, is {value:.6g} m", code="out-of-range", field=name, value=value, limit=0.0
                )


@dataclass(frozen=True)
class Needs:
    """What is asked of the instruments.

    Attributes
    ----------
    deflection_m : float
        Each side. [m]
    count : int
        Instruments needed; one of them a pendulum.
    longest_m : float
        Longest pendulum used even where more would fit. [m]
    gm_margin_percent : float
        The deflection is reached even where GM is this much above the prediction.
    """

    deflection_m: float = 0.15
    count: int = 3
    longest_m: float = 6.0
    gm_margin_percent: float = 0.0

    def __post_init__(self) -> None:
        positive(self.deflection_m, field="deflection_m", unit="m")
        positive(self.longest_m, field="longest_m", unit="m")
        within(self.gm_margin_percent, low=0.0, high=50.0, field="gm_margin_percent", unit="%")

    @property
    def at_predicted_gm_m(self) -> float:
        """Deflection to plan for at the predicted GM. [m]"""
        return self.deflection_m * (1 + self.gm_margin_percent / 100)


@dataclass(frozen=True)
class Chosen:
    """An instrument at a place.

    Attributes
    ----------
    place : int
        Number of the place.
    kind : {"pendulum", "u_tube"}
        What it is.
    length_m : float
        Pivot to batten, or the spread of the legs. [m]
    starboard_deflection_m, port_deflection_m : float
        Expected at the largest moment each side: of a U-tube the difference of level. [m]
    least_length_m : float
        Length at which the deflection wanted, margin included, is just reached on the weaker side. [m]
    scale_length_m : float
        Batten, or the least height of each leg's scale. [m]
    enough : bool
        Whether both deflections reach what is wanted at the predicted GM.
    """

    place: int
    kind: Kind
    length_m: float
    starboard_deflection_m: float
    port_deflection_m: float
    least_length_m: float
    scale_length_m: float
    enough: bool


def least_length_m(*, deflection_m: float, tangent_ratio: float) -> float:
    """Return the length that gives a deflection at a tangent of heel. [m]

    Raises
    ------
    InputError
        "not-positive".
    """
    return positive(deflection_m, field="deflection_m", unit="m") / positive(tangent_ratio, field="tangent_ratio")


def least_tangent_ratio(places: Sequence[Place], needs: Needs) -> float:
    """Return the tangent of heel at which enough places, one of them for a pendulum, give the deflection.

    Infinite where there are too few places, or none for a pendulum.
    """
    by_place = sorted(needs.at_predicted_gm_m / reach for place in places if (reach := _longest(place, needs)) > 0)
    pendulums = [needs.at_predicted_gm_m / min(p.head_room_m, needs.longest_m) for p in places if p.head_room_m > 0]
    if len(by_place) < needs.count or not pendulums:
        return float("inf")
    return max(by_place[needs.count - 1], min(pendulums))


def choose_instruments(
    places: Sequence[Place], *, sides_ratio: tuple[float, float], needs: Needs
) -> tuple[Chosen, ...]:
    """Choose what stands at each place, in order.

    Parameters
    ----------
    places : sequence of Place
        As offered.
    sides_ratio : tuple of two floats
        Largest tangent of heel expected to starboard and to port.
    needs : Needs
        Deflection, number.

    Notes
    -----
    A pendulum wherever it gives the deflection; a U-tube where only that does; else what comes nearest. The longest
    that fits, because a reading's error counts for less, shortened only to differ from the pendulums before it.
    """
    weaker = min(sides_ratio)
    least = least_length_m(deflection_m=needs.at_predicted_gm_m, tangent_ratio=weaker) if weaker > 0 else float("inf")
    taken: list[float] = []
    found = []
    for number, place in enumerate(places):
        pendulum, tube = min(place.head_room_m, needs.longest_m), place.spread_m
        if pendulum <= 0 and tube <= 0:
            continue
        if pendulum >= least or tube <= 0 or (tube < least and pendulum >= tube):
            kind: Kind = "pendulum"
            length = _apart(pendulum, taken, least)
            taken.append(length)
        else:
            kind, length = "u_tube", tube
        found.append(_chosen(number, kind, length, sides_ratio, least, needs))
    return tuple(found)


def _longest(place: Place, needs: Needs) -> float:
    return max(min(place.head_room_m, needs.longest_m), place.spread_m)


def _apart(longest: float, taken: Sequence[float], least: float) -> float:
    """Return the longest length of whole steps that differs from those taken, if it is long enough; else the step's."""
    steps = int(longest / LENGTH_STEP_M + 1e-9)
    first = steps * LENGTH_STEP_M if steps * LENGTH_STEP_M >= min(least, longest) else longest
    for step in range(steps, 0, -1):
        length = round(step * LENGTH_STEP_M, 9)
        if length < least:
            break
        if all(abs(length - other) >= LENGTH_DIFFERENCE_M - 1e-9 for other in taken):
            return length
    return round(first, 9)


def _chosen(number: int, kind: Kind, length: float, sides: tuple[float, float], least: float, needs: Needs) -> Chosen:
    starboard, port = (length * side for side in sides)
    travel = starboard + port if kind == "pendulum" else max(starboard, port)
    return Chosen(
        place=number,
        kind=kind,
        length_m=length,
        starboard_deflection_m=starboard,
        port_deflection_m=port,
        least_length_m=least,
        scale_length_m=travel + 2 * BATTEN_MARGIN_M,
        enough=min(starboard, port) >= needs.deflection_m,
    )
