r"""A tank known only by its sounding table. Layer: engine.liquids.

Between rows every column is a monotone cubic (PCHIP) in the sounding. The table is that of the upright tank, so the
liquid is run as in a wall-sided tank of the table's free-surface moment i, transversely only:

.. math:: \Delta y = -\frac{i}{V}\tan\varphi,\qquad \Delta z = \frac{i}{2V}\tan^2\varphi
"""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from engine.checks import Floats, within
from engine.deadline import checkpoint
from engine.errors import InputError
from engine.liquids.columns import equal_columns, refuse_unless_rising

COLUMNS = ("sounding_m", "volume_m3", "x_m", "y_m", "z_m", "free_surface_moment_m4")
_HALVINGS = 60


@dataclass(frozen=True, eq=False)
class SoundingTable:
    """Columns of equal length; volumes are those of the liquid, permeability allowed for.

    Attributes
    ----------
    sounding_m, volume_m3 : (n,) float64
        Both rising from row to row, not below 0, n >= 2. [m, m³]
    x_m, y_m, z_m : (n,) float64
        Centre of the liquid. [m]
    free_surface_moment_m4 : (n,) float64
        Transverse second moment of the surface about its own axis, not below 0. [m⁴]
    """

    sounding_m: Floats
    volume_m3: Floats
    x_m: Floats
    y_m: Floats
    z_m: Floats
    free_surface_moment_m4: Floats

    @classmethod
    def from_columns(
        cls,
        *,
        sounding_m: ArrayLike,
        volume_m3: ArrayLike,
        x_m: ArrayLike,
        y_m: ArrayLike,
        z_m: ArrayLike,
        free_surface_moment_m4: ArrayLike,
    ) -> "SoundingTable":
        """Check the columns and build.

        Raises
        ------
        InputError
            "too-few-rows", "columns-differ", "wrong-shape", "not-increasing", "out-of-range", "not-finite".
        """
        columns = equal_columns(
            at_least=2,
            sounding_m=sounding_m,
            volume_m3=volume_m3,
            x_m=x_m,
            y_m=y_m,
            z_m=z_m,
            free_surface_moment_m4=free_surface_moment_m4,
        )
        refuse_unless_rising(columns[0], field="sounding_m")
        refuse_unless_rising(columns[1], field="volume_m3")
        for name, column in zip(COLUMNS, columns, strict=True):
            if name not in ("x_m", "y_m", "z_m"):
                within(column, low=0.0, high=np.inf, field=name)
        return cls(*columns)

    @property
    def capacity_m3(self) -> float:
        """Volume of the last row. [m³]"""
        return float(self.volume_m3[-1])

    @cached_property
    def _curves(self) -> Any:
        from scipy.interpolate import PchipInterpolator

        rows = [getattr(self, name) for name in COLUMNS[1:]]
        return PchipInterpolator(self.sounding_m, np.stack(rows, axis=1))

    @cached_property
    def _slopes(self) -> Any:
        return self._curves.derivative()

    def volume_at(self, sounding_m: ArrayLike) -> Floats:
        """Return (k,) volumes at soundings. [m³]

        Raises
        ------
        InputError
            "out-of-range": a sounding the table does not reach.
        """
        low, high = float(self.sounding_m[0]), float(self.sounding_m[-1])
        sounding = np.atleast_1d(within(sounding_m, low=low, high=high, field="sounding_m", unit="m"))
        return np.asarray(self._curves(sounding)[:, 0])

    def sounding_at(self, volume_m3: Floats) -> Floats:
        """Return (k,) soundings at volumes; 0 m³ gives the first row. [m]

        Raises
        ------
        InputError
            "volume-below-table": above 0 but less than the first row.
        """
        least = float(self.volume_m3[0])
        below = (volume_m3 > 0) & (volume_m3 < least)
        if below.any():
            raise InputError(
                f"{volume_m3[below][0]:.6g} m³ is less than the table's first row, {least:.6g} m³",
                code="volume-below-table",
                field="volume_m3",
                value=float(volume_m3[below][0]),
                limit=least,
            )
        row = np.clip(np.searchsorted(self.volume_m3, volume_m3, side="right") - 1, 0, len(self.volume_m3) - 2)
        low, high = self.sounding_m[row], self.sounding_m[row + 1]
        for _ in range(_HALVINGS):  # each halving a bit of the answer: a fixed count, not a convergence
            checkpoint()
            middle = 0.5 * (low + high)
            short = self._curves(middle)[:, 0] < volume_m3
            low, high = np.where(short, middle, low), np.where(short, high, middle)
        nearer = np.abs(self._curves(low)[:, 0] - volume_m3) < np.abs(self._curves(high)[:, 0] - volume_m3)
        return np.where(nearer, low, high)

    def upright(self, volume_m3: Floats) -> tuple[Floats, Floats, Floats]:
        """Return the centre (k, 3), surface moment (k,) and area dV/ds (k,) at volumes in the upright tank."""
        sounding = self.sounding_at(volume_m3)
        values = self._curves(sounding)
        return values[:, 1:4], values[:, 4], np.asarray(self._slopes(sounding)[:, 0])
