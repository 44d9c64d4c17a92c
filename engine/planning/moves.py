"""The sequence of moves, and what the real hull answers to each. Layer: engine.planning.

Every sequence has eight moves, ends where it began and is the same to starboard as to port: with m the moment of one
move the plateaus are 0, m, 2m, m, 0, −m, −2m, −m, 0. Four groups of weights (the standard form) start two on each side
and each crosses once; two groups cross in two steps; a single one starts in the middle.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from engine.checks import Floats
from engine.flotation.equilibrium import Equilibrium, equilibrium
from engine.geometry.plane import Planes
from engine.incline.moments import Move, Plateaus, Weight, plateaus
from engine.planning.predicted import PlannedShip

MOVE_COUNT = 8


@dataclass(frozen=True, eq=False)
class Group:
    """Weights moved together.

    Attributes
    ----------
    id : str
        "A", "B", …
    pieces_t : tuple of float
        Masses of its pieces. [t]
    home_m : (3,) float64
        Centre at reading 0. [m]
    arm_m : float
        How far it is moved in all, starboard + : its farthest place is home y − arm. [m]
    lane : int
        Number of the lane it stands in.
    """

    id: str
    pieces_t: tuple[float, ...]
    home_m: Floats
    arm_m: float
    lane: int

    @property
    def mass_t(self) -> float:
        """Of all its pieces. [t]"""
        return float(sum(self.pieces_t))

    @property
    def moment_tm(self) -> float:
        """Moment of its whole move, to starboard +. [t·m]"""
        return self.mass_t * self.arm_m


def weights_of(groups: Sequence[Group]) -> dict[str, Weight]:
    """Return the groups as inclining weights at reading 0."""
    return {group.id: Weight(group.mass_t, group.home_m) for group in groups}


def moves_of(groups: Sequence[Group]) -> tuple[Move, ...]:
    """Return the eight moves of one, two or four groups, starboard first."""
    y = [float(group.home_m[1]) for group in groups]
    if len(groups) == 1:
        half = 0.5 * abs(groups[0].arm_m)
        steps = [(0, y[0] + share * half) for share in (-0.5, -1.0, -0.5, 0.0, 0.5, 1.0, 0.5, 0.0)]
    elif len(groups) == 2:
        steps = []
        for number, group in enumerate(groups):
            steps += [(number, y[number] - share * group.arm_m) for share in (0.5, 1.0, 0.5, 0.0)]
    else:
        steps = []
        for pair in ((0, 1), (2, 3)):
            steps += [(number, y[number] - groups[number].arm_m) for number in pair]
            steps += [(number, y[number]) for number in pair]
    return tuple(Move(groups[number].id, to_y_m=to) for number, to in steps)


@dataclass(frozen=True, eq=False)
class Expected:
    """What the moves are expected to show, readings 0 … m.

    Attributes
    ----------
    plateaus : Plateaus
        Shifts of the weights.
    positions : Equilibrium
        The floating positions.
    tangent_ratio : (m + 1,) float64
        Tangent of the ship's heel, to starboard +.
    """

    plateaus: Plateaus
    positions: Equilibrium
    tangent_ratio: Floats

    @property
    def heel_deg(self) -> Floats:
        """(m + 1,) [deg]."""
        return np.asarray(np.degrees(np.arctan(self.tangent_ratio)), dtype=np.float64)

    @property
    def change_ratio(self) -> Floats:
        """(m + 1,) tangent less that at reading 0."""
        return np.asarray(self.tangent_ratio - self.tangent_ratio[0], dtype=np.float64)

    @property
    def sides_deg(self) -> tuple[float, float]:
        """Largest change of heel since reading 0 to starboard and to port, both ≥ 0. [deg]"""
        change = self.heel_deg - self.heel_deg[0]
        return float(max(change.max(), 0.0)), float(max(-change.min(), 0.0))

    @property
    def sides_ratio(self) -> tuple[float, float]:
        """Largest change of the tangent since reading 0 to starboard and to port, both ≥ 0."""
        change = self.change_ratio
        return float(max(change.max(), 0.0)), float(max(-change.min(), 0.0))


def expect(
    ship: PlannedShip, *, weights: Mapping[str, Weight], moves: Sequence[Move], start: Planes | None = None
) -> Expected:
    """Float her freely after every move, on the real hull with running liquids.

    Raises
    ------
    InputError
        ``unknown-weight``.
    NotDeterminedError
        As ``equilibrium``.
    """
    moved = plateaus(weights=weights, moves=moves)
    rigid = ship.rigid(weights.values())
    if start is not None:
        start = start.take(np.zeros(len(moves) + 1, dtype=int))
    positions = equilibrium(
        solid=ship.hull,
        density_t_per_m3=ship.density_t_per_m3,
        mass_t=rigid.mass_t,
        centre_m=rigid.centre_m + moved.shift_tm / rigid.mass_t,
        liquids=ship.liquids,
        start=start,
    )
    normals = positions.planes.normals
    return Expected(moved, positions, normals[:, 1] / normals[:, 2])
