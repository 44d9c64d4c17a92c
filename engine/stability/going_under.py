"""The first of many points to go under as a ship heels. Layer: engine.stability.

Heights above the water are cubics between the heels computed. A cubic stays between its control points, so the gaps in
which no point can go under are passed over for all points at once; in the others the roots are exact.
"""

import numpy as np

from engine.checks import Floats
from engine.stability.cubic_piece import CubicPiece


def first_under_rad(heel_rad: Floats, height_m: Floats, slope_m_per_rad: Floats) -> float:
    """Return the least heel at which one of p points is at the water or under it, infinite if none is. [rad]

    Parameters
    ----------
    heel_rad : (k,)
        Rising. [rad]
    height_m, slope_m_per_rad : (p, k)
        Of each point above the water, and its change with heel. [m, m/rad]
    """
    if (height_m[:, 0] <= 0).any():
        return float(heel_rad[0])
    step = np.diff(heel_rad)
    third = step / 3
    # the control point at a gap's beginning is above the water, or the gap before has been answered
    begins, ends = height_m[:, :-1] + third * slope_m_per_rad[:, :-1], height_m[:, 1:]
    lowest = np.minimum(np.minimum(begins, ends), ends - third * slope_m_per_rad[:, 1:])
    for gap in np.flatnonzero((lowest <= 0).any(axis=0)).tolist():
        width, ends_here = float(step[gap]), slice(gap, gap + 2)
        found = []
        for row in np.flatnonzero(lowest[:, gap] <= 0).tolist():
            low, high = height_m[row, ends_here].tolist()
            slopes = slope_m_per_rad[row, ends_here].tolist()
            height = CubicPiece.through(low, high, slopes[0], slopes[1], width)
            there = height.first_fall(0.0, width, at_high=high)
            if there is not None:
                found.append(there)
        if found:
            return float(heel_rad[gap]) + min(found)
    return float("inf")
