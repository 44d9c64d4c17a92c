"""Whether the heights of the water were read on this hull. Layer: engine.record.

A freeboard is read from a point at the side: the deck edge, a bulwark's rail, a mark on the shell. Each is held against
the transverse section at its place. Every limit here is our choice (docs/methods/survey.md).
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from engine.checks import Floats
from engine.deadline import checkpoint
from engine.findings import Finding
from engine.flotation.tables import HydrostaticTables
from engine.geometry.cut import Solid
from engine.record.record import Record

END_MARGIN_RATIO = 0.03
"""Of the hull's length: stems and platforms reach so far beyond its ends, and so near them no side is asked for."""
ALONG_RATIO = 0.005
"""Of the hull's length: a place along the deck is known no better; sections so far before and abaft it count too."""
SIDE_MARGIN_M, SIDE_LEAST_RATIO, SIDE_MOST_RATIO = 0.5, 0.03, 0.08
"""Outboard of the side: half a metre, but within these parts of the hull's breadth; fenders and spars end sooner."""
RAIL_MOST_M, RAIL_RATIO = 4.0, 0.5
"""Above the hull's top: a deck that is not part of the hull, with its bulwark; of a small hull no more than its depth,
and half the depth of a large one."""
BELOW_M = 0.5
"""Below the hull's bottom, or below its top for a point well inside."""
RAIL_TOLD_M = 0.25
"""Above the hull's top: more than a stringer, a coaming or a rounded offset."""
CAMBER_RATIO = 0.03
"""Of the section's breadth, more, below the hull's top: the deck's edge stands below its middle by 1/50 as a rule."""
INSIDE_RATIO, INBOARD_RATIO = 0.25, 0.125
"""Of the section's breadth, from its side: halfway to the middle no tape hangs free; half as far is told."""
OPPOSITE_X_M, OPPOSITE_Y_M, OPPOSITE_Z_M = 0.1, 0.5, 0.1
"""Two points so near in place stand opposite one another; so far apart in height they are told."""


@dataclass(frozen=True)
class _Held:
    """A height against the section at its place; m, positive outward and upward. ``off`` says why it is not of it."""

    above_m: float
    breadth_m: float
    outboard_ratio: float
    off: tuple[str, float, str] | None


def of_heights(record: Record, *, immersion_t_per_cm: float = float("nan")) -> Iterator[Finding]:
    """Yield findings about places of heights outside the hull, inside it, above it, in from its side.

    ``outside-ship`` and ``height-inside-hull`` put the record in question; ``reference-above-hull``,
    ``reference-below-top``, ``reference-in-from-side`` and ``reference-sides-differ`` are told.

    Parameters
    ----------
    record : Record
        Nothing is yielded where tables stand for its hull.
    immersion_t_per_cm : float
        Where she floats as read; with it is told what a reference on another deck would change.
    """
    if isinstance(record.hull, HydrostaticTables):
        return
    count = record.freeboard_count
    held = [_held(record, record.hull, i) for i in range(len(record.heights.x_m))]
    for code, words in (("outside-ship", "outside the hull"), ("height-inside-hull", "inside the hull")):
        wrong = [(i, one.off) for i, one in enumerate(held) if one.off is not None and one.off[0] == code]
        if wrong:
            i, (_, _, how) = max(wrong, key=lambda one: one[1][1])
            message = f"places of heights {words}: {len(wrong)} of {len(held)}; {_name(record, i)}: {how}"
            yield Finding(code, message, count=len(wrong))
    fair = [(i, one) for i, one in enumerate(held[:count]) if one.off is None]
    above = [(i, one.above_m) for i, one in fair if one.above_m > RAIL_TOLD_M]
    below = [(i, -one.above_m) for i, one in fair if -one.above_m > RAIL_TOLD_M + CAMBER_RATIO * one.breadth_m]
    for code, ones, where, less, why in (
        ("reference-above-hull", above, "above", "less", "a rail or bulwark, or the height of another deck?"),
        ("reference-below-top", below, "below", "more", "a mark on the shell, or the height of another deck?"),
    ):
        if not ones:
            continue
        i, most = max(ones, key=lambda one: one[1])
        words = (
            f"freeboards read from {where} the hull's top at their place: {len(ones)} of {count}, {_name(record, i)} "
        )
        words += f"from {most:.3g} m {where} it: {why}"
        change = 100 * sum(one for _, one in ones) / len(held) * immersion_t_per_cm
        if np.isfinite(change):
            words += f" From the hull's top she would displace about {float(f'{change:.2g}'):.6g} t {less}"
        yield Finding(code, words, count=len(ones))
    inboard = [(i, -one.outboard_ratio) for i, one in fair if one.outboard_ratio < -INBOARD_RATIO]
    if inboard:
        i, most = max(inboard, key=lambda one: one[1])
        words = f"freeboards read in from the hull's side: {len(inboard)} of {count}, {_name(record, i)} by "
        words += f"{100 * most:.3g} % of the breadth there"
        yield Finding("reference-in-from-side", words, count=len(inboard))
    yield from _opposite(record)


def _name(record: Record, i: int) -> str:
    return f"freeboards/{i}" if i < record.freeboard_count else f"draft_marks/{i - record.freeboard_count}"


def _held(record: Record, hull: Solid, i: int) -> _Held:
    """Hold a freeboard's reference, or the water at a mark, against the hull."""
    checkpoint()
    aft, forward = hull.bounds_m[:, 0].tolist()
    length, widest, depth = np.ptp(hull.bounds_m, axis=0).tolist()
    one = record.heights
    freeboard = i < record.freeboard_count
    x, y, z = float(one.x_m[i]), float(one.y_m[i]), float(one.from_m[i] + one.up_m[i])
    beyond = max(aft - x, x - forward)
    if beyond > END_MARGIN_RATIO * length:
        how = f"x = {x:.6g} m, the hull reaches from {aft:.6g} to {forward:.6g} m"
        return _Held(0.0, 0.0, 0.0, ("outside-ship", beyond, how))
    (right, bottom), (left, top) = _section(hull, x, length).tolist()
    if not top > bottom:
        return _Held(0.0, 0.0, 0.0, None)
    breadth = left - right
    outboard, above = max(right - y, y - left), z - top
    side = min(max(SIDE_MARGIN_M, SIDE_LEAST_RATIO * widest), SIDE_MOST_RATIO * widest)
    side += max(above, 0.0)  # bulwarks flare, by 45° at most
    rail = max(min(RAIL_MOST_M, depth), RAIL_RATIO * depth) if freeboard else BELOW_M
    at_end = beyond > -END_MARGIN_RATIO * length
    off = None
    if outboard > side:
        how = f"y = {y:.6g} m, the hull at x = {x:.6g} m reaches from {right:.6g} to {left:.6g} m"
        off = ("outside-ship", outboard, how)
    elif above > rail or (freeboard and bottom - z > BELOW_M):
        how = f"z = {z:.6g} m, the hull at x = {x:.6g} m reaches from {bottom:.6g} to {top:.6g} m"
        off = ("outside-ship", max(above, bottom - z), how)
    elif freeboard and not at_end and -outboard > INSIDE_RATIO * breadth and -above > BELOW_M:
        how = f"{-above:.6g} m below its top and {-outboard:.6g} m in from its side at x = {x:.6g} m"
        off = ("height-inside-hull", -outboard, how)
    return _Held(above, breadth, 0.0 if at_end or breadth == 0 else outboard / breadth, off)


def _section(hull: Solid, x: float, length: float) -> Floats:
    """(2, 2) least and greatest y and z of the hull about x, the nearest end's for a place beyond it. [m]"""
    aft, forward = hull.bounds_m[:, 0].tolist()
    step = ALONG_RATIO * length
    places = {min(max(x + side, aft), forward) for side in (-step, 0.0, step)}
    extents = np.stack([hull.section_extent_m(x_m=place) for place in sorted(places)])
    return np.stack([np.fmin.reduce(extents[:, 0]), np.fmax.reduce(extents[:, 1])])


def _opposite(record: Record) -> Iterator[Finding]:
    """Yield a finding where references that stand opposite one another differ in height."""
    one, count = record.heights, record.freeboard_count
    x, y, z = one.x_m[:count], one.y_m[:count], one.from_m[:count]
    pairs = (np.abs(x[:, None] - x) <= OPPOSITE_X_M) & (y[:, None] * y < 0)
    pairs &= np.abs(np.abs(y)[:, None] - np.abs(y)) <= OPPOSITE_Y_M
    apart = np.triu(np.where(pairs, np.abs(z[:, None] - z), 0.0))
    differ = int((apart > OPPOSITE_Z_M).sum())
    if not differ:
        return
    i, j = np.unravel_index(int(np.argmax(apart)), apart.shape)
    words = f"freeboards opposite one another read from different heights: {differ}; freeboards/{i} and freeboards/{j} "
    words += f"from {z[i]:.6g} and {z[j]:.6g} m: that heels her as read"
    yield Finding("reference-sides-differ", words, count=differ)
