r"""Readings written in coarse steps. Layer: engine.diagnosis.

If every reading of an instrument is a whole multiple of a step q, rounding alone has the standard uncertainty
:math:`q/\sqrt{12}` (GUM, F.2.2.1). It is reported where that exceeds the one stated for a reading. Were the readings
written in steps of δ, the chance that all n differences from reading 0 fall on multiples of q is (δ/q)ⁿ.
"""

import numpy as np

from engine.checks import Floats
from engine.diagnosis.causes import trace_of
from engine.diagnosis.context import Context, scale_of, unit_of
from engine.diagnosis.result import Diagnosis

STEPS = np.array([1, 2, 2.5, 5, 10, 20, 25, 50]) * 1e-3
INCH_STEPS = 0.0254 / np.array([2, 4, 8, 16])
FEWEST = 4


def step_of(values: Floats, *, unit: str) -> float:
    """Return the coarsest of the usual steps of which all readings are multiples, 0 where there is none."""
    kept = values[np.isfinite(values)]
    if len(kept) < FEWEST or np.ptp(kept) == 0:
        return 0.0
    steps = np.concatenate([STEPS, INCH_STEPS]) if unit == "m" else STEPS * 10
    part = kept / steps[:, None]
    even = np.abs(part - np.rint(part)).max(axis=1) < 1e-6 * np.maximum(1.0, np.abs(part).max(axis=1))
    finest = FINEST_M * (1 if unit == "m" else 10)
    for k in sorted(np.flatnonzero(even), key=lambda k: -steps[k]):
        by_chance = (finest / steps[k]) ** (1 + _independent(np.rint(part[k])))
        if by_chance <= CHANCE_PROBABILITY:
            return float(steps[k])
    return 0.0


FINEST_M = 0.001
"""What a batten is read to; an angle to 0.01 degree. Readings so fine are all multiples of a step q by chance with
probability (finest/q)^(1 + changes), counted once where moves repeat or double one another."""
CHANCE_PROBABILITY = 0.02
COARSE_M, COARSE_DEG = 0.005, 0.05
"""A step beyond which coarse reading is called a fault; below it is a matter of the uncertainty (our choice)."""


def _independent(counts: Floats) -> int:
    """Return how many different changes there are, those that are multiples of a smaller one left out."""
    kept: list[float] = []
    for change in np.unique(np.abs(counts - counts[0])):
        if change > 0 and not any(change % smaller == 0 for smaller in kept if smaller > 1):
            kept.append(float(change))
    return len(kept)


def rounding_ratio(context: Context) -> Floats:
    """Return the standard uncertainty of rounding of each instrument that is read coarsely, as a tangent; else 0."""
    found = np.zeros(len(context.sigma))
    for i, instrument in enumerate(context.instruments):
        step = step_of(instrument.readings, unit=unit_of(instrument))
        rounding = step / np.sqrt(12.0) / scale_of(instrument)
        found[i] = rounding if rounding > context.sigma[i] else 0.0
    return found


def quantised(context: Context) -> tuple[Diagnosis, ...]:
    """Return the instruments read in steps coarser than their stated uncertainty."""
    rounding = rounding_ratio(context)
    found = []
    for i in np.flatnonzero(rounding):
        instrument, one = context.instruments[i], float(context.sigma[i])
        scale, unit = scale_of(instrument), unit_of(instrument)
        step = float(rounding[i]) * np.sqrt(12.0) * scale
        trace = trace_of("quantised", context.kind(int(i)))
        slope = context.as_read
        found.append(
            Diagnosis(
                cause="readings-coarse",
                trace="quantised",
                members=trace.members,
                is_fault=bool(step > (COARSE_DEG if unit == "deg" else COARSE_M)),
                evidence=f"all readings are multiples of {step:.6g} {unit}: rounding alone is uncertain by "
                f"{rounding[i] / one:.3g} times what is stated for a reading",
                action=trace.action,
                separate=trace.separate,
                largest_shift_ratio=step / 2 / scale,
                shift_over_reading_ratio=step / 2 / scale / one,
                readings=tuple(int(j) for j in np.flatnonzero(np.isfinite(instrument.readings))),
                instruments=(instrument.id,),
                slope_with_per_tm=slope[0],
                gm_with_m=slope[1],
            )
        )
    return tuple(found)
