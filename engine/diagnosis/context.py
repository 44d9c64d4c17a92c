"""The test a diagnosis is written about, its slopes with and without a cause, and how sizes are worded.

Layer: engine.diagnosis.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from engine.checks import Floats
from engine.diagnosis.weight_patterns import Placement
from engine.errors import NotDeterminedError
from engine.incline.instruments import Instrument
from engine.incline.regression import Regression, regress


@dataclass(frozen=True, eq=False)
class Context:
    """The test a diagnosis is written about: (n,), (p, n) and (p,) arrays as in ``incline.diagnose``."""

    moment_tm: Floats
    x: Floats
    table: Floats
    sigma: Floats
    instruments: tuple[Instrument, ...]
    placements: tuple[Placement, ...]
    modelled: bool
    displacement_t: float | None
    stiffening_m: float
    regression: Regression | None = None

    @cached_property
    def as_read(self) -> tuple[float | None, float | None]:
        """Slope and GM of the readings as they are, None where GM would not be positive. [1/(t·m), m]"""
        return self._fitted(self.table) if self.regression is None else self._of(self.regression)

    def without(self, shift: Floats) -> tuple[float | None, float | None]:
        """Return slope and GM with ``shift`` taken off the tangents: those as read, in the ratio of the two fits."""
        slope, gm = self.as_read
        if slope is None:
            return self._fitted(self.table - shift)
        x = self._centred(np.broadcast_to(self.x, self.table.shape))
        before, after = (
            float(np.sum(x * self._centred(self.table))),
            float(np.sum(x * self._centred(self.table - shift))),
        )
        if after <= 0 or before <= 0:
            return None, None
        return slope * after / before, None if gm is None else gm * before / after

    def _fitted(self, table: Floats) -> tuple[float | None, float | None]:
        try:
            fit = regress(
                moment_tm=self.moment_tm,
                tangents=list(table),
                displacement_t=self.displacement_t or 1.0,
                stiffening_m=self.stiffening_m if self.displacement_t else 0.0,
            )
        except NotDeterminedError:
            return None, None
        return self._of(fit)

    def _of(self, fit: Regression) -> tuple[float | None, float | None]:
        return fit.slope_per_tm, fit.gm_fluid_m if self.displacement_t else None

    def _centred(self, values: Floats) -> Floats:
        known = np.isfinite(self.table)
        kept = np.where(known, values, 0.0)
        return np.where(known, kept - kept.sum(axis=1, keepdims=True) / known.sum(axis=1, keepdims=True), 0.0)

    def name(self, i: int) -> str:
        """Return the name of instrument ``i``."""
        return self.instruments[i].id if i < len(self.instruments) else str(i)

    def kind(self, i: int) -> str:
        """Return of which kind instrument ``i`` is, "" where that is not known."""
        return type(self.instruments[i]).__name__ if 0 <= i < len(self.instruments) else ""

    def gm_moved_ratio(self, shift: Floats, allowed_for: Floats) -> float:
        """Return by how many standard uncertainties of GM ``shift`` moves it, ``allowed_for`` being all that is known.

        That uncertainty is of the slope: from the scatter of the readings' means about the line with all allowed for,
        or from the stated uncertainty of a reading where that is more.
        """
        known = np.isfinite(self.table)
        x = self._centred(np.broadcast_to(self.x, self.table.shape))
        read = self._centred(np.where(known, self.table - allowed_for, 0.0))
        spread = float(np.sum(x * x))
        slope = float(np.sum(x * read)) / spread
        count = known.sum(axis=0)
        mean = (read - slope * x).sum(axis=0) / np.maximum(count, 1)
        freedom = max(int((count > 0).sum()) - 3, 1)  # zero, slope and the shift
        scatter = float(np.sum(count * mean**2)) / freedom
        stated = float(np.sum(self.sigma[:, None] ** 2 * x * x)) / spread
        moved = float(np.sum(x * self._centred(shift))) / spread
        return abs(moved) / float(np.sqrt(max(scatter, stated) / spread))

    def tangent_per_tm(self, shift: Floats | float = 0.0) -> float:
        """Return the slope of the tangents less ``shift`` on the moment, all instruments; never 0. [1/(t·m)]"""
        m = self._centred(np.broadcast_to(self.moment_tm, self.table.shape))
        slope = float(np.sum(m * np.nan_to_num(self.table - shift)) / np.sum(m * m))
        return slope if abs(slope) > 1e-15 else 1e-15


def unit_of(instrument: Instrument) -> str:
    """Return the unit of its readings: m or deg."""
    return "deg" if instrument.base_m is None else "m"


def scale_of(instrument: Instrument) -> float:
    """Return what a reading changes by for a unit of tangent: m, or deg near upright."""
    return float(np.degrees(1.0)) if instrument.base_m is None else instrument.base_m


def slope_ratios(x: Floats, table: Floats) -> Floats:
    """Return (p, p) each instrument's slope over every other's; NaN on the diagonal and where there is none."""
    known = np.isfinite(table)
    across = np.where(known, x, np.nan)
    across = np.where(known, across - np.nanmean(across, axis=1, keepdims=True), 0.0)
    slope = np.sum(across * np.nan_to_num(table), axis=1) / np.maximum(np.sum(across**2, axis=1), 1e-300)
    other = np.where(slope == 0, np.nan, slope)
    found = slope[:, None] / other[None, :]
    np.fill_diagonal(found, np.nan)
    return np.asarray(found)


def median_ratio(ratios: Floats) -> float:
    """Return the median size of an instrument's slope over the others', 1 where it has none to compare with.

    Signs are left out: one turned round is a fault of its own.
    """
    kept = np.abs(ratios[np.isfinite(ratios)])
    return float(np.median(kept)) if len(kept) else 1.0


def criterion(gain: float, limit: float) -> str:
    """Return in words by how much a fault fits better than none, and what chance alone gives."""
    return f"fits {gain:.3g} better than no fault (twice the log likelihood); up to {limit:.3g} would be chance"


def to_side(value: float, unit: str, digits: str = ".4g") -> str:
    """Return a signed amount, to starboard +, as a size and a side."""
    return f"{abs(value):{digits}} {unit} to {'starboard' if value > 0 else 'port'}"
