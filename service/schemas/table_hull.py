"""A hull known by its approved hydrostatic tables alone. Layer: service.schemas."""

from typing import Annotated, Literal

import numpy as np
from pydantic import Field

from engine.errors import EngineError, InputError
from engine.findings import Finding
from engine.flotation.cross_curve_table import CrossCurveTable
from engine.flotation.table_rows import HydrostaticTable, hydrostatic_table
from engine.flotation.tables import HydrostaticTables
from engine.geometry import Solid
from engine.stability.table_ship import TablesOfShip
from service.edge.axes import X
from service.edge.model import Model
from service.schemas.common import LengthBP
from service.schemas.hull import HullModel, solid_of

Rows = Annotated[tuple[float, ...], Field(min_length=2, max_length=1000)]


class TableOfTrim(Model):
    """Hydrostatics of the upright ship at one trim, one entry a draft; equal lengths."""

    trim_m: Annotated[float, Field(ge=-100, le=100)] = 0.0
    draft_m: Rows
    """At midlength on the centreline, moulded, increasing."""
    displacement_t: Rows | None = None
    """In water of the tables' density, increasing; this or ``volume_m3``."""
    volume_m3: Rows | None = None
    lcb_m: Annotated[Rows, X]
    vcb_m: Rows
    lcf_m: Annotated[Rows, X]
    km_transverse_m: Rows
    km_longitudinal_m: Rows | None = None
    """This or ``moment_to_trim_tm_per_cm``."""
    moment_to_trim_tm_per_cm: Rows | None = None

    def table(self, *, length_bp_m: float, density_t_per_m3: float) -> HydrostaticTable:
        """Return it as the engine has it."""
        if (self.displacement_t is None) == (self.volume_m3 is None):
            raise InputError("displacement or volume: one of them", code="tables-displacement", field="displacement_t")
        if self.volume_m3 is None:
            displacement = np.array(self.displacement_t, dtype=np.float64)
        else:
            displacement = np.array(self.volume_m3) * density_t_per_m3
        return hydrostatic_table(
            length_bp_m=length_bp_m,
            trim_m=self.trim_m,
            draft_m=self.draft_m,
            displacement_t=displacement,
            lcb_m=self.lcb_m,
            vcb_m=self.vcb_m,
            lcf_m=self.lcf_m,
            km_transverse_m=self.km_transverse_m,
            km_longitudinal_m=self.km_longitudinal_m,
            moment_to_trim_tm_per_cm=self.moment_to_trim_tm_per_cm,
        )


class CrossCurvesOf(Model):
    """KN about the keel's middle line: one row a displacement, one entry a heel."""

    displacement_t: Rows
    """Increasing, in water of the tables' density."""
    heel_deg: Annotated[tuple[float, ...], Field(min_length=1, max_length=361)]
    """To starboard, increasing."""
    kn_m: Annotated[tuple[tuple[float, ...], ...], Field(min_length=2, max_length=1000)]

    def table(self, *, density_t_per_m3: float) -> CrossCurveTable:
        """Return it as the engine has it."""
        for i, row in enumerate(self.kn_m):
            if len(row) != len(self.heel_deg):
                raise InputError(
                    f"{len(row)} entries, there are {len(self.heel_deg)} heels",
                    code="columns-differ",
                    field=f"kn_m/{i}",
                    value=len(row),
                    limit=len(self.heel_deg),
                )
        return CrossCurveTable(
            density_t_per_m3=density_t_per_m3,
            displacement_t=self.displacement_t,
            heel_deg=self.heel_deg,
            kn_m=self.kn_m,
        )


class TablesHull(Model):
    """Approved hydrostatic tables where no geometry exists."""

    kind: Literal["tables"]
    length_bp_m: LengthBP
    density_t_per_m3: Annotated[float, Field(gt=0.1, le=20)] = 1.025
    """Of the water the displacements are for."""
    tables: Annotated[tuple[TableOfTrim, ...], Field(min_length=1, max_length=50)]
    """One a trim."""
    cross_curves: CrossCurvesOf | None = None

    def righting_levers(self) -> CrossCurveTable | None:
        """Return the cross curves as the engine has them, a fault placed below this hull."""
        if self.cross_curves is None:
            return None
        try:
            return self.cross_curves.table(density_t_per_m3=self.density_t_per_m3)
        except EngineError as error:
            raise error.at("cross_curves") from error

    def whole(self) -> TablesOfShip:
        """Return hydrostatics and cross curves together, a fault placed below ``hull``."""
        try:
            return TablesOfShip(self.hydrostatics(), self.righting_levers())
        except EngineError as error:
            raise error.at("hull") from error

    def hydrostatics(self) -> HydrostaticTables:
        """Return the tables as the engine has them, a fault placed below this hull."""
        made = []
        for i, one in enumerate(self.tables):
            try:
                made.append(one.table(length_bp_m=self.length_bp_m, density_t_per_m3=self.density_t_per_m3))
            except EngineError as error:
                raise error.at(f"tables/{i}") from error
        return HydrostaticTables(
            length_bp_m=self.length_bp_m, density_t_per_m3=self.density_t_per_m3, tables=tuple(made)
        )


HullOrTables = Annotated[HullModel | TablesHull, Field(discriminator="kind")]


def solid_or_tables(hull: HullModel | TablesHull) -> tuple[Solid | HydrostaticTables, tuple[Finding, ...]]:
    """Return a hull's solid, or the tables that stand for it, and what was noticed; a fault placed below ``hull``."""
    if not isinstance(hull, TablesHull):
        return solid_of(hull)
    try:
        return hull.hydrostatics(), ()
    except EngineError as error:
        raise error.at("hull") from error
