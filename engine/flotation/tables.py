r"""Approved hydrostatic tables where no hull geometry exists. Layer: engine.flotation.

A table holds the upright ship at one trim, row by row over drafts. Between rows the columns are interpolated by
monotone cubics (PCHIP, Fritsch and Carlson): they pass through every row and never overshoot it, so that displacement
stays increasing, and follow the curvature that straight lines would cut off. Nothing is extrapolated.

With tables of several trims every column is interpolated linearly between the two trims about the ship's. A single
table of trim t₀ is carried to the ship's trim t, with θ = t/L and θ₀ = t₀/L, by

.. math::
    T_e &= T + (t - t_0)\,(\tfrac12 - \mathrm{LCF}/L) \\
    \Delta &= \Delta(T_e) + \Delta_2, \qquad \Delta_2 = 50\,(t - t_0)^2\,\frac{d\,\mathrm{MTC}}{dT} / L \\
    \Delta\,\mathrm{LCB} &= \Delta(T_e)\,[\mathrm{LCB}(T_e) - BM_L(\theta - \theta_0)] + \Delta_2\,\mathrm{LCF} \\
    \Delta\,\mathrm{VCB} &= \Delta(T_e)\,[\mathrm{VCB}(T_e) + \tfrac12 BM_L(\theta^2 - \theta_0^2)] + \Delta_2\,T_e

the equivalent draft at the centre of flotation (the first trim correction: it is not made twice), the second trim
correction Δ₂, which lies at the water's height about the centre of flotation, and the shift of the centre of buoyancy
by the moment to trim. LCF, KM and BM are those at T_e.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from engine.checks import finite, positive
from engine.deadline import checkpoint
from engine.errors import InputError, NotDeterminedError
from engine.findings import Finding
from engine.flotation.table_rows import HydrostaticTable

LARGEST_HEEL_DEG = 3.0
"""Heel up to which KM of the upright ship is used (our choice)."""

LARGEST_TRIM_OFF_PERCENT = 5.0
"""Trim off that of a single table, over the length, up to which it is carried (our choice; the trade asks for 1 %)."""

TRIM_COVERED_M = 0.01
"""Trim off that of a single table up to which nothing is said: drafts are read to the centimetre (our choice). [m]"""

_COLUMNS = ("displacement_t", "lcb_m", "vcb_m", "lcf_m", "km_transverse_m", "bm_longitudinal_m")


@dataclass(frozen=True, eq=False)
class TablePoint:
    """What the tables say at one floating position; lengths in the ship's frame.

    Attributes
    ----------
    equivalent_draft_m : float
        Draft the columns were read at. [m]
    displacement_t, volume_m3 : float
        In the water stated. [t], [m³]
    second_trim_correction_t : float
        Part of the displacement. [t]
    lcb_m, tcb_m, vcb_m, lcf_m : float
        [m]
    km_transverse_m, bm_transverse_m : float
        Of the upright ship. [m]
    km_longitudinal_m, bm_longitudinal_m : float
        [m]
    moment_to_trim_tm_per_cm : float
        With BM for GM lengthwise, in the water stated. [t·m/cm]
    trim_off_tables_percent : float
        Size of the trim off that of a single table, over the length; 0 with several trims. [%]
    """

    equivalent_draft_m: float
    displacement_t: float
    volume_m3: float
    second_trim_correction_t: float
    lcb_m: float
    tcb_m: float
    vcb_m: float
    lcf_m: float
    km_transverse_m: float
    bm_transverse_m: float
    km_longitudinal_m: float
    bm_longitudinal_m: float
    moment_to_trim_tm_per_cm: float
    trim_off_tables_percent: float


class HydrostaticTables:
    """Tables of one or more trims.

    Parameters
    ----------
    length_bp_m : float
        [m]
    density_t_per_m3 : float
        Of the water the displacements are for. [t/m³]
    tables : sequence of HydrostaticTable
        Each trim once.

    Raises
    ------
    InputError
        ``tables-trims-repeated``; ``too-few-rows``: no table.
    """

    def __init__(self, *, length_bp_m: float, density_t_per_m3: float, tables: Sequence[HydrostaticTable]) -> None:
        from scipy.interpolate import PchipInterpolator

        self.length_bp_m = positive(length_bp_m, field="length_bp_m", unit="m")
        self.density_t_per_m3 = positive(density_t_per_m3, field="density_t_per_m3", unit="t/m3")
        self.tables = tuple(sorted(tables, key=lambda one: one.trim_m))
        if not self.tables:
            raise InputError("a table is needed", code="too-few-rows", field="tables", value=0, limit=1)
        self.trims_m = np.array([one.trim_m for one in self.tables])
        if (np.diff(self.trims_m) == 0).any():
            raise InputError("a trim is given twice", code="tables-trims-repeated", field="tables")
        self._curves = [
            {name: PchipInterpolator(one.draft_m, getattr(one, name), extrapolate=False) for name in _COLUMNS}
            for one in self.tables
        ]
        for one, curves in zip(self.tables, self._curves, strict=True):
            trimming = one.displacement_t * one.bm_longitudinal_m / (100 * self.length_bp_m)
            curves["trimming_slope"] = PchipInterpolator(one.draft_m, trimming, extrapolate=False).derivative()

    def at(self, *, draft_m: float, trim_m: float = 0.0, heel_deg: float = 0.0, density_t_per_m3: float) -> TablePoint:
        """Read the tables at a floating position.

        Parameters
        ----------
        draft_m, trim_m, heel_deg : float
            At midlength on the centreline; by the stern +; to starboard +, within ±3. [m], [m], [deg]
        density_t_per_m3 : float
            Of the water she floats in. [t/m³]

        Raises
        ------
        NotDeterminedError
            ``beyond-tables``: draft, equivalent draft or trim outside the rows. ``heel-needs-hull``.

        Notes
        -----
        By heel φ the centre of buoyancy of the upright ship moves to −BM tan φ athwart and rises by ½ BM tan² φ, the
        displacement being that of the draft on the centreline: exact while the sides are parallel and no edge is
        immersed.
        """
        density = positive(density_t_per_m3, field="density_t_per_m3", unit="t/m3")
        draft, trim = float(finite(draft_m, field="draft_m")), float(finite(trim_m, field="trim_m"))
        if not abs(float(finite(heel_deg, field="heel_deg"))) <= LARGEST_HEEL_DEG:
            raise NotDeterminedError(
                f"the tables hold the upright ship, heel is {heel_deg:.6g} deg",
                code="heel-needs-hull",
                field="heel_deg",
                value=heel_deg,
                limit=LARGEST_HEEL_DEG,
            )
        found, equivalent, second = self._upright(draft, trim)
        share = density / self.density_t_per_m3
        slope = np.tan(np.radians(heel_deg))
        across, along = found["km_transverse_m"] - found["vcb_m"], found["bm_longitudinal_m"]
        start = self.tables[0].trim_m if len(self.tables) == 1 else trim
        turn, start = trim / self.length_bp_m, start / self.length_bp_m
        mass = (found["displacement_t"] + second) * share
        main = found["displacement_t"] / (found["displacement_t"] + second)
        rise = 0.5 * along * (turn**2 - start**2)
        return TablePoint(
            equivalent_draft_m=equivalent,
            displacement_t=mass,
            volume_m3=mass / density,
            second_trim_correction_t=second * share,
            lcb_m=main * (found["lcb_m"] - along * (turn - start)) + (1 - main) * found["lcf_m"],
            tcb_m=float(-across * slope) + 0.0,
            vcb_m=float(main * (found["vcb_m"] + rise) + (1 - main) * equivalent + 0.5 * across * slope**2),
            lcf_m=found["lcf_m"],
            km_transverse_m=found["km_transverse_m"],
            bm_transverse_m=across,
            km_longitudinal_m=found["vcb_m"] + along,
            bm_longitudinal_m=along,
            moment_to_trim_tm_per_cm=mass * along / (100 * self.length_bp_m),
            trim_off_tables_percent=100 * abs(turn - start),
        )

    def off_trim(self, trim_m: float) -> Iterator[Finding]:
        """Yield a finding where tables of one trim alone were entered at another. [m]"""
        if len(self.tables) > 1:
            return
        start = self.tables[0].trim_m
        if abs(trim_m - start) > TRIM_COVERED_M:
            yield Finding(
                "trim-off-tables",
                f"she is trimmed by {trim_m:.6g} m, by the stern +, and the tables are of {start:.6g} m alone: they "
                "were entered at the draft at the centre of flotation, and KM is that of the tables' own trim",
            )

    def draft_range_m(self, *, trim_m: float) -> tuple[float, float]:
        """Return the least and greatest draft at midlength that the rows hold at a trim. [m]"""
        if len(self.tables) == 1:
            one, off = self.tables[0], float(finite(trim_m, field="trim_m")) - self.tables[0].trim_m
            ends = one.draft_m[[0, -1]] - off * (0.5 - one.lcf_m[[0, -1]] / self.length_bp_m)
            tiny = 1e-12 * max(1.0, abs(float(ends[1])))
            return float(ends[0]) + tiny, float(ends[1]) - tiny
        return max(float(one.draft_m[0]) for one in self.tables), min(float(one.draft_m[-1]) for one in self.tables)

    def _upright(self, draft: float, trim: float) -> tuple[dict[str, float], float, float]:
        """Return the columns, the draft they are read at, and the second trim correction at the tables' density."""
        if len(self.tables) == 1:
            start, most = self.tables[0].trim_m, LARGEST_TRIM_OFF_PERCENT * self.length_bp_m / 100
            off = trim - start
            if abs(off) > most:
                raise _beyond("trim_m", trim, start - most, start + most)
            equivalent = self._equivalent_draft(draft, off)
            second = 50.0 * off**2 * self._read(0, "trimming_slope", equivalent) / self.length_bp_m
            return {name: self._read(0, name, equivalent) for name in _COLUMNS}, equivalent, second
        low, high = float(self.trims_m[0]), float(self.trims_m[-1])
        if not low <= trim <= high:
            raise _beyond("trim_m", trim, low, high)
        after = min(max(int(np.searchsorted(self.trims_m, trim)), 1), len(self.trims_m) - 1)
        share = float((trim - self.trims_m[after - 1]) / (self.trims_m[after] - self.trims_m[after - 1]))
        ends = [(after - 1, 1.0 - share), (after, share)]
        columns = {name: sum(part * self._read(i, name, draft) for i, part in ends if part > 0) for name in _COLUMNS}
        return columns, draft, 0.0

    def _equivalent_draft(self, draft: float, off: float) -> float:
        equivalent, (low, high) = draft, self.tables[0].draft_m[[0, -1]].tolist()
        for _ in range(100):  # LCF hardly moves with draft: a strong contraction
            checkpoint()
            previous, middle = equivalent, self._read(0, "lcf_m", min(max(equivalent, low), high))  # on the way alone
            equivalent = draft + off * (0.5 - middle / self.length_bp_m)
            if abs(equivalent - previous) <= 1e-12 * max(1.0, abs(equivalent)):
                return equivalent
        raise NotDeterminedError(
            "the draft at the centre of flotation does not settle", code="equivalent-draft", field="trim_m"
        )

    def _read(self, i: int, name: str, draft: float) -> float:
        rows = self.tables[i].draft_m
        if not rows[0] <= draft <= rows[-1]:
            raise _beyond("draft_m", draft, float(rows[0]), float(rows[-1]))
        return float(self._curves[i][name](draft))


def _beyond(field: str, value: float, low: float, high: float) -> NotDeterminedError:
    return NotDeterminedError(
        f"the tables hold {low:.6g} to {high:.6g} m, {value:.6g} m is asked for",
        code="beyond-tables",
        field=field,
        value=value,
        limit=low if value < low else high,
    )
