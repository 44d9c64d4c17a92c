"""Cells of a tank of the library. Layer: service.cells."""

from typing import Annotated, Literal, get_args

from fastapi import APIRouter
from pydantic import Field

from engine.checks import Floats
from engine.geometry import Planes
from engine.liquids import TankState, capacity_table
from service.cells.cell import cell
from service.cells.hulls import HullName
from service.cells.table import Table
from service.edge.model import Model
from service.edge.shelf import Shelf
from service.schemas.common import column
from service.schemas.library import hull_named, tank_named
from service.schemas.waterplane import Heel, Trim

router = APIRouter()

Depth = Annotated[float, Field(ge=0, le=1000)]
CapacityQuantity = Literal[
    "volume_m3", "mass_t", "fill_percent", "lcg_m", "tcg_m", "vcg_m", "ullage_m", "free_surface_moment_tm"
]


class TankParameters(Model):
    """A tank of a hull of the library, and how the ship lies while it is sounded."""

    hull: HullName
    tank: Annotated[str, Field(min_length=1, max_length=200)]
    heel_deg: Heel = 0.0
    trim_m: Trim = 0.0


class CapacityParameters(TankParameters):
    """The same, one sounding and what is wanted."""

    sounding_m: Depth
    quantity: CapacityQuantity


class CapacityTableParameters(TankParameters):
    """The same at several soundings."""

    soundings: Annotated[tuple[Depth, ...], Field(min_length=1)]
    """[m]"""


@cell(
    router,
    "capacity",
    parameters=CapacityParameters,
    operation_id="compute_cell_capacity",
    summary="One quantity of a tank of the library at a sounding",
    example={"hull": "example-barge", "tank": "fuel", "sounding_m": "1.2", "quantity": "volume_m3"},
    in_thread=True,
)
def capacity(given: CapacityParameters, shelf: Shelf) -> float:
    """Return the quantity of the tank's liquid."""
    return float(_columns(*_table(given, (given.sounding_m,), shelf))[given.quantity][0])


@cell(
    router,
    "capacity-table",
    parameters=CapacityTableParameters,
    operation_id="compute_cell_capacity_table",
    summary="A tank of the library at several soundings",
    example={"hull": "example-barge", "tank": "fuel", "soundings": "0;0.5;1;1.5;2"},
    gives="table",
    in_thread=True,
)
def capacity_columns(given: CapacityTableParameters, shelf: Shelf) -> Table:
    """Return one row a sounding."""
    columns = _columns(*_table(given, given.soundings, shelf))
    return {"sounding_m": given.soundings, **{name: column(columns[name]) for name in get_args(CapacityQuantity)}}


def _table(given: TankParameters, soundings_m: tuple[float, ...], shelf: Shelf) -> tuple[TankState, float]:
    hull, _ = hull_named(shelf, given.hull)
    aboard = tank_named(shelf.library, given.hull, given.tank).aboard()
    planes = Planes.from_waterplanes(
        draft_m=0.0, heel_deg=given.heel_deg, trim_m=given.trim_m, length_bp_m=hull.length_bp_m
    )
    density = aboard.density_t_per_m3
    state = capacity_table(
        aboard.tank, normal=planes.normals[0], density_t_per_m3=density, soundings_m=list(soundings_m)
    )
    return state, density


def _columns(state: TankState, density: float) -> dict[str, Floats]:
    return {
        "volume_m3": state.volume_m3,
        "mass_t": state.mass_t,
        "fill_percent": state.fill_percent,
        "lcg_m": state.centroid_m[:, 0],
        "tcg_m": state.centroid_m[:, 1],
        "vcg_m": state.centroid_m[:, 2],
        "ullage_m": state.ullage_m,
        "free_surface_moment_tm": state.surface_moment_m4 * density,
    }
