"""Simulated incline tests with one fault of a stated size, on stored floating positions, and their diagnosis.

Size is the largest shift of a tangent over the standard deviation of a reading about the true line, the
instrument's own error and the ship's unrest together. Faults whose size follows from the test itself (a side, a
sign, an exchange) get the noise that makes them that size; ``size=None`` leaves noise and fault natural.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np

from engine.diagnosis.incline import diagnose
from engine.diagnosis.result import Diagnosis
from engine.incline.instruments import Inclinometer, Instrument, Pendulum, UTube, heel_tangents
from engine.incline.moments import Move, Weight, plateaus
from fixtures.demo.vessel import demo_trial
from fixtures.simulator import Noise, Trial, faults, simulate
from fixtures.simulator.faults import Fault
from fixtures.simulator.solutions import Solution, solution
from fixtures.simulator.vessels import trials

READING_M = 0.0005
READING_DEG = 0.005
UNREST = (0.0, 0.25, 0.5)
"""Unrest common to all instruments, in standard deviations of a reading; each test draws one."""

Record = dict[str, Any]


@dataclass(frozen=True)
class Setting:
    """A test ship with her true tangents and moments, her instruments' errors and scales."""

    trial: Trial
    solved: Solution
    tangents: np.ndarray
    moment_tm: np.ndarray
    sigma: np.ndarray
    scale: np.ndarray

    @property
    def reading(self) -> float:
        """Standard deviation of a reading, of all instruments (precision average)."""
        return float(1 / np.sqrt(np.mean(self.sigma**-2.0)))


@cache
def settings() -> tuple[Setting, ...]:
    """Eleven vessels and the demo vessel."""
    return tuple(setting_of(trial, solution(trial)) for trial in (*trials().values(), demo_trial()))


def setting_of(trial: Trial, solved: Solution) -> Setting:
    """Return the setting of a trial on its floating positions."""
    record = simulate(trial, solved=solved)
    weights, moves, instruments = engine_of(record)
    return Setting(
        trial,
        solved,
        np.array([one.tan_heel for one in solved.readings]),
        plateaus(weights=weights, moves=moves).moment_tm,
        sigma_of(instruments),
        np.array([math.degrees(1.0) if one.base_m is None else one.base_m for one in instruments]),
    )


def engine_of(record: Record) -> tuple[dict[str, Weight], list[Move], list[Instrument]]:
    """Return weights, moves and instruments as the engine has them."""
    weights = {
        row["id"]: Weight(row["mass_t"], np.array([row["x_m"], row["y_m"], row["z_m"]])) for row in record["weights"]
    }
    moves = [Move(row["weight"], to_y_m=row["to_y_m"]) for row in record["moves"]]
    instruments: list[Instrument] = []
    for row in record["instruments"]:
        if row["kind"] == "pendulum":
            instruments.append(Pendulum(row["id"], row["length_m"], row["positive"], _array(row["deflections_m"])))
        elif row["kind"] == "u_tube":
            instruments.append(
                UTube(row["id"], row["spread_m"], _array(row["port_levels_m"]), _array(row["starboard_levels_m"]))
            )
        else:
            instruments.append(Inclinometer(row["id"], row["positive"], _array(row["angles_deg"])))
    return weights, moves, instruments


def sigma_of(instruments: list[Instrument]) -> np.ndarray:
    """Return the standard uncertainty of one reading of each, as a tangent, by the lengths logged."""
    return np.array(
        [one.tangent_uncertainty_ratio(reading_m=READING_M, reading_deg=READING_DEG) for one in instruments]
    )


def _array(values: list[float | None]) -> np.ndarray:
    return np.array([math.nan if value is None else value for value in values])


def modelled(setting: Setting, moment_tm: np.ndarray) -> np.ndarray:
    """Return the hull's own tangents at other moments: a cubic plus what it leaves, straight between moments."""
    order = np.unique(setting.moment_tm, return_index=True)[1]
    m, t = setting.moment_tm[order], setting.tangents[order]
    fit = np.polynomial.Polynomial.fit(m, t, 3)
    return np.asarray(fit(moment_tm) + np.interp(moment_tm, m, t - fit(m)))


@dataclass(frozen=True)
class Made:
    """A simulated test ready for diagnosis."""

    setting: Setting
    record: Record
    noise_factor: float

    def diagnose(
        self, *, geometry: bool = True, instruments: int = 3, readings: int = 9, **more: Any
    ) -> tuple[Diagnosis, ...]:
        """Run the engine's diagnosis on it, or on the first instruments and readings only."""
        weights, moves, all_of_them = engine_of(self.record)
        moment = plateaus(weights=weights, moves=moves).moment_tm
        heel = math.degrees(math.atan(self.setting.tangents[0]))
        predicted = modelled(self.setting, moment) if geometry else None
        table = heel_tangents(all_of_them, heel_at_zero_deg=heel, reading_count=len(moment))[:instruments]
        table[:, readings:] = np.nan
        return diagnose(
            moment_tm=moment,
            tangents=list(table),
            reading_standard_uncertainty_ratio=self.noise_factor * sigma_of(all_of_them)[:instruments],
            weights=weights,
            moves=moves,
            instruments=all_of_them[:instruments],
            predicted_tangent_ratio=predicted,
            **more,
        )


class Wanted:
    """Shifts of the size wanted: of all instruments alike, or of one by its own standard deviation. [tangent]"""

    def __init__(self, setting: Setting, unrest_ratio: float, size: float) -> None:
        unrest = unrest_ratio * setting.reading
        self.deviation = math.hypot(setting.reading, unrest)
        self.deviation_of = np.hypot(setting.sigma, unrest)
        self.size = size
        self.common = size * self.deviation
        self.own = size * self.deviation_of


Plan = Callable[[Setting, np.random.Generator, Wanted], tuple[Fault, float]]
"""Setting, generator and the shift wanted → fault and the size it really has with natural noise."""


def _id(setting: Setting, i: int) -> str:
    return setting.trial.instruments[i].id


def _pick(rng: np.random.Generator, values: Any) -> int:
    return int(rng.choice(np.asarray(values)))


def misread(s: Setting, rng: np.random.Generator, want: Wanted) -> tuple[Fault, float]:
    i, j = _pick(rng, range(3)), _pick(rng, range(9))
    return faults.digit_slip(_id(s, i), j, float(rng.choice([-1, 1])) * want.own[i] * s.scale[i]), want.size


def digit(s: Setting, rng: np.random.Generator, want: Wanted) -> tuple[Fault, float]:
    i, j = _pick(rng, range(2)), _pick(rng, range(9))
    by = float(rng.choice([-1, 1]) * rng.choice([0.01, 0.02, 0.05, 0.1]))
    return faults.digit_slip(_id(s, i), j, by), abs(by) / s.scale[i] / want.deviation_of[i]


def sign(s: Setting, rng: np.random.Generator, want: Wanted) -> tuple[Fault, float]:
    away = np.abs(s.tangents - s.tangents[0])
    i, j = _pick(rng, range(3)), _pick(rng, np.flatnonzero(away > 0.1 * away.max()))
    return faults.reading_sign(_id(s, i), j), 2 * away[j] / want.deviation_of[i]


def repeated(s: Setting, rng: np.random.Generator, want: Wanted) -> tuple[Fault, float]:
    i, j = _pick(rng, range(3)), _pick(rng, range(1, 9))
    return faults.stuck(_id(s, i), j), abs(s.tangents[j] - s.tangents[j - 1]) / want.deviation_of[i]


def swapped(s: Setting, rng: np.random.Generator, want: Wanted) -> tuple[Fault, float]:
    i, j = _pick(rng, range(3)), _pick(rng, range(1, 9))
    return faults.swapped(_id(s, i), j - 1, j), abs(s.tangents[j] - s.tangents[j - 1]) / want.deviation_of[i]


def turned(s: Setting, rng: np.random.Generator, want: Wanted) -> tuple[Fault, float]:
    i = int(rng.choice([0, 2]))
    return faults.wrong_positive(_id(s, i)), 2 * np.abs(s.tangents - s.tangents[0]).max() / want.deviation_of[i]


def length(s: Setting, rng: np.random.Generator, want: Wanted) -> tuple[Fault, float]:
    i = _pick(rng, range(2))
    part = float(rng.choice([-1, 1])) * want.own[i] / np.abs(s.tangents - s.tangents[0]).max()
    return faults.wrong_length(_id(s, i), 1 / (1 + part)), want.size


def named_length(s: Setting, rng: np.random.Generator, want: Wanted) -> tuple[Fault, float]:
    ratio = float(rng.choice([0.3048, 1 / 0.3048, 2.54, 12.0]))
    i, largest = _pick(rng, range(2)), np.abs(s.tangents - s.tangents[0]).max()
    return faults.wrong_length(_id(s, i), ratio), abs(1 / ratio - 1) * largest / want.deviation_of[i]


def aground(s: Setting, rng: np.random.Generator, want: Wanted) -> tuple[Fault, float]:
    return faults.aground(_id(s, 0), want.own[0] * s.scale[0]), want.size


def restraint_share(s: Setting, rng: np.random.Generator, want: Wanted) -> tuple[Fault, float]:
    side = str(rng.choice(["starboard", "port"]))
    change = (s.tangents - s.tangents[0]) * (1 if side == "starboard" else -1)
    return faults.restraint(side, want.common / change.max()), want.size


def restraint_taut(s: Setting, rng: np.random.Generator, want: Wanted) -> tuple[Fault, float]:
    return faults.taut(str(rng.choice(["starboard", "port"])), want.common), want.size


def gust(s: Setting, rng: np.random.Generator, want: Wanted) -> tuple[Fault, float]:
    return faults.gust(_pick(rng, range(1, 9)), float(rng.choice([-1, 1])) * want.common), want.size


def wind(s: Setting, rng: np.random.Generator, want: Wanted) -> tuple[Fault, float]:
    return faults.step(1, float(rng.choice([-1, 1])) * want.common), want.size


def drift(s: Setting, rng: np.random.Generator, want: Wanted) -> tuple[Fault, float]:
    return faults.drift(float(rng.choice([-1, 1])) * want.common / 8), want.size


def step(s: Setting, rng: np.random.Generator, want: Wanted) -> tuple[Fault, float]:
    return faults.step(_pick(rng, range(2, 8)), float(rng.choice([-1, 1])) * want.common), want.size


def lag(s: Setting, rng: np.random.Generator, want: Wanted) -> tuple[Fault, float]:
    return faults.lag(want.common), want.size


def slope(s: Setting) -> float:
    """Return her tangent on the moment. [1/(t·m)]"""
    m = s.moment_tm - s.moment_tm.mean()
    return float(m @ s.tangents / (m @ m))


def mass(s: Setting, rng: np.random.Generator, want: Wanted) -> tuple[Fault, float]:
    weight = s.trial.weights[_pick(rng, range(len(s.trial.weights)))]
    away = max(abs(move.to_y_m - weight.y_m) for move in s.trial.moves if move.weight == weight.id)
    part = float(rng.choice([-1, 1])) * want.common / (slope(s) * weight.mass_t * away)
    return faults.wrong_mass(weight.id, 1 + part), want.size


def arm(s: Setting, rng: np.random.Generator, want: Wanted) -> tuple[Fault, float]:
    k = _pick(rng, (0, 1, 4, 5))
    tonnes = next(w.mass_t for w in s.trial.weights if w.id == s.trial.moves[k].weight)
    return faults.wrong_arm(k, float(rng.choice([-1, 1])) * want.common / (slope(s) * tonnes)), want.size


def side(s: Setting, rng: np.random.Generator, want: Wanted) -> tuple[Fault, float]:
    k = _pick(rng, range(8))
    move = s.trial.moves[k]
    tonnes = next(w.mass_t for w in s.trial.weights if w.id == move.weight)
    return faults.wrong_side(k), 2 * abs(move.to_y_m) * tonnes * slope(s) / want.deviation


def pocketing(s: Setting, rng: np.random.Generator, want: Wanted) -> tuple[Fault, float]:
    fades = float(rng.uniform(0.1, 0.4))
    return faults.pocketing(want.common / math.tanh(1 / fades), fades), want.size


def coarse(s: Setting, rng: np.random.Generator, want: Wanted) -> tuple[Fault, float]:
    i = _pick(rng, range(3))
    usual = np.array([0.001, 0.002, 0.005, 0.01, 0.02, 0.05]) * (1 if i < 2 else 10)
    to = float(usual[np.argmin(np.abs(np.log(usual / (2 * want.own[i] * s.scale[i]))))])
    return faults.rounded(_id(s, i), to), to / 2 / s.scale[i] / want.deviation_of[i]


@dataclass(frozen=True)
class Kind:
    """A simulated fault, the class its diagnosis must name, and the cause within it where its natural size tells it."""

    plan: Plan
    trace: str
    cause: str | None = None
    natural: bool = False
    touches_three: bool = False

    @property
    def shown_from(self) -> float:
        """Size from which on it must be found."""
        return 4.0 if self.touches_three else 6.0


KINDS = {
    "reading misread": Kind(misread, "one-reading"),
    "reading on the wrong side": Kind(sign, "one-reading", "reading-sign", natural=True),
    "reading repeated": Kind(repeated, "one-reading", "reading-repeated", natural=True),
    "readings swapped": Kind(swapped, "readings-swapped", natural=True),
    "bob aground on both sides": Kind(aground, "bob-aground"),
    "instrument reversed": Kind(turned, "instrument-reversed", natural=True, touches_three=True),
    "length wrong": Kind(length, "instrument-length", touches_three=True),
    "restraint, a share": Kind(restraint_share, "restraint", touches_three=True),
    "restraint, a taut line": Kind(restraint_taut, "restraint", touches_three=True),
    "gust": Kind(gust, "one-move", touches_three=True),
    "wind after the zero": Kind(wind, "after-zero", touches_three=True),
    "lasting shift": Kind(step, "lasting-shift", touches_three=True),
    "drift": Kind(drift, "drift", touches_three=True),
    "lag behind the moves": Kind(lag, "direction", touches_three=True),
    "weight's mass": Kind(mass, "weight-moment", touches_three=True),
    "weight's place": Kind(arm, "weight-moment", touches_three=True),
    "move to the wrong side": Kind(side, "wrong-side", natural=True, touches_three=True),
    "pocketing liquid": Kind(pocketing, "curvature", touches_three=True),
    "readings coarse": Kind(coarse, "quantised", touches_three=True),
    "digit slipped (natural size)": Kind(digit, "one-reading", "digit-slipped", natural=True),
    "length in another unit (natural size)": Kind(named_length, "instrument-length", natural=True, touches_three=True),
}


def make(kinds: list[Kind], *, size: float | None, seed: int, worse: float = 1.0, usual: bool = False) -> Made:
    """Simulate one test with these faults at this size, or none.

    Parameters
    ----------
    kinds : list of Kind
        Faults, none for a sound test.
    size : float or None
        None: natural faults as large as they are, the others at the size they are shown from.
    seed : int
        Of ship, fault and noise.
    worse : float
        How much larger the readings' noise is than stated.
    usual : bool
        Unrest at the usual ratio the engine assumes, instead of a drawn one.
    """
    rng = np.random.default_rng(seed)
    setting = settings()[_pick(rng, range(len(settings())))]
    unrest = 0.3 if usual else float(rng.choice(UNREST))
    chosen = [kind.plan(setting, rng, Wanted(setting, unrest, size or kind.shown_from)) for kind in kinds]
    factor = 1.0
    natural = [of for (_, of), kind in zip(chosen, kinds, strict=True) if kind.natural]
    if size is not None and natural:
        factor = min(natural) / size
        chosen = [
            one if kind.natural else kind.plan(setting, rng, Wanted(setting, unrest, size * factor))
            for one, kind in zip(chosen, kinds, strict=True)
        ]
    planned = [fault for fault, _ in chosen]

    def written(factor: float, faults: list[Fault]) -> Record:
        noise = Noise(
            reading_m=READING_M * factor * worse,
            reading_deg=READING_DEG * factor * worse,
            gust_ratio=unrest * setting.reading * factor,
        )
        return simulate(setting.trial, noise=noise, seed=seed, solved=setting.solved, faults=faults)

    if size is not None and len(kinds) == 1 and kinds[0].natural and not kinds[0].touches_three:
        # readings put in each other's place bring their noise along: the size is that of the shift as written
        deviation, first = np.hypot(setting.sigma, unrest * setting.reading), factor
        for _ in range(8):
            shift = np.abs(_shown(written(factor, planned)) - _shown(written(factor, []))).max(axis=1) / setting.scale
            factor *= float((shift / deviation / factor).max() / size)
            factor = min(max(factor, first / 3), 3 * first)
    return Made(setting, written(factor, planned), factor)


def _shown(record: Record) -> np.ndarray:
    return np.stack([one.readings for one in engine_of(record)[2]])
