"""The main job: a record in, the ship as inclined, GM and the lightship out. Layer: engine.record."""

from dataclasses import dataclass

import numpy as np

from engine.checks import Floats
from engine.errors import EngineError, InputError, NotDeterminedError
from engine.geometry.cut import Solid
from engine.incline.moments import Plateaus, plateaus
from engine.incline.regression import Regression, regress
from engine.lightship.derivation import Derivation, Mass, derive_lightship, lying
from engine.liquids.running import Liquid
from engine.record.as_inclined import Afloat, afloat, at_reading_zero
from engine.record.record import Record, TankAboard
from engine.survey.waterline import FloatingPlane, floating_plane


@dataclass(frozen=True, eq=False)
class Solution:
    """Every step's result.

    Attributes
    ----------
    waterline : FloatingPlane
        The plane of the survey.
    surveyed, as_inclined : Afloat
        The ship as her heights were read, and at reading 0.
    hull : Solid
        Bent as she floats.
    plateaus : Plateaus
        The weights' shifts.
    tangents : (p, m + 1) float64
        Of heel, by each instrument.
    regression : Regression
        GM.
    gm_solid_m : float
        [m]
    centre_m : (3,) float64
        Of everything aboard at reading 0, liquids where they lie. [m]
    derivation : Derivation
        The lightship.
    """

    waterline: FloatingPlane
    surveyed: Afloat
    as_inclined: Afloat
    hull: Solid
    plateaus: Plateaus
    tangents: Floats
    regression: Regression
    gm_solid_m: float
    centre_m: Floats
    derivation: Derivation


def solve(record: Record) -> Solution:
    """Carry a record through every step.

    Raises
    ------
    EngineError
        Of the first step that cannot be done, with the place in the record.
    """
    moved = plateaus(weights=record.weights, moves=record.moves)
    _check_lengths(record)
    waterline = floating_plane(heights=record.heights, length_bp_m=record.length_bp_m, deflection=record.deflection)
    plane = waterline.plane(length_bp_m=record.length_bp_m)
    liquids = tuple(_liquid(aboard, i, plane.normals) for i, aboard in enumerate(record.tanks))
    hull = record.hull
    if waterline.sag_m:
        hull = hull.bent(sag_m=waterline.sag_m, length_bp_m=record.length_bp_m)
    surveyed = afloat(
        hull=hull,
        plane=plane,
        density_t_per_m3=record.density_t_per_m3,
        length_bp_m=record.length_bp_m,
        liquids=liquids,
    )
    if not surveyed.hydrostatics.waterplane_area_m2[0] > 0:
        raise NotDeterminedError("the water read does not cut the hull", code="waterplane-misses-hull", field="hull")

    def fit(at: Afloat) -> Regression:
        return regress(
            moment_tm=moved.moment_tm,
            tangents=_tangents(record, at),
            displacement_t=at.displacement_t,
            stiffening_m=at.bm_transverse_m - at.free_surface_correction_m,
        )

    as_inclined, _ = at_reading_zero(
        hull=hull,
        surveyed=surveyed,
        density_t_per_m3=record.density_t_per_m3,
        length_bp_m=record.length_bp_m,
        liquids=liquids,
        differences=record.survey_differences,
        gm_fluid_m=lambda at: fit(at).gm_fluid_m,
    )
    regression = fit(as_inclined)
    gm_solid = regression.gm_fluid_m + as_inclined.free_surface_correction_m
    centre = as_inclined.centre_m(gm_solid_m=gm_solid)
    normal = as_inclined.plane.normals[0]
    derivation = derive_lightship(
        as_inclined=Mass(as_inclined.displacement_t, centre),
        items=record.items,
        weights=tuple(record.weights.values()),
        liquids=tuple(
            lying(liquid, normal=normal, lightship_volume_m3=aboard.lightship_volume_m3)
            for liquid, aboard in zip(liquids, record.tanks, strict=True)
        ),
    )
    return Solution(
        waterline=waterline,
        surveyed=surveyed,
        as_inclined=as_inclined,
        hull=hull,
        plateaus=moved,
        tangents=np.stack(_tangents(record, as_inclined)),
        regression=regression,
        gm_solid_m=gm_solid,
        centre_m=centre,
        derivation=derivation,
    )


def _tangents(record: Record, at: Afloat) -> list[Floats]:
    """Tangents of each instrument, NaN to the end where its readings stop before the last move."""
    padded = []
    for instrument in record.instruments:
        read = instrument.tangents(heel_at_zero_deg=at.heel_deg)
        full = np.full(len(record.moves) + 1, np.nan)
        full[: len(read)] = read
        padded.append(full)
    return padded


def _check_lengths(record: Record) -> None:
    for i, instrument in enumerate(record.instruments):
        count = len(instrument.tangents(heel_at_zero_deg=0.0))
        if count > len(record.moves) + 1:
            raise InputError(
                f"{count} readings, but {len(record.moves)} moves give at most {len(record.moves) + 1}",
                code="too-many-readings",
                field=f"instruments/{i}",
                value=count,
                limit=len(record.moves) + 1,
            )


def _liquid(aboard: TankAboard, i: int, normals: Floats) -> Liquid:
    """Return what a tank holds at the plane of the survey."""
    try:
        liquid = aboard.liquid(normals=normals)
    except EngineError as error:
        raise error.at(f"tanks/{i}") from error
    if aboard.lightship_volume_m3 > aboard.tank.capacity_m3:
        raise InputError(
            f"the tank holds {aboard.tank.capacity_m3:.6g} m3, {aboard.lightship_volume_m3:.6g} are stated",
            code="volume-beyond-capacity",
            field=f"tanks/{i}/lightship_volume_m3",
            value=aboard.lightship_volume_m3,
            limit=aboard.tank.capacity_m3,
        )
    return liquid
