"""What a solved record shows that a reader must know, without being wrong. Layer: engine.record."""

from collections.abc import Iterator

import numpy as np

from engine.findings import Finding
from engine.record.budget import Uncertainty
from engine.record.record import Parts, Record
from engine.record.solve import Solution, Surveyed


def noticed(record: Record, solution: Solution, uncertainty: Uncertainty | None) -> tuple[Finding, ...]:
    """Return findings about the data of a solved record."""
    found = [finding for aboard in record.tanks for finding in aboard.tank.findings]
    found += of_survey(solution.surveyed) if solution.surveyed is not None else []
    found += [Finding(error.code, f"{step} is not determined: {error}") for step, error in solution.not_done.items()]
    if uncertainty is not None:
        found += _spread(uncertainty)
    found += of_readings(record)
    return tuple(found)


def of_survey(surveyed: Surveyed) -> Iterator[Finding]:
    """Yield findings about the heights and the liquids."""
    fit = surveyed.waterline
    if fit.sag_m:
        word = "sagged" if fit.sag_m > 0 else "hogged"
        yield Finding("deflection-applied", f"the hull is {word} by {abs(fit.sag_m):.6g} m at midlength; it is bent so")
    if fit.degrees_of_freedom_count == 0:
        yield Finding("heights-without-check", "as many heights as fitted numbers: no reading checks another")
    if surveyed.afloat.free_surface_tm == 0 and any(one.volume_m3 > 0 for one in surveyed.liquids):
        yield Finding("no-free-surface", "liquids are aboard, all of them in full tanks: no free surface is counted")


def _spread(uncertainty: Uncertainty) -> Iterator[Finding]:
    if uncertainty.heights_factor > 1:
        yield Finding(
            "heights-scatter-more-than-stated",
            f"freeboards and marks scatter {uncertainty.heights_factor:.6g} times as much as their stated "
            "uncertainties allow: those are raised by that factor in the budget",
        )
    if uncertainty.scatter is None:
        yield Finding(
            "scatter-not-shown",
            "too few readings to show their own scatter: their assumed uncertainty stands in the budget",
        )


def of_readings(record: Parts) -> Iterator[Finding]:
    """Yield findings about the instruments."""
    for number, instrument in enumerate(record.instruments):
        shown = np.isfinite(instrument.readings)
        if shown.any() and not shown[0]:
            yield Finding(
                "reading-zero-missed",
                f"instrument {number} has no reading 0: it starts at the mean of the others at its first reading",
            )
        if shown.sum() < 2:
            yield Finding("instrument-not-used", f"instrument {number} has fewer than two readings: it shows no slope")
