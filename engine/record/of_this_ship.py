"""Whether the parts of a record are of one ship: length, weights, lightships stated. Layer: engine.record.

Every limit here is our choice (docs/methods/record.md).
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import TypeVar

import numpy as np

from engine.checks import Floats
from engine.findings import Finding
from engine.flotation.tables import HydrostaticTables
from engine.geometry.cut import Solid
from engine.lightship.derivation import Mass
from engine.lightship.particulars import Lightship
from engine.planning.ledger_review import ship_bounds_m
from engine.record.plausible import hull_heights_m
from engine.record.record import Record

SHORT_TOLD_RATIO, SHORT_RATIO = 0.03, 0.10
"""Of L: a perpendicular so far beyond the hull's end is told; the hull then wants a station, or L is another ship's."""
LONG_TOLD_RATIO, LONG_RATIO = 0.25, 0.50
"""Of L: the hull so far beyond a perpendicular is told; yachts with long overhangs stay below the second."""
BELOW_DECK_M, BELOW_DECK_RATIO = 1.5, 0.5
"""A weight so far below the hull's top at its place, or below half the depth there if that is less, is told."""
MASS_RATIO = 3.0
"""Two statements of one lightship, or a sister's, differ by less than this factor."""
LCG_RATIO, TCG_RATIO, VCG_RATIO = 0.10, 0.25, 0.50
"""Of L, of the breadth and of the depth: their centres differ by less."""


_Name = TypeVar("_Name", bound=str)


def of_length(record: Record) -> Iterator[Finding]:
    """Yield ``length-and-hull-differ``, or ``length-not-of-hull`` where the difference is gross."""
    if isinstance(record.hull, HydrostaticTables):
        return
    length = record.length_bp_m
    aft, forward = record.hull.bounds_m[:, 0].tolist()
    short, long = max(aft, length - forward) / length, max(-aft, forward - length) / length
    words = f"forward of the aft perpendicular the hull reaches from {aft:.6g} to {forward:.6g} m, the forward "
    words += f"perpendicular stands at {length:.6g} m"
    if short > SHORT_RATIO or long > LONG_RATIO:
        yield Finding("length-not-of-hull", words)
    elif short > SHORT_TOLD_RATIO or long > LONG_TOLD_RATIO:
        yield Finding("length-and-hull-differ", words)


def of_deck(record: Record) -> Iterator[Finding]:
    """Yield a finding where inclining weights stand well below the hull's top at their place."""
    if isinstance(record.hull, HydrostaticTables):
        return
    low = []
    for i, weight in enumerate(record.weights.values()):
        x, _, z = weight.centre_m.tolist()
        bottom, top = record.hull.section_extent_m(x_m=x)[:, 1].tolist()
        if top - z > min(BELOW_DECK_M, BELOW_DECK_RATIO * (top - bottom)):
            low.append((top - z, i, z, top))
    if low:
        _, i, z, top = max(low)
        words = f"weights below the deck: {len(low)} of {len(record.weights)}, weights/{i} at z = {z:.6g} m, where the "
        yield Finding("weight-below-deck", f"{words}hull's top is at {top:.6g} m", count=len(low))


def of_references(record: Record, references: Mapping[_Name, Lightship], lightship: Mass) -> Iterator[Finding]:
    """Yield ``reference-not-of-ship`` for each lightship stated that cannot be that of the ship found."""
    depth = float(np.ptp(hull_heights_m(record.hull)))
    breadth = None if isinstance(record.hull, HydrostaticTables) else float(np.ptp(record.hull.bounds_m[:, 1]))
    x, y, z = lightship.centre_m.tolist()
    length = record.length_bp_m
    for name, one in references.items():
        told = []
        if not 1 / MASS_RATIO < one.mass_t / lightship.mass_t < MASS_RATIO:
            told.append(f"mass = {one.mass_t:.6g} t, {lightship.mass_t:.6g} t found")
        if abs(one.x_m - x) > LCG_RATIO * length:
            midship = abs(abs(one.x_m - x) - length / 2) < LCG_RATIO * length
            told.append(f"x = {one.x_m:.6g} m, {x:.6g} m found" + (": is it from midship?" if midship else ""))
        if one.y_m is not None and breadth is not None and abs(one.y_m - y) > TCG_RATIO * breadth:
            told.append(f"y = {one.y_m:.6g} m, {y:.6g} m found")
        if one.z_m is not None and abs(one.z_m - z) > VCG_RATIO * depth:
            told.append(f"z = {one.z_m:.6g} m, {z:.6g} m found")
        if told:
            yield Finding("reference-not-of-ship", f"{name}: {'; '.join(told)}")


def of_loaded(hull: Solid, centres_m: Sequence[Floats]) -> Iterator[Finding]:
    """Yield the items of a loading condition that lie outside the ship, (3,) centres. [m]"""
    low, high = ship_bounds_m(hull)
    for i, centre in enumerate(centres_m):
        off = float(np.max(np.maximum(low - centre, centre - high)))
        if off > 0:
            yield Finding("outside-ship", f"items/{i} lies {off:.6g} m outside the ship")
