"""Approved cross curves where no hull geometry exists. Layer: engine.flotation.

KN is the arm of buoyancy about the keel's middle line, as in ``cross_curves``, so GZ = KN − KG sin φ + TCG cos φ. Over
displacement each heel is interpolated by monotone cubics (PCHIP), as ``tables`` are; the heels are those of the table.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from engine.checks import Floats, finite, positive, within
from engine.errors import InputError, NotDeterminedError
from engine.flotation.cross_curves import cross_curves
from engine.flotation.table_check import CLAUSE, SOURCE, SOURCE_STATUS
from engine.geometry.cut import Solid

TOLERANCE_M = 0.05
"""MSC.1/Circ.1229: cross curves of stability, 5 cm."""


@dataclass(frozen=True)
class KnRow:
    """KN of the table and of the geometry at one displacement and heel. [t, deg, m]"""

    displacement_t: float
    heel_deg: float
    table: float
    geometry: float
    deviation: float
    tolerance: float
    outcome: Literal["within", "exceeded", "not_assessed"]
    unit: str = "m"
    clause: str = CLAUSE
    source: str = SOURCE
    source_status: str = SOURCE_STATUS


class CrossCurveTable:
    """KN over displacements and heels.

    Parameters
    ----------
    density_t_per_m3 : float
        Of the water the displacements are for. [t/m³]
    displacement_t : (d,) array_like
        Two or more, increasing. [t]
    heel_deg : (h,) array_like
        To starboard +, increasing, within ±180. [deg]
    kn_m : (d, h) array_like
        One row a displacement. [m]

    Raises
    ------
    InputError
        ``too-few-rows``, ``tables-not-monotone``, ``wrong-shape``, ``not-finite``, ``out-of-range``.
    """

    def __init__(
        self, *, density_t_per_m3: float, displacement_t: ArrayLike, heel_deg: ArrayLike, kn_m: ArrayLike
    ) -> None:
        from scipy.interpolate import PchipInterpolator

        self.density_t_per_m3 = positive(density_t_per_m3, field="density_t_per_m3", unit="t/m3")
        self.displacement_t = np.atleast_1d(
            within(displacement_t, low=1e-3, high=1e8, field="displacement_t", unit="t")
        )
        self.heel_deg = np.atleast_1d(within(heel_deg, low=-180.0, high=180.0, field="heel_deg", unit="deg"))
        self.kn_m = finite(kn_m, field="kn_m")
        if self.displacement_t.size < 2:
            raise InputError(
                "two displacements or more are needed", code="too-few-rows", field="displacement_t", limit=2
            )
        for name in ("displacement_t", "heel_deg"):
            falls = np.flatnonzero(np.diff(getattr(self, name)) <= 0)
            if falls.size:
                raise InputError("must increase", code="tables-not-monotone", field=f"{name}/{int(falls[0]) + 1}")
        if self.kn_m.shape != (self.displacement_t.size, self.heel_deg.size):
            raise InputError(
                f"must have {self.displacement_t.size} rows of {self.heel_deg.size}", code="wrong-shape", field="kn_m"
            )
        self._curve = PchipInterpolator(self.displacement_t, self.kn_m, axis=0, extrapolate=False)

    def kn(self, *, displacement_t: float, density_t_per_m3: float) -> Floats:
        """Return (h,) KN at the table's heels; the volume displaced counts, not the mass. [m]

        Raises
        ------
        NotDeterminedError
            ``beyond-tables``.
        """
        density = positive(density_t_per_m3, field="density_t_per_m3", unit="t/m3")
        mass = positive(displacement_t, field="displacement_t", unit="t") * (self.density_t_per_m3 / density)
        low, high = float(self.displacement_t[0]), float(self.displacement_t[-1])
        if not low <= mass <= high:
            raise NotDeterminedError(
                f"the cross curves hold {low:.6g} to {high:.6g} t, {mass:.6g} t is asked for",
                code="beyond-tables",
                field="displacement_t",
                value=mass,
                limit=low if mass < low else high,
            )
        lever: Floats = self._curve(mass)
        return lever

    def righting_arms(
        self, *, displacement_t: float, density_t_per_m3: float, vcg_m: float, tcg_m: float = 0.0
    ) -> Floats:
        """Return (h,) GZ = KN − KG sin φ + TCG cos φ at the table's heels; VCG raised by the free surfaces. [m]"""
        heel = np.radians(self.heel_deg)
        lever = self.kn(displacement_t=displacement_t, density_t_per_m3=density_t_per_m3)
        height, across = finite(vcg_m, field="vcg_m"), finite(tcg_m, field="tcg_m")
        return lever - height * np.sin(heel) + across * np.cos(heel)


def compare_cross_curves(*, table: CrossCurveTable, solid: Solid) -> tuple[KnRow, ...]:
    """Hold every KN against the geometry, trim free from even keel; the limit itself is within."""
    made = cross_curves(
        solid=solid,
        density_t_per_m3=table.density_t_per_m3,
        displacement_t=table.displacement_t,
        heel_deg=table.heel_deg,
    )
    return tuple(
        _kn_row(*numbers)
        for numbers in zip(
            made.displacement_t.tolist(),
            made.heel_deg.tolist(),
            table.kn_m.ravel().tolist(),
            made.kn_m.tolist(),
            strict=True,
        )
    )


def _kn_row(mass: float, heel: float, table: float, geometry: float) -> KnRow:
    off = geometry - table
    outcome: Literal["within", "exceeded", "not_assessed"] = "within" if abs(off) <= TOLERANCE_M else "exceeded"
    return KnRow(mass, heel, table, geometry, off, TOLERANCE_M, "not_assessed" if np.isnan(geometry) else outcome)
