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


def interpolant_share(lowest_m: Floats, highest_m: Floats) -> Floats:
    """Share of the interpolant in a panel's integral: 1 where all its stations are dry, cut or immersed alike.

    Parameters
    ----------
    lowest_m, highest_m : (..., 2) or (..., 3) float64
        Least and greatest level of each station's points over the water line. [m]

    Returns
    -------
    (...) float64
        From 0 to 1.

    Notes
    -----
    Where the states differ between two stations the section functions bend or end between them, at about a part u of
    the interval from its middle station, and the ruled body knows where. The share is u, or of two such intervals
    their product (1 - u - w + 2uw where the outer stations are alike), so that the integral changes without a step
    when the plane passes a station. For a panel of two stations it is (1 - 2u)².
    """
    state = (lowest_m < 0).astype(np.intp) + (highest_m < 0)
    three = lowest_m.shape[-1] == 3
    levels = np.stack([lowest_m, highest_m])
    middle, outer = (levels[..., 1:2], levels[..., ::2]) if three else (levels[..., :1], levels[..., 1:])
    near, far = np.abs(middle), np.abs(outer)
    total = near + far
    differs = (middle < 0) != (outer < 0)
    parts = np.where(differs, near / np.where(total > 0, total, 1.0), 1.0).prod(axis=0)
    differ = np.diff(state, axis=-1) != 0
    if not three:
        return np.asarray(np.where(differ[..., 0], (1.0 - 2.0 * parts[..., 0]) ** 2, 1.0))
    u, w = parts[..., 0], parts[..., 1]
    alike = differ.all(axis=-1) & (state[..., 0] == state[..., 2])
    return np.asarray(np.where(alike, 1.0 - u - w + 2.0 * u * w, u * w))
