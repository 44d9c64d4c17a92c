"""Tangents of heel from instruments. Layer: engine.incline.

Each instrument answers with the tangent of the heel at every reading, to starboard +, given the heel at
reading 0: a zero of its own never matters, only differences from reading 0 do. NaN where a reading is missed.

pendulum      tan φ = tan φ₀ ± (d − d₀)/length          (deflections on a batten fixed athwart the ship)
U-tube        tan φ = tan φ₀ + ((s − p) − (s₀ − p₀))/spread
inclinometer  φ = φ₀ ± (a − a₀), then its tangent
"""

from dataclasses import dataclass
from typing import Literal, Protocol

import numpy as np

from engine.checks import Floats

Positive = Literal["starboard", "port"]
_SIGN = {"starboard": 1.0, "port": -1.0}


class Instrument(Protocol):
    """What reads the heel."""

    @property
    def id(self) -> str:
        """Its name in the record."""
        ...

    def tangents(self, *, heel_at_zero_deg: float) -> Floats:
        """Return (m + 1,) tangents of heel."""
        ...


@dataclass(frozen=True, eq=False)
class Pendulum:
    """Pivot to batten ``length_m``; batten readings grow when she heels to ``positive``. [m]"""

    id: str
    length_m: float
    positive: Positive
    deflections_m: Floats

    def tangents(self, *, heel_at_zero_deg: float) -> Floats:
        """Return (m + 1,) tangents of heel."""
        moved = (self.deflections_m - self.deflections_m[0]) / self.length_m
        tangents: Floats = np.tan(np.radians(heel_at_zero_deg)) + _SIGN[self.positive] * moved
        return tangents


@dataclass(frozen=True, eq=False)
class UTube:
    """Two legs ``spread_m`` apart, levels read up each leg. [m]"""

    id: str
    spread_m: float
    port_levels_m: Floats
    starboard_levels_m: Floats

    def tangents(self, *, heel_at_zero_deg: float) -> Floats:
        """Return (m + 1,) tangents of heel."""
        difference = self.starboard_levels_m - self.port_levels_m
        tangents: Floats = np.tan(np.radians(heel_at_zero_deg)) + (difference - difference[0]) / self.spread_m
        return tangents


@dataclass(frozen=True, eq=False)
class Inclinometer:
    """Angles that grow when she heels to ``positive``. [deg]"""

    id: str
    positive: Positive
    angles_deg: Floats

    def tangents(self, *, heel_at_zero_deg: float) -> Floats:
        """Return (m + 1,) tangents of heel."""
        moved = _SIGN[self.positive] * (self.angles_deg - self.angles_deg[0])
        tangents: Floats = np.tan(np.radians(heel_at_zero_deg + moved))
        return tangents
