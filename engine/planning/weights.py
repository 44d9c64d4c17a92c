"""Inclining weights from those on hand. Layer: engine.planning.

A set of weights is four groups (two, or one, where there are too few pieces) with the same heeling moment each. The
smallest set whose heel on the real hull reaches the heel wanted is taken, its arms shortened to that heel. Heel lies
within 1 to 4 degrees each side (IMO 2008 IS Code, B/8.2.2.8), even where GM is off by the margin given.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from engine.checks import within
from engine.deadline import checkpoint
from engine.errors import EngineError, InputError
from engine.incline.moments import Move
from engine.planning.deck import Block, Deck, Stock, block_of, placed
from engine.planning.moves import Expected, Group, expect, moves_of, weights_of
from engine.planning.predicted import Condition, PlannedShip, predict

SCHEMES = (4, 2, 1)
"""Numbers of groups, the standard form first."""
TRIAL_LIMIT = 16
"""Sets floated on the real hull at most, for each number of groups."""
FIT_LIMIT = 6
"""Steps in which an arm must settle."""
LOOSER = 10
"""How much wider that may be once two steps have not reached it: short arms end on millimetres."""
WALL_SIDED_RATIO = 0.1
"""How far the wall-sided estimate may be off before a set is given up without being floated."""
SETTLED_RATIO = 1e-3
"""How near the heel comes to the one aimed at, never below it."""
PIECE_LIMIT = 200
"""Pieces on hand looked at, the heaviest first."""


@dataclass(frozen=True)
class HeelRange:
    """Limits of the heel each side of reading 0.

    Attributes
    ----------
    least_deg, most_deg : float
        Limits. [deg]
    wanted_deg : float
        Heel the set shall reach. [deg]
    gm_margin_percent : float
        The limits hold even where GM is this much above or below the prediction.
    """

    least_deg: float = 1.0
    most_deg: float = 4.0
    wanted_deg: float = 2.0
    gm_margin_percent: float = 10.0

    def __post_init__(self) -> None:
        within(self.gm_margin_percent, low=0.0, high=50.0, field="gm_margin_percent", unit="%")
        within(self.least_deg, low=1e-3, high=45.0, field="least_deg", unit="deg")
        if not self.low_ratio < self.high_ratio:
            raise InputError(
                f"leaves no heel between {self.least_deg:.6g} and {self.most_deg:.6g} degrees once GM may be off by "
                f"{self.gm_margin_percent:.6g} %",
                code="no-heel-left",
                field="most_deg",
                value=self.most_deg,
                limit=self.least_deg,
            )

    @property
    def low_ratio(self) -> float:
        """Least tangent at the predicted GM."""
        return float(np.tan(np.radians(self.least_deg))) * (1 + self.gm_margin_percent / 100)

    @property
    def high_ratio(self) -> float:
        """Largest tangent at the predicted GM."""
        return float(np.tan(np.radians(self.most_deg))) * (1 - self.gm_margin_percent / 100)

    @property
    def aim_ratio(self) -> float:
        """Tangent aimed at: that of the heel wanted, inside the limits."""
        return float(np.clip(np.tan(np.radians(self.wanted_deg)), self.low_ratio, self.high_ratio))


@dataclass(frozen=True, eq=False)
class WeightSet:
    """A set as floated.

    Attributes
    ----------
    groups : tuple of Group
        Four, two or one.
    condition : Condition
        The ship with it aboard, at reading 0.
    expected : Expected
        What its moves show.
    """

    groups: tuple[Group, ...]
    condition: Condition
    expected: Expected

    @property
    def mass_t(self) -> float:
        """Of all groups. [t]"""
        return sum(group.mass_t for group in self.groups)

    @property
    def moves(self) -> tuple[Move, ...]:
        """The eight moves."""
        return moves_of(self.groups)


@dataclass(frozen=True, eq=False)
class Candidate:
    """A set before it is floated: its groups at their full arms, and the moment each side."""

    groups: tuple[Group, ...]
    moment_tm: float
    least_scale_ratio: float

    @property
    def mass_t(self) -> float:
        """Of all groups. [t]"""
        return sum(group.mass_t for group in self.groups)

    def scaled(self, ratio: float) -> tuple[Group, ...]:
        """Return the groups with shorter arms; a lone group stays in the middle."""
        return tuple(replace(group, arm_m=group.arm_m * ratio) for group in self.groups)


def candidates(stock: Sequence[Stock], deck: Deck, *, groups: int) -> Iterator[Candidate]:
    """Yield every set of so many groups that the stock and the deck allow, lightest first.

    Each takes neighbours of the stock in order of mass and deals them out to and fro, so that the groups are as
    equal as the pieces allow; what is unequal is made good by the arm.
    """
    sizes = sorted(stock, key=lambda one: -one.mass_t)
    pieces = [number for number, one in enumerate(sizes) for _ in range(one.count)][:PIECE_LIMIT]
    windows = {
        tuple(pieces[first : first + groups * each])
        for each in range(1, len(pieces) // groups + 1)
        for first in range(len(pieces) - groups * each + 1)
    }
    sets = [[sizes[number] for number in window] for window in windows]
    for pieces_of in sorted(sets, key=lambda one: (sum(p.mass_t for p in one), len(one), [p.length_m for p in one])):
        checkpoint()
        made = candidate_of(pieces_of, deck, groups=groups)
        if made is not None:
            yield made


def candidate_of(pieces: Sequence[Stock], deck: Deck, *, groups: int) -> Candidate | None:
    """Return the set made of just these pieces, where they stand best; None where they cannot stand."""
    return _candidate(_dealt(pieces, groups), deck)


def _dealt(window: Sequence[Stock], groups: int) -> list[list[Stock]]:
    dealt: list[list[Stock]] = [[] for _ in range(groups)]
    for row in range(len(window) // groups):
        part = window[row * groups : (row + 1) * groups]
        for number, one in enumerate(part if row % 2 == 0 else reversed(part)):
            dealt[number].append(one)
    return dealt


def _candidate(dealt: Sequence[Sequence[Stock]], deck: Deck) -> Candidate | None:
    best: Candidate | None = None
    blocks = tuple(block_of(pieces) for pieces in dealt)
    for places, least in placed(blocks, deck):
        moment = min(block.mass_t * place.arm_m for block, place in zip(blocks, places, strict=True))
        side = {4: 2.0, 2: 1.0, 1: 0.5}[len(blocks)] * moment
        if best is None or side > best.moment_tm * (1 + 1e-9):
            groups = tuple(
                _group(number, block, moment / block.mass_t, place.home_m, place.lane, len(blocks))
                for number, (block, place) in enumerate(zip(blocks, places, strict=True))
            )
            shortest = min(abs(group.arm_m) for group in groups)
            best = Candidate(groups, side, least / shortest if shortest > 0 else 1.0)
    return best


def _group(number: int, block: Block, arm: float, home: tuple[float, float, float], lane: int, count: int) -> Group:
    to_port = number >= count / 2 and count > 1
    return Group("ABCD"[number], block.pieces_t, np.array(home), -arm if to_port else arm, lane)


@dataclass(frozen=True, eq=False)
class Search:
    """What was found.

    Attributes
    ----------
    found : WeightSet or None
        The set taken; None where nothing on hand can stand on the deck.
    reaches : bool
        Whether it reaches the heel wanted.
    within : bool
        Whether it keeps the limits of heel.
    """

    found: WeightSet | None
    reaches: bool
    within: bool


def choose_weights(ship: PlannedShip, *, stock: Sequence[Stock], deck: Deck, heel: HeelRange) -> Search:
    """Find the smallest set that reaches the heel wanted; else the one that comes nearest.

    Raises
    ------
    NotDeterminedError
        As ``predict`` for the ship without weights.
    """
    bare = predict(ship)
    wanted = bare.moment_tm(heel.aim_ratio)
    largest: list[Candidate] = []
    smallest: list[Candidate] = []
    for groups in SCHEMES:
        every = list(candidates(stock, deck, groups=groups))
        able = [one for one in every if one.moment_tm >= 0.8 * wanted]
        for candidate in able[:TRIAL_LIMIT]:
            checkpoint()
            found = fitted(ship, candidate, bare=bare, aim_ratio=heel.aim_ratio)
            if found is not None and _holds(found, heel):
                return Search(found, reaches=True, within=True)
        if every:
            largest.append(max(every, key=lambda one: one.moment_tm))
            smallest.append(every[0])
    return _nearest(ship, bare, largest, smallest, heel)


def _nearest(
    ship: PlannedShip, bare: Condition, largest: list[Candidate], smallest: list[Candidate], heel: HeelRange
) -> Search:
    """Return the set that comes nearest to the limits: the largest below the heel wanted, else the smallest above."""
    below = [one for one in (floated(ship, c.groups, bare=bare) for c in largest) if one is not None]
    below = [one for one in below if max(one.expected.sides_ratio) <= heel.high_ratio]
    if below:
        best = max(below, key=lambda one: min(one.expected.sides_ratio))
        return Search(best, reaches=False, within=min(best.expected.sides_ratio) >= heel.low_ratio)
    above = [
        one for c in smallest if (one := floated(ship, c.scaled(min(1.0, c.least_scale_ratio)), bare=bare)) is not None
    ]
    if above:
        best = min(above, key=lambda one: max(one.expected.sides_ratio))
        return Search(best, reaches=True, within=_holds(best, heel))
    return Search(None, reaches=False, within=False)


def _holds(found: WeightSet, heel: HeelRange) -> bool:
    sides = found.expected.sides_ratio
    slack = 1e-6
    return min(sides) >= heel.low_ratio * (1 - slack) and max(sides) <= heel.high_ratio * (1 + slack)


def fitted(ship: PlannedShip, candidate: Candidate, *, bare: Condition, aim_ratio: float) -> WeightSet | None:
    """Return the set with its arms shortened until the weaker side just reaches the tangent aimed at; None if short.

    The arms end on whole millimetres, and are never below the candidate's shortest.
    """
    condition = _loaded(ship, candidate.groups, bare=bare)
    if condition is None:
        return None
    aimed = aim_ratio * (1 + SETTLED_RATIO)
    ratio = condition.moment_tm(aimed) / candidate.moment_tm
    if ratio > 1 + WALL_SIDED_RATIO:
        return None
    for step in range(FIT_LIMIT):  # heel is all but linear in the arm: two or three steps settle to a millimetre
        checkpoint()
        ratio = min(max(ratio, candidate.least_scale_ratio), 1.0)
        found = _moved(ship, _whole_millimetres(candidate.scaled(ratio)), condition)
        if found is None:
            return None
        weaker = min(found.expected.sides_ratio)
        near = aimed * (1 + SETTLED_RATIO * (1 if step < 2 else LOOSER))
        if aim_ratio <= weaker and (weaker <= near or ratio == candidate.least_scale_ratio):
            return found
        if weaker <= 0 or (ratio == 1.0 and weaker < aim_ratio):
            return None
        ratio *= aimed / weaker
    return None


def _whole_millimetres(groups: Sequence[Group]) -> tuple[Group, ...]:
    """Return arms rounded up to a millimetre; those of equal masses stay equal."""
    return tuple(
        replace(group, arm_m=float(np.sign(group.arm_m) * np.ceil(abs(group.arm_m) * 1000 - 1e-6) / 1000))
        for group in groups
    )


def floated(ship: PlannedShip, groups: Sequence[Group], *, bare: Condition) -> WeightSet | None:
    """Return the set afloat on the real hull; None where she finds no upright position with it."""
    condition = _loaded(ship, groups, bare=bare)
    return None if condition is None else _moved(ship, groups, condition)


def _loaded(ship: PlannedShip, groups: Sequence[Group], *, bare: Condition) -> Condition | None:
    """Return reading 0; None where there is no stable one near upright."""
    try:
        return predict(ship, weights=weights_of(groups).values(), start=bare.position.planes)
    except EngineError:
        return None


def _moved(ship: PlannedShip, groups: Sequence[Group], condition: Condition) -> WeightSet | None:
    try:
        expected = expect(ship, weights=weights_of(groups), moves=moves_of(groups), start=condition.position.planes)
    except EngineError:
        return None
    return WeightSet(tuple(groups), condition, expected)
