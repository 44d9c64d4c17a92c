"""A ship's positions at all heels of her curve of arms, with few cuts. Layer: engine.stability.

A few heels are solved first. Between them offset and trim are known with their slopes, so cubics give the others so
nearly that Newton's method ends in two or three cuts; the other side begins from the mirror image of the first.
"""

from typing import NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray

from engine.checks import Floats
from engine.flotation.equilibrium import Equilibrium
from engine.flotation.held_heel import HeldHeel
from engine.geometry.plane import Planes, normals_at
from engine.stability.heel_curve import HeelCurve

HEELS_DEG = np.concatenate([np.arange(0.0, 60.0, 2.5), np.arange(60.0, 91.0, 5.0)])
"""Heels to either side. [deg]"""

_FIRST_ROWS = np.flatnonzero(HEELS_DEG % 10.0 == 0.0)
_OTHER_ROWS = np.flatnonzero(HEELS_DEG % 10.0 != 0.0)
_ORDER = np.argsort(np.concatenate([_FIRST_ROWS, _OTHER_ROWS]))

_CHECKED_DEG = np.array([20.0, 50.0, 80.0])
_CHECKED_ROWS = np.searchsorted(HEELS_DEG, _CHECKED_DEG)
_PORT_ROWS = np.setdiff1d(np.arange(len(HEELS_DEG)), _CHECKED_ROWS)
_PORT_ORDER = np.argsort(np.concatenate([_PORT_ROWS, _CHECKED_ROWS]))
_OTHER_SIDE = np.array([1.0, -1.0, 1.0])
_SMALL_LIST_DEG = 5.0
"""Where she floats with no more than this, the other heels are as near to it as to upright."""
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

    def with_mirror_image(self, rows: NDArray[np.intp], mirrored: NDArray[np.intp]) -> "Guess":
        """Return the given rows, and after them others as they are on the other side of a ship the same on both."""
        every = self.take(np.append(rows, mirrored))
        if every.surfaces_m is not None and self.surfaces_m is not None:
            image = every.surfaces_m[len(rows) :] * _OTHER_SIDE
            every.surfaces_m[len(rows) :] = image[:, _partners(self.surfaces_m[0])]
        return every


def _partners(centres_m: Floats) -> NDArray[np.intp]:
    """Return for each of (n, 3) upright surfaces the one nearest to its mirror image: itself on the centreline."""
    apart = np.linalg.norm(centres_m[:, None] - centres_m * _OTHER_SIDE, axis=-1)
    return np.asarray(np.where(np.isnan(apart), np.inf, apart).argmin(axis=1) if len(centres_m) else np.arange(0))


class Solve(Protocol):
    """What gives positions at heels."""

    def __call__(self, heel_deg: Floats, guess: Guess) -> HeldHeel:
        """Return them."""
        ...


class Sides(NamedTuple):
    """Positions at ``HEELS_DEG`` to starboard and, unless she is the same on both sides, to port."""

    starboard: HeldHeel
    port: HeldHeel | None


def swept(solve: Solve, *, near: Equilibrium | None = None) -> Sides:
    """Return the positions of a ship of which nothing is known, or where she floats (one row) with no heel held."""
    listing = near is not None and abs(float(near.planes.heel_deg[0])) > _SMALL_LIST_DEG
    about = solve(np.zeros(1), Guess(np.zeros(1))) if near is None or listing else near
    heels = np.append(HEELS_DEG[_FIRST_ROWS], -_CHECKED_DEG)
    slope = np.full(len(heels), about.planes.normals[0, 0])
    offsets = normals_at(heel_rad=np.radians(heels), slope_ratio=slope) @ about.cuts.waterplane_centroid_m[0]
    first = solve(heels, Guess(slope, offsets, np.repeat(about.surfaces_m, len(heels), axis=0)))
    if first.codes[0] and about is near:
        return swept(solve)  # not upright from where she floats
    known, checked = _parts(first, len(_FIRST_ROWS))
    guess = Guess(np.full(len(HEELS_DEG), slope[0])) if any(known.codes) else _between(known)
    others = HEELS_DEG[_OTHER_ROWS]
    if _alike(known, checked):
        rest = solve(others, guess.take(_OTHER_ROWS))
        return Sides(HeldHeel.joined([known, rest]).take(_ORDER), None)
    both = solve(np.append(others, -HEELS_DEG[_PORT_ROWS]), guess.with_mirror_image(_OTHER_ROWS, _PORT_ROWS))
    rest, port = _parts(both, len(others))
    return Sides(HeldHeel.joined([known, rest]).take(_ORDER), HeldHeel.joined([port, checked]).take(_PORT_ORDER))


def swept_from(solve: Solve, *, heel_rad: Floats, arm_m: Floats, planes: Planes, surfaces_m: Floats) -> Sides:
    """Return the positions of a ship that floats nearly at planes known, with their arms, for heels to both sides."""

    def near(*heels_deg: Floats) -> HeldHeel:
        heel_deg = np.concatenate(heels_deg)
        heel = np.radians(heel_deg)
        offsets = np.interp(heel, heel_rad, planes.offsets_m, left=np.nan, right=np.nan)
        nearest = np.abs(heel[:, None] - heel_rad).argmin(axis=1)
        return solve(heel_deg, Guess(np.interp(heel, heel_rad, planes.normals[:, 0]), offsets, surfaces_m[nearest]))

    port = None
    if np.abs(arm_m + arm_m[::-1]).max() > _SAME_ARM_M:  # she will hardly be alike on both sides: all at once
        first, port = _parts(near(HEELS_DEG, -_CHECKED_DEG, -HEELS_DEG[_PORT_ROWS]), len(HEELS_DEG) + len(_CHECKED_DEG))
    else:
        first = near(HEELS_DEG, -_CHECKED_DEG)
    starboard, checked = _parts(first, len(HEELS_DEG))
    if _alike(starboard.take(_FIRST_ROWS), checked):
        return Sides(starboard, None)
    port = port or near(-HEELS_DEG[_PORT_ROWS])
    return Sides(starboard, HeldHeel.joined([port, checked]).take(_PORT_ORDER))


def _parts(at: HeldHeel, count: int) -> tuple[HeldHeel, HeldHeel]:
    """Return the first so many rows, and the others."""
    rows = np.arange(len(at.codes))
    return at.take(rows[:count]), at.take(rows[count:])


def _between(known: HeldHeel) -> Guess:
    """Return what is to be tried at all heels by cubics through those at the first.

    A liquid's surface turns about its centre as the sea's about that of the waterplane: its offset has a slope too.
    """
    at, heel = np.radians(HEELS_DEG[_FIRST_ROWS]), np.radians(HEELS_DEG)
    turning = turning_of(known.planes.normals, known.trimming_per_rad)
    sinking = np.einsum("kn,kn->k", turning, known.cuts.waterplane_centroid_m)
    slope = HeelCurve(at, known.planes.normals[:, 0], known.trimming_per_rad).values(heel).clip(-0.9, 0.9)
    offsets = HeelCurve(at, known.planes.offsets_m, sinking).values(heel)
    normals = normals_at(heel_rad=heel, slope_ratio=slope)
    surfaces = np.empty((len(heel), known.surfaces_m.shape[1], 3))
    for number, centre in enumerate(known.surfaces_m.swapaxes(0, 1)):
        level, rise = np.einsum("kn,kn->k", known.planes.normals, centre), np.einsum("kn,kn->k", turning, centre)
        about = np.stack([np.interp(heel, at, column) for column in centre.T], axis=-1)
        missing = HeelCurve(at, level, rise).values(heel) - np.einsum("kn,kn->k", normals, about)
        surfaces[:, number] = about + missing[:, None] * normals
    return Guess(slope, offsets, surfaces)


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
