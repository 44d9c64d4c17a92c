"""The floating plane and the ship on it. Layer: service.schemas."""

from typing import Annotated, Literal

import numpy as np

from engine.record.as_inclined import Afloat
from engine.record.record import Record
from engine.record.solve import Surveyed
from service.edge.axes import X, Y
from service.edge.model import Model
from service.schemas.diagnosis import SurveyDiagnosis


class HeightAnswer(Model):
    """One freeboard or mark against the fitted plane."""

    kind: Literal["freeboard", "draft_mark"]
    index: int
    """Its number in the request, from 0."""
    x_m: Annotated[float, X]
    y_m: Annotated[float, Y]
    water_z_m: float
    """Height of the water there, as read."""
    residual_m: float
    """Read less fitted, up +."""
    residual_standard_uncertainty_m: float


class WaterlineAnswer(Model):
    """The floating plane as the heights were read, and the ship on it."""

    draft_m: float
    trim_m: float
    heel_deg: float
    draft_aft_m: float
    """On the centreline at the aft perpendicular."""
    draft_forward_m: float
    """On the centreline at the forward perpendicular."""
    sag_m: float
    """Sag of the hull at midlength that was applied, hog negative."""
    sag_standard_uncertainty_m: float | None = None
    """Left out where the readings do not determine a sag."""
    degrees_of_freedom_count: int
    residual_m: tuple[float, ...]
    """Read less fitted, up +: freeboards first, then marks."""
    heights: tuple[HeightAnswer, ...]
    density_t_per_m3: float
    """Mean of the samples."""
    sample_density_t_per_m3: tuple[float, ...]
    """Of each sample as it is used: by its hydrometer where read so, at the temperature of the water alongside."""
    volume_m3: float
    displacement_t: float
    lcb_m: Annotated[float, X]
    tcb_m: Annotated[float, Y]
    vcb_m: float
    lcf_m: Annotated[float, X]
    km_transverse_m: float
    immersion_t_per_cm: float | None = None
    """Left out where tables stand for the hull."""
    moment_to_trim_tm_per_cm: float
    diagnoses: tuple[SurveyDiagnosis, ...] = ()
    """What the heights, and the displacement against a prediction, show to be wrong."""


def waterline(surveyed: Surveyed, record: Record, diagnoses: tuple[SurveyDiagnosis, ...] = ()) -> WaterlineAnswer:
    """Return the survey's plane as the answer has it."""
    fit, at = surveyed.waterline, surveyed.afloat.hydrostatics
    heights = record.heights
    water = heights.at(fit.upward)
    return WaterlineAnswer(
        draft_m=fit.draft_m,
        trim_m=fit.trim_m,
        heel_deg=fit.heel_deg,
        draft_aft_m=fit.draft_m + 0.5 * fit.trim_m,
        draft_forward_m=fit.draft_m - 0.5 * fit.trim_m,
        sag_m=fit.sag_m,
        sag_standard_uncertainty_m=number(fit.sag_standard_uncertainty_m),
        degrees_of_freedom_count=fit.degrees_of_freedom_count,
        residual_m=tuple(fit.residual_m.tolist()),
        heights=tuple(
            HeightAnswer(
                kind="freeboard" if i < record.freeboard_count else "draft_mark",
                index=i if i < record.freeboard_count else i - record.freeboard_count,
                x_m=float(heights.x_m[i]),
                y_m=float(heights.y_m[i]),
                water_z_m=float(water[i]),
                residual_m=float(fit.residual_m[i]),
                residual_standard_uncertainty_m=float(fit.residual_standard_uncertainty_m[i]),
            )
            for i in range(len(water))
        ),
        density_t_per_m3=record.density_t_per_m3,
        sample_density_t_per_m3=tuple(record.sample_density_t_per_m3.tolist()),
        volume_m3=float(at.volume_m3[0]),
        displacement_t=float(at.displacement_t[0]),
        lcb_m=float(at.lcb_m[0]),
        tcb_m=float(at.tcb_m[0]),
        vcb_m=float(at.vcb_m[0]),
        lcf_m=float(at.lcf_m[0]),
        km_transverse_m=float(at.km_transverse_m[0]),
        immersion_t_per_cm=number(float(at.immersion_t_per_cm[0])),
        moment_to_trim_tm_per_cm=float(at.moment_to_trim_tm_per_cm[0]),
        diagnoses=diagnoses,
    )


class AsInclined(Model):
    """The state at reading 0: all aboard, weights in their places, liquids where they lie."""

    displacement_t: float
    draft_m: float
    trim_m: float
    heel_deg: float
    density_t_per_m3: float
    km_transverse_m: float
    lcg_m: Annotated[float, X] | None = None
    tcg_m: Annotated[float, Y] | None = None
    vcg_m: float | None = None
    """Of the solid ship: free surfaces left out. Left out itself where the incline does not give it."""
    vcg_fluid_m: float | None = None
    """Raised by the free surfaces."""


def as_inclined(at: Afloat, centre_m: np.ndarray | None, record: Record) -> AsInclined:
    """Return the state at reading 0 as the answer has it."""
    length = record.length_bp_m
    x, y, z = (None, None, None) if centre_m is None else centre_m.tolist()
    return AsInclined(
        displacement_t=at.displacement_t,
        draft_m=float(at.plane.draft_m(length_bp_m=length)[0]),
        trim_m=float(at.plane.trim_m(length_bp_m=length)[0]),
        heel_deg=at.heel_deg,
        density_t_per_m3=record.density_t_per_m3,
        km_transverse_m=float(at.hydrostatics.km_transverse_m[0]),
        lcg_m=x,
        tcg_m=y,
        vcg_m=z,
        vcg_fluid_m=None if z is None else z + at.free_surface_correction_m * float(at.plane.normals[0, 2]),
    )


def number(value: float | None) -> float | None:
    """Return a value, None where it is not finite."""
    return None if value is None or not np.isfinite(value) else float(value)
