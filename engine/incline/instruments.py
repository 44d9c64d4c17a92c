"""Tangents of heel from instruments. Layer: engine.incline.

Each instrument answers with the tangent of the heel at every reading, to starboard +, given the heel at the first
reading it has: a zero of its own never matters, only differences from that reading do. NaN where a reading is missed.

pendulum      tan φ = tan φ₀ ± (d − d₀)/length          (deflections on a batten fixed athwart the ship)
U-tube        tan φ = tan φ₀ + ((s − p) − (s₀ − p₀))/spread
inclinometer  φ = φ₀ ± (a − a₀), then its tangent
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, Protocol

import numpy as np

from engine.checks import Floats
from engine.errors import NotDeterminedError

Positive = Literal["starboard", "port"]
_SIGN = {"starboard": 1.0, "port": -1.0}


class Instrument(Protocol):
    """What reads the heel."""

    @property
    def id(self) -> str:
        """Its name in the record."""
        ...

    @property
    def base_m(self) -> float | None:
        """Length its readings are divided by; None where it reads angles. [m]"""
        ...

    @property
    def base_name(self) -> str:
        """Name of that length in the record; "" where there is none."""
        ...

    @property
    def readings(self) -> Floats:
        """(m + 1,) what it shows, growing to starboard, in its own unit; NaN where missed."""
        ...

    def tangents(self, *, heel_at_first_deg: float) -> Floats:
        """Return (m + 1,) tangents of heel, given the heel at its first reading."""
        ...

    def tangent_uncertainty_ratio(self, *, reading_m: float, reading_deg: float) -> float:
        """Return the standard uncertainty of one tangent, given that of one batten, level or angle reading."""
        ...


@dataclass(frozen=True, eq=False)
class Pendulum:
    """Pivot to batten ``length_m``; batten readings grow when she heels to ``positive``. [m]"""

    id: str
    length_m: float
    positive: Positive
    deflections_m: Floats

    @property
    def base_m(self) -> float:
        """Pivot to batten. [m]"""
        return self.length_m

    @property
    def base_name(self) -> str:
        """Name of that length in the record."""
        return "length_m"

    @property
    def readings(self) -> Floats:
        """(m + 1,) deflections, to starboard +. [m]"""
        return np.asarray(_SIGN[self.positive] * self.deflections_m)

    def tangents(self, *, heel_at_first_deg: float) -> Floats:
        """Return (m + 1,) tangents of heel."""
        return np.asarray(np.tan(np.radians(heel_at_first_deg)) + _since_first(self.readings) / self.length_m)

    def tangent_uncertainty_ratio(self, *, reading_m: float, reading_deg: float) -> float:
        """Return that of the reading over the length."""
        return reading_m / self.length_m


@dataclass(frozen=True, eq=False)
class UTube:
    """Two legs ``spread_m`` apart, levels read up each leg. [m]"""

    id: str
    spread_m: float
    port_levels_m: Floats
    starboard_levels_m: Floats

    @property
    def base_m(self) -> float:
        """Distance of the legs. [m]"""
        return self.spread_m

    @property
    def base_name(self) -> str:
        """Name of that length in the record."""
        return "spread_m"

    @property
    def readings(self) -> Floats:
        """(m + 1,) starboard level less port level. [m]"""
        return self.starboard_levels_m - self.port_levels_m

    def tangents(self, *, heel_at_first_deg: float) -> Floats:
        """Return (m + 1,) tangents of heel."""
        return np.asarray(np.tan(np.radians(heel_at_first_deg)) + _since_first(self.readings) / self.spread_m)

    def tangent_uncertainty_ratio(self, *, reading_m: float, reading_deg: float) -> float:
        """Return that of the difference of two levels over the spread."""
        return float(np.sqrt(2.0)) * reading_m / self.spread_m


STEEPEST_DEG = 89.0
"""The tangent turns its sign at 90."""


@dataclass(frozen=True, eq=False)
class Inclinometer:
    """Angles that grow when she heels to ``positive``. [deg]"""

    id: str
    positive: Positive
    angles_deg: Floats

    @property
    def base_m(self) -> None:
        """It has none."""
        return

    @property
    def base_name(self) -> str:
        """It has none."""
        return ""

    @property
    def readings(self) -> Floats:
        """(m + 1,) angles, to starboard +. [deg]"""
        return np.asarray(_SIGN[self.positive] * self.angles_deg)

    def tangents(self, *, heel_at_first_deg: float) -> Floats:
        """Return (m + 1,) tangents of heel; beyond 89 degrees that of 89, where ``refuse_implausible`` sees it."""
        heel = heel_at_first_deg + _since_first(self.readings)
        return np.asarray(np.tan(np.radians(np.clip(heel, -STEEPEST_DEG, STEEPEST_DEG))))

    def tangent_uncertainty_ratio(self, *, reading_m: float, reading_deg: float) -> float:
        """Return that of the angle in radians, for small heel."""
        return float(np.radians(reading_deg))


def _first(readings: Floats) -> int | None:
    """Return the number of the first reading, None where there is none."""
    known = np.flatnonzero(np.isfinite(readings))
    return int(known[0]) if len(known) else None


def _since_first(readings: Floats) -> Floats:
    first = _first(readings)
    return readings - readings[first] if first is not None else readings


def heel_tangents(instruments: Sequence[Instrument], *, heel_at_zero_deg: float, reading_count: int) -> Floats:
    """Return (p, reading_count) tangents of heel, NaN where missed or not yet read.

    An instrument that missed reading 0 starts at the mean of the others at its own first reading, or, where no other
    was read then, at the heel of reading 0. For pendulums and U-tubes that start is only a zero, which every fit
    finds for itself; for an inclinometer it matters in the second order of the angle.
    """
    table = np.full((len(instruments), reading_count), np.nan)
    first = [_first(one.readings) for one in instruments]
    zero = float(np.tan(np.radians(heel_at_zero_deg)))

    def place(rows: list[int], start: Floats) -> None:
        for row in rows:
            read = instruments[row].tangents(heel_at_first_deg=float(np.degrees(np.arctan(start[first[row] or 0]))))
            table[row, : len(read)] = read

    place([row for row, at in enumerate(first) if at == 0], np.full(reading_count, zero))
    known = np.isfinite(table)
    count = known.sum(axis=0)
    mean = np.where(count > 0, np.where(known, table, 0.0).sum(axis=0) / np.maximum(count, 1), zero)
    place([row for row, at in enumerate(first) if at], mean)
    return table


LARGEST_TANGENT_RATIO = 0.5
"""No ship is inclined by more from reading 0: about 27 degrees. Millimetres typed as metres go far beyond."""


def refuse_implausible(table: Floats, *, heel_at_zero_deg: float) -> None:
    """Refuse tangents no GM can be made of; the diagnosis takes them, and may know what is wrong.

    Raises
    ------
    NotDeterminedError
        ``heel-implausible`` at ``instruments/j``.
    """
    zero = float(np.tan(np.radians(heel_at_zero_deg)))
    for row, tangents in enumerate(table):
        off = np.abs(np.nan_to_num(tangents - zero))
        worst = int(np.argmax(off))
        far = float(off[worst])
        if far > LARGEST_TANGENT_RATIO:
            raise NotDeterminedError(
                f"reading {worst} stands for a heel of tangent {far:.6g} from reading 0, no ship is inclined by more "
                f"than {LARGEST_TANGENT_RATIO:.6g}: check the unit of the readings",
                code="heel-implausible",
                field=f"instruments/{row}",
                value=far,
                limit=LARGEST_TANGENT_RATIO,
            )
