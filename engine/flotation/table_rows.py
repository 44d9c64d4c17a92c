"""Rows of an approved hydrostatic table, checked. Layer: engine.flotation."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from engine.checks import Floats, finite, positive, within
from engine.errors import InputError


@dataclass(frozen=True, eq=False)
class HydrostaticTable:
    """The upright ship at one trim; every column is (r,) float64.

    Attributes
    ----------
    trim_m : float
        By the stern +. [m]
    draft_m : (r,) float64
        At midlength on the centreline, moulded, increasing. [m]
    displacement_t : (r,) float64
        In water of the tables' density, increasing. [t]
    lcb_m, vcb_m, lcf_m, km_transverse_m, bm_longitudinal_m : (r,) float64
        In the ship's frame. [m]
    """

    trim_m: float
    draft_m: Floats
    displacement_t: Floats
    lcb_m: Floats
    vcb_m: Floats
    lcf_m: Floats
    km_transverse_m: Floats
    bm_longitudinal_m: Floats


def hydrostatic_table(
    *,
    length_bp_m: float,
    draft_m: ArrayLike,
    displacement_t: ArrayLike,
    lcb_m: ArrayLike,
    vcb_m: ArrayLike,
    lcf_m: ArrayLike,
    km_transverse_m: ArrayLike,
    km_longitudinal_m: ArrayLike | None = None,
    moment_to_trim_tm_per_cm: ArrayLike | None = None,
    trim_m: float = 0.0,
) -> HydrostaticTable:
    """Check the rows of one trim.

    Parameters
    ----------
    length_bp_m : float
        For the moment to trim. [m]
    draft_m, displacement_t, lcb_m, vcb_m, lcf_m, km_transverse_m : (r,) array_like
        Two rows or more. [m], [t]
    km_longitudinal_m, moment_to_trim_tm_per_cm : (r,) array_like, optional
        One of them: BM_L = KM_L − VCB, or BM_L = 100 L MTC / Δ. [m], [t·m/cm]

    Raises
    ------
    InputError
        ``columns-differ``, ``too-few-rows``, ``tables-not-monotone`` (draft, displacement), ``tables-bm``: a
        metacentre at or below the centre of buoyancy; ``tables-longitudinal``: neither or both of the last two.
    """
    length = positive(length_bp_m, field="length_bp_m", unit="m")
    given = {"draft_m": draft_m, "displacement_t": displacement_t, "lcb_m": lcb_m, "vcb_m": vcb_m, "lcf_m": lcf_m}
    given["km_transverse_m"] = km_transverse_m
    if (km_longitudinal_m is None) == (moment_to_trim_tm_per_cm is None):
        raise InputError(
            "longitudinal metacentre or moment to trim: one of them", code="tables-longitudinal", field="lcf_m"
        )
    last, values = (
        ("km_longitudinal_m", km_longitudinal_m)
        if moment_to_trim_tm_per_cm is None
        else ("moment_to_trim_tm_per_cm", moment_to_trim_tm_per_cm)
    )
    columns = {name: np.atleast_1d(finite(one, field=name)) for name, one in given.items()}
    columns[last] = np.atleast_1d(finite(values, field=last))  # type: ignore[arg-type] # one of the two is given
    rows = len(columns["draft_m"])
    for name, one in columns.items():
        if one.shape != (rows,):
            raise InputError(f"{one.size} rows, draft_m has {rows}", code="columns-differ", field=name)
    if rows < 2:
        raise InputError("two rows or more are needed", code="too-few-rows", field="draft_m", value=rows, limit=2)
    within(columns["displacement_t"], low=1e-3, high=1e8, field="displacement_t", unit="t")
    for name in ("draft_m", "displacement_t"):
        falls = np.flatnonzero(np.diff(columns[name]) <= 0)
        if falls.size:
            row = int(falls[0]) + 1
            raise InputError(
                f"row {row}: {columns[name][row]:.6g} is not above {columns[name][row - 1]:.6g}",
                code="tables-not-monotone",
                field=f"{name}/{row}",
                value=float(columns[name][row]),
                limit=float(columns[name][row - 1]),
            )
    end = columns.pop(last)
    along = end - columns["vcb_m"] if last == "km_longitudinal_m" else 100 * length * end / columns["displacement_t"]
    for name, radius in (("km_transverse_m", columns["km_transverse_m"] - columns["vcb_m"]), (last, along)):
        wrong = np.flatnonzero(radius <= 0)
        if wrong.size:
            raise InputError(
                f"row {int(wrong[0])}: the metacentre is not above the centre of buoyancy",
                code="tables-bm",
                field=f"{name}/{int(wrong[0])}",
            )
    trim = float(within(trim_m, low=-length, high=length, field="trim_m", unit="m"))
    return HydrostaticTable(trim_m=trim, bm_longitudinal_m=along, **columns)
