"""POST /v1/flotation. Layer: service.resources."""

from typing import Annotated, Any

import numpy as np
from fastapi import APIRouter
from pydantic import Field

from engine.errors import EngineError, InputError
from engine.findings import Finding as EngineFinding
from engine.flotation.at_rest import of_rest, upright_gm_m
from engine.flotation.equilibrium import equilibrium
from engine.flotation.table_position import table_position
from engine.lightship.derivation import Mass as EngineMass
from engine.record.as_inclined import free_surface_tm
from service.edge.axes import Axes, X, Y, from_ship_frame, to_ship_frame
from service.edge.model import Model
from service.edge.operation import operation
from service.edge.provenance import Provenance
from service.schemas.common import CAUTIONS, Finding, Length, Mass, PositionX, PositionY, each, findings
from service.schemas.deadweight import UPRIGHT as LEVEL
from service.schemas.hull import BOX_BARGE, solid_of
from service.schemas.table_hull import HullOrTables, TablesHull
from service.schemas.tank import TankOf

router = APIRouter()

UPRIGHT = LEVEL.normals


class FlotationRequest(Model):
    """A hull, what is aboard without tank liquids, and tanks whose liquids run; soundings are those upright."""

    axes: Axes | None = None
    hull: HullOrTables
    """Of kind `tables`: by their rows, within 3° of heel; liquids are corrected for and do not run."""
    density_t_per_m3: Annotated[float, Field(gt=0.1, le=20)]
    mass_t: Mass
    x_m: PositionX
    y_m: PositionY
    z_m: Length
    tanks: Annotated[tuple[TankOf, ...], Field(max_length=500)] = ()
    sag_m: Annotated[float, Field(ge=-10, le=10)] = 0.0


class FlotationAnswer(Model):
    """Where she floats; draft and trim are left out beyond 80° of heel."""

    draft_m: float | None = None
    trim_m: float | None = None
    heel_deg: float
    displacement_t: float
    volume_m3: float
    lcb_m: Annotated[float, X]
    tcb_m: Annotated[float, Y]
    vcb_m: float
    lcg_m: Annotated[float, X]
    tcg_m: Annotated[float, Y]
    vcg_m: float
    gm_fluid_m: float
    gm_solid_m: float
    gm_longitudinal_m: float
    free_surface_moment_tm: float
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...] = CAUTIONS
    provenance: Provenance = Provenance()


EXAMPLE: dict[str, Any] = {
    "hull": BOX_BARGE,
    "density_t_per_m3": 1.025,
    "mass_t": 2583.0,
    "x_m": 30.0,
    "y_m": 0.0,
    "z_m": 4.5,
}


@operation(
    router,
    "/v1/flotation",
    request=FlotationRequest,
    response=FlotationAnswer,
    operation_id="find_flotation",
    summary="Where a ship floats, free to sink, heel and trim",
    example=EXAMPLE,
    tag="hydrostatics",
)
def compute(request: FlotationRequest) -> FlotationAnswer:
    """Return the stable floating position of a mass and centre with liquids that run to their real level."""
    length = request.hull.length_bp_m
    turned = to_ship_frame(request, request.axes, length_bp_m=length)
    if isinstance(turned.hull, TablesHull):
        return from_ship_frame(_by_tables(turned, turned.hull), request.axes, length_bp_m=length)
    solid, found = solid_of(turned.hull)
    if turned.sag_m:
        solid = solid.bent(sag_m=turned.sag_m, length_bp_m=length)
    liquids = each(turned.tanks, lambda tank: tank.aboard().liquid(normals=UPRIGHT), "tanks")
    of_tanks = tuple(finding for liquid in liquids for finding in liquid.tank.findings)
    mass, centre = turned.mass_t.value, [turned.x_m.value, turned.y_m.value, turned.z_m.value]
    density = turned.density_t_per_m3
    at = equilibrium(solid=solid, density_t_per_m3=density, mass_t=mass, centre_m=centre, liquids=liquids)
    upright = upright_gm_m(at, solid=solid, density_t_per_m3=density, mass_t=mass, centre_m=centre, liquids=liquids)
    told = tuple(of_rest(float(at.planes.heel_deg[0]), upright_gm_m=upright))
    shown = abs(float(at.planes.heel_deg[0])) <= 80
    buoyancy, centre = at.cuts.centroid_m[0].tolist(), at.centre_m[0].tolist()
    mass, surface = float(at.mass_t[0]), float(at.free_surface_tm[0])
    answer = FlotationAnswer(
        draft_m=float(at.planes.draft_m(length_bp_m=length)[0]) if shown else None,
        trim_m=float(at.planes.trim_m(length_bp_m=length)[0]) + 0.0 if shown else None,
        heel_deg=float(at.planes.heel_deg[0]) + 0.0,
        displacement_t=mass,
        volume_m3=float(at.cuts.volume_m3[0]),
        lcb_m=buoyancy[0],
        tcb_m=buoyancy[1],
        vcb_m=buoyancy[2],
        lcg_m=centre[0],
        tcg_m=centre[1],
        vcg_m=centre[2],
        gm_fluid_m=float(at.gm_fluid_m[0]),
        gm_solid_m=float(at.gm_fluid_m[0]) + surface / mass,
        gm_longitudinal_m=float(at.gm_longitudinal_m[0]),
        free_surface_moment_tm=surface,
        findings=findings((*found, *of_tanks, *told)),
    )
    return from_ship_frame(answer, request.axes, length_bp_m=length)


_PLACES = {"mass_t": "mass_t", "centre_m": "z_m"}
"""Where a fault of a position by tables lies in the request; else in the hull."""


def _by_tables(request: FlotationRequest, hull: TablesHull) -> FlotationAnswer:
    if request.sag_m:
        raise InputError("tables cannot be bent", code="tables-no-geometry", field="sag_m")
    tables = hull.whole().hydrostatics
    liquids = each(request.tanks, lambda tank: tank.aboard().liquid(normals=UPRIGHT), "tanks")
    solid = EngineMass(request.mass_t.value, np.array([request.x_m.value, request.y_m.value, request.z_m.value]))
    everything = [solid, *(EngineMass(one.mass_t, one.at(UPRIGHT).centroid_m[0]) for one in liquids)]
    mass = sum(one.mass_t for one in everything)
    centre = sum((one.moment_tm for one in everything), start=np.zeros(3)) / mass
    surface = free_surface_tm(liquids, LEVEL)
    try:
        at = table_position(
            tables=tables,
            density_t_per_m3=request.density_t_per_m3,
            mass_t=mass,
            centre_m=centre,
            free_surface_moment_tm=surface,
        )
    except EngineError as error:
        error.field = _PLACES.get(error.field, "hull")
        raise
    told = [*tables.off_trim(at.trim_m)]
    if surface:
        words = "liquids are not made to run: the free surfaces upright are corrected for"
        told.append(EngineFinding("tables-no-geometry", words))
    x, y, z = centre.tolist()
    return FlotationAnswer(
        draft_m=at.draft_m,
        trim_m=at.trim_m,
        heel_deg=at.heel_deg,
        displacement_t=at.point.displacement_t,
        volume_m3=at.point.volume_m3,
        lcb_m=at.point.lcb_m,
        tcb_m=at.point.tcb_m,
        vcb_m=at.point.vcb_m,
        lcg_m=x,
        tcg_m=y,
        vcg_m=z,
        gm_fluid_m=at.gm_fluid_m,
        gm_solid_m=at.gm_solid_m,
        gm_longitudinal_m=at.point.km_longitudinal_m - z,
        free_surface_moment_tm=surface,
        findings=findings((*(one for liquid in liquids for one in liquid.tank.findings), *told)),
    )
