"""POST /v1/vcg-limits. Layer: service.resources."""

from typing import Annotated, Any, Literal

from fastapi import APIRouter
from pydantic import Field

from engine.errors import EngineError, LimitError
from engine.findings import Finding as EngineFinding
from engine.stability import Arms, vcg_limit_table
from engine.stability.table_ship import ArmsByTables
from engine.stability.vcg_limit import LimitRow
from service.edge.axes import Axes, X, from_ship_frame, to_ship_frame
from service.edge.csv_table import columns_csv
from service.edge.model import Model
from service.edge.operation import operation
from service.edge.provenance import Provenance
from service.edge.rule_folder import rule_sets
from service.schemas.common import CAUTIONS, Finding, findings
from service.schemas.hull import BOX_BARGE, solid_of
from service.schemas.stability import Coordinate, SetNames, StabilityDataOf
from service.schemas.table_hull import HullOrTables, TablesHull
from service.schemas.terms import in_terms
from service.schemas.work import cutting_s

router = APIRouter()

ROW_LIMIT_COUNT = 500
Column = tuple[float | None, ...]
Words = tuple[str | None, ...]
Trim = Annotated[float, Field(ge=-1000, le=1000)]
Displacements = Annotated[tuple[Annotated[float, Field(ge=1e-3, le=1e7)], ...], Field(min_length=1, max_length=200)]


class VcgLimitsRequest(Model):
    """A hull, the displacements and the trims or LCGs, and the criteria all of which must be met."""

    axes: Axes | None = None
    hull: HullOrTables
    """Of kind `tables`: by GM and, with cross curves, by their arms; criteria that need the form are not assessed."""
    density_t_per_m3: Annotated[float, Field(gt=0.1, le=20)]
    displacement_t: Displacements
    trim_m: Annotated[tuple[Trim, ...], Field(min_length=1, max_length=50)] | None = None
    """Trim upright, whatever the VCG; either these or `lcg_m`."""
    lcg_m: Annotated[tuple[Coordinate, ...], Field(min_length=1, max_length=50), X] | None = None
    rules: SetNames
    """Names of rule sets on stability."""
    stability: StabilityDataOf | None = None
    free_surface_moment_tm: Annotated[float, Field(ge=0, le=1e7)] = 0.0
    """Allowed for in every row: the limit is that of the solid VCG."""


class VcgLimitColumns(Model):
    """One row a displacement and trim or LCG, the latter fastest; null where there is no limit."""

    displacement_t: Column
    trim_m: Column
    lcg_m: Annotated[Column, X]
    draft_m: Column
    vcg_limit_m: Column
    """Largest height of the centre of gravity, solid, that meets every criterion assessed."""
    gm_fluid_m: Column
    """At the limit."""
    governing_rule_set: Words
    governing_rule: Words
    """The criterion that fails first above the limit."""
    governing_side: Words


class LimitNote(Model):
    """Why a row has no limit."""

    column: Literal["vcg_limit_m"] = "vcg_limit_m"
    row: int
    code: str
    reason: str


class LeftOut(Model):
    """A criterion that could not be assessed and is not in the limits."""

    rule_set: str
    rule: str
    reason: str
    rows: tuple[int, ...]
    """Numbers of the rows, from 0."""


class RowFinding(Finding):
    """What was noticed in a row."""

    row: int


class VcgLimitsAnswer(Model):
    """Limits of VCG."""

    columns: VcgLimitColumns
    column_notes: tuple[LimitNote, ...]
    not_assessed: tuple[LeftOut, ...]
    row_findings: tuple[RowFinding, ...]
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...] = CAUTIONS
    provenance: Provenance = Provenance()


EXAMPLE: dict[str, Any] = {
    "hull": BOX_BARGE,
    "density_t_per_m3": 1.025,
    "displacement_t": [2000.0, 2583.0],
    "trim_m": [0.0, 0.5],
    "rules": ["imo-2008-is-code-a-2-2"],
    "stability": {
        "openings": [{"name": "engine room vent", "x_m": 12.0, "y_m": 2.0, "z_m": 10.5, "kind": "unprotected"}]
    },
}


PLANES_PER_ROW = 300
"""Arms computed three times or more, 34 heels each, several cuts a heel: a lower bound."""


def expected_work_s(request: VcgLimitsRequest) -> float:
    """Return the least processor time of a request. [s]"""
    rows = len(request.displacement_t) * len(request.trim_m or request.lcg_m or ())
    return cutting_s(request.hull, rows * PLANES_PER_ROW)


@operation(
    router,
    "/v1/vcg-limits",
    request=VcgLimitsRequest,
    response=VcgLimitsAnswer,
    operation_id="find_vcg_limits",
    summary="Largest VCG that meets every chosen criterion",
    example=EXAMPLE,
    tag="stability",
    expected_work_s=expected_work_s,
    csv=lambda answer, units: columns_csv(answer.columns.model_dump(), units),
)
def compute(request: VcgLimitsRequest) -> VcgLimitsAnswer:
    """Return limits over displacement and trim or LCG, arms free to trim, the governing criterion named in each row."""
    length = request.hull.length_bp_m
    turned = to_ship_frame(request, request.axes, length_bp_m=length)
    sets = rule_sets().named(turned.rules, subject="stability")
    count = len(turned.displacement_t) * len(turned.trim_m or turned.lcg_m or ())
    if count > ROW_LIMIT_COUNT:
        raise LimitError(
            f"{count} rows asked, at most {ROW_LIMIT_COUNT}", code="too-many-rows", field="displacement_t", value=count
        )
    solid, found = (turned.hull.whole(), ()) if isinstance(turned.hull, TablesHull) else solid_of(turned.hull)
    rows = vcg_limit_table(
        solid=solid,
        density_t_per_m3=turned.density_t_per_m3,
        length_bp_m=length,
        displacement_t=turned.displacement_t,
        trim_m=turned.trim_m,
        lcg_m=turned.lcg_m,
        rule_sets=sets,
        data=_data(turned),
        free_surface_tm=turned.free_surface_moment_tm,
    )
    of_tables = {i: _of_tables(row.limit.arms) for i, row in enumerate(rows) if row.limit is not None}
    of_all = [one for one in next(iter(of_tables.values()), ()) if all(one in told for told in of_tables.values())]
    answer = VcgLimitsAnswer(
        columns=_columns(rows),
        column_notes=tuple(
            LimitNote(row=i, code=row.code, reason=row.reason) for i, row in enumerate(rows) if row.limit is None
        ),
        not_assessed=_left_out(rows),
        row_findings=tuple(
            RowFinding(row=i, **dict(one))
            for i, row in enumerate(rows)
            if row.limit is not None
            for one in findings((*row.limit.findings, *(one for one in of_tables[i] if one not in of_all)))
        ),
        findings=findings((*found, *of_all)),
        provenance=Provenance(rule_sets=tuple(f"{one.name} {one.version}" for one in sets)),
    )
    return from_ship_frame(answer, request.axes, length_bp_m=length)


def _of_tables(arms: Arms | ArmsByTables) -> tuple[EngineFinding, ...]:
    """Return what tables leave out; nothing where there is a hull."""
    return arms.findings() if isinstance(arms, ArmsByTables) else ()


def _data(request: VcgLimitsRequest) -> Any:
    try:
        return (request.stability or StabilityDataOf()).data()
    except EngineError as error:
        raise error.at("stability") from error


def _columns(rows: tuple[LimitRow, ...]) -> VcgLimitColumns:
    arms = [None if row.limit is None else row.limit.arms for row in rows]
    rules = [None if row.limit is None else row.limit.governing for row in rows]
    return VcgLimitColumns(
        displacement_t=tuple(row.displacement_t for row in rows),
        trim_m=tuple(
            row.trim_m if row.trim_m is not None else (one.trim_m + 0.0 if one else None)
            for row, one in zip(rows, arms, strict=True)
        ),
        lcg_m=tuple(
            row.lcg_m if row.lcg_m is not None else (float(one.centre_m[0]) if one else None)
            for row, one in zip(rows, arms, strict=True)
        ),
        draft_m=tuple(one.draft_m if one else None for one in arms),
        vcg_limit_m=tuple(None if row.limit is None else row.limit.vcg_m for row in rows),
        gm_fluid_m=tuple(one.gm_fluid_m if one else None for one in arms),
        governing_rule_set=tuple(one.check.rule_set if one else None for one in rules),
        governing_rule=tuple(one.check.rule if one else None for one in rules),
        governing_side=tuple(one.side if one else None for one in rules),
    )


def _left_out(rows: tuple[LimitRow, ...]) -> tuple[LeftOut, ...]:
    found: dict[tuple[str, str, str], list[int]] = {}
    for i, row in enumerate(rows):
        for check in row.limit.not_assessed if row.limit is not None else ():
            found.setdefault((check.rule_set, check.rule, check.reason), []).append(i)
    return tuple(
        LeftOut(rule_set=name, rule=rule, reason=in_terms(reason), rows=tuple(numbers))
        for (name, rule, reason), numbers in found.items()
    )
