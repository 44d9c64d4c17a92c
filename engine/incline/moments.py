"""Heeling moments of the moved weights. Layer: engine.incline.

Positions are logged, not increments: after each move the moved weight lies where the move says. A moment is
positive to starboard, so 5 t from y = +4 m to y = −4 m adds +40 t·m.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from engine.checks import Floats
from engine.errors import InputError


@dataclass(frozen=True, eq=False)
class Weight:
    """An inclining weight as placed at reading 0: mass [t] and centre (3,) [m]."""

    mass_t: float
    centre_m: Floats


@dataclass(frozen=True, eq=False)
class Move:
    """One move: which weight, and where its centre then lies; None keeps a coordinate as it was. [m]"""

    weight: str
    to_y_m: float
    to_x_m: float | None = None
    to_z_m: float | None = None


@dataclass(frozen=True, eq=False)
class Plateaus:
    """The ship's weights at readings 0 … m.

    Attributes
    ----------
    shift_tm : (m + 1, 3) float64
        First moment of the weights less that at reading 0. [t·m]
    arms_m : (m, 3) float64
        What each move shifted its weight by. [m]
    """

    shift_tm: Floats
    arms_m: Floats

    @property
    def moment_tm(self) -> Floats:
        """(m + 1,) heeling moment against reading 0, to starboard +. [t·m]"""
        return -self.shift_tm[:, 1]


def plateaus(*, weights: Mapping[str, Weight], moves: Sequence[Move]) -> Plateaus:
    """Follow the weights through the moves.

    Raises
    ------
    InputError
        ``unknown-weight`` at ``moves/k/weight``.
    """
    places = {name: weight.centre_m for name, weight in weights.items()}
    shift = np.zeros((len(moves) + 1, 3))
    arms = np.zeros((len(moves), 3))
    for k, move in enumerate(moves):
        if move.weight not in weights:
            words = f"no weight has this id, of {len(weights)} given"
            raise InputError(words, code="unknown-weight", field=f"moves/{k}/weight")
        old = places[move.weight]
        new = np.array(
            [
                old[0] if move.to_x_m is None else move.to_x_m,
                move.to_y_m,
                old[2] if move.to_z_m is None else move.to_z_m,
            ]
        )
        places[move.weight] = new
        arms[k] = new - old
        shift[k + 1] = shift[k] + weights[move.weight].mass_t * (new - old)
    return Plateaus(shift_tm=shift, arms_m=arms)
