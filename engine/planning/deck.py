"""Where inclining weights can stand and how far across they can go. Layer: engine.planning.

A lane is a strip of deck across the ship along which weights are moved. The load on it, its length and the crane's
reach bound what may stand there; weights in one lane never stand on one another's place.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import floor, sqrt

from engine.checks import positive
from engine.errors import InputError

GAP_M = 0.05
"""Clear between two groups in a lane: our choice."""
LEAST_ARM_M = 0.5
"""Shortest way a weight is moved, so that 5 mm at each end stay below 2 % of it: our choice."""
TIER_LIMIT = 3
"""Pieces stacked on one another at most: our choice."""


@dataclass(frozen=True)
class Stock:
    """Equal pieces on hand.

    Attributes
    ----------
    mass_t : float
        Of one piece. [t]
    count : int
        How many.
    length_m, breadth_m, height_m : float
        Footprint along and across the ship, and height. [m]
    """

    mass_t: float
    count: int
    length_m: float
    breadth_m: float
    height_m: float

    def __post_init__(self) -> None:
        for name, unit in (("mass_t", "t"), ("count", ""), ("length_m", "m"), ("breadth_m", "m"), ("height_m", "m")):
            positive(getattr(self, name), field=name, unit=unit)


@dataclass(frozen=True)
class Lane:
    """A strip across the deck.

    Attributes
    ----------
    x_m, z_m : float
        Its middle; the deck's height. [m]
    y_min_m, y_max_m : float
        Its ends: no part of a weight beyond them. [m]
    length_m : float
        Along the ship. [m]
    load_limit_t_per_m2 : float
        Infinite where none is stated. [t/m²]
    """

    x_m: float
    z_m: float
    y_min_m: float
    y_max_m: float
    length_m: float
    load_limit_t_per_m2: float = float("inf")

    def __post_init__(self) -> None:
        positive(self.length_m, field="length_m", unit="m")
        positive_or_infinite(self.load_limit_t_per_m2, field="load_limit_t_per_m2")
        if not self.y_min_m < self.y_max_m:
            raise InputError(
                f"must be below the other end, {self.y_max_m:.6g} m, is {self.y_min_m:.6g} m",
                code="box-ends",
                field="y_min_m",
                value=self.y_min_m,
                limit=self.y_max_m,
            )


@dataclass(frozen=True)
class Crane:
    """What lifts the weights: where it stands, how far it reaches, what it lifts. [m, t]"""

    x_m: float
    y_m: float
    reach_m: float
    lift_t: float = float("inf")

    def __post_init__(self) -> None:
        positive(self.reach_m, field="reach_m", unit="m")
        positive_or_infinite(self.lift_t, field="lift_t")


@dataclass(frozen=True)
class Deck:
    """The lanes, and the crane where the weights are lifted by one of a stated reach."""

    lanes: tuple[Lane, ...]
    crane: Crane | None = None


def positive_or_infinite(value: float, *, field: str) -> None:
    """Refuse a number that is not above 0; infinity passes."""
    if not value > 0:
        raise InputError(f"must be above 0, is {value:.6g}", code="not-positive", field=field, value=value, limit=0.0)


@dataclass(frozen=True)
class Block:
    """A group's pieces: their masses and the largest size among them. [t, m]"""

    pieces_t: tuple[float, ...]
    length_m: float
    breadth_m: float
    height_m: float

    @property
    def mass_t(self) -> float:
        """Of all pieces. [t]"""
        return sum(self.pieces_t)


@dataclass(frozen=True)
class Spot:
    """Where a block stands at reading 0, its longest way across, and its lane. [m]"""

    home_m: tuple[float, float, float]
    arm_m: float
    lane: int


def block_of(pieces: Sequence[Stock]) -> Block:
    """Return the block of a group's pieces."""
    return Block(
        tuple(one.mass_t for one in pieces),
        max(one.length_m for one in pieces),
        max(one.breadth_m for one in pieces),
        max(one.height_m for one in pieces),
    )


@dataclass(frozen=True)
class _Laid:
    """A block laid in a lane: breadth across the ship, height of its centre above deck, the y its centre may take."""

    breadth_m: float
    centre_m: float
    low_m: float
    high_m: float


def _laid(block: Block, lane: Lane, crane: Crane | None) -> _Laid | None:
    """Lay a block in a lane, tiers as the deck bears them, rows as the lane is long; None where it cannot stand."""
    heaviest, count = max(block.pieces_t), len(block.pieces_t)
    bears = lane.load_limit_t_per_m2 * block.length_m * block.breadth_m * (1 + 1e-12) / heaviest
    tiers = TIER_LIMIT if bears >= TIER_LIMIT else floor(bears)
    along = floor(lane.length_m / block.length_m * (1 + 1e-12))
    if tiers < 1 or along < 1 or (crane is not None and heaviest > crane.lift_t):
        return None
    tiers = min(tiers, count)
    footprints = -(-count // tiers)
    rows = -(-footprints // along)
    breadth = rows * block.breadth_m
    low, high = lane.y_min_m + breadth / 2, lane.y_max_m - breadth / 2
    if crane is not None:
        off = crane.reach_m**2 - (lane.x_m - crane.x_m) ** 2
        if off <= 0:
            return None
        low, high = max(low, crane.y_m - sqrt(off)), min(high, crane.y_m + sqrt(off))
    height = block.height_m * sum(piece // footprints + 0.5 for piece in range(count)) / count
    return _Laid(breadth, height, low, high) if low < high else None


def placed(blocks: Sequence[Block], deck: Deck) -> Iterator[tuple[tuple[Spot, ...], float]]:
    """Yield ways to stand the blocks, each with the shortest arm at which they keep clear of each other. [m]

    Four blocks stand in four lanes, in two, or in one; two in two or in one. The first half stands to port, the second
    to starboard; a lone one in the middle.
    """
    widest = max(blocks, key=lambda block: (len(block.pieces_t), block.breadth_m))
    laid = {
        number: one for number, lane in enumerate(deck.lanes) if (one := _laid(widest, lane, deck.crane)) is not None
    }
    if len(blocks) == 1:
        for number, one in laid.items():
            lane = deck.lanes[number]
            middle = 0.5 * (one.low_m + one.high_m)
            if one.high_m - one.low_m >= LEAST_ARM_M:
                spot = Spot((lane.x_m, middle, lane.z_m + one.centre_m), one.high_m - one.low_m, number)
                yield (spot,), LEAST_ARM_M
        return
    half = len(blocks) // 2
    for lanes in (4, 2, 1):
        if lanes > len(blocks) or lanes > len(laid):
            continue
        pairs = len(blocks) // lanes
        arms = {number: one.high_m - one.low_m - (pairs - 1) * (one.breadth_m + GAP_M) for number, one in laid.items()}
        fit = sorted((number for number in arms if arms[number] >= LEAST_ARM_M), key=lambda number: -arms[number])[
            :lanes
        ]
        if len(fit) < lanes:
            continue
        spots: list[Spot | None] = [None] * len(blocks)
        for lane_rank, number in enumerate(sorted(fit, key=lambda number: deck.lanes[number].x_m)):
            lane, one = deck.lanes[number], laid[number]
            members = _members(lane_rank, lanes, len(blocks))
            port = [member for member in members if member < half]
            starboard = [member for member in members if member >= half]
            for side, row in ((1.0, port), (-1.0, starboard)):
                for slot, member in enumerate(row):
                    y = (one.high_m if side > 0 else one.low_m) - side * slot * (one.breadth_m + GAP_M)
                    spots[member] = Spot((lane.x_m, y, lane.z_m + one.centre_m), arms[number], number)
        clear = 2 * max(laid[number].breadth_m + GAP_M for number in fit) if pairs == 4 else 0.0
        least = max(LEAST_ARM_M, clear)
        yield tuple(spot for spot in spots if spot is not None), least


def _members(lane_rank: int, lanes: int, blocks: int) -> list[int]:
    """Return which blocks stand in a lane: one each; or one of each side; or all."""
    if lanes == blocks:
        order = {4: (0, 2, 1, 3), 2: (0, 1)}[blocks]
        return [order[lane_rank]]
    if lanes == 2:
        return [lane_rank, lane_rank + 2]
    return list(range(blocks))
