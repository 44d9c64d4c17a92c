"""Cells of a hull of the library: hydrostatics and righting arms. Layer: service.cells."""

from typing import Annotated, Literal, get_args

import numpy as np
from fastapi import APIRouter
from pydantic import Field

from engine.checks import Floats
from engine.flotation.hydrostatics import Hydrostatics, hydrostatics
from engine.flotation.righting_arms import RightingArms, righting_arms
from engine.geometry import Planes
from service.cells.cell import cell
from service.cells.table import Table
from service.edge.model import Model
from service.edge.problems import ProblemError
from service.edge.shelf import Shelf
from service.schemas.common import column
from service.schemas.hull import solid_of
from service.schemas.library import hull_named
from service.schemas.waterplane import Draft, Heel, Trim, Waterplane, misses_words

router = APIRouter()

HullName = Annotated[str, Field(pattern="^[a-z0-9][a-z0-9-]{0,59}$")]
WaterDensity = Annotated[float, Field(gt=0.1, le=20)]
HydrostaticQuantity = Literal[
    "volume_m3",
    "displacement_t",
    "lcb_m",
    "tcb_m",
    "vcb_m",
    "waterplane_area_m2",
    "lcf_m",
    "tcf_m",
    "bm_transverse_m",
    "bm_longitudinal_m",
    "km_transverse_m",
    "km_longitudinal_m",
    "wetted_area_m2",
    "immersion_t_per_cm",
    "moment_to_trim_tm_per_cm",
    "block_coefficient",
    "prismatic_coefficient",
    "midship_coefficient",
    "waterplane_coefficient",
]
ArmQuantity = Literal["righting_arm_m", "gm_fluid_m", "draft_m", "trim_m"]


class WaterplaneParameters(Model):
    """A hull of the library and one waterplane."""

    hull: HullName
    draft_m: Draft
    heel_deg: Heel = 0.0
    trim_m: Trim = 0.0
    density_t_per_m3: WaterDensity = 1.025


class HydrostaticParameters(WaterplaneParameters):
    """The same and what is wanted."""

    quantity: HydrostaticQuantity


class HydrostaticTableParameters(Model):
    """A hull of the library and its drafts."""

    hull: HullName
    drafts: Annotated[tuple[Draft, ...], Field(min_length=1)]
    """[m]"""
    heel_deg: Heel = 0.0
    trim_m: Trim = 0.0
    density_t_per_m3: WaterDensity = 1.025


class Loaded(Model):
    """A hull of the library and what is in it; liquids are reckoned solid."""

    hull: HullName
    displacement_t: Annotated[float, Field(ge=1e-3, le=1e7)]
    lcg_m: Annotated[float, Field(ge=-1e4, le=1e4)]
    vcg_m: Annotated[float, Field(ge=-1e4, le=1e4)]
    """With the rise by free surfaces, where they count."""
    tcg_m: Annotated[float, Field(ge=-1e4, le=1e4)] = 0.0
    density_t_per_m3: WaterDensity = 1.025
    trim: Literal["free", "fixed"] = "free"


class ArmParameters(Loaded):
    """The same, one heel and what is wanted there."""

    heel_deg: Annotated[float, Field(ge=-180, le=180)]
    quantity: ArmQuantity = "righting_arm_m"


class ArmTableParameters(Loaded):
    """The same at several heels."""

    heels: Annotated[tuple[Annotated[float, Field(ge=-180, le=180)], ...], Field(min_length=1)]
    """[deg]"""


@cell(
    router,
    "hydrostatic",
    parameters=HydrostaticParameters,
    operation_id="compute_cell_hydrostatic",
    summary="One hydrostatic quantity of a hull of the library",
    example={"hull": "example-barge", "quantity": "km_transverse_m", "draft_m": "3.5"},
    in_thread=True,
)
def hydrostatic(given: HydrostaticParameters, shelf: Shelf) -> float:
    """Return the quantity at one waterplane."""
    rows = _rows(given.hull, shelf, [given.draft_m], given.heel_deg, given.trim_m, given.density_t_per_m3)
    if not rows.waterplane_area_m2[0] > 0:
        is_above = bool(rows.volume_m3[0] > 0)
        plane = Waterplane(draft_m=given.draft_m, heel_deg=given.heel_deg, trim_m=given.trim_m)
        words = misses_words(plane, solid_of(hull_named(shelf, given.hull)[0])[0], is_above=is_above)
        raise ProblemError("waterplane-above-hull" if is_above else "waterplane-below-hull", words)
    return float(getattr(rows, given.quantity)[0])


@cell(
    router,
    "hydrostatic-table",
    parameters=HydrostaticTableParameters,
    operation_id="compute_cell_hydrostatic_table",
    summary="Hydrostatic particulars of a hull of the library at several drafts",
    example={"hull": "example-barge", "drafts": "3;3.5;4"},
    gives="table",
    in_thread=True,
)
def hydrostatic_table(given: HydrostaticTableParameters, shelf: Shelf) -> Table:
    """Return one row a draft; empty where the waterplane misses the hull."""
    rows = _rows(given.hull, shelf, list(given.drafts), given.heel_deg, given.trim_m, given.density_t_per_m3)
    missed = ~(rows.waterplane_area_m2 > 0)
    table: dict[str, tuple[float | None, ...]] = {"draft_m": given.drafts}
    for name in get_args(HydrostaticQuantity):
        table[name] = column(np.where(missed, np.nan, getattr(rows, name)))
    return table


@cell(
    router,
    "righting-arm",
    parameters=ArmParameters,
    operation_id="compute_cell_righting_arm",
    summary="Righting arm of a hull of the library at one heel",
    example={"hull": "example-barge", "displacement_t": "2583", "lcg_m": "30", "vcg_m": "4.5", "heel_deg": "20"},
    in_thread=True,
)
def righting_arm(given: ArmParameters, shelf: Shelf) -> float:
    """Return the arm, + where it turns her upright, or what is wanted beside it."""
    arms, length = _arms(given, [given.heel_deg], shelf)
    if arms.codes[0]:
        raise ProblemError(arms.codes[0])
    return float(_arm_columns(arms, length)[given.quantity][0])


@cell(
    router,
    "righting-arm-table",
    parameters=ArmTableParameters,
    operation_id="compute_cell_righting_arm_table",
    summary="Righting arms of a hull of the library at several heels",
    example={"hull": "example-barge", "displacement_t": "2583", "lcg_m": "30", "vcg_m": "4.5", "heels": "0;10;20;30"},
    gives="table",
    in_thread=True,
)
def righting_arm_table(given: ArmTableParameters, shelf: Shelf) -> Table:
    """Return one row a heel; empty where she has no position."""
    arms, length = _arms(given, list(given.heels), shelf)
    return {"heel_deg": given.heels, **{name: column(one) for name, one in _arm_columns(arms, length).items()}}


def _rows(
    name: str, shelf: Shelf, drafts_m: list[float], heel_deg: float, trim_m: float, density: float
) -> Hydrostatics:
    hull, _ = hull_named(shelf, name)
    length = hull.length_bp_m
    planes = Planes.from_waterplanes(draft_m=np.array(drafts_m), heel_deg=heel_deg, trim_m=trim_m, length_bp_m=length)
    return hydrostatics(solid=solid_of(hull)[0], planes=planes, density_t_per_m3=density, length_bp_m=length)


def _arms(given: Loaded, heels: list[float], shelf: Shelf) -> tuple[RightingArms, float]:
    hull, _ = hull_named(shelf, given.hull)
    arms = righting_arms(
        solid=solid_of(hull)[0],
        density_t_per_m3=given.density_t_per_m3,
        mass_t=given.displacement_t,
        centre_m=[given.lcg_m, given.tcg_m, given.vcg_m],
        heel_deg=heels,
        trim=given.trim,
    )
    return arms, hull.length_bp_m


def _arm_columns(arms: RightingArms, length_bp_m: float) -> dict[str, Floats]:
    """Return the columns; draft and trim are not told beyond 80° of heel."""
    told = np.abs(arms.heel_deg) <= 80
    upright_sign = np.where(arms.heel_deg < 0, -1.0, 1.0)
    return {
        "righting_arm_m": upright_sign * arms.gz_m,
        "gm_fluid_m": arms.gm_fluid_m,
        "draft_m": np.where(told, arms.planes.draft_m(length_bp_m=length_bp_m), np.nan),
        "trim_m": np.where(told, arms.planes.trim_m(length_bp_m=length_bp_m), np.nan),
    }
