"""Raw inputs of a record with their standard uncertainties, and what each does. Layer: engine.record.

Readings of the instruments are no source here: their errors show in the scatter about the fit, which ``budget`` adds.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from engine.checks import Floats
from engine.incline.moments import Plateaus
from engine.liquids.running import Liquid
from engine.record.assumed import Stated
from engine.record.chain import Chain, Shift
from engine.record.record import Parts, TankAboard
from engine.record.regression_chain import RegressionChain
from engine.survey.ledger import Item
from engine.uncertainty import Input

AnyChain = Chain | RegressionChain

AXES = ("x_m", "y_m", "z_m")
COMMON_WEIGHTS = "inclining weights (common)"
COMMON_DENSITY = "water density (common)"


class Place(NamedTuple):
    """Where in the record an error of one unit shows, and by how much it changes the value there."""

    path: str
    factor: float = 1.0


@dataclass(frozen=True, eq=False)
class Source:
    """An uncertain input.

    Attributes
    ----------
    input : Input
        Its value and standard uncertainty.
    places : tuple of Place
        The recorded values it is the error of.
    shift : Shift
        What an error of one unit does.
    """

    input: Input
    places: tuple[Place, ...]
    shift: Shift


def sources(chain: AnyChain) -> tuple[Source, ...]:
    """Return every raw input of the record."""
    return tuple(
        source
        for some in (
            _heights(chain),
            _water(chain),
            _hull(chain),
            _tanks(chain),
            incline_sources(chain.record, chain.plateaus, chain.inclined.tangents),
            item_sources(chain.record),
            _survey_differences(chain),
        )
        for source in some
    )


def incline_sources(parts: Parts, moved: Plateaus, tangents: Floats) -> Iterator[Source]:
    """Yield masses and places of the inclining weights, and lengths of the instruments."""
    yield from _weights(parts, moved)
    yield from _instruments(parts, tangents)


def _source(
    record: Parts,
    path: str,
    *,
    value: float,
    unit: str,
    category: str,
    shift: Shift,
    assumed: float | None,
    group: str | None = None,
    places: tuple[Place, ...] | None = None,
    scale: float = 1.0,
) -> Iterator[Source]:
    """Yield the input at a path: as stated there, else as assumed; nothing where neither says anything."""
    stated = record.stated.get(path, Stated())
    given = stated.standard_uncertainty
    if given is not None:
        group, scale = stated.group, 1.0
    elif assumed is None:
        return
    else:
        given, group = assumed, stated.group or group
    one = Input(name=path, value=value, standard_uncertainty=given * scale, unit=unit, category=category, group=group)
    yield Source(one, places or (Place(path),), shift)


def _heights(chain: AnyChain) -> Iterator[Source]:
    record, fit = chain.record, chain.surveyed.waterline
    heights, up = record.heights, fit.upward
    station = heights.x_m / record.length_bp_m
    along = -(fit.trim_m + 4 * fit.sag_m * (2 * station - 1)) / record.length_bp_m  # slope of the water in x and y
    across = -np.tan(np.radians(fit.heel_deg))
    common = np.zeros(4)
    read = []
    for i in range(len(heights.x_m)):
        freeboard = i < record.freeboard_count
        row = f"freeboards/{i}" if freeboard else f"draft_marks/{i - record.freeboard_count}"
        name, start = ("freeboard_m", "reference_z_m") if freeboard else ("draft_m", "zero_z_m")
        height = fit.by_height[:, i]
        by_reading = -height / up if freeboard else height
        group = record.stated.get(f"{row}/{name}", Stated()).group
        if group is None:
            read.append(Place(f"{row}/{name}", 1.0 if freeboard else -1.0))
            common += by_reading if freeboard else -by_reading
        yield from _source(
            record,
            f"{row}/{name}",
            value=float(heights.plumb_m[i] if freeboard else heights.up_m[i]),
            unit="m",
            category="freeboards and marks",
            shift=Shift(numbers=by_reading),
            assumed=float(heights.standard_uncertainty_m[i]),
            scale=height_factor(chain),
        )
        for field, value, effect in (
            ("x_m", heights.x_m[i], -along[i]),
            ("y_m", heights.y_m[i], -across),
            (start, heights.from_m[i], 1.0),
        ):
            yield from _source(
                record,
                f"{row}/{field}",
                value=float(value),
                unit="m",
                category="freeboards and marks",
                shift=Shift(numbers=effect * height),
                assumed=None,
            )
    one = Input(
        name="freeboards and marks (common)",
        value=0.0,
        standard_uncertainty=record.assumed.heights_common_m,
        unit="m",
        category="freeboards and marks, common error",
    )
    yield Source(one, tuple(read), Shift(numbers=common))


def height_factor(chain: AnyChain) -> float:
    """Return by what the heights' uncertainties are raised: √(χ²/ν) where χ² is beyond its 99 % point, else 1."""
    from scipy.special import chdtri

    fit = chain.surveyed.waterline
    freedom = fit.degrees_of_freedom_count
    if freedom < 1 or not fit.chi_square > chdtri(freedom, 0.01):
        return 1.0
    return fit.scatter_ratio


def _water(chain: AnyChain) -> Iterator[Source]:
    record = chain.record
    densities = record.sample_density_t_per_m3
    share = 1.0 / (len(densities) * record.density_t_per_m3)
    for i, density in enumerate(densities):
        yield from _source(
            record,
            f"water/samples/{i}/density_t_per_m3",
            value=float(density),
            unit="t/m³",
            category="water density",
            shift=Shift(buoyancy_ratio=share),
            assumed=record.assumed.density_t_per_m3,
            group=COMMON_DENSITY,
        )


def _hull(chain: AnyChain) -> Iterator[Source]:
    volume = chain.surveyed.afloat.displacement_t / chain.record.density_t_per_m3
    yield from _source(
        chain.record,
        "hull",
        value=volume,
        unit="m³",
        category="hull form",
        shift=Shift(buoyancy_ratio=1.0 / volume),
        assumed=volume * chain.record.assumed.hull_volume_percent / 100.0,
    )


def _tanks(chain: AnyChain) -> Iterator[Source]:
    record = chain.record
    for i, (aboard, liquid) in enumerate(zip(record.tanks, chain.surveyed.liquids, strict=True)):
        if liquid.volume_m3 <= 0:
            continue
        by_volume = _by_volume(chain, liquid)
        full = aboard.contents.kind == "full"
        field = {"volume": "/volume_m3", "sounding": "/sounding_m", "ullage": "/ullage_m"}.get(aboard.contents.kind, "")
        amount = f"tanks/{i}/contents{field}"
        stated = record.stated.get(amount, Stated())
        slope = 1.0
        if stated.standard_uncertainty is not None and aboard.contents.kind in ("sounding", "ullage"):
            slope = _by_amount(chain, aboard)
        yield from _source(
            record,
            amount,
            value=liquid.volume_m3 if slope == 1.0 else aboard.contents.amount,
            unit="m³" if slope == 1.0 else "m",
            category="tanks",
            shift=_times(by_volume, slope),
            assumed=liquid.volume_m3 * record.assumed.tank_volume_percent / 100.0,
            places=(Place(f"tanks/{i}/density_t_per_m3", liquid.density_t_per_m3 / liquid.volume_m3),)
            if full
            else None,
        )
        yield from _source(
            record,
            f"tanks/{i}/density_t_per_m3",
            value=liquid.density_t_per_m3,
            unit="t/m³",
            category="tanks",
            shift=_by_liquid_density(chain, liquid, aboard),
            assumed=None,
        )


def _lying(chain: AnyChain, liquid: Liquid) -> tuple[Floats, Floats]:
    """First moment per density as surveyed (3,) and at each reading (m + 1, 3). [m⁴]"""
    moment = liquid.volume_m3 * liquid.at(chain.normals).centroid_m
    return moment[0], moment[1:]


def _by_volume(chain: AnyChain, liquid: Liquid) -> Shift:
    """One cubic metre more, by central difference where there is room for it."""
    step = min(1e-4 * liquid.volume_m3, liquid.tank.capacity_m3 - liquid.volume_m3)
    low = Liquid(liquid.tank, liquid.volume_m3 - max(step, 0.0), liquid.density_t_per_m3)
    high = Liquid(liquid.tank, liquid.volume_m3 + max(step, 0.0), liquid.density_t_per_m3)
    if high.volume_m3 - low.volume_m3 <= 0 or liquid.volume_m3 >= (1 - 1e-9) * liquid.tank.capacity_m3:
        resting, moment = (part / liquid.volume_m3 for part in _lying(chain, liquid))  # full: an error of its capacity
    else:
        (a, b), (c, d) = _lying(chain, low), _lying(chain, high)
        span = high.volume_m3 - low.volume_m3
        resting, moment = (c - a) / span, (d - b) / span
    density = liquid.density_t_per_m3
    return Shift(liquids_moment_tm=density * moment, resting_moment_tm=density * resting, lightship_mass_t=-density)


def _by_amount(chain: AnyChain, aboard: TankAboard) -> float:
    """Return dV/d(sounding or ullage) by central difference. [m²]"""
    normals = chain.surveyed.afloat.plane.normals
    kind, amount = aboard.contents.kind, aboard.contents.amount
    ends = [min(max(amount + step, 0.0), aboard.tank.pipe_length_m) for step in (-1e-4, 1e-4)]
    low, high = (type(aboard.contents)(kind, end).net_volume_m3(aboard.tank, normals=normals) for end in ends)
    return (high - low) / (ends[1] - ends[0])


def _by_liquid_density(chain: AnyChain, liquid: Liquid, aboard: TankAboard) -> Shift:
    resting, moment = _lying(chain, liquid)
    kept = aboard.lightship_volume_m3
    upright = np.array([[0.0, 0.0, 1.0]])
    part = Liquid(liquid.tank, kept, 1.0).at(upright).centroid_m[0] * kept
    return Shift(
        liquids_moment_tm=moment,
        resting_moment_tm=resting,
        lightship_mass_t=kept - liquid.volume_m3,
        lightship_moment_tm=part,
    )


def _times(shift: Shift, factor: float) -> Shift:
    return Shift(
        liquids_moment_tm=factor * shift.liquids_moment_tm,
        resting_moment_tm=factor * shift.resting_moment_tm,
        lightship_mass_t=factor * shift.lightship_mass_t,
    )


def _weights(record: Parts, moved: Plateaus) -> Iterator[Source]:
    for i, (name, weight) in enumerate(record.weights.items()):
        lies = weight.centre_m + np.array([_moved(record, moved, name, k) for k in range(record.reading_count)])
        yield from _source(
            record,
            f"weights/{i}/mass_t",
            value=weight.mass_t,
            unit="t",
            category="masses of the weights",
            shift=Shift(
                weights_moment_tm=lies - weight.centre_m,
                lightship_mass_t=-1.0,
                lightship_moment_tm=-weight.centre_m,
            ),
            assumed=weight.mass_t * record.assumed.weight_percent / 100.0,
            group=COMMON_WEIGHTS,
        )
        for axis, field in enumerate(AXES):
            yield from _coordinate(record, i, axis, field, lies)


def _moved(record: Parts, moved: Plateaus, name: str, reading: int) -> Floats:
    """Return (3,) how far a weight lies at a reading from where it lay at reading 0. [m]"""
    arms = [arm for move, arm in zip(record.moves[:reading], moved.arms_m, strict=False) if move.weight == name]
    return np.sum(arms, axis=0) if arms else np.zeros(3)


def _coordinate(record: Parts, i: int, axis: int, field: str, lies: Floats) -> Iterator[Source]:
    """Yield the errors of one coordinate of a weight: one for each place on deck, x and z only where stated.

    The same place keeps its error however often the weight comes back to it, and so does a coordinate that a move
    leaves as it was.
    """
    name, weight = list(record.weights.items())[i]
    marks: list[tuple[Floats, list[str], list[int]]] = [(lies[0], [f"weights/{i}/{field}"], [0])]
    now = 0
    for k, move in enumerate(record.moves, start=1):
        if move.weight == name and getattr(move, f"to_{field}") is not None:
            near = [n for n, (place, _, _) in enumerate(marks) if np.abs(place - lies[k]).max() < SAME_PLACE_M]
            now = near[0] if near else len(marks)
            if not near:
                marks.append((lies[k], [], []))
            marks[now][1].append(f"moves/{k - 1}/to_{field}")
        marks[now][2].append(k)
    for n, (place, paths, readings) in enumerate(marks):
        there = np.zeros(record.reading_count)
        there[readings] = 1.0
        first = float(n == 0)
        yield from _source(
            record,
            next((path for path in paths if path in record.stated), paths[0]),
            value=float(place[axis]),
            unit="m",
            category="arms of the weights",
            shift=Shift(
                weights_moment_tm=weight.mass_t * np.outer(there - first, np.eye(3)[axis]),
                lightship_moment_tm=-first * weight.mass_t * np.eye(3)[axis],
            ),
            assumed=record.assumed.arm_m if field == "y_m" else None,
            places=tuple(Place(path) for path in paths),
        )


SAME_PLACE_M = 1e-4


def _instruments(record: Parts, tangents: Floats) -> Iterator[Source]:
    for j, instrument in enumerate(record.instruments):
        if instrument.base_m is None:
            continue
        read = tangents[j]
        effect = np.zeros_like(tangents)
        effect[j] = (
            -np.nan_to_num(read - read[np.isfinite(read)][0]) / instrument.base_m if np.isfinite(read).any() else 0
        )
        yield from _source(
            record,
            f"instruments/{j}/{'spread_m' if hasattr(instrument, 'spread_m') else 'length_m'}",
            value=instrument.base_m,
            unit="m",
            category="lengths of the instruments",
            shift=Shift(tangents_ratio=effect),
            assumed=record.assumed.length_m,
        )


def item_sources(record: Parts) -> Iterator[Source]:
    """Yield masses and centres of the ledger."""
    for i, item in enumerate(record.items):
        place, sign = f"items/{i}", 1.0 if item.action == "add" else -1.0
        yield from _source(
            record,
            f"{place}/mass_t",
            value=item.mass_t,
            unit="t",
            category="ledger masses",
            shift=_item_mass(item, sign),
            assumed=item.mass_t * record.assumed.ledger_mass_percent / 100.0,
        )
        for centre, where, its_sign in ((item.centre_m, place, sign), (item.to_m, f"{place}/to", 1.0)):
            if centre is None:
                continue
            for axis, field in enumerate(AXES):
                yield from _source(
                    record,
                    f"{where}/{field}",
                    value=float(centre[axis]),
                    unit="m",
                    category="ledger centres",
                    shift=Shift(lightship_moment_tm=its_sign * item.mass_t * np.eye(3)[axis]),
                    assumed=record.assumed.ledger_centre_m,
                )


def _item_mass(item: Item, sign: float) -> Shift:
    if item.to_m is not None:
        return Shift(lightship_moment_tm=item.to_m - item.centre_m)
    return Shift(lightship_mass_t=sign, lightship_moment_tm=sign * item.centre_m)


def _survey_differences(chain: AnyChain) -> Iterator[Source]:
    assumed = chain.record.assumed
    for i, mass in enumerate(chain.record.survey_differences):
        yield from _source(
            chain.record,
            f"survey_differences/{i}/mass_t",
            value=mass.mass_t,
            unit="t",
            category="survey differences",
            shift=Shift(aboard_mass_t=1.0, aboard_moment_tm=mass.centre_m),
            assumed=abs(mass.mass_t) * assumed.ledger_mass_percent / 100.0,
        )
        for axis, field in enumerate(AXES):
            yield from _source(
                chain.record,
                f"survey_differences/{i}/{field}",
                value=float(mass.centre_m[axis]),
                unit="m",
                category="survey differences",
                shift=Shift(aboard_moment_tm=mass.mass_t * np.eye(3)[axis]),
                assumed=assumed.ledger_centre_m,
            )
