"""What goes under along a ship's arms, and when. Layer: engine.stability."""

import math
from functools import cached_property

import numpy as np

from engine.checks import Floats
from engine.flotation.arm_curve import Side
from engine.stability.arms import Arms
from engine.stability.data import StabilityData


class Immersion:
    """What goes under on one side, and when; it depends on the planes alone."""

    def __init__(self, arms: Arms, side: Side, data: StabilityData) -> None:
        self._arms, self._side, self._data = arms, side, data

    def _heel_deg(self, points_m: Floats) -> float:
        return math.degrees(self._arms.immersion_rad(points_m, self._side))

    @cached_property
    def flooding_deg(self) -> float | None:
        """First unprotected opening; infinite where there is none. [deg]"""
        return None if self._data.openings is None else self._heel_deg(self._data.opening_points_m("unprotected"))

    @cached_property
    def weathertight_deg(self) -> float | None:
        """First weathertight opening. [deg]"""
        return None if self._data.openings is None else self._heel_deg(self._data.opening_points_m("weathertight"))

    @cached_property
    def deck_edge_deg(self) -> float | None:
        """Deck edge. [deg]"""
        return None if self._data.deck_edge_m is None else self._heel_deg(self._data.deck_edge_m)

    @cached_property
    def half_freeboard_deg(self) -> float | None:
        """Half the upright freeboard to the deck edge. [deg]"""
        edge = self._data.deck_edge_m
        if edge is None:
            return None
        upright = self._arms.upright_row
        normal, offset = self._arms.planes.normals[upright], self._arms.planes.offsets_m[upright]
        freeboard = (edge @ normal - offset) / normal[2]
        return self._heel_deg(edge - 0.5 * freeboard[:, None] * np.array([0.0, 0.0, 1.0]))
