"""POST /v1/cross-curves. Layer: service.resources."""

from typing import Annotated, Any, Literal

import numpy as np
from fastapi import APIRouter
from pydantic import Field

from engine.checks import Floats
from engine.errors import EngineError, InputError, LimitError
from engine.flotation.cross_curves import CrossCurves, cross_curves, displacements_at
from engine.flotation.held_heel import ROW_CODES
from engine.geometry import Planes, Solid
from service.edge.axes import Axes, X, Y, from_ship_frame, to_ship_frame
from service.edge.csv_table import columns_csv
from service.edge.model import Model
from service.edge.operation import operation
from service.edge.provenance import Provenance
from service.resources.hydrostatics import ColumnNote
from service.schemas.common import CAUTIONS, Finding, column, findings
from service.schemas.hull import BOX_BARGE, Hull, solid_of
from service.schemas.righting_arms import DRAFT_HEEL_LIMIT_DEG, ArmHeel, Column
from service.schemas.waterplane import Draft
from service.schemas.work import cutting_s

router = APIRouter()

ROW_LIMIT_COUNT = 10_000
LEAST_CUTS_COUNT = 6
"""Times a hull is cut to find one position, at the least."""


class CrossCurvesRequest(Model):
    """A hull; displacements or drafts; heels. Free to trim, she trims about the LCG given, or that of ``trim_m``."""

    axes: Axes | None = None
    hull: Hull
    density_t_per_m3: Annotated[float, Field(gt=0.1, le=20)]
    displacement_t: (
        Annotated[tuple[Annotated[float, Field(gt=0, le=1e7)], ...], Field(min_length=1, max_length=1000)] | None
    ) = None
    draft_m: Annotated[tuple[Draft, ...], Field(min_length=1, max_length=1000)] | None = None
    """Drafts upright, at ``trim_m``: their displacements are taken."""
    heel_deg: Annotated[tuple[ArmHeel, ...], Field(min_length=1, max_length=361)]
    trim: Literal["free", "fixed"] = "free"
    trim_m: Annotated[float, Field(ge=-1000, le=1000)] = 0.0
    """Trim upright; with trim fixed it is held at every heel."""
    lcg_m: Annotated[float, Field(ge=-1e4, le=1e4), X] | None = None
    """Centre of gravity lengthwise at every displacement; with trim free, in place of ``trim_m``."""
    assumed_vcg_m: Annotated[float, Field(ge=-1e4, le=1e4)] = 0.0
    """Height of the centre of gravity, used for the trim alone: KN is about the keel."""
    sag_m: Annotated[float, Field(ge=-10, le=10)] = 0.0


class CrossCurvesColumns(Model):
    """Heel fastest, then displacement; null where there is no position."""

    displacement_t: Column
    heel_deg: Column
    kn_m: Column
    """Lever of buoyancy about the keel: GZ = KN − KG × sine of heel. Sign: + rights a ship heeled to starboard."""
    lcg_m: Annotated[Column, X]
    draft_m: Column
    trim_m: Column
    lcb_m: Annotated[Column, X]
    tcb_m: Annotated[Column, Y]
    vcb_m: Column


class CrossCurvesAnswer(Model):
    """Columns of equal length."""

    columns: CrossCurvesColumns
    column_notes: tuple[ColumnNote, ...]
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...] = CAUTIONS
    provenance: Provenance = Provenance()


EXAMPLE: dict[str, Any] = {
    "hull": BOX_BARGE,
    "density_t_per_m3": 1.025,
    "displacement_t": [2000.0, 2583.0, 3000.0],
    "heel_deg": [10, 20, 30, 40, 50, 60],
}


@operation(
    router,
    "/v1/cross-curves",
    request=CrossCurvesRequest,
    response=CrossCurvesAnswer,
    operation_id="compute_cross_curves",
    summary="Cross curves of stability: KN over displacement and heel",
    example=EXAMPLE,
    tag="hydrostatics",
    csv=lambda answer, units: columns_csv(answer.columns.model_dump(), units),
    expected_work_s=lambda request: cutting_s(request.hull, LEAST_CUTS_COUNT * _rows_count(request)),
)
def compute(request: CrossCurvesRequest) -> CrossCurvesAnswer:
    """Return KN, the righting arm about the keel, over displacements or drafts and heels, trim free or fixed."""
    _refuse_contradictions(request)
    length = request.hull.length_bp_m
    turned = to_ship_frame(request, request.axes, length_bp_m=length)
    solid, found = solid_of(turned.hull)
    if turned.sag_m:
        solid = solid.bent(sag_m=turned.sag_m, length_bp_m=length)
    upright = Planes.from_waterplanes(draft_m=0.0, trim_m=turned.trim_m, length_bp_m=length)
    displacements = _displacements(turned, solid)
    try:
        curves = cross_curves(
            solid=solid,
            density_t_per_m3=turned.density_t_per_m3,
            displacement_t=displacements,
            heel_deg=turned.heel_deg,
            trim=turned.trim,
            slope_ratio=float(upright.normals[0, 0]),
            lcg_m=turned.lcg_m,
            assumed_vcg_m=turned.assumed_vcg_m,
        )
    except EngineError as error:
        if turned.draft_m is not None and error.field.startswith("displacement_t"):
            error.field = error.field.replace("displacement_t", "draft_m", 1)
        elif error.code in ROW_CODES:  # not one of the rows has a position
            error.field = "heel_deg"
        raise
    columns = _columns(curves, length)
    notes = tuple(
        ColumnNote(column=name, row=row, code=curves.codes[row] or "not-defined-here")
        for name, values in columns.items()
        for row in np.flatnonzero(np.isnan(values)).tolist()
    )
    answer = CrossCurvesAnswer(
        columns=CrossCurvesColumns.model_validate({name: column(values) for name, values in columns.items()}),
        column_notes=notes,
        findings=findings(found),
    )
    return from_ship_frame(answer, request.axes, length_bp_m=length)


def _rows_count(request: CrossCurvesRequest) -> int:
    return len(request.displacement_t or request.draft_m or ()) * len(request.heel_deg)


def _refuse_contradictions(request: CrossCurvesRequest) -> None:
    if (request.displacement_t is None) == (request.draft_m is None):
        raise InputError(
            "either displacements or drafts are needed", code="displacements-or-drafts", field="displacement_t"
        )
    if request.lcg_m is not None and (request.trim == "fixed" or request.trim_m != 0):
        raise InputError("the trim follows from the LCG: give one of them", code="lcg-with-trim", field="lcg_m")
    count = _rows_count(request)
    if count > ROW_LIMIT_COUNT:
        raise LimitError(
            f"{count} rows asked, at most {ROW_LIMIT_COUNT}",
            code="too-many-rows",
            field="heel_deg",
            value=count,
            limit=ROW_LIMIT_COUNT,
        )


def _displacements(request: CrossCurvesRequest, solid: Solid) -> Floats:
    if request.draft_m is None:
        return np.array(request.displacement_t)
    return displacements_at(
        solid=solid,
        density_t_per_m3=request.density_t_per_m3,
        draft_m=request.draft_m,
        trim_m=request.trim_m,
        length_bp_m=request.hull.length_bp_m,
    )


def _columns(curves: CrossCurves, length: float) -> dict[str, Floats]:
    placed = (np.abs(curves.heel_deg) <= DRAFT_HEEL_LIMIT_DEG) & np.isfinite(curves.kn_m)
    return {
        "displacement_t": curves.displacement_t,
        "heel_deg": curves.heel_deg,
        "kn_m": curves.kn_m,
        "lcg_m": curves.lcg_m,
        "draft_m": np.where(placed, curves.planes.draft_m(length_bp_m=length), np.nan),
        "trim_m": np.where(placed, curves.planes.trim_m(length_bp_m=length), np.nan),
        "lcb_m": curves.cuts.centroid_m[:, 0],
        "tcb_m": curves.cuts.centroid_m[:, 1],
        "vcb_m": curves.cuts.centroid_m[:, 2],
    }
