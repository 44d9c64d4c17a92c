"""The main job: a record in, the ship as inclined, GM and the lightship out. Layer: engine.record."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np

from engine.checks import Floats
from engine.errors import NotDeterminedError
from engine.flotation.tables import HydrostaticTables
from engine.geometry.cut import Solid
from engine.geometry.plane import Planes
from engine.incline.geometric_fit import GeometricFit, fit_geometry
from engine.incline.instruments import heel_tangents, refuse_implausible
from engine.incline.moments import Plateaus
from engine.incline.plausible import refuse_implausible_vcg
from engine.incline.regression import Regression, regress
from engine.lightship.derivation import Derivation, Entry, Mass, derive_lightship, entries_of, lying
from engine.liquids.running import Liquid
from engine.record.as_inclined import Afloat, afloat, at_reading_zero
from engine.record.plausible import (
    hull_heights_m,
    refuse_implausible_heights,
    refuse_implausible_hull,
    refuse_implausible_lightship,
)
from engine.record.record import Parts, Record
from engine.survey.waterline import FloatingPlane, floating_plane

Method = Literal["geometric", "regression"]
Step = Literal["waterline", "incline", "geometric_fit", "lightship"]


@dataclass(frozen=True, eq=False)
class Surveyed:
    """The ship as her heights were read.

    Attributes
    ----------
    waterline : FloatingPlane
        The fitted plane.
    hull : Solid or HydrostaticTables
        Bent as she floats.
    liquids : tuple of Liquid
        What every tank holds.
    afloat : Afloat
        Her hydrostatics and free surfaces.
    """

    waterline: FloatingPlane
    hull: Solid | HydrostaticTables
    liquids: tuple[Liquid, ...]
    afloat: Afloat


@dataclass(frozen=True, eq=False)
class Centred:
    """The ship at reading 0 by one method: afloat, with the centre of everything aboard (3,) [m]."""

    afloat: Afloat
    centre_m: Floats


@dataclass(frozen=True, eq=False)
class Inclined:
    """What the incline gives.

    Attributes
    ----------
    tangents : (p, m + 1) float64
        Of heel, by each instrument.
    regression : Regression
        GM.
    by_method : mapping of Method to Centred
        The ship at reading 0; "geometric" only where that fit succeeded.
    fit : GeometricFit or None
        None where it is not determined.
    """

    tangents: Floats
    regression: Regression
    by_method: Mapping[Method, Centred]
    fit: GeometricFit | None

    @property
    def method(self) -> Method:
        """The method the answer rests on: geometric wherever there is one."""
        return "geometric" if "geometric" in self.by_method else "regression"

    @property
    def at_zero(self) -> Centred:
        """The ship at reading 0 by that method."""
        return self.by_method[self.method]


@dataclass(frozen=True, eq=False)
class Solution:
    """Every step's result; a step that is None has its reason in ``not_done``."""

    plateaus: Plateaus
    surveyed: Surveyed | None = None
    inclined: Inclined | None = None
    derivations: Mapping[Method, Derivation] = field(default_factory=dict)
    not_done: Mapping[Step, NotDeterminedError] = field(default_factory=dict)

    @property
    def derivation(self) -> Derivation | None:
        """The lightship by the incline's method."""
        return None if self.inclined is None else self.derivations.get(self.inclined.method)


def solve(record: Record) -> Solution:
    """Carry a record through every step that can be done.

    Raises
    ------
    InputError
        The record contradicts itself; with the place in it.
    """
    moved = record.moved()
    not_done: dict[Step, NotDeterminedError] = {}
    try:
        surveyed = survey(record)
    except NotDeterminedError as error:
        return Solution(plateaus=moved, not_done={"waterline": error})
    try:
        inclined = incline(record, surveyed, moved, not_done)
    except NotDeterminedError as error:
        return Solution(plateaus=moved, surveyed=surveyed, not_done={"incline": error})
    derivations: dict[Method, Derivation] = {}
    for method, centred in inclined.by_method.items():
        try:
            found = lightship(record, surveyed, centred)
            refuse_implausible_lightship(found.lightship, hull=record.hull)
            derivations[method] = found
        except NotDeterminedError as error:
            not_done["lightship"] = error
    return Solution(moved, surveyed, inclined, derivations, not_done)


def survey(record: Record) -> Surveyed:
    """Float her as her heights were read.

    Raises
    ------
    EngineError
        Of ``refuse_implausible_hull``, ``refuse_implausible_heights``, ``floating_plane`` and the tanks;
        ``waterplane-misses-hull``.
    """
    refuse_implausible_hull(record.hull)
    refuse_implausible_heights(record)
    waterline = floating_plane(heights=record.heights, length_bp_m=record.length_bp_m, deflection=record.deflection)
    hull, plane = survey_plane(record, waterline)
    liquids = record.liquids(normals=plane.normals)
    at = afloat(
        hull=hull,
        plane=plane,
        density_t_per_m3=record.density_t_per_m3,
        length_bp_m=record.length_bp_m,
        liquids=liquids,
    )
    if at.hydrostatics.waterplane_area_m2[0] == 0:
        low, high = hull_heights_m(record.hull).tolist()
        raise NotDeterminedError(
            f"the water read does not cut the hull: its draft is {waterline.draft_m:.6g} m, the hull reaches from z = "
            f"{low:.6g} to {high:.6g} m",
            code="waterplane-misses-hull",
            field="hull",
            value=waterline.draft_m,
            limit=high if at.hydrostatics.volume_m3[0] > 0 else low,
        )
    return Surveyed(waterline, hull, liquids, at)


SAG_SHARE_RATIO = 0.75
"""Part of a sag that adds to the mean draft of a ship-shaped waterplane, where tables stand for the hull: the mean of
means (F + 6 M + A)/8 of the trade."""


def survey_plane(record: Record, waterline: FloatingPlane) -> tuple[Solid | HydrostaticTables, Planes]:
    """Return the hull bent as she floats, with her plane; tables are read deeper by a part of the sag instead."""
    if isinstance(record.hull, HydrostaticTables):
        deeper = replace(waterline, draft_m=waterline.draft_m + SAG_SHARE_RATIO * waterline.sag_m)
        return record.hull, deeper.plane(length_bp_m=record.length_bp_m)
    plane = waterline.plane(length_bp_m=record.length_bp_m)
    if not waterline.sag_m:
        return record.hull, plane
    return record.hull.bent(sag_m=waterline.sag_m, length_bp_m=record.length_bp_m), plane


def incline(record: Record, surveyed: Surveyed, moved: Plateaus, not_done: dict[Step, NotDeterminedError]) -> Inclined:
    """Find GM and the centre at reading 0 by both methods; a geometric fit that fails goes into ``not_done``."""

    def fit(at: Afloat) -> Regression:
        return regress(
            moment_tm=moved.moment_tm,
            tangents=_tangents(record, at),
            displacement_t=at.displacement_t,
            stiffening_m=at.bm_transverse_m - at.free_surface_correction_m,
        )

    at_zero, _ = at_reading_zero(
        hull=surveyed.hull,
        surveyed=surveyed.afloat,
        density_t_per_m3=record.density_t_per_m3,
        length_bp_m=record.length_bp_m,
        liquids=surveyed.liquids,
        differences=record.survey_differences,
        gm_fluid_m=lambda at: fit(at).gm_fluid_m,
    )
    regression = fit(at_zero)
    gm_solid = regression.gm_fluid_m + at_zero.free_surface_correction_m
    centre = at_zero.centre_m(gm_solid_m=gm_solid)
    refuse_implausible_vcg(float(centre[2]), gm_m=regression.gm_fluid_m, heights_m=hull_heights_m(record.hull))
    by_method: dict[Method, Centred] = {"regression": Centred(at_zero, centre)}
    fitted: GeometricFit | None = None
    try:
        fitted, by_method["geometric"] = _geometric(record, surveyed, moved, at_zero, gm_solid)
    except NotDeterminedError as error:
        not_done["geometric_fit"] = error
    return Inclined(_tangents(record, at_zero), regression, by_method, fitted)


def _geometric(
    record: Record, surveyed: Surveyed, moved: Plateaus, at_zero: Afloat, gm_solid_m: float
) -> tuple[GeometricFit, Centred]:
    if isinstance(surveyed.hull, HydrostaticTables):
        raise NotDeterminedError("tables hold no geometry to float", code="tables-no-geometry", field="hull")
    at, liquids = surveyed.afloat, surveyed.liquids
    normal = at.plane.normals[0]
    resting = sum((one.mass_t * one.at(at.plane.normals).centroid_m[0] for one in liquids), start=np.zeros(3))
    added = sum((one.moment_tm for one in record.survey_differences), start=np.zeros(3))
    rigid_mass = at.displacement_t + sum(one.mass_t for one in record.survey_differences)
    rigid_mass -= sum(one.mass_t for one in liquids)
    fitted = fit_geometry(
        hull=surveyed.hull,
        plane=at_zero.plane,
        density_t_per_m3=record.density_t_per_m3,
        liquids=liquids,
        rigid_mass_t=rigid_mass,
        moment_tm=at.displacement_t * at.buoyancy_m - resting + added,
        moment_by_lever_t=at.displacement_t * normal,
        shift_tm=moved.shift_tm,
        tangents=_tangents(record, at_zero),
        lever_m=at_zero.bm_transverse_m - gm_solid_m,
    )
    if record.survey_differences:
        at = afloat(
            hull=surveyed.hull,
            plane=fitted.positions.planes.take(np.array([0])),
            density_t_per_m3=record.density_t_per_m3,
            length_bp_m=record.length_bp_m,
            liquids=liquids,
        )
    return fitted, Centred(at, fitted.centre_m)


def entries(parts: Parts, liquids: Sequence[Liquid], *, normal: Floats) -> tuple[Entry, ...]:
    """Return every line between the ship floating at the (3,) normal and her lightship."""
    return entries_of(
        items=parts.items,
        weights=tuple(parts.weights.values()),
        liquids=tuple(
            lying(liquid, normal=normal, lightship_volume_m3=aboard.lightship_volume_m3)
            for liquid, aboard in zip(liquids, parts.tanks, strict=True)
        ),
    )


def lightship(record: Record, surveyed: Surveyed, at_zero: Centred) -> Derivation:
    """Take off and put on what stands between the ship at reading 0 and the lightship."""
    return derive_lightship(
        as_inclined=Mass(at_zero.afloat.displacement_t, at_zero.centre_m),
        entries=entries(record, surveyed.liquids, normal=at_zero.afloat.plane.normals[0]),
    )


def _tangents(record: Record, at: Afloat) -> Floats:
    """Return (p, m + 1) tangents read.

    Raises
    ------
    NotDeterminedError
        ``heel-implausible``: a reading shows a heel no incline is taken to.
    """
    read = heel_tangents(record.instruments, heel_at_zero_deg=at.heel_deg, reading_count=record.reading_count)
    refuse_implausible(read, heel_at_zero_deg=at.heel_deg)
    return read
