"""Hydrostatic tables against the hull's geometry, within the tolerances of MSC.1/Circ.1229. Layer: engine.flotation.

A deviation is geometry less table, its percentage of the table's value: the table is the approved one. Where the
circular gives a percentage and a length, the deviation must keep within both: the percentage counts only as long as it
comes to no more than the length.
"""

from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np

from engine.checks import Floats
from engine.deadline import checkpoint
from engine.flotation.hydrostatics import hydrostatics
from engine.flotation.tables import HydrostaticTables
from engine.geometry.cut import Solid
from engine.geometry.plane import Planes

CLAUSE = "MSC.1/Circ.1229, table of tolerances"
SOURCE = "MSC.1/Circ.1229"
SOURCE_STATUS = "published"


class Tolerance(NamedTuple):
    """A tolerance in percent and, where there is one, the length it may not exceed. [%], [m]"""

    percent: float
    length_m: float | None
    unit: Literal["t", "m", "t·m/cm"]

    def of(self, value: float) -> float:
        """Return the deviation allowed at a value, in the value's unit."""
        share = abs(value) * self.percent / 100
        return share if self.length_m is None else min(share, self.length_m)


TOLERANCES = {
    "displacement_t": Tolerance(2.0, None, "t"),
    "lcb_m": Tolerance(1.0, 0.5, "m"),
    "vcb_m": Tolerance(1.0, 0.05, "m"),
    "lcf_m": Tolerance(1.0, 0.5, "m"),
    "moment_to_trim_tm_per_cm": Tolerance(2.0, None, "t·m/cm"),
    "km_transverse_m": Tolerance(1.0, 0.05, "m"),
    "km_longitudinal_m": Tolerance(1.0, 0.5, "m"),
}
"""LCB and LCF from the aft perpendicular, heights from the moulded base line."""


@dataclass(frozen=True)
class ToleranceRow:
    """One quantity at one row of one table; numbers in ``unit``."""

    quantity: str
    draft_m: float
    trim_m: float
    table: float
    geometry: float
    deviation: float
    deviation_percent: float
    tolerance: float
    unit: str
    outcome: Literal["within", "exceeded", "not_assessed"]
    clause: str = CLAUSE
    source: str = SOURCE
    source_status: str = SOURCE_STATUS


def compare_tables(*, tables: HydrostaticTables, solid: Solid) -> tuple[ToleranceRow, ...]:
    """Hold every row of the tables against the geometry.

    Parameters
    ----------
    tables : HydrostaticTables
        With their length and density.
    solid : Solid
        The hull.

    Returns
    -------
    tuple of ToleranceRow
        By trim, draft and quantity. ``not_assessed`` where the geometry has no such number: the draft is above or below
        the hull.

    Notes
    -----
    The limit itself is within. TCB, cross curves, compartment volumes, centres of gravity, free surfaces and levels
    have tolerances of their own in the circular and are not in these tables.
    """
    found: list[ToleranceRow] = []
    length, density = tables.length_bp_m, tables.density_t_per_m3
    for one in tables.tables:
        checkpoint()
        planes = Planes.from_waterplanes(draft_m=one.draft_m, trim_m=one.trim_m, length_bp_m=length)
        shown = hydrostatics(solid=solid, planes=planes, density_t_per_m3=density, length_bp_m=length)
        columns: dict[str, Floats] = {
            "displacement_t": one.displacement_t,
            "lcb_m": one.lcb_m,
            "vcb_m": one.vcb_m,
            "lcf_m": one.lcf_m,
            "moment_to_trim_tm_per_cm": one.displacement_t * one.bm_longitudinal_m / (100 * length),
            "km_transverse_m": one.km_transverse_m,
            "km_longitudinal_m": one.vcb_m + one.bm_longitudinal_m,
        }
        for i, draft in enumerate(one.draft_m.tolist()):
            found += [
                _row(name, draft, one.trim_m, float(column[i]), float(getattr(shown, name)[i]))
                for name, column in columns.items()
            ]
    return tuple(found)


def worst(rows: tuple[ToleranceRow, ...]) -> tuple[ToleranceRow, ...]:
    """Return for each quantity the assessed row nearest to its tolerance, or furthest beyond it."""
    assessed = [row for row in rows if row.outcome != "not_assessed"]
    return tuple(
        max(
            (row for row in assessed if row.quantity == name),
            key=lambda row: abs(row.deviation) / row.tolerance if row.tolerance > 0 else np.inf,
        )
        for name in TOLERANCES
        if any(row.quantity == name for row in assessed)
    )


def _row(quantity: str, draft: float, trim: float, table: float, geometry: float) -> ToleranceRow:
    tolerance = TOLERANCES[quantity]
    allowed, off = tolerance.of(table), geometry - table
    outcome: Literal["within", "exceeded", "not_assessed"] = "within" if abs(off) <= allowed else "exceeded"
    return ToleranceRow(
        quantity=quantity,
        draft_m=draft,
        trim_m=trim,
        table=table,
        geometry=geometry,
        deviation=off,
        deviation_percent=100 * off / table if table else float("nan"),
        tolerance=allowed,
        unit=tolerance.unit,
        outcome="not_assessed" if np.isnan(geometry) or (quantity == "displacement_t" and geometry == 0) else outcome,
    )
