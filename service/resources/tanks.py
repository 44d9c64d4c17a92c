"""POST /v1/tanks/capacity and /v1/tanks/free-surface. Layer: service.resources."""

from typing import Annotated

from fastapi import APIRouter
from pydantic import Field

from engine.checks import Floats
from engine.errors import EngineError
from engine.geometry import Planes
from engine.liquids import TankState, capacity_table, running_shift, tank_state
from service.edge.axes import Axes, X, Y, from_ship_frame, to_ship_frame
from service.edge.model import Model
from service.edge.operation import operation
from service.edge.provenance import Provenance
from service.report.renderings import renderings
from service.report.tabular import capacity_report
from service.schemas.common import CAUTIONS, Finding, LengthBP, column, findings
from service.schemas.tank import TankOf

router = APIRouter()

Column = tuple[float | None, ...]
Heel = Annotated[float, Field(ge=-80, le=80)]


class TankRequest(Model):
    """A tank, and how the ship lies while it is sounded."""

    axes: Axes | None = None
    length_bp_m: LengthBP
    """For the trim, and for axes counted from elsewhere than the aft perpendicular."""
    tank: TankOf
    trim_m: Annotated[float, Field(ge=-1000, le=1000)] = 0.0


class CapacityRequest(TankRequest):
    """A capacity table: rows at ``soundings_m``, or every ``step_m``."""

    heel_deg: Heel = 0.0
    soundings_m: Annotated[tuple[float, ...], Field(min_length=1, max_length=10_000)] | None = None
    step_m: Annotated[float, Field(gt=0, le=1000)] | None = None


class CapacityColumns(Model):
    """One row a sounding; null where the quantity does not exist."""

    sounding_m: Column
    ullage_m: Column
    volume_m3: Column
    fill_percent: Column
    mass_t: Column
    lcg_m: Annotated[Column, X]
    tcg_m: Annotated[Column, Y]
    vcg_m: Column
    free_surface_moment_tm: Column


class CapacityAnswer(Model):
    """The table."""

    capacity_m3: float
    columns: CapacityColumns
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...] = CAUTIONS
    provenance: Provenance = Provenance()


class FreeSurfaceRequest(TankRequest):
    """The free surface of what the tank holds, and its true shift at finite heels."""

    heel_deg: Annotated[tuple[Heel, ...], Field(min_length=1, max_length=181)] = (0.0,)


class FreeSurfaceAnswer(Model):
    """Small-angle moment of the real surface, and the moment of the liquid's true shift from upright."""

    volume_m3: float
    free_surface_moment_tm: float
    heel_deg: tuple[float, ...]
    shift_moment_tm: tuple[float, ...]
    """Heeling moment by the shift, to starboard +."""
    effective_free_surface_moment_tm: tuple[float, ...]
    """Shift moment over the sine of heel."""
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...] = CAUTIONS
    provenance: Provenance = Provenance()


BOX = {"kind": "box", "x_min_m": 20, "x_max_m": 30, "y_min_m": -2, "y_max_m": 2, "z_min_m": 0, "z_max_m": 2}
TANK = {
    "name": "fuel",
    "shape": BOX,
    "density_t_per_m3": 0.86,
    "contents": {"kind": "volume", "volume_m3": 40.0},
}
EXAMPLE = {"length_bp_m": 60.0, "tank": TANK}


@operation(
    router,
    "/v1/tanks/capacity",
    request=CapacityRequest,
    response=CapacityAnswer,
    operation_id="compute_tank_capacity",
    summary="Volume, centre and free surface of a tank by sounding",
    example={**EXAMPLE, "step_m": 0.5},
    tag="tanks",
    renderings=renderings(capacity_report),
)
def capacity(request: CapacityRequest) -> CapacityAnswer:
    """Return a tank's capacity table at one heel and trim."""
    turned = to_ship_frame(request, request.axes, length_bp_m=request.length_bp_m)
    try:
        aboard = turned.tank.aboard()
    except EngineError as error:
        raise error.at("tank") from error
    table = capacity_table(
        aboard.tank,
        normal=_normal(turned, turned.heel_deg),
        density_t_per_m3=aboard.density_t_per_m3,
        soundings_m=turned.soundings_m,
        step_m=turned.step_m,
    )
    answer = CapacityAnswer(
        capacity_m3=aboard.tank.capacity_m3,
        columns=_columns(table, aboard.density_t_per_m3),
        findings=findings(aboard.tank.findings),
    )
    return from_ship_frame(answer, request.axes, length_bp_m=request.length_bp_m)


@operation(
    router,
    "/v1/tanks/free-surface",
    request=FreeSurfaceRequest,
    response=FreeSurfaceAnswer,
    operation_id="compute_free_surface",
    summary="Free-surface moment of a tank, small-angle and as true shift",
    example={**EXAMPLE, "heel_deg": [0.0, 10.0, 30.0]},
    tag="tanks",
)
def free_surface(request: FreeSurfaceRequest) -> FreeSurfaceAnswer:
    """Return the free-surface moment upright and the liquid's true shift at each heel."""
    turned = to_ship_frame(request, request.axes, length_bp_m=request.length_bp_m)
    try:
        aboard = turned.tank.aboard()
    except EngineError as error:
        raise error.at("tank") from error
    normal = _normal(turned, 0.0)
    try:
        volume = aboard.liquid(normals=normal[None, :]).volume_m3
    except EngineError as error:
        raise error.at("tank") from error
    state = tank_state(aboard.tank, volume_m3=volume, normals=normal, density_t_per_m3=aboard.density_t_per_m3)
    shift = running_shift(
        aboard.tank,
        volume_m3=volume,
        density_t_per_m3=aboard.density_t_per_m3,
        heel_deg=turned.heel_deg,
        slope_ratio=float(normal[0]),
    )
    return FreeSurfaceAnswer(
        volume_m3=volume,
        free_surface_moment_tm=float(state.surface_moment_m4[0]) * aboard.density_t_per_m3,
        heel_deg=tuple(shift.heel_deg.tolist()),
        shift_moment_tm=tuple((shift.moment_tm + 0.0).tolist()),
        effective_free_surface_moment_tm=tuple((shift.effective_free_surface_moment_tm + 0.0).tolist()),
        findings=findings(aboard.tank.findings),
    )


def _normal(request: TankRequest, heel_deg: float) -> Floats:
    planes = Planes.from_waterplanes(
        draft_m=0.0, heel_deg=heel_deg, trim_m=request.trim_m, length_bp_m=request.length_bp_m
    )
    normal: Floats = planes.normals[0]
    return normal


def _columns(table: TankState, density: float) -> CapacityColumns:
    return CapacityColumns(
        sounding_m=column(table.sounding_m),
        ullage_m=column(table.ullage_m),
        volume_m3=column(table.volume_m3),
        fill_percent=column(table.fill_percent),
        mass_t=column(table.mass_t),
        lcg_m=column(table.centroid_m[:, 0]),
        tcg_m=column(table.centroid_m[:, 1]),
        vcg_m=column(table.centroid_m[:, 2]),
        free_surface_moment_tm=column(table.surface_moment_m4 * density),
    )
