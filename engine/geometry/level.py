"""The plane below which a body holds a given volume. Layer: engine.geometry."""

from collections.abc import Callable
from typing import Protocol, runtime_checkable

import numpy as np
from numpy.typing import ArrayLike, NDArray

from engine.checks import Floats, finite, points, within
from engine.deadline import checkpoint
from engine.errors import InputError, NotDeterminedError
from engine.geometry.cut import CUT_COLUMNS, Cuts, Solid
from engine.geometry.plane import Planes

VOLUME_TOLERANCE_RATIO = 1e-13
ITERATION_LIMIT = 120


@runtime_checkable
class HasFillingRange(Protocol):
    """A solid that knows its lowest point and its highest, or its lowest opening, along a normal."""

    def filling_range_m(self, normals: Floats) -> tuple[Floats, Floats]:
        """Return the two offsets for each normal. [m]"""
        ...


def level(solid: Solid, *, normals: ArrayLike, volumes_m3: ArrayLike, start_m: Floats | None = None) -> Floats:
    """Return the offset of the plane below which the solid holds a volume, for each normal.

    Parameters
    ----------
    solid : Solid
        The body: a hull that floats or a tank that is filled.
    normals : (k, 3) or (3,) array_like
        Normals out of the liquid, of any length.
    volumes_m3 : (k,) or scalar array_like
        Volumes, from 0 to what the body holds. Normals and volumes are broadcast. [m³]
    start_m : (k,), optional
        Offsets to begin from, where they lie between the body's lowest and highest point. [m]

    Returns
    -------
    (k,) float64
        Offsets d of n·x = d for the unit normal. Volume 0 gives the lowest point and the whole volume the
        highest one (of the box around the body where the solid does not know its own). [m]

    Raises
    ------
    InputError
        "volume-beyond-capacity": more than the body holds or, where its skin is open above, more than it
        holds below its lowest opening. "out-of-range": a volume below 0.
    NotDeterminedError
        "level-not-converged".

    Notes
    -----
    Newton's method with dV/dd = waterplane area, kept between bounds that close in, halved where a step
    leaves them or gains too little; ends at 1e-13 of the volume, or where d itself can move no further.
    """
    directions = points(np.atleast_2d(np.asarray(normals, dtype=np.float64)), columns=3, field="normals")
    wanted = within(np.atleast_1d(finite(volumes_m3, field="volumes_m3")), low=0.0, high=np.inf, field="volumes_m3")
    count = max(len(directions), len(wanted))
    directions = np.broadcast_to(directions, (count, 3))
    wanted = np.broadcast_to(wanted, (count,))
    directions = Planes.from_normals(normals=directions, offsets_m=np.zeros(count)).normals
    low, high = filling_range(solid, directions)
    capacity = _capacity(solid, directions, high)
    _refuse_beyond(wanted, capacity)

    full = wanted >= capacity * (1.0 - VOLUME_TOLERANCE_RATIO)
    offsets = np.where(full, high, low)
    rows = np.flatnonzero(~full & (wanted > 0))
    if not len(rows):
        return offsets
    guess = low + (high - low) * wanted / capacity
    if start_m is not None:
        guess = np.where((start_m > low) & (start_m < high), start_m, guess)
    cuts = cuts_of_volume(
        lambda _, planes: solid.cut(planes),
        normals=directions[rows],
        volumes_m3=wanted[rows],
        start_m=guess[rows],
        low_m=low[rows],
        high_m=high[rows],
    )
    offsets[rows] = cuts.planes.offsets_m
    return offsets


def cuts_of_volume(
    cut: Callable[[NDArray[np.intp], Planes], Cuts],
    *,
    normals: Floats,
    volumes_m3: Floats,
    start_m: Floats,
    low_m: Floats,
    high_m: Floats,
) -> Cuts:
    """Return the cuts that have given volumes below them, searched as ``level`` says.

    Parameters
    ----------
    cut : callable
        Gives the cuts of some of the rows, by their numbers, at planes.
    normals : (k, 3) float64
        Unit normals.
    volumes_m3 : (k,) float64
        Above 0 and below the whole. [m³]
    start_m : (k,) float64
        Offsets tried first. [m]
    low_m, high_m : (k,) float64
        Offsets below and above those sought. [m]

    Raises
    ------
    NotDeterminedError
        "level-not-converged".
    """
    offsets = np.empty(len(normals))
    columns: dict[str, Floats] = {}
    rows, target, a, b = np.arange(len(normals)), volumes_m3, low_m.copy(), high_m.copy()
    smallest = 4.0 * float(np.finfo(np.float64).eps) * (np.abs(a) + np.abs(b))
    d, last = start_m, np.full(len(rows), np.inf)
    for _ in range(ITERATION_LIMIT):
        checkpoint()
        cuts = cut(rows, Planes(normals=normals[rows], offsets_m=d))
        error = cuts.volume_m3 - target
        a, b = np.where(error < 0, d, a), np.where(error > 0, d, b)
        step = -error / np.where(cuts.waterplane_area_m2 > 0, cuts.waterplane_area_m2, np.nan)
        newton = d + step
        halve = ~((newton > a) & (newton < b)) | (np.abs(error) > 0.5 * last)
        following = np.where(halve, 0.5 * (a + b), newton)
        exact = np.abs(error) <= VOLUME_TOLERANCE_RATIO * target
        done = exact | (np.abs(step) <= smallest) | (b - a <= smallest)
        offsets[rows[done]] = d[done]
        for name in CUT_COLUMNS:
            column = getattr(cuts, name)
            columns.setdefault(name, np.empty((len(normals), *column.shape[1:])))[rows[done]] = column[done]
        keep = ~done
        if not keep.any():
            return Cuts(planes=Planes(normals=normals, offsets_m=offsets), **columns)
        rows, target, a, b = rows[keep], target[keep], a[keep], b[keep]
        d, last, smallest = following[keep], np.where(halve, np.inf, np.abs(error))[keep], smallest[keep]
    raise NotDeterminedError(
        f"no level found in {ITERATION_LIMIT} steps",
        code="level-not-converged",
        field="volumes_m3",
        value=float(target[0]),
        limit=float(ITERATION_LIMIT),
    )


def box_range(bounds_m: Floats, normals: Floats) -> tuple[Floats, Floats]:
    """Return for each normal the offsets of the lowest and the highest corner of (2, 3) or (k, 2, 3) bounds. [m]"""
    ends = np.stack([normals * bounds_m[..., 0, :], normals * bounds_m[..., 1, :]])
    return ends.min(axis=0).sum(axis=1), ends.max(axis=0).sum(axis=1)


def filling_range(solid: Solid, normals: Floats) -> tuple[Floats, Floats]:
    """Return for each unit normal the offset of the lowest point and of the highest, or of the lowest opening."""
    if isinstance(solid, HasFillingRange):
        return solid.filling_range_m(normals)
    return box_range(solid.bounds_m, normals)


def _capacity(solid: Solid, normals: Floats, high: Floats) -> Floats:
    whole = solid.volume_m3
    if np.isfinite(whole):
        return np.full(len(high), whole)
    return solid.cut(Planes(normals=normals, offsets_m=high)).volume_m3


def _refuse_beyond(wanted: Floats, capacity: Floats) -> None:
    beyond = wanted > capacity * (1.0 + VOLUME_TOLERANCE_RATIO)
    if beyond.any():
        row = int(np.flatnonzero(beyond)[0])
        raise InputError(
            f"the volume {wanted[row]:.6g} m³ is more than the body holds, {capacity[row]:.6g} m³",
            code="volume-beyond-capacity",
            field=f"volumes_m3/{row}",
            value=float(wanted[row]),
            limit=float(capacity[row]),
        )
