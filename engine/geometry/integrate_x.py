"""Integration of section functions along x: parabolas through stations. Layer: engine.geometry.

A run of stations without a break is cut into panels. A panel of three stations carries the parabola
through them: Simpson's rule on equal intervals, exact where the integrand is cubic, and the uneven parabola
otherwise. An odd last interval takes the parabola through the last three stations (the rule 5, 8, -1 on equal
intervals). The parabola is multiplied by 1, x and x² and integrated in closed form, so moments are exact for a
quadratic section function too.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from engine.checks import Floats


class Panel(NamedTuple):
    """One piece of the length.

    Attributes
    ----------
    members : tuple of int
        Stations whose values the panel uses.
    intervals : tuple of int
        Intervals it covers, each named by its aft station.
    weights : (3, len(members)) float64
        Weights of the members for ∫F dx, ∫F x dx and ∫F x² dx. [m], [m²], [m³]
    ruled : bool
        True where the panel has no weights of its own and is integrated on the ruled body between two stations.
    """

    members: tuple[int, ...]
    intervals: tuple[int, ...]
    weights: Floats
    ruled: bool = False


def interpolant_weights(x_m: Floats, *, low_m: float, high_m: float) -> Floats:
    """Weights of 2 or 3 values at ``x_m`` for the integrals of their interpolant times 1, x, x² over [low, high].

    Returns
    -------
    (3, len(x_m)) float64
        Row p holds the weights for the integral of xᵖ times the interpolant.
    """
    middle = 0.5 * (low_m + high_m)
    half = 0.5 * (high_m - low_m)
    nodes = (x_m - middle) / half
    basis = np.linalg.inv(np.vander(nodes, increasing=True))  # column i: coefficients of the i-th Lagrange polynomial
    degree = np.arange(len(nodes))
    power = np.arange(3)[:, None] + degree
    unit = np.where(power % 2 == 0, 2.0 / (power + 1), 0.0)  # ∫ over [-1, 1]
    local = (unit @ basis) * (half ** np.arange(1, 4))[:, None]
    return np.stack([local[0], local[1] + middle * local[0], local[2] + 2.0 * middle * local[1] + middle**2 * local[0]])


def panels(x_m: Floats, *, linked: NDArray[np.bool_]) -> list[Panel]:
    """Cut the length into panels.

    Parameters
    ----------
    x_m : (n,) float64
        Stations, ascending; a repeated x is a break. [m]
    linked : (n - 1,) bool
        True where the sections at both ends of the interval have matching loops.

    Notes
    -----
    An interval whose sections do not match (a number of loops that changes without a break) is integrated by the
    straight line between its values. A run of two stations is ruled.
    """
    found: list[Panel] = []
    start, last = 0, len(x_m) - 1
    for i in range(last + 1):
        if i < last and linked[i] and x_m[i + 1] > x_m[i]:
            continue
        found += _run(x_m, start, i)
        if i < last and x_m[i + 1] > x_m[i]:
            weights = interpolant_weights(x_m[i : i + 2], low_m=float(x_m[i]), high_m=float(x_m[i + 1]))
            found.append(Panel((i, i + 1), (i,), weights))
        start = i + 1
    return found


def _run(x_m: Floats, start: int, end: int) -> list[Panel]:
    """Return the panels of the stations start..end, all linked and ascending."""
    intervals = end - start
    if intervals == 0:
        return []
    if intervals == 1:
        return [Panel((start, end), (start,), np.zeros((3, 2)), ruled=True)]
    found = []
    for i in range(start, end - 1, 2):
        weights = interpolant_weights(x_m[i : i + 3], low_m=float(x_m[i]), high_m=float(x_m[i + 2]))
        found.append(Panel((i, i + 1, i + 2), (i, i + 1), weights))
    if intervals % 2:
        weights = interpolant_weights(x_m[end - 2 : end + 1], low_m=float(x_m[end - 1]), high_m=float(x_m[end]))
        found.append(Panel((end - 2, end - 1, end), (end - 1,), weights))
    return found
