r"""The area under righting arms, two ways. Layer: engine.flotation.

By the work of heeling, with W = n·(G − B) of the positions along the curve (see ``righting_arms``):

.. math:: \int GZ\,d\varphi = \Delta W + \int (1 - \sqrt{1-n_x^2})\,GZ\,d\varphi

exact but for the last integral, which is nothing without trim and small with it; it is taken by Hermite's rule through
the arms and slopes at the nodes. With n_x held the area is ΔW over the root, exactly. It needs the centroid to be that
of the volume the waterplane sweeps: exactly so for a skin, and skins are integrated so. Sections are integrated along x
by a rule that changes as ends of the waterline pass stations, where W steps; there the arms themselves are integrated,
by Gauss's rule of four places in every gap of the nodes, and what the work differs by is told as the error.
"""

from typing import NamedTuple, Self

import numpy as np
from numpy.typing import NDArray

from engine.checks import Floats
from engine.flotation.righting_arms import RightingArms
from engine.geometry.surface_solid import SurfaceSolid

AREA_AGREEMENT_RATIO = 0.01
AREA_AGREEMENT_M_RAD = 1e-4
GAUSS_COUNT = 4


class Area(NamedTuple):
    """An area under the curve, an estimate of its error, and the area the other way, a check. [deg, m·rad]"""

    from_deg: float
    to_deg: float
    area_m_rad: float
    error_m_rad: float
    other_way_m_rad: float

    @property
    def agrees(self) -> bool:
        """Whether work and arms give the same; if not, the trim jumps from one position to another on the way."""
        room = AREA_AGREEMENT_M_RAD + AREA_AGREEMENT_RATIO * abs(self.area_m_rad)
        return abs(self.other_way_m_rad - self.area_m_rad) <= room


class Strip(NamedTuple):
    """Places along the curve, in order; arms, slopes and work without the free-surface correction."""

    heel_rad: Floats
    arm_m: Floats
    slope_m_per_rad: Floats
    work_m: Floats
    slope_ratio: Floats
    trimming_per_rad: Floats

    @classmethod
    def of(cls, arms: RightingArms) -> Self:
        """Return all places of a curve."""
        heel, correction = np.radians(arms.heel_deg), arms.afloat.correction_m
        return cls(
            heel,
            arms.gz_m + correction * np.sin(heel),
            arms.slope_m_per_rad + correction * np.cos(heel),
            arms.work_m - correction * np.cos(heel),
            arms.planes.normals[:, 0],
            arms.trimming_per_rad,
        )

    def take(self, rows: NDArray[np.intp]) -> Self:
        """Return the places of the given rows."""
        return type(self)(*(column[rows] for column in self))

    def then(self, other: "Strip") -> "Strip":
        """Return this strip followed by another."""
        return Strip(*(np.concatenate(pair) for pair in zip(self, other, strict=True)))


def area_along(strip: Strip, *, fixed_trim: bool) -> tuple[float, float, float]:
    """Return ∫GZ dφ along a strip by the work, the error of its Hermite part, and ∫GZ dφ by the arms. [m·rad]"""
    heel, root = strip.heel_rad, np.sqrt(1.0 - strip.slope_ratio**2)
    rise = float(strip.work_m[-1] - strip.work_m[0])
    by_arms = float(_hermite(heel, strip.arm_m, strip.slope_m_per_rad).sum())
    round_off = 1e-13 * float(np.abs(strip.work_m).max())
    if fixed_trim:
        return rise / float(root[0]), round_off, by_arms
    lost = (1.0 - root) * strip.arm_m
    leaning = strip.slope_ratio / root * strip.trimming_per_rad * strip.arm_m
    lost_slope = (1.0 - root) * strip.slope_m_per_rad + leaning
    part = float(_hermite(heel, lost, lost_slope).sum())
    return rise + part, _hermite_error(heel, lost, lost_slope) + round_off, by_arms


def area_by_gauss(arms: RightingArms, *, from_deg: Floats, to_deg: Floats) -> Floats:
    """Return (m,) ∫GZ dφ without the free-surface correction, each between two heels, arms solved at four places."""
    places, weights = np.polynomial.legendre.leggauss(GAUSS_COUNT)
    width = to_deg - from_deg
    if not len(width):
        return np.zeros(0)
    inner = Strip.of(arms.at((from_deg[:, None] + width[:, None] * (places + 1.0) / 2.0).ravel()))
    areas: Floats = np.radians(width) / 2.0 * (inner.arm_m.reshape(-1, GAUSS_COUNT) @ weights)
    return areas


def is_skin(arms: RightingArms) -> bool:
    """Return whether work and arms of the hull are the same."""
    return isinstance(arms.afloat.solid, SurfaceSolid)


def _hermite(x: Floats, f: Floats, slope: Floats) -> Floats:
    """∫f dx over each gap by the cubic through values and slopes."""
    step = np.diff(x)
    panels: Floats = step / 2 * (f[:-1] + f[1:]) + step**2 / 12 * (slope[:-1] - slope[1:])
    return panels


def _hermite_error(x: Floats, f: Floats, slope: Floats) -> float:
    """Σ |change by leaving out every other node|, over pairs of gaps."""
    kept = np.unique(np.append(np.arange(0, len(x), 2), len(x) - 1))
    fine = np.add.reduceat(_hermite(x, f, slope), kept[:-1])
    return float(np.abs(fine - _hermite(x[kept], f[kept], slope[kept])).sum())
