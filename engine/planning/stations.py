"""Where freeboards are read. Layer: engine.planning.

Five or more a side, equally spaced (IMO 2008 IS Code, B/8.4.1.1). On the real deck edge where it is given; else at the
hull's greatest half breadth of the section, and at the section's top, which is where a bare hull form ends: the
reference heights must then be measured on board.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from engine.checks import Floats, points
from engine.deadline import checkpoint
from engine.errors import InputError
from engine.geometry.cut import Solid
from engine.geometry.plane import Planes

END_RATIO = 0.05
"""Distance of the first and last station from the ends of the hull or deck edge, of their length: our choice."""
BISECTIONS = 60


@dataclass(frozen=True)
class Station:
    """A point a tape hangs from.

    Attributes
    ----------
    x_m, y_m, z_m : float
        The point measured from. [m]
    freeboard_m : float
        Expected plumb length to the water. [m]
    from_deck_edge : bool
        False where the point is the hull's own and has to be measured on board.
    """

    x_m: float
    y_m: float
    z_m: float
    freeboard_m: float
    from_deck_edge: bool


def freeboard_stations(
    *, hull: Solid, plane: Planes, count: int = 5, deck_edge_m: Sequence[Sequence[float]] = ()
) -> tuple[Station, ...]:
    """Place ``count`` stations a side, port and starboard in turn, from aft.

    Parameters
    ----------
    hull : Solid
        The hull.
    plane : Planes
        Where she floats; one plane.
    count : int
        A side, at least 2.
    deck_edge_m : (n, 3) array_like
        Points of the port deck edge, x rising; starboard is its mirror image. [m]

    Raises
    ------
    InputError
        "too-few-points", "not-increasing", "wrong-shape": the deck edge.
    """
    if deck_edge_m:
        edge = points(deck_edge_m, columns=3, field="deck_edge_m")
        _check(edge)
        x = _spaced(edge[0, 0], edge[-1, 0], count, 0.0)
        sides = [(np.interp(x, edge[:, 0], edge[:, 1]), 1.0), (-np.interp(x, edge[:, 0], edge[:, 1]), -1.0)]
        top = [np.interp(x, edge[:, 0], edge[:, 2])] * 2
    else:
        low, high = hull.bounds_m
        x = _spaced(low[0], high[0], count, END_RATIO)
        up = np.array([0.0, 0.0, 1.0])
        sides = [
            (side * np.array([_reach(hull, one, side * np.array([0.0, 1.0, 0.0])) for one in x]), side)
            for side in (1.0, -1.0)
        ]
        top = [np.array([_reach(hull, one, up) for one in x])] * 2
    normal, offset = plane.normals[0], float(plane.offsets_m[0])
    found = []
    for i in range(count):
        for (y, _), z in zip(sides, top, strict=True):
            point = np.array([x[i], y[i], z[i]])
            free = float(normal @ point) - offset
            found.append(Station(float(x[i]), float(y[i]), float(z[i]), free, bool(deck_edge_m)))
    return tuple(found)


def _check(edge: Floats) -> None:
    if len(edge) < 2:
        raise InputError(
            f"a deck edge needs two points, has {len(edge)}",
            code="too-few-points",
            field="deck_edge_m",
            value=float(len(edge)),
            limit=2.0,
        )
    for row in np.flatnonzero(np.diff(edge[:, 0]) <= 0)[:1]:
        raise InputError(
            f"must be forward of the point before, {edge[row, 0]:.6g} m, is {edge[row + 1, 0]:.6g} m",
            code="not-increasing",
            field=f"deck_edge_m/{row + 1}",
            value=float(edge[row + 1, 0]),
            limit=float(edge[row, 0]),
        )


def _spaced(aft: float, forward: float, count: int, end_ratio: float) -> Floats:
    inset = end_ratio * (forward - aft)
    return np.round(np.linspace(aft + inset, forward - inset, count), 2)


def _reach(hull: Solid, x: float, direction: Floats) -> float:
    """Return how far the section at x reaches in a direction across x: least offset that has all its area below. [m]"""
    low, high = hull.bounds_m
    corners = np.array([[x, y, z] for y in (low[1], high[1]) for z in (low[2], high[2])]) @ direction
    near, far = float(corners.min()), float(corners.max())

    def area(offsets: Floats) -> Floats:
        return hull.section_area_m2(Planes.from_normals(normals=direction, offsets_m=offsets), x_m=x)

    whole = float(area(np.array([far + 1.0]))[0])
    return _bisect(lambda at: float(area(np.array([at]))[0]) < whole * (1 - 1e-12), near, far)


def _bisect(short: Callable[[float], bool], low: float, high: float) -> float:
    for _ in range(BISECTIONS):
        checkpoint()
        middle = 0.5 * (low + high)
        if high - low <= 1e-7:
            break
        low, high = (middle, high) if short(middle) else (low, middle)
    return round(high, 6)
