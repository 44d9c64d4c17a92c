r"""The traces faults leave in a table of tangents. Layer: engine.diagnosis.

Each candidate is a pattern over (instrument, reading). A *free* one adds :math:`\theta` times its pattern to the
no-fault model, its largest entry 1, so that θ is the largest shift of a tangent; where the fault can only take heel
away θ > 0. Others have no number of their own to fit: a *slope* one adds :math:`b` times its pattern, b the slope
being fitted (a place on the other side, an instrument turned round); of a *given* one θ follows from the readings as
written (mirrored in reading 0, exchanged); a *copied* one is free, and open only where a reading repeats the one
before it to the last digit. A *twin* is never named by itself: it is told where what is named leaves its trace.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from engine.checks import Floats
from engine.diagnosis.weight_patterns import (
    Placement,
    by_weight,
    first_place_twins,
    first_places,
    last_place_twins,
    mirrored_first_places,
    moments_of,
    returned_first_places,
)

NAMED_RATIOS = {
    "feet-taken-for-metres": 0.3048,
    "metres-taken-for-feet": 1 / 0.3048,
    "inches-taken-for-centimetres": 2.54,
    "centimetres-taken-for-inches": 1 / 2.54,
    "inches-taken-for-feet": 1 / 12,
    "feet-taken-for-inches": 12.0,
    "readings-in-millimetres-taken-for-metres": 1000.0,
    "length-in-millimetres-taken-for-metres": 0.001,
    "readings-in-centimetres-taken-for-metres": 100.0,
    "length-in-centimetres-taken-for-metres": 0.01,
    "decimal-point": 10.0,
    "decimal-point-back": 0.1,
    "half": 0.5,
    "double": 2.0,
}
"""True length over logged length, or true over logged readings turned over; exact by definition of the units."""

NAMED_TOLERANCE_RATIO = 0.05
"""A unit slip is named where the slope measured is within this share of its ratio: our choice, half of what 10 and 12
stand apart. Against which other instrument does not matter: another may be wrong too."""

NAMED = {"instrument-length": "named-length", "first-place": "named-place"}

Kind = Literal["free", "slope", "given", "copied", "twin"]
_SHARE = 0.05
"""Below this share of the largest shift a reading does not count as touched."""


@dataclass(frozen=True, eq=False)
class Block:
    """Candidates of one trace: columns ``start`` to ``stop`` of the patterns, chosen out of ``searched``.

    ``instrument`` is None where all are touched; ``where`` is the reading, stay, weight or side meant; ``amount`` a
    named ratio, a true place, or θ of a given one (NaN: closed).
    """

    trace: str
    kind: Kind
    one_sided: bool
    start: int
    stop: int
    instrument: np.ndarray | None
    where: np.ndarray | None
    amount: Floats | None
    searched: int

    @property
    def name(self) -> str:
        """The trace, those of a size the record names apart: ratios of a length, first places."""
        return NAMED.get(self.trace, self.trace) if self.kind == "slope" else self.trace


class Builder:
    """Collects patterns, then stacks them once."""

    def __init__(self, *, instruments: int, readings: int) -> None:
        self.p, self.n = instruments, readings
        self.parts: list[Floats] = []
        self.blocks: list[Block] = []
        self.count = 0

    def add(
        self,
        trace: str,
        columns: Floats,
        *,
        kind: Kind = "free",
        one_sided: bool = False,
        instrument: np.ndarray | None = None,
        where: np.ndarray | None = None,
        amount: Floats | None = None,
        searched: int | None = None,
    ) -> None:
        """Add (p, n, k) columns, or (n, k) ones that all instruments share."""
        k = columns.shape[-1]
        if k == 0:
            return
        self.parts.append(columns if columns.ndim == 3 else np.repeat(columns[None], self.p, axis=0))
        start, stop = self.count, self.count + k
        self.blocks.append(Block(trace, kind, one_sided, start, stop, instrument, where, amount, searched or k))
        self.count += k


def common_patterns(
    build: Builder, *, x: Floats, curve: "Curve", moment_tm: Floats, placements: list[Placement]
) -> list[Floats]:
    """Add what heels the ship or is logged of the weights: the same in every instrument.

    Returns
    -------
    list of (n,) float64
        Shapes of heel lost to one side.
    """
    n = build.n
    step = x - x[0]
    largest = float(np.abs(step).max())
    eye = np.eye(n)
    build.add("one-move", eye[:, 1:], where=np.arange(1, n))
    build.add("after-zero", 1.0 - eye[:, :1], where=np.array([1]))
    if n > 3:
        build.add("lasting-shift", np.tri(n, n)[:, 2 : n - 1], where=np.arange(2, n - 1))
    build.add("drift", np.arange(n)[:, None] / (n - 1))
    direction = np.sign(np.diff(moment_tm, prepend=moment_tm[0]))
    build.add("direction", -direction[:, None])
    scaled = step / largest
    build.add("curvature", np.stack([scaled**3, np.sign(scaled) * np.minimum(2 * np.abs(scaled), 1.0)], axis=1))
    hinges: list[Floats] = []
    sides: list[float] = []
    for side in (1.0, -1.0):
        hinges += _one_sided(side * scaled, -side)
        sides += [side] * (len(hinges) - len(sides))
    if hinges:
        build.add("restraint", np.stack(hinges, axis=1), one_sided=True, where=np.array(sides, dtype=int))
    if placements:
        _of_weights(build, x, curve, moment_tm, placements)
    return hinges


def _of_weights(build: Builder, x: Floats, curve: "Curve", moment_tm: Floats, placements: Sequence[Placement]) -> None:
    n, weights = build.n, by_weight(placements)
    off = moments_of(n, weights)
    build.add("weight-moment", off.columns, where=off.where)
    off = first_places(n, weights)
    build.add("first-place", off.columns, where=off.where)
    off = first_place_twins(n, weights)
    build.add("first-place", off.columns, kind="twin", where=off.where)
    off = last_place_twins(n, weights)
    build.add("weight-moment", off.columns, kind="twin", where=off.where)
    moved = np.array([-2.0 * p.mass_t * p.to_y_m for p in placements])  # of the moment, logged less true
    span = np.arange(n)[:, None]
    inside = (span >= [p.first for p in placements]) & (span < [p.stop for p in placements])
    true = moment_tm[:, None] - np.where(inside, moved, 0.0)
    build.add("wrong-side", curve(true) - x[:, None], kind="slope", where=np.arange(len(placements)))
    for off in (mirrored_first_places(n, weights), returned_first_places(n, weights)):
        lay = [placements[k] for k in off.where]
        moved = np.array([one.mass_t * one.home_y_m for one in lay]) - [one.mass_t for one in lay] * off.places_m
        true = moment_tm[:, None] - moved * off.columns
        build.add("first-place", curve(true) - x[:, None], kind="slope", where=off.where, amount=off.places_m)


def device_patterns(
    build: Builder, *, x: Floats, table: Floats, known: np.ndarray, suspects: np.ndarray, hinges: list[Floats]
) -> None:
    """Add what one instrument shows and the others do not.

    Single entries only where ``suspects`` (p, n) says; ``hinges`` as ``common_patterns`` returns them.
    """
    p, n = build.p, build.n
    step = x - x[0]
    largest = float(np.abs(step).max())
    scaled = step / largest
    i, j = np.nonzero(known & suspects)
    entries = int(known.sum())
    single = np.zeros((p, n, len(i)))
    single[i, j, np.arange(len(i))] = 1.0
    if p > 1:  # with one instrument the same trace as "one-move"
        build.add("one-reading", single, instrument=i, where=j, searched=entries)
    shapes = list(hinges)
    outer = -np.sign(scaled) * (np.abs(scaled) > 0.75)
    if (outer > 0).any() and (outer < 0).any():
        shapes.append(outer)
    if shapes and p > 1:
        columns, which = _each(np.stack(shapes, axis=1), p)
        build.add("bob-aground", columns, one_sided=True, instrument=which)
    columns, which = _each(scaled[:, None], p)
    build.add("instrument-length", columns, instrument=which)
    build.add("instrument-reversed", -2.0 * largest * columns, kind="slope", instrument=which)
    ratios = np.fromiter(NAMED_RATIOS.values(), dtype=np.float64)
    columns, which = _each(step[:, None] * (ratios - 1.0), p)
    build.add("instrument-length", columns, kind="slope", instrument=which, amount=np.tile(ratios, p))
    later = (j > 0) & known[i, 0]
    a, b = i[later], j[later]
    one = single[:, :, later]
    mirrored = 2 * (table[a, b] - table[a, 0])
    build.add("reading-sign", one, kind="given", instrument=a, where=b, amount=mirrored, searched=entries)
    after = (j > 0) & known[i, j - 1]
    a, b = i[after], j[after]
    one = single[:, :, after]
    rise = table[a, b] - table[a, b - 1]
    copied = np.where(np.abs(rise) <= 1e-9 * np.abs(table[a, b]) + 1e-12, 0.0, np.nan)
    build.add("reading-repeated", one, kind="copied", instrument=a, where=b, amount=copied, searched=entries)
    exchanged = one.copy()
    exchanged[a, b - 1, np.arange(len(a))] = -1.0
    build.add("readings-swapped", exchanged, kind="given", instrument=a, where=b, amount=rise, searched=entries)


class Curve:
    """The tangent the model expects at any moment: straight between the test's own moments and beyond them."""

    def __init__(self, *, moment_tm: Floats, x: Floats) -> None:
        order = np.argsort(moment_tm, kind="stable")
        moment, value = moment_tm[order], x[order]
        keep = np.concatenate([[True], np.diff(moment) > 1e-9 * max(float(np.ptp(moment)), 1e-300)])
        self.moment, self.value = moment[keep], value[keep]

    def __call__(self, moment_tm: Floats) -> Floats:
        """Return the tangents at these moments."""
        m, v = self.moment, self.value
        inside = np.interp(moment_tm, m, v)
        low = np.minimum(moment_tm - m[0], 0.0) * ((v[1] - v[0]) / (m[1] - m[0]))
        high = np.maximum(moment_tm - m[-1], 0.0) * ((v[-1] - v[-2]) / (m[-1] - m[-2]))
        result: Floats = inside + low + high
        return result


def _one_sided(scaled: Floats, sign: float) -> list[Floats]:
    """Heel lost on the side where ``scaled`` > 0: all of a share, a constant, and beyond half way."""
    found = []
    side = np.maximum(scaled, 0.0)
    for shape in (side, (side > _SHARE).astype(np.float64), np.maximum(side - 0.5, 0.0)):
        top = shape.max()
        if top > 0 and (shape > _SHARE * top).sum() >= 2:
            found.append(sign * shape / top)
    return found


def _each(shapes: Floats, p: int) -> tuple[Floats, np.ndarray]:
    """Give every instrument each of the (n, k) shapes; all of the first come first."""
    n, k = shapes.shape
    columns = np.zeros((p, n, p, k))
    which = np.arange(p)
    columns[which, :, which] = shapes
    return columns.reshape(p, n, p * k), np.repeat(which, k)
