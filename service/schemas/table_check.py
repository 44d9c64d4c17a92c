"""Approved tables held against the hull's geometry. Layer: service.schemas."""

from typing import Annotated, Literal

import numpy as np

from engine.errors import EngineError, InputError, LimitError
from engine.findings import Finding
from engine.flotation.cross_curve_table import TOLERANCE_M, KnRow, compare_cross_curves
from engine.flotation.table_check import (
    CLAUSE,
    SOURCE,
    SOURCE_STATUS,
    TOLERANCES,
    ToleranceRow,
    compare_tables,
    worst,
)
from engine.geometry import Solid
from service.edge.axes import X_DIFFERENCE
from service.edge.model import Model
from service.schemas.common import column
from service.schemas.table_hull import TablesHull

Column = tuple[float | None, ...]
Outcome = Literal["within", "exceeded", "not_assessed"]

ENTRIES_LIMIT_COUNT = 20_000
"""Rows of all tables and entries of the cross curves together, at most."""
CUTS_PER_KN_COUNT = 6
"""Times a hull is cut for one entry of the cross curves, at the least."""


class QuantityAgainstGeometry(Model):
    """One quantity of the tables over all their rows."""

    quantity: str
    outcome: Outcome
    """Exceeded where one entry is; not assessed where none is."""
    tolerance_percent: float | None = None
    """Of the table's value."""
    tolerance_m: float | None = None
    """The percentage counts only as long as it comes to no more than this."""
    assessed_count: int
    exceeded_count: int
    worst_draft_m: float | None = None
    """Of the entry nearest to its tolerance or furthest beyond it."""
    worst_trim_m: float | None = None
    worst_displacement_t: float | None = None
    worst_heel_deg: float | None = None
    worst_deviation_over_tolerance_ratio: float | None = None
    """Size of the deviation there over what is allowed there."""


class DeviationColumns(Model):
    """Geometry less table, one entry a row of the tables; null where the geometry has no such number."""

    trim_m: tuple[float, ...]
    draft_m: tuple[float, ...]
    displacement_t: Column
    lcb_m: Annotated[Column, X_DIFFERENCE]
    vcb_m: Column
    lcf_m: Annotated[Column, X_DIFFERENCE]
    moment_to_trim_tm_per_cm: Column
    km_transverse_m: Column
    km_longitudinal_m: Column


class KnDeviationColumns(Model):
    """KN of the geometry, trim free from even keel, less that of the table; one entry a displacement and heel."""

    displacement_t: tuple[float, ...]
    heel_deg: tuple[float, ...]
    kn_m: Column


class TablesAgainstGeometry(Model):
    """Whether the approved tables are those of the hull."""

    outcome: Outcome
    clause: str = CLAUSE
    source: str = SOURCE
    source_status: str = SOURCE_STATUS
    quantities: tuple[QuantityAgainstGeometry, ...]
    deviations: DeviationColumns
    kn_deviations: KnDeviationColumns | None = None
    """Where the tables have cross curves."""


def entries_count(tables: TablesHull | None) -> int:
    """Return how often a hull is cut for the comparison, at the least."""
    if tables is None:
        return 0
    curves = tables.cross_curves
    entries = 0 if curves is None else len(curves.displacement_t) * len(curves.heel_deg)
    return sum(len(one.draft_m) for one in tables.tables) + CUTS_PER_KN_COUNT * entries


def against_geometry(
    tables: TablesHull, solid: Solid, *, length_bp_m: float
) -> tuple[TablesAgainstGeometry, tuple[Finding, ...]]:
    """Hold tables against a hull, both in the ship's frame; a fault is placed below ``approved_tables``.

    Raises
    ------
    InputError
        ``length-mismatch``; as the tables.
    LimitError
        ``too-many-rows``.
    NotDeterminedError
        ``sinks``: a displacement of the cross curves beyond the hull.
    """
    try:
        if tables.length_bp_m != length_bp_m:
            raise InputError(
                f"the tables' length is {tables.length_bp_m:.6g} m, the hull's {length_bp_m:.6g} m",
                code="length-mismatch",
                field="length_bp_m",
                value=tables.length_bp_m,
                limit=length_bp_m,
            )
        count = entries_count(tables)
        if count > ENTRIES_LIMIT_COUNT * CUTS_PER_KN_COUNT:
            raise LimitError(
                f"{count} cuts are needed, at most {ENTRIES_LIMIT_COUNT * CUTS_PER_KN_COUNT}",
                code="too-many-rows",
                field="tables",
                value=count,
            )
        rows = compare_tables(tables=tables.hydrostatics(), solid=solid)
        levers = tables.righting_levers()
        try:
            kn = () if levers is None else compare_cross_curves(table=levers, solid=solid)
        except EngineError as error:
            raise error.at("cross_curves") from error
    except EngineError as error:
        raise error.at("approved_tables") from error
    quantities = [_quantity(name, rows) for name in TOLERANCES]
    if levers is not None:
        quantities.append(_of_kn(kn))
    made = TablesAgainstGeometry(
        outcome=_outcome([one.outcome for one in quantities]),
        quantities=tuple(quantities),
        deviations=_columns(rows),
        kn_deviations=_kn_columns(kn) if levers is not None else None,
    )
    beyond = sum(one.exceeded_count for one in quantities)
    words = f"{beyond} entries of the approved tables differ from the hull by more than {SOURCE} allows"
    return made, (Finding("tables-beyond-tolerance", words, count=beyond),) if beyond else ()


def _outcome(of: list[Outcome]) -> Outcome:
    return "exceeded" if "exceeded" in of else "within" if "within" in of else "not_assessed"


def _quantity(name: str, rows: tuple[ToleranceRow, ...]) -> QuantityAgainstGeometry:
    mine = tuple(row for row in rows if row.quantity == name)
    at = worst(mine)
    return QuantityAgainstGeometry(
        quantity=name,
        outcome=_outcome([row.outcome for row in mine]),
        tolerance_percent=TOLERANCES[name].percent,
        tolerance_m=TOLERANCES[name].length_m,
        assessed_count=sum(row.outcome != "not_assessed" for row in mine),
        exceeded_count=sum(row.outcome == "exceeded" for row in mine),
        worst_draft_m=at[0].draft_m if at else None,
        worst_trim_m=at[0].trim_m if at else None,
        worst_deviation_over_tolerance_ratio=_ratio(at[0].deviation, at[0].tolerance) if at else None,
    )


def _of_kn(rows: tuple[KnRow, ...]) -> QuantityAgainstGeometry:
    assessed = [row for row in rows if row.outcome != "not_assessed"]
    at = max(assessed, key=lambda row: abs(row.deviation)) if assessed else None
    return QuantityAgainstGeometry(
        quantity="kn_m",
        outcome=_outcome([row.outcome for row in rows]),
        tolerance_m=TOLERANCE_M,
        assessed_count=len(assessed),
        exceeded_count=sum(row.outcome == "exceeded" for row in rows),
        worst_displacement_t=at.displacement_t if at else None,
        worst_heel_deg=at.heel_deg if at else None,
        worst_deviation_over_tolerance_ratio=_ratio(at.deviation, at.tolerance) if at else None,
    )


def _ratio(deviation: float, tolerance: float) -> float | None:
    return abs(deviation) / tolerance if tolerance > 0 else None


def _columns(rows: tuple[ToleranceRow, ...]) -> DeviationColumns:
    by_name = {name: [row for row in rows if row.quantity == name] for name in TOLERANCES}
    places = by_name["displacement_t"]
    return DeviationColumns(
        trim_m=tuple(row.trim_m for row in places),
        draft_m=tuple(row.draft_m for row in places),
        **{name: _deviations(mine) for name, mine in by_name.items()},
    )


def _kn_columns(rows: tuple[KnRow, ...]) -> KnDeviationColumns:
    return KnDeviationColumns(
        displacement_t=tuple(row.displacement_t for row in rows),
        heel_deg=tuple(row.heel_deg for row in rows),
        kn_m=_deviations(rows),
    )


def _deviations(rows: tuple[KnRow, ...] | list[ToleranceRow]) -> Column:
    return column(np.array([np.nan if row.outcome == "not_assessed" else row.deviation for row in rows]))
