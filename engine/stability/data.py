"""What criteria need besides hull and loading. Layer: engine.stability."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from engine.checks import Floats
from engine.flotation.immersion import Closing, Opening
from engine.stability.wind import Bilge, WindProfile


@dataclass(frozen=True, eq=False)
class StabilityData:
    """Points and areas of the ship.

    Attributes
    ----------
    openings : tuple of Opening or None
        None where nothing is said about openings; empty where it is said that there are none. Only the unprotected
        ones end the arms.
    deck_edge_m : (n, 3) float64 or None
        Points of the deck edge, both sides. [m]
    wind : WindProfile or None
        What the wind blows on.
    bilge : {"round", "sharp"}
        Form of the bilge.
    bilge_keel_area_m2 : float
        Of all bilge keels, or of the bar keel. [m²]
    """

    openings: tuple[Opening, ...] | None = None
    deck_edge_m: Floats | None = None
    wind: WindProfile | None = None
    bilge: Bilge = "round"
    bilge_keel_area_m2: float = 0.0

    def opening_points_m(self, closing: Closing) -> Floats:
        """Return the (p, 3) openings of one kind. [m]"""
        places = [(one.x_m, one.y_m, one.z_m) for one in self.openings or () if one.kind == closing]
        return np.array(places, dtype=np.float64).reshape(-1, 3)

    @cached_property
    def same_on_both_sides(self) -> bool:
        """Whether every unprotected opening and point of the deck edge has its mirror image."""
        edge = np.zeros((0, 3)) if self.deck_edge_m is None else self.deck_edge_m
        return all(_mirrored(points) for points in (self.opening_points_m("unprotected"), edge))


def _mirrored(points_m: Floats) -> bool:
    there = {tuple(np.round(point, 9) + 0.0) for point in points_m}
    return there == {(x, -y + 0.0, z) for x, y, z in there}


NOTHING_KNOWN = StabilityData()
