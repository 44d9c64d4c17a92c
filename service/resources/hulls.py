"""POST /v1/hulls/inspection. Layer: service.resources."""

from typing import Annotated

import numpy as np
from fastapi import APIRouter

from engine.geometry.self_intersection import noted_of
from service.edge.axes import XYZ, Axes, from_ship_frame, to_ship_frame
from service.edge.model import Model
from service.edge.operation import operation
from service.edge.provenance import Provenance
from service.schemas.common import CAUTIONS, Finding, findings
from service.schemas.hull import BOX_BARGE, Hull, solid_of
from service.schemas.table_check import TablesAgainstGeometry, against_geometry, entries_count
from service.schemas.table_hull import TablesHull
from service.schemas.work import cutting_s, searching_s

router = APIRouter()


class InspectionRequest(Model):
    """A hull, and the tables approved for it where there are any."""

    axes: Axes | None = None
    hull: Hull
    approved_tables: TablesHull | None = None
    """Held against the hull, row by row, within the tolerances of MSC.1/Circ.1229."""


class InspectionAnswer(Model):
    """What was read and what was noticed; the volume is left out where the skin is open."""

    volume_m3: float | None = None
    lowest_corner_m: Annotated[tuple[float, float, float], XYZ]
    """Least x, y, z of the hull in the ship's frame."""
    highest_corner_m: Annotated[tuple[float, float, float], XYZ]
    """Greatest x, y, z of the hull in the ship's frame."""
    approved_tables: TablesAgainstGeometry | None = None
    """Where tables were given."""
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...] = CAUTIONS
    provenance: Provenance = Provenance()


@operation(
    router,
    "/v1/hulls/inspection",
    request=InspectionRequest,
    response=InspectionAnswer,
    operation_id="inspect_hull",
    summary="Read a hull and say what was noticed",
    example={"hull": BOX_BARGE},
    tag="hulls",
    expected_work_s=lambda request: (
        searching_s(request.hull) + cutting_s(request.hull, entries_count(request.approved_tables))
    ),
)
def compute(request: InspectionRequest) -> InspectionAnswer:
    """Return particulars and findings of a hull; what cannot be a hull is refused with its place.

    A mesh, and what is added to it, is searched here for parts that pass through one another; nowhere else.
    """
    length = request.hull.length_bp_m
    turned = to_ship_frame(request, request.axes, length_bp_m=length)
    solid, found = solid_of(turned.hull)
    found = (*found, *noted_of(solid))
    held: TablesAgainstGeometry | None = None
    if turned.approved_tables is not None:
        held, beyond = against_geometry(turned.approved_tables, solid, length_bp_m=length)
        found = (*found, *beyond)
    low, high = (tuple(corner) for corner in solid.bounds_m.tolist())
    answer = InspectionAnswer(
        volume_m3=solid.volume_m3 if np.isfinite(solid.volume_m3) else None,
        lowest_corner_m=low,
        highest_corner_m=high,
        approved_tables=held,
        findings=findings(found),
    )
    return from_ship_frame(answer, request.axes, length_bp_m=length)
