"""Heels at which points of the ship go under: openings and the deck edge. Layer: engine.flotation.

A point p is n·p − d above the water of the position she takes at each heel. Between points a deck edge is straight,
so its lowest place is one of them.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np

from engine.checks import Floats
from engine.flotation.arm_curve import SideCurve
from engine.flotation.righting_arms import RightingArms

Closing = Literal["unprotected", "weathertight"]


@dataclass(frozen=True)
class Opening:
    """A place where water can enter, and what closes it. [m]"""

    x_m: float
    y_m: float
    z_m: float
    kind: Closing = "unprotected"


class Immersions(NamedTuple):
    """Heels towards one side at which water reaches a place; 0 if it is there upright, NaN if not on the curve.

    Attributes
    ----------
    openings_deg : (m,) float64
        Of each opening. [deg]
    deck_edge_deg : float
        Of the first point of the deck edge. [deg]
    unprotected_deg, weathertight_deg : float
        The least of each kind; the first is the flooding angle. [deg]
    """

    openings_deg: Floats
    deck_edge_deg: float
    unprotected_deg: float
    weathertight_deg: float


def immersions(curve: SideCurve, *, openings: Sequence[Opening] = (), deck_edge_m: Floats | None = None) -> Immersions:
    """Return where openings and the deck edge first go under on the way out from upright, by the true positions.

    Parameters
    ----------
    curve : SideCurve
        The side.
    openings : sequence of Opening
        Openings, of either side of the ship.
    deck_edge_m : (p, 3), optional
        Points along the deck edge, both sides. [m]
    """
    places = [np.array([[one.x_m, one.y_m, one.z_m]]) for one in openings]
    if deck_edge_m is not None and len(deck_edge_m):
        places.append(np.asarray(deck_edge_m, dtype=np.float64))
    heights = np.array([heights_m(curve.nodes, place) for place in places]).reshape(len(places), len(curve.theta_deg))
    under = heights <= 0.0
    found = np.where(under[:, 0], 0.0, np.nan)
    rows = np.flatnonzero(under.any(axis=1) & ~under[:, 0])
    gaps = under[rows].argmax(axis=1) - 1

    def height(numbers: np.ndarray, arms: RightingArms) -> Floats:
        normals, offsets = arms.planes.normals, arms.planes.offsets_m
        pairs = zip(numbers, normals, offsets, strict=True)
        return np.array([(places[rows[number]] @ normal - offset).min() for number, normal, offset in pairs])

    found[rows] = curve.roots(gaps, heights[rows, gaps], heights[rows, gaps + 1], height)
    of_openings = found[: len(openings)]
    return Immersions(
        openings_deg=of_openings,
        deck_edge_deg=float(found[-1]) if len(places) > len(openings) else float("nan"),
        unprotected_deg=_least(of_openings, openings, "unprotected"),
        weathertight_deg=_least(of_openings, openings, "weathertight"),
    )


def heights_m(arms: RightingArms, points_m: Floats) -> Floats:
    """Return (k,) height of the lowest of (p, 3) points above the water at each heel. [m]"""
    heights: Floats = (arms.planes.normals @ points_m.T).min(axis=1) - arms.planes.offsets_m
    return heights


def _least(angles: Floats, openings: Sequence[Opening], kind: Closing) -> float:
    of_kind = [angle for angle, one in zip(angles.tolist(), openings, strict=True) if one.kind == kind]
    return min((angle for angle in of_kind if not np.isnan(angle)), default=float("nan"))
