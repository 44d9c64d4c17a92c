r"""Moves that make no heeling moment, and moves that show none. Layer: engine.incline.

A weight may be logged to go where it stands: so a reading is repeated, and nothing is wrong. Where the instruments show
a move nevertheless, another weight was moved than is logged, or to another place. The other way round, a move that must
show and does not was not made, or its readings are those before it.

What a move must show is its moment times the median, over all moves read, of the change of tangent per moment.
"""

from collections.abc import Iterator, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from engine.checks import Floats
from engine.findings import Finding
from engine.incline.moments import Move, Plateaus, Weight

ARM_LEAST_M = 1e-6
"""A shift across of less is none: what is left of a number that was reckoned, not a place that was measured."""
SHOWN_SHARE_RATIO = 0.5
"""A change as large as this share of what the median move shows is no repeated reading (our choice)."""
NO_EFFECT_RATIO = 0.1
"""A move of which no instrument shows this share has no effect (our choice)."""
CLEAR_RATIO = 10.0
"""What a move must show is looked for where it is so many standard uncertainties of a difference (our choice)."""


def moves_without_effect(
    *,
    weights: Mapping[str, Weight],
    moves: Sequence[Move],
    moved: Plateaus,
    tangents: Floats,
    reading_standard_uncertainty_ratio: Floats,
) -> Iterator[Finding]:
    """Yield moves whose moment and readings do not go together, and tell of readings repeated at one moment.

    Parameters
    ----------
    weights, moves, moved
        As logged, and what follows of them.
    tangents : (p, m + 1) float64
        Tangents of heel by each instrument, NaN where missed.
    reading_standard_uncertainty_ratio : (p, m + 1) float64
        Of each tangent read.

    Yields
    ------
    Finding
        ``move-without-effect`` for each move in question; ``moment-repeated`` once, for all that repeat a reading.
    """
    numbers = {name: i for i, name in enumerate(weights)}
    change = np.abs(np.diff(tangents, axis=1))
    unsure = np.sqrt(2.0) * np.max(reading_standard_uncertainty_ratio, axis=0, initial=0.0, where=np.isfinite(tangents))
    still: NDArray[np.bool_] = np.asarray(np.abs(moved.arms_m[:, 1]) < ARM_LEAST_M)
    moment = np.abs(np.diff(moved.moment_tm))
    seen: NDArray[np.bool_] = np.asarray(np.isfinite(change).any(axis=0))
    usual = seen & ~still
    per_tm = float(np.median(_middle(change[:, usual]) / moment[usual])) if usual.any() else 0.0
    typical = per_tm * float(np.median(moment[usual])) if usual.any() else 0.0
    repeated = []
    for k, move in enumerate(moves):
        least = CLEAR_RATIO * float(unsure[k : k + 2].max())
        number = numbers[move.weight]
        if still[k]:
            lies = bool(np.abs(moved.arms_m[k]).max() < ARM_LEAST_M)
            shown = float(_middle(change[:, k : k + 1])[0]) if seen[k] else 0.0
            if usual.any() and shown > max(SHOWN_SHARE_RATIO * typical, least):
                why = "already lies there" if lies else "goes lengthwise or up and down alone, not across"
                words = f"moves/{k} makes no heeling moment: weights/{number} {why}; the instruments show "
                yield Finding("move-without-effect", words + f"{shown / typical:.3g} of what a usual move shows")
            else:
                repeated.append(k)
        elif seen[k] and per_tm * moment[k] > least:
            shown = float(np.nanmax(change[:, k])) / (per_tm * float(moment[k]))
            if shown < NO_EFFECT_RATIO:
                words = f"moves/{k} moves weights/{number} by {moment[k]:.6g} t m, and no instrument shows more than "
                yield Finding("move-without-effect", words + f"{shown:.3g} of what that must show")
    if repeated:
        words = ", ".join(f"moves/{k}" for k in repeated) + ": the heeling moment stays as it was; the readings there"
        yield Finding("moment-repeated", words + " repeat those before and count as of one move", count=len(repeated))


def _middle(change: Floats) -> Floats:
    """Return the median over the instruments that read it, of each move that one did."""
    return np.asarray(np.nanmedian(change, axis=0))
