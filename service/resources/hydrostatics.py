"""POST /v1/hydrostatics. Layer: service.resources."""

from dataclasses import fields
from typing import Annotated, Any, Literal

import numpy as np
from fastapi import APIRouter
from pydantic import Field

from engine.errors import EngineError, InputError, LimitError
from engine.flotation.hydrostatics import Hydrostatics, hydrostatics
from engine.flotation.table_columns import hydrostatics_by_tables
from engine.geometry import Planes, Solid
from service.edge.axes import Axes, X, Y, from_ship_frame, to_ship_frame
from service.edge.csv_table import columns_csv
from service.edge.model import Model
from service.edge.operation import operation
from service.edge.provenance import Provenance
from service.report.renderings import renderings
from service.report.tabular import hydrostatics_report
from service.schemas.common import CAUTIONS, Finding, column, findings
from service.schemas.hull import BOX_BARGE, sections_of, solid_of
from service.schemas.table_hull import HullOrTables, TablesHull
from service.schemas.waterplane import Grid, Waterplane, misses_words, planes_of
from service.schemas.work import cutting_s

router = APIRouter()

PLANE_LIMIT_COUNT = 20_000
Column = tuple[float | None, ...]


class HydrostaticsRequest(Model):
    """A hull, the water, and the planes: either ``waterplanes`` or a ``grid``."""

    axes: Axes | None = None
    hull: HullOrTables
    """Of kind `tables`: read from its rows; columns they do not have are null."""
    density_t_per_m3: Annotated[float, Field(gt=0.1, le=20)]
    waterplanes: Annotated[tuple[Waterplane, ...], Field(min_length=1, max_length=PLANE_LIMIT_COUNT)] | None = None
    grid: Grid | None = None
    sag_m: Annotated[float, Field(ge=-10, le=10)] = 0.0
    method: Literal["surface", "sections", "both"] | None = None
    """By the skin or by transverse sections; left out, a hull is computed in the form it was given."""


class ColumnNote(Model):
    """Why an entry of a column does not exist."""

    column: str
    row: int
    code: str


class HydrostaticsColumns(Model):
    """One entry a plane; null where the quantity does not exist."""

    draft_m: Column
    trim_m: Column
    heel_deg: Column
    volume_m3: Column
    displacement_t: Column
    lcb_m: Annotated[Column, X]
    tcb_m: Annotated[Column, Y]
    vcb_m: Column
    waterplane_area_m2: Column
    lcf_m: Annotated[Column, X]
    tcf_m: Annotated[Column, Y]
    bm_transverse_m: Column
    bm_longitudinal_m: Column
    km_transverse_m: Column
    km_longitudinal_m: Column
    wetted_area_m2: Column
    immersion_t_per_cm: Column
    moment_to_trim_tm_per_cm: Column
    block_coefficient: Column
    prismatic_coefficient: Column
    midship_coefficient: Column
    waterplane_coefficient: Column


class HydrostaticsAnswer(Model):
    """Columns of equal length, in the order of the planes."""

    columns: HydrostaticsColumns
    sections_columns: HydrostaticsColumns | None = None
    """With ``method: both``: the same by sections."""
    largest_volume_difference_ratio: float | None = None
    """With ``method: both``: largest difference of the two volumes, over the volume."""
    column_notes: tuple[ColumnNote, ...]
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...] = CAUTIONS
    provenance: Provenance = Provenance()


EXAMPLE: dict[str, Any] = {
    "hull": BOX_BARGE,
    "density_t_per_m3": 1.025,
    "waterplanes": [{"draft_m": 3.5}, {"draft_m": 3.5, "heel_deg": 10.0, "trim_m": 0.9}],
}


@operation(
    router,
    "/v1/hydrostatics",
    request=HydrostaticsRequest,
    response=HydrostaticsAnswer,
    operation_id="compute_hydrostatics",
    summary="Hydrostatic particulars at given waterplanes",
    example=EXAMPLE,
    tag="hydrostatics",
    csv=lambda answer, units: columns_csv(answer.columns.model_dump(), units),
    renderings=renderings(hydrostatics_report),
    expected_work_s=lambda request: cutting_s(request.hull, _planes_count(request)),
)
def compute(request: HydrostaticsRequest) -> HydrostaticsAnswer:
    """Return particulars at each plane; one that misses the hull refuses ``waterplanes``, marks a grid's row."""
    if (request.waterplanes is None) == (request.grid is None):
        raise InputError("either waterplanes or a grid is needed", code="waterplanes-or-grid", field="waterplanes")
    length = request.hull.length_bp_m
    turned = to_ship_frame(request, request.axes, length_bp_m=length)
    if isinstance(turned.hull, TablesHull):
        return from_ship_frame(_by_tables(turned, turned.hull), request.axes, length_bp_m=length)
    solid, found = solid_of(turned.hull)
    if turned.hull.kind == "offsets" and turned.method in ("surface", "both"):
        raise InputError("offsets have no skin: this method needs a mesh", code="method-needs-mesh", field="method")
    other = None
    if turned.hull.kind != "offsets" and turned.method in ("sections", "both"):
        other = _bent(sections_of(turned.hull), turned)
    solid = _bent(solid, turned)
    if other is not None and turned.method == "sections":
        solid, other = other, None
    if turned.waterplanes is not None:
        planes = planes_of(turned.waterplanes, length_bp_m=length)
        rows = _rows(solid, planes, turned)
        for row, code in enumerate(_codes(rows)):
            if code:
                is_above = bool(rows.volume_m3[row] > 0)
                raise InputError(
                    misses_words(turned.waterplanes[row], solid, is_above=is_above),
                    code="waterplane-above-hull" if is_above else "waterplane-below-hull",
                    field=f"waterplanes/{row}",
                )
        codes = [""] * len(planes)
    else:
        planes = _of_grid(turned)
        rows = _rows(solid, planes, turned)
        codes = _codes(rows)
    columns, notes = _columns(rows, codes)
    answer = HydrostaticsAnswer(columns=columns, column_notes=notes, findings=findings(found))
    if other is not None:
        second = _rows(other, planes, turned)
        wet = rows.volume_m3 > 0
        apart = np.abs(second.volume_m3 - rows.volume_m3)[wet] / rows.volume_m3[wet]
        answer = answer.model_copy(
            update={
                "sections_columns": _columns(second, codes)[0],
                "largest_volume_difference_ratio": float(apart.max(initial=0.0)),
            }
        )
    return from_ship_frame(answer, request.axes, length_bp_m=length)


def _by_tables(request: HydrostaticsRequest, hull: TablesHull) -> HydrostaticsAnswer:
    for field, given in (("sag_m", request.sag_m != 0.0), ("method", request.method is not None)):
        if given:
            raise InputError("tables hold no geometry", code="tables-no-geometry", field=field)
    tables = hull.whole().hydrostatics
    if request.waterplanes is not None:
        planes = planes_of(request.waterplanes, length_bp_m=tables.length_bp_m)
    else:
        planes = _of_grid(request)
    rows, missed = hydrostatics_by_tables(tables=tables, planes=planes, density_t_per_m3=request.density_t_per_m3)
    for row, error in enumerate(missed):
        if error is not None and request.waterplanes is not None:
            raise error.at(f"waterplanes/{row}")
    columns, notes = _columns(rows, ["" if error is None else error.code for error in missed], "tables-no-geometry")
    trims = np.array(planes.trim_m(length_bp_m=tables.length_bp_m))
    furthest = float(trims[np.argmax(np.abs(trims - tables.trims_m[0]))])
    return HydrostaticsAnswer(columns=columns, column_notes=notes, findings=findings(tuple(tables.off_trim(furthest))))


def _of_grid(request: HydrostaticsRequest) -> Planes:
    assert request.grid is not None
    count = _planes_count(request)
    if count > PLANE_LIMIT_COUNT:
        raise LimitError(
            f"{count} planes asked, at most {PLANE_LIMIT_COUNT}", code="too-many-planes", field="grid", value=count
        )
    return request.grid.planes(length_bp_m=request.hull.length_bp_m)


def _planes_count(request: HydrostaticsRequest) -> int:
    grid = request.grid
    if grid is not None:
        return len(grid.draft_m) * len(grid.heel_deg) * len(grid.trim_m)
    return len(request.waterplanes or ())


def _bent(solid: Solid, request: HydrostaticsRequest) -> Solid:
    return solid.bent(sag_m=request.sag_m, length_bp_m=request.hull.length_bp_m) if request.sag_m else solid


def _rows(solid: Solid, planes: Planes, request: HydrostaticsRequest) -> Hydrostatics:
    try:
        return hydrostatics(
            solid=solid,
            planes=planes,
            density_t_per_m3=request.density_t_per_m3,
            length_bp_m=request.hull.length_bp_m,
        )
    except EngineError as error:
        raise error.at("hull") from error


def _codes(rows: Hydrostatics) -> list[str]:
    """Say of each plane whether it misses the hull."""
    missed = ~(rows.waterplane_area_m2 > 0)
    return [
        ("waterplane-above-hull" if volume > 0 else "waterplane-below-hull") if gone else ""
        for gone, volume in zip(missed, rows.volume_m3, strict=True)
    ]


def _columns(
    rows: Hydrostatics, codes: list[str], lacking: str = "not-defined-here"
) -> tuple[HydrostaticsColumns, tuple[ColumnNote, ...]]:
    missed = np.array([bool(code) for code in codes])
    given = ("draft_m", "trim_m", "heel_deg")
    columns: dict[str, Column] = {}
    notes: list[ColumnNote] = []
    for field in fields(rows):
        values = np.array(getattr(rows, field.name))
        if field.name not in given:
            values[missed] = np.nan
        columns[field.name] = column(values)
        notes += [
            ColumnNote(column=field.name, row=row, code=codes[row] or lacking)
            for row in np.flatnonzero(np.isnan(values)).tolist()
        ]
    return HydrostaticsColumns(**columns), tuple(notes)
