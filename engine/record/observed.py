"""What the rules ask about, observed in a solved record. Layer: engine.record.

Names and definitions are those of ``engine.rules.OBSERVABLES``. What the record does not say is left out.
"""

from collections.abc import Iterator
from contextlib import suppress
from itertools import combinations

import numpy as np

from engine.checks import Floats
from engine.errors import NotDeterminedError
from engine.flotation.tables import HydrostaticTables
from engine.incline.geometric_fit import less_zero
from engine.incline.instruments import Pendulum, UTube
from engine.incline.moments import Plateaus
from engine.record.budget import Uncertainty, reading_uncertainty_ratio
from engine.record.chain import Chain, slope_of
from engine.record.record import Record
from engine.record.solve import Inclined, Solution, Surveyed
from engine.rules import OBSERVED_DECIMALS
from engine.uncertainty import straightness

Pairs = Iterator[tuple[str, float]]

STRAIGHTNESS = "largest_residual_deviate_ratio"


def observed(record: Record, solution: Solution, uncertainty: Uncertainty | None) -> dict[str, float]:
    """Return every observed value that is known, rounded as the rules want it."""
    found: dict[str, float] = {"vessel_length_bp_m": record.length_bp_m}
    found.update(_heights(record))
    found.update(_water(record))
    found.update(_weights(record))
    found.update(_moves(record, solution.plateaus))
    if solution.surveyed is not None:
        found.update(_surveyed(solution.surveyed))
        found.update(_tanks(solution.surveyed))
    found.update(_instruments(record))
    if solution.inclined is not None:
        found.update(_at_zero(record, solution.inclined))
        found.update(_heels(solution.inclined))
        found.update(_plot(record, solution.inclined, solution.plateaus))
    if solution.derivation is not None and solution.surveyed is not None:
        found.update(_ledger(record, solution))
    if uncertainty is not None and solution.inclined is not None:
        found.update(_uncertain(record, solution, solution.inclined, uncertainty))
    return {name: round(float(value), OBSERVED_DECIMALS) for name, value in found.items() if not np.isnan(value)}


def not_observed(record: Record, solution: Solution) -> dict[str, str]:
    """Return why a quantity is not known, where there is more to say than that the record does not say it."""
    if solution.inclined is None:
        return {}
    try:
        _straightness(record, solution.inclined, solution.plateaus)
    except NotDeterminedError as error:
        return {STRAIGHTNESS: str(error)}
    return {}


def _straightness(record: Record, inclined: Inclined, plateaus: Plateaus) -> float:
    return straightness(
        residual_ratio=inclined.regression.residual_ratio,
        moment_tm=plateaus.moment_tm,
        reading_ratio=reading_uncertainty_ratio(record, inclined.tangents),
    ).deviate_ratio


def _heights(record: Record) -> Pairs:
    count, y = record.freeboard_count, record.heights.y_m
    yield "freeboards_least_side_count", _least_side_count(y[:count])
    if len(y) > count:
        yield "draft_marks_least_side_count", _least_side_count(y[count:])
    gaps = []
    for side in (y[:count] > 0, y[:count] < 0):
        x = np.sort(record.heights.x_m[:count][side])
        if len(x) >= 3 and x[-1] > x[0]:
            gaps.append(np.diff(x).max() / np.diff(x).mean())
    if gaps:
        yield "freeboard_largest_gap_ratio", max(gaps)


def _least_side_count(y_m: Floats) -> int:
    return min(int(np.sum(y_m > 0)), int(np.sum(y_m < 0)))


def _surveyed(surveyed: Surveyed) -> Pairs:
    fit = surveyed.waterline
    u = fit.residual_standard_uncertainty_m
    if (u > 0).any():
        ratio = np.abs(fit.residual_m[u > 0]) / u[u > 0]
        yield "largest_height_residual_ratio", ratio.max()


def _water(record: Record) -> Pairs:
    density = record.sample_density_t_per_m3
    yield "water_samples_count", len(density)
    if len(density) > 1:
        yield "density_spread_t_per_m3", np.ptp(density)


def _weights(record: Record) -> Pairs:
    moved = {move.weight for move in record.moves}
    yield "weights_count", len(moved)
    stated = [
        record.stated[path].standard_uncertainty if (path := f"weights/{i}/mass_t") in record.stated else None
        for i in range(len(record.weights))
    ]
    yield (
        "weight_standard_uncertainty_percent",
        max(
            record.assumed.weight_percent if u is None else 100.0 * u / weight.mass_t
            for u, weight in zip(stated, record.weights.values(), strict=True)
        ),
    )


def _moves(record: Record, plateaus: Plateaus) -> Pairs:
    moment = plateaus.moment_tm
    read = np.zeros(record.reading_count, dtype=bool)
    for one in record.instruments:
        shown = np.isfinite(one.readings)
        read[: len(shown)] |= shown
    changed = np.abs(np.diff(moment)) > 1e-9 * max(np.abs(moment).max(), 1e-300)
    yield "moves_count", np.sum(changed & read[1:])
    if read[1:].any() and np.abs(moment).max() > 0:
        nearest = np.abs(moment[1:][read[1:]]).min()
        yield "zero_return_offset_percent", 100.0 * nearest / np.abs(moment).max()


def _tanks(surveyed: Surveyed) -> Pairs:
    fill = np.array([100.0 * one.volume_m3 / one.tank.capacity_m3 for one in surveyed.liquids])
    slack = fill[(fill > 0) & (fill < 100.0 * (1 - 1e-9))]
    yield "slack_tanks_count", len(slack)
    if len(slack):
        yield "slack_tank_least_fill_percent", slack.min()
        yield "slack_tank_largest_fill_percent", slack.max()
    else:
        yield "slack_double_bottoms_count", 0


def _instruments(record: Record) -> Pairs:
    enough = [one for one in record.instruments if np.isfinite(one.readings).sum() >= 2]
    pendulums = [one for one in enough if isinstance(one, Pendulum)]
    tubes = [one for one in enough if isinstance(one, UTube)]
    yield "instruments_count", len(enough)
    yield "pendulums_count", len(pendulums)
    yield "u_tubes_count", len(tubes)
    if pendulums:
        yield "pendulum_shortest_length_m", min(one.length_m for one in pendulums)
        yield "pendulum_least_side_deflection_m", min(_least_side(one.readings) for one in pendulums)
    if len(pendulums) > 1:
        lengths = [one.length_m for one in pendulums]
        yield "pendulum_least_length_difference_m", min(abs(a - b) for a, b in combinations(lengths, 2))
    if tubes:
        yield "u_tube_least_side_difference_m", min(_least_side(one.readings) for one in tubes)


def _least_side(readings: Floats) -> float:
    if not np.isfinite(readings[0]):
        return float("nan")
    since = readings[np.isfinite(readings)] - readings[0]
    return float(min(since.max(), -since.min())) + 0.0


def _at_zero(record: Record, inclined: Inclined) -> Pairs:
    plane = inclined.at_zero.afloat.plane
    yield "initial_list_deg", abs(plane.heel_deg[0])
    trim = abs(plane.trim_m(length_bp_m=record.length_bp_m)[0])
    yield "trim_over_length_percent", 100.0 * trim / record.length_bp_m
    off = 0.0
    if isinstance(record.hull, HydrostaticTables):
        place = {"draft_m": plane.draft_m(length_bp_m=record.length_bp_m)[0], "heel_deg": plane.heel_deg[0]}
        trim_now = float(plane.trim_m(length_bp_m=record.length_bp_m)[0])
        off = record.hull.at(**place, trim_m=trim_now, density_t_per_m3=record.density_t_per_m3).trim_off_tables_percent
    yield "trim_off_hydrostatics_percent", off


def _heels(inclined: Inclined) -> Pairs:
    known = np.isfinite(inclined.tangents)
    read = np.asarray(known.any(axis=0))
    if not read[0]:
        return
    count = np.maximum(known.sum(axis=0), 1)
    mean = np.where(known, inclined.tangents, 0.0).sum(axis=0)[read] / count[read]
    heel = np.degrees(np.arctan(mean) - np.arctan(mean[0]))
    starboard, port = max(heel.max(), 0.0) + 0.0, max(-heel.min(), 0.0) + 0.0
    yield "heel_starboard_deg", starboard
    yield "heel_port_deg", port
    yield "heel_least_side_deg", min(starboard, port)
    yield "heel_largest_side_deg", max(starboard, port)


def _plot(record: Record, inclined: Inclined, plateaus: Plateaus) -> Pairs:
    residual, moment = inclined.regression.residual_ratio, plateaus.moment_tm
    known = np.isfinite(residual)
    stated = reading_uncertainty_ratio(record, inclined.tangents)
    if (stated[known] > 0).all():
        yield "largest_reading_residual_ratio", np.max(np.abs(residual[known]) / stated[known])
    with suppress(NotDeterminedError):
        yield STRAIGHTNESS, _straightness(record, inclined, plateaus)
    pooled = inclined.regression.slope_per_tm
    slopes = np.array([line.slope_per_tm for line in inclined.regression.lines])
    usable = np.isfinite(slopes)
    if usable.sum() < 2:
        return
    yield "instrument_slope_deviation_percent", 100.0 * np.max(np.abs(slopes[usable] - pooled)) / pooled
    try:
        reading = slope_of(inclined.regression, plateaus).reading_standard_deviation_ratio
    except NotDeterminedError:
        return
    if reading:
        yield "instrument_slope_deviation_ratio", _slope_deviation(slopes, known, moment, reading)


def _slope_deviation(slopes: Floats, known: Floats, moment: Floats, reading: float) -> float:
    """Largest difference of one instrument's slope from the others' over its standard uncertainty; gusts cancel."""
    spread = np.sum(less_zero(np.broadcast_to(moment, known.shape), known.astype(bool)) ** 2, axis=1)
    spread = np.where(np.isfinite(slopes), spread, 0.0)
    total = float(np.nansum(slopes * spread))
    worst = 0.0
    for slope, own in zip(slopes, spread, strict=True):
        others = float(spread.sum() - own)
        if own > 0 and others > 0:
            difference = abs(slope - (total - slope * own) / others)
            worst = max(worst, difference / (reading * float(np.sqrt(1 / own + 1 / others))))
    return worst


def _ledger(record: Record, solution: Solution) -> Pairs:
    assert solution.derivation is not None
    assert solution.surveyed is not None
    mass = solution.derivation.lightship.mass_t
    off, put_on = (sum(i.mass_t for i in record.items if i.action == action) for action in ("remove", "add"))
    liquids = sum(
        max(liquid.volume_m3 - aboard.lightship_volume_m3, 0.0) * liquid.density_t_per_m3
        for liquid, aboard in zip(solution.surveyed.liquids, record.tanks, strict=True)
    )
    yield "deadweight_over_lightship_percent", 100.0 * (off + liquids) / mass
    yield "surplus_over_lightship_percent", 100.0 * off / mass
    yield "missing_over_lightship_percent", 100.0 * put_on / mass
    yield "completeness_percent", 100.0 * (1.0 - put_on / mass)


def _uncertain(record: Record, solution: Solution, inclined: Inclined, uncertainty: Uncertainty) -> Pairs:
    outputs = {one.name: one for one in uncertainty.budget.outputs}
    expanded = outputs["gm_fluid_m"].expanded_uncertainty
    if expanded > 0:
        yield "gm_over_expanded_uncertainty_ratio", inclined.regression.gm_fluid_m / expanded
    assert solution.derivation is not None
    height = float(solution.derivation.lightship.centre_m[2])
    if height > 0:
        yield "vcg_expanded_uncertainty_percent", 100.0 * outputs["z_m"].expanded_uncertainty / height
    if inclined.fit is not None:
        chain = Chain.of(record, solution)
        yield "gm_methods_difference_ratio", methods_difference_ratio(chain, uncertainty)


def methods_difference_ratio(chain: Chain, uncertainty: Uncertainty) -> float:
    """Return how far regression and geometric fit differ beyond what the model's own tangents say, over its u.

    The slope of the fit's residuals is that difference; it has no part along the fit's own column, so only what is
    left of the slope's weights beside that column counts in its uncertainty.
    """
    fit = chain.fit
    known = np.isfinite(fit.residual_ratio)
    weight = chain.slope_weights
    column = less_zero(np.broadcast_to(fit.tangent_by_lever_per_m, known.shape), known)
    left = weight - column * np.sum(weight * column) / np.sum(column**2)
    if np.sum(left**2) <= 1e-12 * np.sum(weight**2):  # two moments: the fit leaves nothing to compare
        return float("nan")
    reading = float(np.nanmax(reading_uncertainty_ratio(chain.record, chain.inclined.tangents)))
    common = 0.0
    if uncertainty.scatter is not None:
        reading = max(reading, uncertainty.scatter.reading_standard_deviation_ratio or 0.0)
        common = uncertainty.scatter.common_standard_deviation_ratio or 0.0
    spread = np.sqrt(reading**2 * np.sum(left**2) + common**2 * np.sum(left.sum(axis=0) ** 2))
    difference = abs(float(np.nansum(weight * np.nan_to_num(fit.residual_ratio))))
    return difference / float(spread) if spread > 0 else float("nan")
