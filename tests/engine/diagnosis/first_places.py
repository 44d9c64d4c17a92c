"""Simulated inclines in which a weight's first place is entered off by a length, in each way its return may go.

What it leaves is an offset of all moments from the weight's first move on: to the end, or while it is away.
"""

import dataclasses
from functools import cache
from typing import Literal, NamedTuple

import numpy as np

from fixtures.simulator import Noise, faults, simulate
from fixtures.simulator.model import Move
from fixtures.simulator.solutions import solve
from tests.engine.diagnosis import simulated
from tests.engine.diagnosis.simulated import Made, Setting, settings

Way = Literal["moves right", "back alike", "back elsewhere", "not back"]
"""Only the first place is off, the moves are right; the place of its return is off alike (the same spot, taped wrong);
it lay elsewhere than planned and is then set down where planned; its return is still to come."""
NATURAL_M = (-1.0, -0.5, 0.5, 1.0)


class Case(NamedTuple):
    """A simulated test, the weight whose first place is off, by how much (logged less true), readings taken."""

    made: Made
    weight: str
    by_m: float
    readings: int


@cache
def stepped() -> tuple[Setting, ...]:
    """Three test ships whose first weight to each side is set down half way out too."""
    found = []
    for setting in (settings()[0], settings()[4], settings()[-1]):
        a, b, home_a, home_b, c, _, home_c, _ = setting.trial.moves
        halves = [Move(one.weight, 0.1 * home.to_y_m) for one, home in ((a, home_a), (c, home_c))]
        moves = [halves[0], a, b, home_a, home_b, halves[1], c, home_c]
        trial = dataclasses.replace(setting.trial, moves=tuple(moves))
        found.append(simulated.setting_of(trial, solve(trial)))
    return tuple(found)


def make(way: Way, *, size: float | None, seed: int, ships: tuple[Setting, ...] = ()) -> Case:
    """Simulate one test.

    Parameters
    ----------
    size : float or None
        Largest shift of a tangent over the standard deviation of a reading; None: half a metre or a metre.
    seed : int
        Of ship, weight and noise.
    """
    rng = np.random.default_rng(seed)
    among = ships or settings()
    setting = among[int(rng.integers(len(among)))]
    unrest = float(rng.choice(simulated.UNREST))
    moved = sorted({move.weight for move in setting.trial.moves})
    name = str(rng.choice(moved[-2:] if way == "not back" else moved))
    weight = next(one for one in setting.trial.weights if one.id == name)
    tangent_per_m = simulated.slope(setting) * weight.mass_t
    want = simulated.Wanted(setting, unrest, size or 0.0)
    by = float(rng.choice(NATURAL_M)) if size is None else float(rng.choice([-1, 1])) * want.common / tangent_per_m
    first = next(k for k, move in enumerate(setting.trial.moves) if move.weight == name)
    if way == "back elsewhere":  # logged moments are too large by m × by, to starboard, from its first move on
        fault = faults.step(first + 1, -by * tangent_per_m)
    else:
        fault = faults.wrong_first_place(name, by, again=way == "back alike")
    noise = Noise(reading_m=simulated.READING_M, reading_deg=simulated.READING_DEG, gust_ratio=unrest * setting.reading)
    record = simulate(setting.trial, noise=noise, seed=seed, solved=setting.solved, faults=[fault])
    return Case(Made(setting, record, 1.0), name, by, 7 if way == "not back" else len(setting.tangents))
