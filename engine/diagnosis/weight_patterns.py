r"""The traces that wrong masses and places of weights leave. Layer: engine.diagnosis.

A place off by :math:`d` to port shifts the true moment by :math:`-m d` while the weight lies there. Where it lay at
reading 0 is part of every moment from its first move on, so a first place off by :math:`d` shifts them all by
:math:`+m d`: to the end, or, where each return is logged to that very place and truly is the same spot, while it is
away. The first is the trace of anything that shifts for good just then, the second that of the place it went to, or of
its mass, unless it lay at several places at unlike distances. What leaves another's trace is a *twin*.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from engine.checks import Floats

SAME_PLACE_M = 1e-6
"""Places nearer than this are the same as logged."""


@dataclass(frozen=True, eq=False)
class Placement:
    """One stay of a weight: the readings it covers, its mass and where it was logged to lie. [t, m]"""

    weight: str
    move: int
    first: int
    stop: int
    mass_t: float
    from_y_m: float
    to_y_m: float
    home_y_m: float

    @property
    def away_m(self) -> float:
        """How far from its first place it was logged to lie, to port +. [m]"""
        return self.to_y_m - self.home_y_m

    @property
    def at_home(self) -> bool:
        """Whether it was logged back at its first place."""
        return abs(self.away_m) <= SAME_PLACE_M


@dataclass(frozen=True, eq=False)
class OfWeights:
    """Columns (n, k) and, for each, which stay (−1 − stay where it is the mass) or which true first place it is of."""

    columns: Floats
    where: np.ndarray
    places_m: Floats

    @classmethod
    def of(cls, n: int, found: Sequence[tuple[Floats, int]], places_m: Sequence[float] = ()) -> "OfWeights":
        """Stack what was found."""
        columns = np.array([column for column, _ in found], dtype=np.float64).reshape(len(found), n).T
        return cls(columns, np.array([where for _, where in found], dtype=int), np.asarray(places_m, dtype=np.float64))


Stays = Sequence[tuple[int, Placement]]
"""Stays of one weight with their numbers among the placements."""


def by_weight(placements: Sequence[Placement]) -> list[Stays]:
    """Return the stays of each weight, in their order; a move to where it stands already only makes a stay last."""
    found: dict[str, list[tuple[int, Placement]]] = {}
    for k, placed in enumerate(placements):
        stays = found.setdefault(placed.weight, [])
        if abs(placed.to_y_m - placed.from_y_m) > SAME_PLACE_M:
            stays.append((k, placed))
        elif stays:
            number, lasting = stays[-1]
            stays[-1] = (number, replace(lasting, stop=placed.stop))
    return [stays for stays in found.values() if stays]


def moments_of(n: int, weights: Sequence[Stays]) -> OfWeights:
    """Return a place off by a length, for each stay that ends before the test does, and a weight's mass."""
    places: list[tuple[Floats, int]] = []
    masses: list[tuple[Floats, int]] = []
    for stays in weights:
        places += [(_while(n, [one]), k) for k, one in stays if one.stop < n]
        away = np.zeros(n)
        for _, one in stays:
            away[one.first : one.stop] = one.away_m
        top = np.abs(away).max()
        if top > 0 and sum(abs(one.away_m) > 1e-9 * top for _, one in stays) > 1:
            masses.append((-away / top, -1 - stays[0][0]))  # else the same trace as its one place
    return OfWeights.of(n, sorted(places, key=lambda one: one[1]) + masses)


def first_places(n: int, weights: Sequence[Stays]) -> OfWeights:
    """Return first places off by a length where nothing else leaves their trace: away at unlike distances, and back."""
    found = [(_while(n, away), k) for k, away in _away(weights) if _unlike(away)]
    return OfWeights.of(n, found)


def first_place_twins(n: int, weights: Sequence[Stays]) -> OfWeights:
    """Return first places off by a length that leave another's trace: since the first move, or while away."""
    found = [(_since(n, stays), stays[0][0]) for stays in weights]
    found += [(_while(n, away), k) for k, away in _away(weights) if not _unlike(away)]
    return OfWeights.of(n, found)


def last_place_twins(n: int, weights: Sequence[Stays]) -> OfWeights:
    """Return places off by a length where the weight stays to the end."""
    last = [stays[-1] for stays in weights]
    return OfWeights.of(n, [(_while(n, [one]), k) for k, one in last])


def mirrored_first_places(n: int, weights: Sequence[Stays]) -> OfWeights:
    """Return first places on the other side of the centreline, since the first move."""
    return _first_at(n, [(stays, -stays[0][1].home_y_m) for stays in weights if stays[0][1].home_y_m])


def returned_first_places(n: int, weights: Sequence[Stays]) -> OfWeights:
    """Return, of weights put back elsewhere than where they lay as logged, that place as the first one."""
    found = []
    for stays in weights:
        home = stays[0][1].home_y_m
        back = min((one for _, one in stays[1:]), key=lambda one: abs(one.away_m), default=None)
        if back is not None and min(abs(back.away_m), abs(back.to_y_m + home)) > SAME_PLACE_M:
            found.append((stays, back.to_y_m))
    return _first_at(n, found)


def _first_at(n: int, found: Sequence[tuple[Stays, float]]) -> OfWeights:
    columns = [(_since(n, stays), stays[0][0]) for stays, _ in found]
    return OfWeights.of(n, columns, [place for _, place in found])


def back_at(placements: Sequence[Placement], weight: str, place_m: float) -> int | None:
    """Return the first reading for which this weight was logged to be set down (again) at this place. [m]"""
    readings = (one.first for one in placements if one.weight == weight and abs(one.to_y_m - place_m) <= SAME_PLACE_M)
    return next(readings, None)


def _away(weights: Sequence[Stays]) -> Iterator[tuple[int, list[Placement]]]:
    """Yield, for weights logged back at their first place, the number of the first stay, and those elsewhere."""
    for stays in weights:
        away = [one for _, one in stays if not one.at_home]
        if away and len(away) < len(stays):
            yield stays[0][0], away


def _unlike(away: Sequence[Placement]) -> bool:
    distances = [one.away_m for one in away]
    return max(distances) - min(distances) > SAME_PLACE_M


def _since(n: int, stays: Stays) -> Floats:
    """Return 1 from the first move on, before 0."""
    column = np.zeros(n)
    column[stays[0][1].first :] = 1.0
    return column


def _while(n: int, stays: Sequence[Placement]) -> Floats:
    """Return 1 while these last, else 0."""
    column = np.zeros(n)
    for one in stays:
        column[one.first : one.stop] = 1.0
    return column
