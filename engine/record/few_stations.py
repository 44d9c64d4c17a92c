"""Whether a hull is told by too few stations. Layer: engine.record.

What leaving out every other station changes is no measure of the error, but it is of the size of what the others left
unsaid: three to fifteen times what those present leave unsaid, where the hull is fair.
"""

from collections.abc import Iterator

import numpy as np

from engine.findings import Finding
from engine.flotation.hydrostatics import hydrostatics
from engine.geometry.section_solid import SectionSolid
from engine.record.record import Record
from engine.record.solve import Surveyed

MANY_STATIONS = 41
"""A hull of so many is not looked at: twice the 21 of a lines plan (common practice, no source)."""
LEAST_KM_M = 0.015
"""Change of KM that is told: our choice. [m]"""


def thinned(solid: SectionSolid) -> SectionSolid | None:
    """Return the body with every other station left out, breaks and ends kept; None where no run has five stations."""
    x = solid.x_m
    ends = np.flatnonzero(np.diff(x) == 0)
    kept: list[int] = []
    thinner = False
    for first, last in zip([0, *(ends + 1)], [*ends, len(x) - 1], strict=True):
        run = list(range(first, last + 1))
        if len(run) >= 5:
            run, thinner = [*run[:-1:2], run[-1]], True
        kept += run
    if not thinner:
        return None
    return SectionSolid(x_m=x[kept], contours=tuple(solid.contours[i] for i in kept))


def of_stations(record: Record, surveyed: Surveyed) -> Iterator[Finding]:
    """Yield a finding where volume or KM moves by more than the budget allows for when stations are left out."""
    hull, at = surveyed.hull, surveyed.afloat.hydrostatics
    if not isinstance(hull, SectionSolid) or len(hull.x_m) >= MANY_STATIONS:
        return
    fewer = thinned(hull)
    if fewer is None:
        return
    other = hydrostatics(
        solid=fewer,
        planes=surveyed.afloat.plane,
        density_t_per_m3=record.density_t_per_m3,
        length_bp_m=record.length_bp_m,
    )
    volume = 100 * abs(float(other.volume_m3[0] / at.volume_m3[0]) - 1.0)
    height = abs(float(other.km_transverse_m[0] - at.km_transverse_m[0]))
    if volume > record.assumed.hull_volume_percent or height > LEAST_KM_M:
        count = len(np.unique(hull.x_m))
        yield Finding(
            "hull-by-few-stations",
            f"the hull is told by {count} stations: with every other one left out its volume moves by {volume:.2g} % "
            f"and KM, which VCG follows, by {height:.3f} m; what the hull does between stations is not in the budget",
        )
