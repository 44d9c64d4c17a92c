"""Hydrostatics at planes by tables, as those of a hull are given. Layer: engine.flotation."""

from dataclasses import fields

import numpy as np

from engine.errors import NotDeterminedError
from engine.flotation.hydrostatics import Hydrostatics
from engine.flotation.tables import HydrostaticTables
from engine.geometry.plane import Planes


def hydrostatics_by_tables(
    *, tables: HydrostaticTables, planes: Planes, density_t_per_m3: float
) -> tuple[Hydrostatics, tuple[NotDeterminedError | None, ...]]:
    """Read the tables at planes.

    Parameters
    ----------
    tables : HydrostaticTables
        Of the ship.
    planes : Planes
        k of them.
    density_t_per_m3 : float
        Water. [t/m³]

    Returns
    -------
    Hydrostatics
        Columns of k; NaN where the tables have no such column.
    tuple of NotDeterminedError or None
        Why a plane is not in the tables: all of its row but where it lies is NaN.
    """
    length = tables.length_bp_m
    places = {
        "draft_m": planes.draft_m(length_bp_m=length),
        "trim_m": planes.trim_m(length_bp_m=length),
        "heel_deg": planes.heel_deg,
    }
    columns = {one.name: np.full(len(planes), np.nan) for one in fields(Hydrostatics)} | places
    missed: list[NotDeterminedError | None] = []
    for row in range(len(planes)):
        place = {name: float(values[row]) for name, values in places.items()}
        try:
            point = tables.at(**place, density_t_per_m3=density_t_per_m3)
        except NotDeterminedError as error:
            missed.append(error)
            continue
        missed.append(None)
        for one in fields(point):
            if one.name in columns:
                columns[one.name][row] = getattr(point, one.name)
    return Hydrostatics(**columns), tuple(missed)
