"""What went wrong in an incline, from its table of tangents. Layer: engine.diagnosis.

The fault models of ``patterns`` are weighed by ``compare``; what is found is taken into account and the search goes
on, ``ROUNDS`` times at most. No reading is dropped: each diagnosis gives GM with and without its cause.
"""

from collections.abc import Mapping, Sequence

import numpy as np

from engine.checks import Floats, within
from engine.diagnosis.causes import CLASS_OF
from engine.diagnosis.compare import Comparison, Space, compare
from engine.diagnosis.context import Context, median_ratio, slope_ratios
from engine.diagnosis.explain import explain
from engine.diagnosis.modes import modes
from engine.diagnosis.patterns import (
    NAMED_TOLERANCE_RATIO,
    Block,
    Builder,
    Curve,
    common_patterns,
    device_patterns,
)
from engine.diagnosis.quantised import quantised, rounding_ratio
from engine.diagnosis.result import Alternative, Diagnosis
from engine.diagnosis.twins import Same
from engine.diagnosis.weight_patterns import Placement
from engine.errors import InputError, LimitError
from engine.incline.instruments import Instrument
from engine.incline.moments import Move, Weight
from engine.incline.regression import Regression

ROUNDS = 3
USUAL_UNREST_RATIO = 0.3
"""σ_c where none is stated, in standard uncertainties of a reading: our choice."""
FALSE_ALARM_PROBABILITY = 0.03
ALL_ENTRIES, SUSPECTS = 600, 100
MOST_ENTRIES = 2000
"""Up to the first number every entry of the table is tried singly, up to the last the hundred farthest off the line."""
SAME_TRACE_COEFFICIENT = 0.98
"""Candidates whose patterns make a cosine above this cannot be told apart: our choice."""

LARGE_RATIO = 2.0
"""A slope off by more than this factor is put right before the search goes on, as a named one is: our choice."""

CANNOT_SHOW = (
    "A slack tank whose liquid moves freely and stays of a regular shape leaves a straight line: it shows in no "
    "reading, only in the tank soundings and in GM against the predicted one.",
    "An error common to all weights, all arms or all instruments scales GM and leaves a straight line.",
    "A wrong displacement, density or draft leaves the readings as they are.",
    "A steady wind or current from before reading 0 to the end leaves the slope as it is.",
)
"""What no reading can show."""


def diagnose(
    *,
    moment_tm: Floats,
    tangents: Sequence[Floats],
    reading_standard_uncertainty_ratio: Floats,
    weights: Mapping[str, Weight] | None = None,
    moves: Sequence[Move] = (),
    instruments: Sequence[Instrument] = (),
    predicted_tangent_ratio: Floats | None = None,
    stiffening_m: float = 0.0,
    displacement_t: float | None = None,
    regression: Regression | None = None,
    common_standard_uncertainty_ratio: float | None = None,
    false_alarm_probability: float = FALSE_ALARM_PROBABILITY,
) -> tuple[Diagnosis, ...]:
    """Name what the readings show to be wrong, the likeliest first.

    Parameters
    ----------
    moment_tm : (n,) float64
        Heeling moment at each reading, from reading 0 on, to starboard +. [t·m]
    tangents : sequence of p (n,) arrays
        Tangent of heel by each instrument, to starboard +, NaN where missed.
    reading_standard_uncertainty_ratio : (p,) float64
        Of one reading of each, as a tangent, above 0.
    weights, moves
        As logged; without them no weight is suspected.
    instruments : sequence of p Instrument
        For their names and lengths, and the readings as written (quantisation); without them numbers only.
    predicted_tangent_ratio : (n,) float64, optional
        Tangents of the fitted hull at the same moments: flare, a knuckle and strong BM are then explained.
    stiffening_m : float
        k = BM − FSC of the wall-sided term, used where nothing is predicted and the displacement is given. [m]
    displacement_t : float, optional
        Turns slopes into GM. [t]
    regression : Regression, optional
        The pooled fit of the same tangents; made here without it.
    common_standard_uncertainty_ratio : float, optional
        Usual unrest of the ship common to all instruments, as a tangent.
    false_alarm_probability : float
        Family-wise: how often a sound test may be blamed.

    Returns
    -------
    tuple of Diagnosis
        Empty where nothing is found or fewer than four readings are there to judge.

    Raises
    ------
    InputError
        ``wrong-shape``, ``out-of-range``.
    LimitError
        ``work-over-limit``: more than 2000 entries in the table.
    """
    if not len(tangents):
        return ()
    table = np.stack([np.asarray(t, dtype=np.float64) for t in tangents])
    moment = np.asarray(moment_tm, dtype=np.float64)
    p, n = table.shape
    sigma = within(
        np.broadcast_to(reading_standard_uncertainty_ratio, (p,)),
        low=1e-12,
        high=1.0,
        field="reading_standard_uncertainty_ratio",
    )
    if moment.shape != (n,):
        raise InputError("must have a column for each moment", code="wrong-shape", field="tangents")
    if table.size > MOST_ENTRIES:
        raise LimitError(
            f"{table.size} readings; a diagnosis is made of up to {MOST_ENTRIES}",
            code="work-over-limit",
            field="tangents",
            value=float(table.size),
            limit=float(MOST_ENTRIES),
        )
    known = np.isfinite(table)
    taken = np.flatnonzero(known.any(axis=0))
    if len(taken) < 4 or np.ptp(moment[taken]) <= 0 or not known[:, 0].any():
        return ()
    last = int(taken[-1]) + 1
    table, known, moment = table[:, :last], known[:, :last], moment[:last]
    rows = known.sum(axis=1) >= 2
    p, n = int(rows.sum()), last
    table, known, sigma = table[rows], known[rows], sigma[rows]
    kept = [instrument for instrument, use in zip(instruments, rows, strict=False) if use]

    x = _expected(moment, table, known, predicted_tangent_ratio, stiffening_m, displacement_t)
    placements = stays(weights=weights, moves=moves, readings=n) if weights else []
    build = Builder(instruments=p, readings=n)
    curve = Curve(moment_tm=moment, x=x)
    hinges = common_patterns(build, x=x, curve=curve, moment_tm=moment, placements=placements)
    suspects = _suspects(x, table, known, sigma)
    device_patterns(build, x=x, table=table, known=known, suspects=suspects, hinges=hinges)
    columns = np.concatenate(build.parts, axis=2)
    reading = float(1.0 / np.sqrt(np.mean(1.0 / sigma**2)))
    unrest = USUAL_UNREST_RATIO * reading
    if common_standard_uncertainty_ratio is not None:
        unrest = common_standard_uncertainty_ratio
    context = Context(
        moment_tm=moment,
        x=x,
        table=table,
        sigma=sigma,
        instruments=tuple(kept),
        placements=tuple(placements),
        modelled=predicted_tangent_ratio is not None or (stiffening_m != 0 and displacement_t is not None),
        displacement_t=displacement_t,
        stiffening_m=stiffening_m,
        regression=regression,
    )
    coarse = quantised(context)
    at = modes(known=known, standard_uncertainty_ratio=np.hypot(sigma, rounding_ratio(context)) if coarse else sigma)
    space = Space(at=at, table=table, x=x, columns=columns, blocks=build.blocks)
    found = list(coarse)
    allowed_for = np.zeros_like(table)
    for _ in range(ROUNDS):
        if space.freedom_c < 1 or space.freedom_c + space.freedom_w < 3:
            break
        compared = compare(space, common_variance=unrest**2, false_alarm_probability=false_alarm_probability)
        if not compared.alarm:
            break
        ratios = slope_ratios(x, table)
        named = _plausible(build.blocks, ratios, compared)
        if not named.any():
            break
        best = int(np.argmax(np.where(named, compared.rank, -np.inf)))
        block = next(b for b in build.blocks if b.start <= best < b.stop)
        alternatives = _alternatives(space, compared, best)
        shift = float(compared.size_ratio[best]) * np.where(known, columns[:, :, best], 0.0)
        factor = _factor(block, best, ratios)
        if factor is None:
            space.allow(best)
        else:  # its readings turned round or scaled: the search goes on with them put right
            i = int(block.instrument[best - block.start])  # type: ignore[index]
            first = int(np.flatnonzero(known[i])[0])
            table, sigma = table.copy(), sigma.copy()
            right = table[i, first] + factor * (table[i] - table[i, first])
            shift[i], table[i] = np.where(known[i], table[i] - right, 0.0), right
            sigma[i] *= max(abs(factor), 1.0)  # whether its length or its readings are wrong is not known: the larger
            at = modes(known=known, standard_uncertainty_ratio=sigma)
            space = Space(at=at, table=table, x=x, columns=columns, blocks=build.blocks)
        allowed_for = allowed_for + shift
        found.append(explain(context, block, best - block.start, shift, allowed_for, compared, best, alternatives))
    return tuple(found)


def _suspects(x: Floats, table: Floats, known: np.ndarray, sigma: Floats) -> np.ndarray:
    """Return the entries to be tried singly: all of a usual table, of a large one those farthest off the line."""
    if known.sum() <= ALL_ENTRIES:
        return known
    count = np.maximum(known.sum(axis=1, keepdims=True), 1)

    def centred(values: Floats) -> Floats:
        kept = np.where(known, values, 0.0)
        return np.where(known, kept - kept.sum(axis=1, keepdims=True) / count, 0.0)

    across, read = centred(np.broadcast_to(x, table.shape)), centred(table)
    off = np.abs(read - across * float(np.sum(across * read) / np.sum(across**2))) / sigma[:, None]
    return np.asarray(known & (off >= np.sort(off, axis=None)[-SUSPECTS]))


def _plausible(blocks: Sequence[Block], ratios: Floats, compared: Comparison) -> np.ndarray:
    """Return the candidates that pass their own limit; a named unit slip only near the ratio of slopes measured."""
    passes = compared.gain > compared.limit
    for block in blocks:
        if block.name == "named-length" and block.amount is not None and block.instrument is not None:
            apart = np.abs(np.abs(ratios[block.instrument]) / block.amount[:, None] - 1.0)
            near = np.where(np.isfinite(apart), apart, np.inf).min(axis=1) <= NAMED_TOLERANCE_RATIO
            passes[block.start : block.stop] &= near
    return np.asarray(passes)


def _factor(block: Block, best: int, ratios: Floats) -> float | None:
    """Return what an instrument's tangents are to be multiplied by, None where the candidate is not of that kind."""
    if block.trace == "instrument-reversed":
        return -1.0
    if block.name == "named-length" and block.amount is not None:
        return 1.0 / float(block.amount[best - block.start])
    if block.trace == "instrument-length" and block.instrument is not None:
        found = median_ratio(ratios[int(block.instrument[best - block.start])])
        if found > LARGE_RATIO or 0 < found < 1 / LARGE_RATIO:
            return 1.0 / found
    return None


def stays(*, weights: Mapping[str, Weight], moves: Sequence[Move], readings: int) -> list[Placement]:
    """Return where each weight lay from each move to its next, within the readings taken."""
    found: list[Placement] = []
    places = {name: float(weight.centre_m[1]) for name, weight in weights.items()}
    homes = dict(places)
    ends: dict[str, int] = {}
    for k in range(len(moves) - 1, -1, -1):
        name = moves[k].weight
        stop = ends.get(name, readings)
        ends[name] = k + 1
        if k + 1 < readings:
            found.append(Placement(name, k, k + 1, min(stop, readings), 0.0, 0.0, moves[k].to_y_m, homes[name]))
    complete = []
    for placed in reversed(found):
        mass = weights[placed.weight].mass_t
        complete.append(
            Placement(
                placed.weight,
                placed.move,
                placed.first,
                placed.stop,
                mass,
                places[placed.weight],
                placed.to_y_m,
                placed.home_y_m,
            )
        )
        places[placed.weight] = placed.to_y_m
    return complete


def _expected(
    moment: Floats,
    table: Floats,
    known: np.ndarray,
    predicted: Floats | None,
    stiffening_m: float,
    displacement_t: float | None,
) -> Floats:
    """Return the shape the tangents should follow: the model's, the wall-sided one, or the moment itself."""
    if predicted is not None:
        shape = np.asarray(predicted, dtype=np.float64)[: len(moment)]
        return np.asarray(shape - shape[0])
    mean = np.where(known, table, 0.0).sum(axis=0) / np.maximum(known.sum(axis=0), 1)
    use = known.any(axis=0)
    if stiffening_m == 0 or displacement_t is None:
        return moment
    offset, cubic = moment[use] - moment[use].mean(), 0.0
    for _ in range(3):  # Δ(GM t + k t³/2) = m: slope of t + c t³, c = k Δ slope/2
        slope = float(offset @ (mean[use] + cubic * mean[use] ** 3)) / float(offset @ offset)
        cubic = 0.5 * stiffening_m * displacement_t * slope
    if slope <= 0:
        return moment
    wall = mean[0] + cubic * mean[0] ** 3 + slope * moment
    tangent = wall
    for _ in range(5):  # Newton, from a start at most a few per cent off
        tangent = tangent - (tangent + cubic * tangent**3 - wall) / (1 + 3 * cubic * tangent**2)
    return np.asarray(tangent - tangent[0])


def _alternatives(space: Space, compared: Comparison, best: int) -> tuple[list[Same], list[Alternative]]:
    """Return the candidates that cannot be told from the best one, and the next likely classes."""
    d_c = space.d_c - space.x_c[:, None] * ((space.x_c @ space.d_c) / float(space.x_c @ space.x_c))
    dots = space.d_w[:, best] @ space.d_w + d_c[:, best] @ d_c
    squares = (space.d_w**2).sum(axis=0) + (d_c**2).sum(axis=0)
    cosine = dots / np.sqrt(np.maximum(squares * squares[best], 1e-300))
    same: list[Same] = []
    best_of: dict[str, float] = {}
    for block in space.blocks:
        part = slice(block.start, block.stop)
        if block.kind in ("free", "twin"):
            alike = np.flatnonzero(np.abs(cosine[part]) > SAME_TRACE_COEFFICIENT)
            same += [Same(block, int(at), float(dots[part][at] / squares[part][at])) for at in alike]
        name = CLASS_OF.get(block.trace, block.trace)
        best_of[name] = max(float(compared.rank[part].max()), best_of.get(name, -np.inf))
    own = next(block for block in space.blocks if block.start <= best < block.stop)
    best_of.pop(CLASS_OF.get(own.trace, own.trace))
    order = sorted(best_of, key=lambda trace: -best_of[trace])[:4]
    ahead = float(compared.rank[best])
    others = [
        Alternative(trace, float(np.exp(0.5 * (best_of[trace] - ahead))))
        for trace in order
        if np.isfinite(best_of[trace])
    ]
    return same, others
