"""Places of weights that leave the trace of what is named, and the reading that tells them apart.

Layer: engine.diagnosis.
"""

from collections.abc import Sequence
from typing import NamedTuple

from engine.diagnosis.context import Context
from engine.diagnosis.patterns import Block
from engine.diagnosis.weight_patterns import back_at

BACK_ON_THE_SPOT = (
    "Set that weight down on the very spot where it lay at reading 0 and read again: a place entered wrong takes the "
    "shift away, anything else leaves it. A tape over that spot tells it too."
)
TAPE_IT = "A tape over the weight where it stands."
TO_A_THIRD = (
    "Tape the place where it lay at reading 0 too, or move it to a third place and read: there a first place entered "
    "wrong shows again, by as many t m."
)
TAPE_PLACES = "Tape the places of the weight moved then: TCG rests on where it lay at reading 0."
AND_RETURNS = "Each return to that spot is off alike."
SHIFTS = ("after-zero", "lasting-shift")
"""Classes that anything leaves which shifts for good."""


class Same(NamedTuple):
    """A candidate whose pattern is that of the one named: its block, its number in it, its size over that one's."""

    block: Block
    at: int
    size_ratio: float


class Twin(NamedTuple):
    """A place that leaves the trace of what is named; ``arm_m`` is true less logged, to port +."""

    cause: str
    weight: str
    arm_m: float
    evidence: str
    separate: str


def twins_of(context: Context, trace: str, same: Sequence[Same], moment_tm: float) -> list[Twin]:
    """Return the places that fit as well as a fault of class ``trace``, of so many t m to starboard; one of a kind."""
    found: dict[tuple[str, str], Twin] = {}
    for one in same:
        if one.block.kind != "twin" or one.block.where is None or one.block.trace == trace:
            continue
        placed = context.placements[int(one.block.where[one.at])]
        first = one.block.trace == "first-place"
        arm = one.size_ratio * moment_tm / placed.mass_t * (1 if first else -1)
        words = f"{abs(arm):.3f} m further to {'port' if arm > 0 else 'starboard'}"
        back = back_at(context.placements, placed.weight, placed.home_y_m)
        separate = BACK_ON_THE_SPOT
        if not first:
            told = f"so would weight {placed.weight} standing {words} than logged, from reading {placed.first} on"
            separate = TAPE_IT
        else:
            told = f"so would weight {placed.weight} having lain {words} at reading 0 than entered"
            if trace == "weight-moment":
                separate = TO_A_THIRD
            elif back is not None and trace in SHIFTS:
                told += f", unless it was truly set down on that spot again, as logged, for reading {back}"
        cause = "first-place-off" if first else "weight-arm"
        found.setdefault((cause, placed.weight), Twin(cause, placed.weight, arm, told, separate))
    return list(found.values())
