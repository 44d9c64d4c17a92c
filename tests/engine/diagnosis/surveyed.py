"""Simulated deadweight surveys with one fault: heights on a bent plane, a displacement against a prediction."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from engine.diagnosis.survey_displacement import Aboard, Loaded
from engine.survey.waterline import Heights

HEIGHT_M, COMMON_M = 0.005, 0.002
MASS_RATIO, LCG_RATIO = 0.0010, 0.0003
"""Standard uncertainties: of a height, common to freeboards, of either displacement, of either LCG over the length."""

Given = dict[str, Any]


@dataclass
class Ship:
    """A survey as it should have been written; faults change it in place."""

    rng: np.random.Generator
    length: float
    x: np.ndarray
    y: np.ndarray
    start: np.ndarray
    read: np.ndarray
    marks: np.ndarray
    surveyed: Loaded
    predicted: Loaded
    items: list[Aboard]
    weights: Aboard
    immersion: float
    lcf: float
    keel_plate: float

    def given(self) -> Given:
        """Return the arguments of ``diagnose_survey``."""
        heights = Heights.from_readings(
            x_m=self.x,
            y_m=self.y,
            from_m=self.start,
            plumb_m=np.where(self.marks, 0.0, self.read),
            up_m=np.where(self.marks, self.read, 0.0),
            standard_uncertainty_m=HEIGHT_M,
        )
        return {
            "heights": heights,
            "length_bp_m": self.length,
            "surveyed": self.surveyed,
            "predicted": self.predicted,
            "items": self.items,
            "test_weights": self.weights,
            "immersion_t_per_cm": self.immersion,
            "lcf_m": self.lcf,
            "keel_plate_m": self.keel_plate,
        }

    def predict(self, mass_factor: float = 1.0, lcg_m: float | None = None, aboard: Aboard | None = None) -> None:
        """Change the prediction: by a factor, to another LCG, by something counted in."""
        old = self.predicted
        mass, moment = old.mass_t * mass_factor, old.mass_t * mass_factor * old.lcg_m
        if aboard is not None:
            mass, moment = mass + aboard.mass_t, moment + aboard.mass_t * aboard.x_m
        lcg = moment / mass if lcg_m is None else lcg_m
        self.predicted = Loaded(mass, lcg, MASS_RATIO * mass, LCG_RATIO * self.length)

    def survey(self, aboard: Aboard) -> None:
        """Change what is really aboard."""
        old = self.surveyed
        mass = old.mass_t + aboard.mass_t
        lcg = (old.mass_t * old.lcg_m + aboard.mass_t * aboard.x_m) / mass
        self.surveyed = Loaded(mass, lcg, MASS_RATIO * mass, LCG_RATIO * self.length)


def ship(seed: int) -> Ship:
    """Return a sound survey: five freeboards a side, marks at three stations on both sides."""
    rng = np.random.default_rng(seed)
    length = float(rng.uniform(50, 90))
    half = length / 10
    stations = np.array([0.08, 0.3, 0.5, 0.7, 0.9]) * length
    mark_stations = np.array([0.05, 0.5, 0.95]) * length
    x = np.concatenate([np.repeat(stations, 2), np.repeat(mark_stations, 2)])
    breadth = np.concatenate([np.repeat([0.9, 1.0, 1.0, 1.0, 0.7], 2), np.repeat([0.8, 1.0, 0.4], 2)]) * half
    y = breadth * np.tile([1.0, -1.0], 8)
    marks = np.arange(16) >= 10
    draft, trim = length / 20, float(rng.uniform(-0.01, 0.01)) * length
    heel = np.radians(float(rng.choice([-1, 1]) * rng.uniform(0.2, 0.8)))
    sag = float(rng.choice([0.0, rng.uniform(-0.03, 0.03)]))
    water = draft + trim * (0.5 - x / length) - y * np.tan(heel) + sag * (1 - (2 * x / length - 1) ** 2)
    start = np.where(marks, 0.0, length / 12 + 0.0004 * (x - length / 2) ** 2)
    upward = 1 / np.sqrt(1 + (trim / length) ** 2 + np.tan(heel) ** 2)
    common = COMMON_M * rng.standard_normal()
    read = np.where(marks, water, (start - water) * upward + common) + HEIGHT_M * rng.standard_normal(16)
    mass = 0.6 * length * 2 * half * draft
    lcg = float(rng.uniform(0.44, 0.48)) * length

    def loaded() -> Loaded:
        return Loaded(
            mass * (1 + MASS_RATIO * rng.standard_normal()),
            lcg + LCG_RATIO * length * rng.standard_normal(),
            MASS_RATIO * mass,
            LCG_RATIO * length,
        )

    items = [
        Aboard(
            float(mass * rng.choice([-1, 1], p=[0.3, 0.7]) * rng.uniform(0.01, 0.04)),
            float(rng.uniform(0.1, 0.9) * length),
        )
        for _ in range(8)
    ]
    weights = Aboard(0.015 * mass, 0.47 * length)
    keel_plate = float(rng.uniform(0.01, 0.02))
    immersion = 0.8 * length * 2 * half / 100
    return Ship(
        rng, length, x, y, start, read, marks, loaded(), loaded(), items, weights, immersion, 0.48 * length, keel_plate
    )


def sound(seed: int) -> Given:
    """Return a survey without a fault."""
    return ship(seed).given()


def _one(of: Ship, by: float) -> None:
    of.read[of.rng.integers(10)] += float(of.rng.choice([-1, 1])) * by


def _eighths(of: Ship) -> None:
    k = int(of.rng.integers(10))
    eighths = round(of.read[k] / 0.0254 * 8)
    while True:  # the nearest length that inches and eighths can write so that it is off by 6 sd at least
        inches, eighth = divmod(eighths, 8)
        feet, inch = divmod(inches, 12)
        if inch < 10 and abs((inch / 10 + eighth / 100 - (inch + eighth / 8) / 12) * 0.3048) > 6 * HEIGHT_M:
            break
        eighths += 1
    moved = eighths * 0.0254 / 8 - of.read[k]
    of.start[k] += moved  # the reference stands where the tape then shows this length
    of.read[k] = (feet + inch / 10 + eighth / 100) * 0.3048


def _swap(of: Ship) -> None:
    k = 2 * int(of.rng.integers(5))
    of.read[[k, k + 1]] = of.read[[k + 1, k]]


def _swap_all(of: Ship) -> None:
    for k in range(0, 10, 2):
        of.read[[k, k + 1]] = of.read[[k + 1, k]]


def _mark(of: Ship) -> None:
    k = 10 + 2 * int(of.rng.integers(3))
    of.read[[k, k + 1]] += float(of.rng.choice([-1, 1])) * 6 * HEIGHT_M


def _extreme(of: Ship) -> None:
    of.read[of.marks] += 4 * HEIGHT_M
    of.keel_plate = 4 * HEIGHT_M


def _item(of: Ship, sign: float) -> None:
    one = of.items[int(of.rng.integers(len(of.items)))]
    of.survey(Aboard(sign * one.mass_t, one.x_m))


def _shift(of: Ship) -> None:
    of.survey(Aboard(100 * of.immersion * of.keel_plate, of.lcf))


def _tons(factor: float) -> Callable[[Ship], None]:
    return lambda of: of.predict(mass_factor=factor)


@dataclass(frozen=True)
class Kind:
    """A fault of the survey, the class its diagnosis must name, and the causes within it that name it exactly."""

    fault: Callable[[Ship], None]
    trace: str
    causes: tuple[str, ...]

    def make(self, seed: int) -> Given:
        """Return a survey with it."""
        one = ship(seed)
        self.fault(one)
        return one.given()


KINDS = {
    "a height misread by 6 sd": Kind(lambda of: _one(of, 6 * HEIGHT_M), "one-height", ("height-misread",)),
    "a foot": Kind(lambda of: _one(of, 0.3048), "one-height", ("height-foot",)),
    "an inch (5 sd)": Kind(lambda of: _one(of, 0.0254), "one-height", ("height-inch", "height-eighths")),
    "eighths as decimals": Kind(_eighths, "one-height", ("height-eighths",)),
    "sides exchanged at a station": Kind(_swap, "sides-swapped", ("sides-swapped",)),
    "sides exchanged in all freeboards": Kind(_swap_all, "sides-swapped", ("all-sides-swapped",)),
    "a pair of marks misplaced by 6 sd": Kind(_mark, "mark-misplaced", ("mark-misplaced",)),
    "extreme marks taken as moulded, 4 sd": Kind(_extreme, "marks-offset", ("moulded-for-extreme",)),
    "density off by 0.8 %": Kind(lambda of: of.predict(mass_factor=1.008), "displacement", ("density-wrong",)),
    "test weights not aboard": Kind(
        lambda of: of.survey(Aboard(-of.weights.mass_t, of.weights.x_m)), "weights-not-aboard", ("weights-not-aboard",)
    ),
    "an item counted twice": Kind(lambda of: _item(of, -1.0), "item", ("item-counted-twice",)),
    "an item missing": Kind(lambda of: _item(of, 1.0), "item", ("item-missing",)),
    "long tons in the prediction": Kind(_tons(1 / 1.0160469088), "mass-unit", ("long-ton-for-tonne",)),
    "short tons in the prediction": Kind(_tons(1 / 0.90718474), "mass-unit", ("short-ton-for-tonne",)),
    "short tons for long tons": Kind(_tons(1.12), "mass-unit", ("short-ton-for-long-ton",)),
    "predicted LCG from midship": Kind(
        lambda of: of.predict(lcg_m=of.predicted.lcg_m - of.length / 2), "axis", ("axis-origin", "axis-sign")
    ),
    "predicted LCG with the other sign": Kind(lambda of: of.predict(lcg_m=-of.predicted.lcg_m), "axis", ("axis-sign",)),
    "all heights by the keel plate": Kind(_shift, "displacement", ("moulded-for-extreme", "draft-shift")),
}
