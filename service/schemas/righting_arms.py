"""What a curve of righting arms is asked and answers. Layer: service.schemas."""

from typing import Annotated, Literal, Self

import numpy as np
from pydantic import Field

from engine.flotation.arm_area import Area
from engine.flotation.arm_particulars import SideParticulars
from engine.flotation.immersion import Opening
from engine.flotation.righting_arms import RightingArms
from service.edge.axes import X_DIFFERENCE, XYZ, Y_DIFFERENCE, X, Y
from service.edge.model import Model
from service.edge.quantities import Measured
from service.schemas.common import Label, Length, Mass, PositionX, PositionY, column

Column = tuple[float | None, ...]
ArmHeel = Annotated[float, Field(ge=-180, le=180)]
Place = tuple[
    Annotated[float, Field(ge=-1e4, le=1e4)],
    Annotated[float, Field(ge=-1e4, le=1e4)],
    Annotated[float, Field(ge=-1e4, le=1e4)],
]
DeckEdge = Annotated[tuple[Place, ...], Field(min_length=1, max_length=2000), XYZ]
DRAFT_HEEL_LIMIT_DEG = 80.0


class OpeningOf(Model):
    """A place where water can enter the hull."""

    name: Label
    x_m: PositionX
    y_m: PositionY
    z_m: Length
    kind: Literal["unprotected", "weathertight"]

    def opening(self) -> Opening:
        """Return it as the engine has it."""
        return Opening(self.x_m.value, self.y_m.value, self.z_m.value, self.kind)


class ArmsLoading(Model):
    """Everything aboard, tank liquids included, and its solid centre: liquids taken where they lie level upright."""

    displacement_t: Mass
    lcg_m: PositionX
    tcg_m: PositionY = Measured(0.0)
    vcg_m: Length
    free_surface_tm: Annotated[float, Field(ge=0, le=1e9)] | None = None
    """Moment of free surfaces, in place of tanks: taken as a correction."""


class InterceptOf(Model):
    """A heel towards the side at which the arm is zero."""

    at_deg: float
    kind: Literal["stable", "unstable"]


class AreaOf(Model):
    """An area under the curve, righting arms positive."""

    from_deg: float
    """Where the area begins; an area from upright begins where she rests."""
    to_deg: float
    ends_at: Literal["angle", "flooding"]
    area_m_rad: float
    area_error_m_rad: float
    """Estimate of the error of the integral."""

    @classmethod
    def of(cls, area: Area, ends_at: Literal["angle", "flooding"]) -> Self:
        """Return it as the answer has it."""
        return cls(
            from_deg=area.from_deg,
            to_deg=area.to_deg,
            ends_at=ends_at,
            area_m_rad=area.area_m_rad,
            area_error_m_rad=area.error_m_rad,
        )


class RestSlope(Model):
    """The slope where she rests, by differences of true arms, beside the metacentric height there."""

    at_deg: float
    slope_m_per_rad: float
    gm_fluid_m: float


class SideArms(Model):
    """One side; every heel is towards it, from 0."""

    range_deg: float
    """Where the curve ends."""
    start_deg: float | None = None
    """Where righting arms begin: where she rests, or 0 if she lies to the other side."""
    maximum_deg: float | None = None
    maximum_arm_m: float | None = None
    vanishing_deg: float | None = None
    flooding_deg: float | None = None
    """Least heel at which an unprotected opening goes under."""
    weathertight_deg: float | None = None
    """Least heel at which a weathertight opening goes under."""
    deck_edge_deg: float | None = None
    slope_at_rest: RestSlope | None = None
    intercepts: tuple[InterceptOf, ...]
    areas: tuple[AreaOf, ...]

    @classmethod
    def of(cls, found: SideParticulars) -> Self:
        """Return it as the answer has it."""
        curve, most, under, slope = found.curve, found.maximum, found.immersions, found.slope
        return cls(
            range_deg=curve.end_deg,
            start_deg=curve.start_deg,
            maximum_deg=most.heel_deg if most else None,
            maximum_arm_m=most.arm_m if most else None,
            vanishing_deg=curve.vanishing_deg,
            flooding_deg=known(under.unprotected_deg),
            weathertight_deg=known(under.weathertight_deg),
            deck_edge_deg=known(under.deck_edge_deg),
            slope_at_rest=RestSlope(
                at_deg=slope.heel_deg, slope_m_per_rad=slope.slope_m_per_rad, gm_fluid_m=slope.gm_fluid_m
            )
            if slope
            else None,
            intercepts=tuple(
                InterceptOf(at_deg=one.heel_deg, kind="stable" if one.stable else "unstable")
                for one in curve.intercepts
            ),
            areas=(
                *(AreaOf.of(area, "angle") for area in found.areas),
                *(AreaOf.of(area, "flooding") for area in found.areas_to_flooding),
            ),
        )


class OpeningImmersion(Model):
    """Heels to either side at which water reaches an opening; left out where it does not on the curve."""

    name: Label
    kind: Literal["unprotected", "weathertight"]
    immersion_starboard_deg: float | None = None
    immersion_port_deg: float | None = None


class ArmColumns(Model):
    """One entry a heel, in the order asked; null where there is no position or no such number."""

    heel_deg: Column
    righting_arm_m: Column
    """The arms in use: liquids moving or corrected for, as ``liquids`` says. Positive turns her back to port."""
    righting_arm_moving_m: Column | None = None
    """With the liquids really moving; where tanks are given."""
    righting_arm_correction_m: Column
    """By the free-surface correction: GZ solid less correction × sine of heel."""
    righting_arm_solid_m: Column
    """With liquids kept where they lie upright."""
    area_from_upright_m_rad: Column
    """Area under the arms in use from no heel, + where they right her."""
    draft_m: Column | None = None
    """Where she floats: from here on left out where the hull is known by tables alone."""
    trim_m: Column | None = None
    normal_x_ratio: Annotated[Column, X_DIFFERENCE] | None = None
    """The water plane's unit normal, out of the water, in the ship's axes."""
    normal_y_ratio: Annotated[Column, Y_DIFFERENCE] | None = None
    normal_z_ratio: Column | None = None
    lcf_m: Annotated[Column, X] | None = None
    tcf_m: Annotated[Column, Y] | None = None
    vcf_m: Column | None = None
    """Height of the centre of flotation, a point of the water plane."""
    lcb_m: Annotated[Column, X] | None = None
    tcb_m: Annotated[Column, Y] | None = None
    vcb_m: Column | None = None
    lcg_m: Annotated[Column, X] | None = None
    tcg_m: Annotated[Column, Y] | None = None
    vcg_m: Column | None = None
    gm_fluid_m: Column | None = None


def known(angle: float) -> float | None:
    """Return a number, or None in place of NaN."""
    return None if np.isnan(angle) else angle


def position_columns(arms: RightingArms, *, length_bp_m: float) -> dict[str, Column]:
    """Return the columns that tell how she floats; draft and trim are null beyond 80° of heel."""
    shown = np.abs(arms.heel_deg) <= DRAFT_HEEL_LIMIT_DEG
    placed = np.where(np.isnan(arms.gz_m)[:, None], np.nan, arms.planes.normals)
    columns = {
        "draft_m": np.where(shown, arms.planes.draft_m(length_bp_m=length_bp_m), np.nan),
        "trim_m": np.where(shown & np.isfinite(arms.gz_m), arms.planes.trim_m(length_bp_m=length_bp_m), np.nan),
        "gm_fluid_m": arms.gm_fluid_m,
    }
    for i, axis in enumerate("xyz"):
        columns[f"normal_{axis}_ratio"] = placed[:, i]
    for i, letter in enumerate("ltv"):
        columns[f"{letter}cf_m"] = arms.cuts.waterplane_centroid_m[:, i]
        columns[f"{letter}cb_m"] = arms.cuts.centroid_m[:, i]
        columns[f"{letter}cg_m"] = arms.centre_m[:, i]
    return {name: column(values) for name, values in columns.items()}
