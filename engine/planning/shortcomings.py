"""What a plan cannot do, what it would take, and what is to be noticed of it. Layer: engine.planning."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from engine.findings import Finding
from engine.planning.instruments import Chosen, Needs
from engine.planning.levelling import LIST_LIMIT_DEG
from engine.planning.outline import Outline
from engine.planning.predicted import Condition
from engine.planning.tank_plan import TankRow
from engine.planning.weights import HeelRange, Search, candidate_of

Means = Literal["weights", "weights_below_least_heel", "none"]

TRIM_LIMIT_PERCENT = 1.0
"""Of the length between perpendiculars; beyond it hydrostatics must be those of the actual trim, as they are here."""
MOST_EACH = 50
"""Pieces in a group tried at most."""


@dataclass(frozen=True, eq=False)
class Needed:
    """What the weights on hand lack.

    Attributes
    ----------
    moment_tm : float
        Needed each side for the least heel. [t·m]
    pieces_count : tuple of int
        For each size on hand, how many would do it; 0 where that size cannot stand on the deck.
    """

    moment_tm: float
    pieces_count: tuple[int, ...]


def needed_of(outline: Outline, bare: Condition, heel: HeelRange) -> Needed:
    """Return how many of each size would reach the least heel, their own weight aboard left out of account."""
    moment = bare.moment_tm(heel.low_ratio)
    counts = []
    for one in outline.stock:
        enough = 0
        for each in range(1, MOST_EACH + 1):
            made = candidate_of([one] * (4 * each), outline.deck, groups=4)
            able = 0.0 if made is None else made.moment_tm
            if able >= moment:
                enough = 4 * each
                break
            if able == 0.0:
                break
        counts.append(enough)
    return Needed(moment, tuple(counts))


def impossible_of(
    outline: Outline,
    search: Search,
    heel: HeelRange,
    means: Means,
    instruments: tuple[Chosen, ...],
    needs: Needs,
) -> list[Finding]:
    """Return what cannot be done."""
    told = []
    if not outline.stock:
        told.append(Finding("no-weights", "there are no inclining weights on hand"))
    elif search.found is None:
        told.append(Finding("no-place-for-weights", "no piece on hand can stand in a lane and be moved across it"))
    elif means == "none":
        starboard, port = search.found.expected.sides_deg
        if min(search.found.expected.sides_ratio) < heel.low_ratio:
            told.append(
                Finding(
                    "heel-not-reached",
                    f"the weights on hand heel her {starboard:.3g} degrees to starboard and {port:.3g} to port; with "
                    f"the margin on GM {np.degrees(np.arctan(heel.low_ratio)):.3g} are needed each side",
                )
            )
        else:
            told.append(
                Finding(
                    "heel-too-large",
                    f"the lightest set on hand heels her {starboard:.3g} degrees to starboard and {port:.3g} to port; "
                    f"with the margin on GM {np.degrees(np.arctan(heel.high_ratio)):.3g} are allowed each side",
                )
            )
    able = sum(one.enough for one in instruments)
    if search.found is not None and able < needs.count:
        told.append(
            Finding(
                "deflection-not-reached",
                f"{able} instruments reach {needs.deflection_m:.6g} m each side, {needs.count} are needed",
                count=able,
            )
        )
    if search.found is not None and not any(one.kind == "pendulum" for one in instruments):
        told.append(Finding("no-pendulum", "no place has room for a pendulum, and one at least is needed"))
    return told


def noticed_of(
    at: Condition, tanks: tuple[TankRow, ...], search: Search, means: Means, heel: HeelRange
) -> list[Finding]:
    """Return what was noticed without making the plan impossible."""
    told = []
    if abs(at.heel_deg) > LIST_LIMIT_DEG:
        told.append(
            Finding(
                "list-beyond-limit", f"the initial list is {at.heel_deg:.3g} degrees, {LIST_LIMIT_DEG:.6g} are accepted"
            )
        )
    trim = 100 * at.trim_m / at.length_bp_m
    if abs(trim) > TRIM_LIMIT_PERCENT:
        told.append(
            Finding(
                "trim-beyond-limit",
                f"the trim is {trim:.3g} % of the length, {TRIM_LIMIT_PERCENT:.6g} % is the practice for hydrostatics "
                "of the design trim",
            )
        )
    broken = sum(bool(row.breaks) for row in tanks)
    if broken:
        told.append(Finding("tank-breaks-rule", f"{broken} tanks break a rule", count=broken))
    if means == "weights" and not search.reaches:
        told.append(
            Finding("heel-below-wanted", f"the weights do not reach the {heel.wanted_deg:.3g} degrees aimed at")
        )
    if means == "weights_below_least_heel":
        told.append(
            Finding(
                "heel-below-least",
                "the heel is below the least of the limits; a large ship may be tested so where the deflection is "
                "reached and the authority agrees",
            )
        )
    return told
