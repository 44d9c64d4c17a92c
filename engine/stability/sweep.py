"""A ship's positions at all heels of her curve of arms, with few cuts. Layer: engine.stability.

A few heels are solved first. Between them offset and trim are known with their slopes, so cubics give the others so
nearly that Newton's method ends in two or three cuts; the other side begins from the mirror image of the first.
"""

from typing import NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray

from engine.checks import Floats
from engine.flotation.held_heel import HeldHeel
from engine.geometry.plane import Planes
from engine.stability.heel_curve import HeelCurve

HEELS_DEG = np.concatenate([np.arange(0.0, 60.0, 2.5), np.arange(60.0, 91.0, 5.0)])
"""Heels to either side. [deg]"""

_FIRST_ROWS = np.flatnonzero(HEELS_DEG % 10.0 == 0.0)
_OTHER_ROWS = np.flatnonzero(HEELS_DEG % 10.0 != 0.0)
_ORDER = np.argsort(np.concatenate([_FIRST_ROWS, _OTHER_ROWS]))

_CHECKED_DEG = np.array([20.0, 50.0, 80.0])
_SAME_ARM_M = 1e-9
"""Where the arms at these heels are the same to both sides within this, one side is computed and mirrored."""


class Guess(NamedTuple):
    """Where k positions are sought first; what is None is searched for.

    Attributes
    ----------
    slope_ratio : (k,) float64
        n_x.
    offsets_m : (k,) float64 or None
        Offsets. [m]
    surfaces_m : (k, liquids, 3) float64 or None
        Points of the liquids' surfaces. [m]
    """

    slope_ratio: Floats
    offsets_m: Floats | None = None
    surfaces_m: Floats | None = None

    def take(self, rows: NDArray[np.intp]) -> "Guess":
        """Return the given rows."""
        offsets = None if self.offsets_m is None else self.offsets_m[rows]
        return Guess(self.slope_ratio[rows], offsets, None if self.surfaces_m is None else self.surfaces_m[rows])

    def with_mirror_image(self, rows: NDArray[np.intp]) -> "Guess":
        """Return the given rows, and after them all as they are on the other side of a ship the same on both."""
        some = self.take(rows)
        slope = np.append(some.slope_ratio, self.slope_ratio)
        if self.offsets_m is None or self.surfaces_m is None or some.offsets_m is None or some.surfaces_m is None:
            return Guess(slope)
        mirrored = self.surfaces_m * np.array([1.0, -1.0, 1.0])
        return Guess(slope, np.append(some.offsets_m, self.offsets_m), np.concatenate([some.surfaces_m, mirrored]))


class Solve(Protocol):
    """What gives positions at heels."""

    def __call__(self, heel_deg: Floats, guess: Guess) -> HeldHeel:
        """Return them."""
        ...


class Sides(NamedTuple):
    """Positions at ``HEELS_DEG`` to starboard and, unless she is the same on both sides, to port."""

    starboard: HeldHeel
    port: HeldHeel | None


def swept(solve: Solve) -> Sides:
    """Return the positions of a ship of which nothing is known."""
    upright = solve(np.zeros(1), Guess(np.zeros(1)))
    heels = np.append(HEELS_DEG[_FIRST_ROWS], -_CHECKED_DEG)
    slope = np.full(len(heels), upright.planes.normals[0, 0])
    about = Planes.from_angles(heel_deg=heels, slope_ratio=slope, offsets_m=0.0)
    offsets = about.normals @ upright.cuts.waterplane_centroid_m[0]
    first = solve(heels, Guess(slope, offsets, np.repeat(upright.surfaces_m, len(heels), axis=0)))
    known = first.take(np.arange(len(_FIRST_ROWS)))
    guess = Guess(np.full(len(HEELS_DEG), slope[0])) if any(known.codes) else _between(known)
    others, count = HEELS_DEG[_OTHER_ROWS], len(_OTHER_ROWS)
    if _alike(known, first.take(np.arange(len(_FIRST_ROWS), len(heels)))):
        rest = solve(others, guess.take(_OTHER_ROWS))
        return Sides(HeldHeel.joined([known, rest]).take(_ORDER), None)
    rest = solve(np.append(others, -HEELS_DEG), guess.with_mirror_image(_OTHER_ROWS))
    starboard = HeldHeel.joined([known, rest.take(np.arange(count))]).take(_ORDER)
    return Sides(starboard, rest.take(np.arange(count, count + len(HEELS_DEG))))


def swept_from(solve: Solve, *, heel_rad: Floats, planes: Planes, surfaces_m: Floats) -> Sides:
    """Return the positions of a ship that floats nearly at planes known for rising heels to both sides."""

    def near(heel_deg: Floats) -> HeldHeel:
        heel = np.radians(heel_deg)
        offsets = np.interp(heel, heel_rad, planes.offsets_m, left=np.nan, right=np.nan)
        nearest = np.abs(heel[:, None] - heel_rad).argmin(axis=1)
        return solve(heel_deg, Guess(np.interp(heel, heel_rad, planes.normals[:, 0]), offsets, surfaces_m[nearest]))

    first = near(np.append(HEELS_DEG, -_CHECKED_DEG))
    count = len(HEELS_DEG)
    starboard = first.take(np.arange(count))
    if _alike(starboard.take(_FIRST_ROWS), first.take(np.arange(count, count + len(_CHECKED_DEG)))):
        return Sides(starboard, None)
    return Sides(starboard, near(-HEELS_DEG))


def _between(known: HeldHeel) -> Guess:
    """Return what is to be tried at all heels by cubics through those at the first."""
    at, heel = np.radians(HEELS_DEG[_FIRST_ROWS]), np.radians(HEELS_DEG)
    turning = turning_of(known.planes.normals, known.trimming_per_rad)
    sinking = np.einsum("kn,kn->k", turning, known.cuts.waterplane_centroid_m)
    slope = HeelCurve(at, known.planes.normals[:, 0], known.trimming_per_rad).values(heel)
    offsets = HeelCurve(at, known.planes.offsets_m, sinking).values(heel)
    flat = known.surfaces_m.reshape(len(at), -1)
    surfaces = np.array([np.interp(heel, at, column) for column in flat.T]).T.reshape(len(heel), -1, 3)
    return Guess(np.clip(slope, -0.9, 0.9), offsets, surfaces)


def _alike(starboard: HeldHeel, port: HeldHeel) -> bool:
    """Return whether the heels checked to port give what the same give to starboard, among the first heels there."""
    rows = np.searchsorted(HEELS_DEG[_FIRST_ROWS], _CHECKED_DEG)
    codes = [starboard.codes[row] for row in rows] == list(port.codes)
    upright = abs(starboard.arm_m[0]) <= _SAME_ARM_M
    return bool(codes and upright and np.nanmax(np.abs(starboard.arm_m[rows] + port.arm_m), initial=0.0) <= _SAME_ARM_M)


def turning_of(normals: Floats, trimming_per_rad: Floats) -> Floats:
    """Return the (k, 3) change of normals with heel; at constant volume the plane turns about its own centroid."""
    cosine = np.hypot(normals[:, 1], normals[:, 2])
    by_heel = np.stack([np.zeros_like(cosine), normals[:, 2], -normals[:, 1]], axis=-1)
    tangent = -normals[:, 0] / cosine**2
    by_slope = np.stack([np.ones_like(cosine), tangent * normals[:, 1], tangent * normals[:, 2]], axis=-1)
    return np.asarray(by_heel + trimming_per_rad[:, None] * by_slope)
