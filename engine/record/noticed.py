"""What a solved record shows that a reader must know, without being wrong. Layer: engine.record."""

from collections.abc import Iterator

import numpy as np

from engine.checks import Floats
from engine.findings import Finding
from engine.flotation.tables import HydrostaticTables
from engine.incline.effects import moves_without_effect
from engine.incline.instruments import heel_tangents
from engine.incline.moments import Plateaus
from engine.incline.plausible import masses_out_of_scale
from engine.planning.ledger_review import ship_bounds_m
from engine.record.budget import Uncertainty, reading_uncertainty_ratio
from engine.record.few_stations import of_stations
from engine.record.of_this_ship import of_deck, of_length
from engine.record.on_hull import of_heights
from engine.record.record import Parts, Record
from engine.record.solve import Solution, Surveyed


def noticed(record: Record, solution: Solution, uncertainty: Uncertainty | None) -> tuple[Finding, ...]:
    """Return findings about the data of a solved record."""
    found = [finding for aboard in record.tanks for finding in aboard.tank.findings]
    if solution.surveyed is not None:
        found += [*of_survey(solution.surveyed), *of_stations(record, solution.surveyed)]
    found += of_ship(record, solution.surveyed)
    found += [Finding(error.code, f"{step} is not determined: {error}") for step, error in solution.not_done.items()]
    if uncertainty is not None:
        found += _spread(uncertainty)
    found += of_readings(record)
    displacement = None if solution.surveyed is None else solution.surveyed.afloat.displacement_t
    tangents = heel_tangents(record.instruments, heel_at_zero_deg=0.0, reading_count=record.reading_count)
    found += of_weights(record, solution.plateaus, tangents, displacement_t=displacement)
    found += _places(record)
    found += of_deck(record)
    found += _kept(record, solution)
    if uncertainty is not None:
        found += _assumed(record, uncertainty)
    found += _not_used(record)
    return tuple(found)


def of_survey(surveyed: Surveyed) -> Iterator[Finding]:
    """Yield findings about the heights and the liquids."""
    fit = surveyed.waterline
    if fit.sag_m:
        word = "sagged" if fit.sag_m > 0 else "hogged"
        yield Finding("deflection-applied", f"the hull is {word} by {abs(fit.sag_m):.6g} m at midlength; it is bent so")
    if isinstance(surveyed.hull, HydrostaticTables):
        yield from surveyed.hull.off_trim(fit.trim_m)
    if fit.degrees_of_freedom_count == 0:
        yield Finding("heights-without-check", "as many heights as fitted numbers: no reading checks another")
    if surveyed.afloat.free_surface_tm == 0 and any(one.volume_m3 > 0 for one in surveyed.liquids):
        yield Finding("no-free-surface", "liquids are aboard, all of them in full tanks: no free surface is counted")


def of_ship(record: Record, surveyed: Surveyed | None) -> Iterator[Finding]:
    """Yield findings about the length and the places of the heights, held against the hull."""
    yield from of_length(record)
    immersion = np.nan if surveyed is None else float(surveyed.afloat.hydrostatics.immersion_t_per_cm[0])
    yield from of_heights(record, immersion_t_per_cm=immersion)


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


def _places(record: Record) -> Iterator[Finding]:
    """Yield weights, places they are moved to, tanks and survey differences that lie outside the ship."""
    if isinstance(record.hull, HydrostaticTables):
        return
    low, high = ship_bounds_m(record.hull)
    weights = list(record.weights.values())
    places = [(f"weights/{i}", one.centre_m) for i, one in enumerate(weights)]
    places += [(f"survey_differences/{i}", one.centre_m) for i, one in enumerate(record.survey_differences)]
    places += [(f"tanks/{i}", one.tank.full_centroid_m) for i, one in enumerate(record.tanks)]
    for k, move in enumerate(record.moves):
        start = record.weights[move.weight].centre_m
        to = [move.to_x_m, move.to_y_m, move.to_z_m]
        places.append((f"moves/{k}", np.array([s if t is None else t for s, t in zip(start, to, strict=True)])))
    for name, place in places:
        off = float(np.max(np.maximum(low - place, place - high)))
        if off > 0:
            yield Finding("outside-ship", f"{name} lies {off:.6g} m outside the ship")


def _kept(record: Record, solution: Solution) -> Iterator[Finding]:
    """Yield tanks whose lightship part is more than they hold: the lightship then gains what is not aboard."""
    if solution.surveyed is None:
        return
    for i, (aboard, liquid) in enumerate(zip(record.tanks, solution.surveyed.liquids, strict=True)):
        if aboard.lightship_volume_m3 > liquid.volume_m3 * (1 + 1e-9):
            yield Finding(
                "lightship-liquid-not-aboard",
                f"tanks/{i} holds {liquid.volume_m3:.6g} m3, and {aboard.lightship_volume_m3:.6g} m3 of it are called "
                "lightship",
            )


DOMINATING_PERCENT = 50.0
RESULTS = {
    "mass_t": "the lightship's mass",
    "x_m": "the lightship's LCG",
    "y_m": "the lightship's TCG",
    "z_m": "the lightship's VCG",
    "displacement_t": "the displacement",
    "gm_fluid_m": "GM fluid",
}
"""What a budget's results are called in a sentence."""


def _assumed(record: Record, uncertainty: Uncertainty) -> Iterator[Finding]:
    """Yield results whose uncertainty rests mostly on what this service assumes and nobody stated."""
    for budget in (one.by_category for one in uncertainty.budget.outputs):
        row = budget.dominating
        if row is None or row.share_percent < DOMINATING_PERCENT:
            continue
        paths = [one.input.name for one in uncertainty.sources if one.input.category == row.category]
        if not any(path in record.stated for path in paths) and row.category != "readings":
            yield Finding(
                "assumed-uncertainty-dominates",
                f"{row.share_percent:.3g} % of the variance of {RESULTS[budget.name]} comes from {row.category}, whose "
                "uncertainty nobody stated: this service's assumption",
            )


def _not_used(record: Record) -> Iterator[Finding]:
    """Yield uncertainties stated of what no budget follows."""
    paths = [path for path in record.stated if "/sounding_point/" in path]
    if paths:
        yield Finding(
            "stated-uncertainty-not-used",
            f"where sounding pipes stand is taken as exact: what is stated of {', '.join(paths)} is not in the budget",
            count=len(paths),
        )


def of_readings(record: Parts) -> Iterator[Finding]:
    """Yield findings about the instruments."""
    for number, instrument in enumerate(record.instruments):
        shown = np.isfinite(instrument.readings)
        if shown.any() and not shown[0]:
            yield Finding(
                "reading-zero-missed",
                f"instruments/{number} has no reading 0: it starts at the mean of the others at its first reading",
            )
        if shown.sum() < 2:
            yield Finding("instrument-not-used", f"instruments/{number} has fewer than two readings: it shows no slope")


def of_weights(record: Parts, moved: Plateaus, tangents: Floats, *, displacement_t: float | None) -> Iterator[Finding]:
    """Yield moves whose effect is not that logged and weights that do not go with one another or with the ship. [t]"""
    yield from moves_without_effect(
        weights=record.weights,
        moves=record.moves,
        moved=moved,
        tangents=tangents,
        reading_standard_uncertainty_ratio=reading_uncertainty_ratio(record, tangents),
    )
    masses = [one.mass_t for one in record.weights.values()]
    yield from masses_out_of_scale(masses_t=masses, displacement_t=displacement_t)
