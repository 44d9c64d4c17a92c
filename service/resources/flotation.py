"""POST /v1/flotation. Layer: service.resources."""

from typing import Annotated, Any

import numpy as np
from fastapi import APIRouter
from pydantic import Field

from engine.flotation.at_rest import of_rest, upright_gm_m
from engine.flotation.equilibrium import equilibrium
from service.edge.axes import Axes, X, Y, from_ship_frame, to_ship_frame
from service.edge.model import Model
from service.edge.operation import operation
from service.edge.provenance import Provenance
from service.schemas.common import CAUTIONS, Finding, Length, Mass, PositionX, PositionY, each, findings
from service.schemas.hull import BOX_BARGE, Hull, solid_of
from service.schemas.tank import TankOf

router = APIRouter()

UPRIGHT = np.array([[0.0, 0.0, 1.0]])


class FlotationRequest(Model):
    """A hull, what is aboard without tank liquids, and tanks whose liquids run; soundings are those upright."""

    axes: Axes | None = None
    hull: Hull
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
