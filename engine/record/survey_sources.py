"""Uncertain inputs of the survey: heights, water, hull, liquids, masses since aboard. Layer: engine.record."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from engine.checks import Floats
from engine.liquids.running import Liquid, keep_together
from engine.liquids.tank import is_slack
from engine.record.assumed import Stated
from engine.record.chain import Chain, Shift
from engine.record.record import TankAboard
from engine.record.regression_chain import RegressionChain
from engine.record.source import AXES, Place, Source, source_at
from engine.uncertainty import Input

AnyChain = Chain | RegressionChain
COMMON_DENSITY = "water density (common)"


def survey_sources(chain: AnyChain) -> Iterator[Source]:
    """Yield every raw input of the survey."""
    for some in (_heights, _water, _hull, _tanks, _survey_differences):
        yield from some(chain)


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
        yield from source_at(
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
            yield from source_at(
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
    paths = [f"water/samples/{i}/{sample.field}" for i, sample in enumerate(record.samples)]
    for path, sample in zip(paths, record.samples, strict=True):
        yield from source_at(
            record,
            path,
            value=sample.value,
            unit=sample.unit,
            category="water density",
            shift=Shift(buoyancy_ratio=share * sample.density_per_value),
            assumed=record.assumed.density_t_per_m3 / sample.density_per_value,
            group=COMMON_DENSITY,
        )
    if len(densities) > 1 and record.assumed.density_t_per_m3 > 0:
        scatter = Input(
            name="water density, scatter of the samples",
            value=record.density_t_per_m3,
            standard_uncertainty=float(np.std(densities, ddof=1) / np.sqrt(len(densities))),
            unit="t/m³",
            category="water density",
            degrees_of_freedom=len(densities) - 1.0,
        )
        every = tuple(
            Place(path, 1.0 / sample.density_per_value) for path, sample in zip(paths, record.samples, strict=True)
        )
        yield Source(scatter, every, Shift(buoyancy_ratio=1.0 / record.density_t_per_m3))


def _hull(chain: AnyChain) -> Iterator[Source]:
    volume = chain.surveyed.afloat.displacement_t / chain.record.density_t_per_m3
    yield from source_at(
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
    keep_together(chain.surveyed.liquids, chain.normals)
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
        yield from source_at(
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
        yield from source_at(
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
    """One cubic metre more: it comes to lie on the surface.

    A full tank has none: an error there is one of its capacity. A tank given by a table has no shape, so its moment is
    differenced.
    """
    surface = liquid.at(chain.normals).surface_centroid_m
    if np.isfinite(surface).all():
        resting, moment = surface[0], surface[1:]
    elif liquid.tank.table is not None and is_slack(liquid.tank, liquid.volume_m3):
        step = min(1e-4 * liquid.volume_m3, liquid.tank.capacity_m3 - liquid.volume_m3)
        low, high = (replace(liquid, volume_m3=liquid.volume_m3 + sign * step) for sign in (-1.0, 1.0))
        (a, b), (c, d) = _lying(chain, low), _lying(chain, high)
        resting, moment = (c - a) / (2 * step), (d - b) / (2 * step)
    else:
        resting, moment = (part / liquid.volume_m3 for part in _lying(chain, liquid))
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


def _survey_differences(chain: AnyChain) -> Iterator[Source]:
    assumed = chain.record.assumed
    for i, mass in enumerate(chain.record.survey_differences):
        yield from source_at(
            chain.record,
            f"survey_differences/{i}/mass_t",
            value=mass.mass_t,
            unit="t",
            category="survey differences",
            shift=Shift(aboard_mass_t=1.0, aboard_moment_tm=mass.centre_m),
            assumed=abs(mass.mass_t) * assumed.ledger_mass_percent / 100.0,
        )
        for axis, field in enumerate(AXES):
            yield from source_at(
                chain.record,
                f"survey_differences/{i}/{field}",
                value=float(mass.centre_m[axis]),
                unit="m",
                category="survey differences",
                shift=Shift(aboard_moment_tm=mass.mass_t * np.eye(3)[axis]),
                assumed=assumed.ledger_centre_m,
            )
