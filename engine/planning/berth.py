"""Water at the berth: depth under the heeled hull and the hours of tide that give it. Layer: engine.planning."""

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

from numpy.typing import ArrayLike

from engine.checks import Floats, finite, within
from engine.errors import InputError
from engine.planning.depth import MARGIN_M


class Window(NamedTuple):
    """From when to when, in minutes after midnight. [min]"""

    start_min: float
    end_min: float


def deepest_point_m(
    *, draft_m: float, trim_m: float, heel_deg: float, half_breadth_m: float, below_base_m: float = 0.0
) -> float:
    """Return the depth of the lowest point of a flat bottom below the water, plumb. [m]

    Parameters
    ----------
    draft_m, trim_m : float
        At midlength from the base line; difference over the length. [m]
    heel_deg : float
        Largest heel, either side, below 45. [deg]
    half_breadth_m : float
        From the centreline to the outer edge of the bottom; half the breadth is on the safe side. [m]
    below_base_m : float
        What reaches below the base line: keel plate, dome, thruster. [m]

    Notes
    -----
    A point at z = −s, y = ∓b, at the deep end lies (T + t/2 + s + b tan φ) n_z below the waterplane, n_z ≤ cos φ:
    (T + |t|/2 + s) cos φ + b sin φ is on the safe side for a round bilge and exact for a corner without trim. Where
    there is a hull geometry, ``engine.planning.depth`` finds the point itself.
    """
    for name, value in (("draft_m", draft_m), ("half_breadth_m", half_breadth_m)):
        within(value, low=0.0, high=1000.0, field=name, unit="m")
    heel = math.radians(abs(float(within(heel_deg, low=-45.0, high=45.0, field="heel_deg", unit="deg"))))
    deep_end = (
        draft_m + abs(float(finite(trim_m, field="trim_m"))) / 2 + float(finite(below_base_m, field="below_base_m"))
    )
    return deep_end * math.cos(heel) + half_breadth_m * math.sin(heel)


@dataclass(frozen=True)
class Tide:
    """Height of the water above the soundings' datum, straight between the given times.

    Attributes
    ----------
    time_min : (n,) float64
        Minutes after midnight of the test day, increasing, n >= 2. [min]
    height_m : (n,) float64
        [m]
    """

    time_min: Floats
    height_m: Floats

    @classmethod
    def of(cls, *, time_min: ArrayLike, height_m: ArrayLike) -> "Tide":
        """Return the tide of two columns."""
        times, heights = finite(time_min, field="time_min"), finite(height_m, field="height_m")
        if times.ndim != 1 or times.shape != heights.shape:
            raise InputError(f"{times.size} times and {heights.size} heights", code="unequal-lengths", field="height_m")
        if len(times) < 2:
            words = f"two times at least, not {len(times)}"
            raise InputError(words, code="too-few-points", field="time_min", value=len(times), limit=2)
        for row, (before, after) in enumerate(pairwise(times.tolist())):
            if after <= before:
                raise InputError(
                    f"must be later than the time before, {before:.6g} min, is {after:.6g} min",
                    code="not-increasing",
                    field=f"time_min/{row + 1}",
                    value=after,
                    limit=before,
                )
        return cls(times, heights)

    def windows(self, least_m: float) -> tuple[Window, ...]:
        """Return the times at which the water stands at ``least_m`` or higher."""
        windows: list[Window] = []
        times: list[float] = self.time_min.tolist()
        heights: list[float] = self.height_m.tolist()
        for (start, end), (low, high) in zip(pairwise(times), pairwise(heights), strict=True):
            if max(low, high) < least_m:
                continue
            crossing = start if low == high else start + (least_m - low) / (high - low) * (end - start)
            piece = Window(start if low >= least_m else crossing, end if high >= least_m else crossing)
            if windows and windows[-1].end_min == piece.start_min:
                windows[-1] = Window(windows[-1].start_min, piece.end_min)
            else:
                windows.append(piece)
        return tuple(windows)


@dataclass(frozen=True)
class Berth:
    """The berth and the hours of the test.

    Attributes
    ----------
    least_sounding_m : float or None
        Least depth at the tide's datum where she lies. [m]
    deepest_point_m : float or None
        Of the heeled hull. [m]
    margin_m : float
        Clear water kept below it; 0.5 is our choice. [m]
    tide : Tide or None
        Without it the depth is that at the datum.
    start_min, duration_min : float or None
        Of the test. [min]
    """

    least_sounding_m: float | None = None
    deepest_point_m: float | None = None
    margin_m: float = MARGIN_M
    tide: Tide | None = None
    start_min: float | None = None
    duration_min: float | None = None


class Water(NamedTuple):
    """What a berth gives: True, False or None where it is not known, and why.

    ``tide_needed_m`` is the height of tide without which there is not enough water, 0 or less at the datum. [m]
    """

    deep_enough: bool | None
    in_time: bool | None
    tide_needed_m: float | None
    windows: tuple[Window, ...]
    reason: str


def water_at(berth: Berth) -> Water:
    """Return whether there is enough water at some state of the tide, and during the test."""
    if berth.least_sounding_m is None or berth.deepest_point_m is None:
        return Water(None, None, None, (), "the soundings or the deepest point of the heeled hull are not known")
    needed = berth.deepest_point_m + berth.margin_m - berth.least_sounding_m
    words = (
        f"{berth.deepest_point_m:.6g} m of hull and {berth.margin_m:.6g} m clear over {berth.least_sounding_m:.6g} m"
    )
    if berth.tide is None:
        enough = True if needed <= 0 else None
        return Water(enough, enough, needed, (), words + ("" if enough else f": {needed:.6g} m of tide are needed"))
    windows = berth.tide.windows(needed)
    if not windows:
        return Water(False, False, needed, (), words + f": the tide never gives the {needed:.6g} m needed")
    if needed <= berth.tide.height_m.min() and berth.start_min is None:
        return Water(True, True, needed, windows, words + ": at every state of the tide given")
    return Water(True, _in_time(berth, windows), needed, windows, words + f": {needed:.6g} m of tide are needed")


def _in_time(berth: Berth, windows: tuple[Window, ...]) -> bool | None:
    if berth.duration_min is None:
        return None
    if berth.start_min is None:
        return any(one.end_min - one.start_min >= berth.duration_min for one in windows)
    end = berth.start_min + berth.duration_min
    return any(one.start_min <= berth.start_min and end <= one.end_min for one in windows)
