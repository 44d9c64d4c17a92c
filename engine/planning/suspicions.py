"""Entries of a ledger that look wrong. Layer: engine.planning.

Every threshold here is our choice (docs/methods/ledger-review.md); a suspicion is a call to look, not a fault.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from engine.checks import Floats
from engine.deadline import checkpoint
from engine.incline.plausible import off_median
from engine.survey.ledger import Item

LARGE_SHARE_PERCENT = 5.0
"""A single entry over this share of the lightship is looked at."""
HIGH_RATIO, LOW_RATIO = 200.0, 1e-3
"""An entry so many times the median is looked at: kilograms for tonnes are 1000 times too much; turned into tonnes
twice, a thousandth."""
LEAST_FOR_SCALE_COUNT = 5
SAME_PLACE_M = 0.1
NEAR_M = 5.0
SAME_MASS_RATIO = 0.01
CENTRELINE_M = 1e-9

_PORT = re.compile(r"\b(?:port(?!\s*(?:holes?|lights?)\b)|p/side|ps)\b", re.IGNORECASE)
_STARBOARD = re.compile(r"\b(?:starboard|starbord|stbd|stb|s/side|sb)\b", re.IGNORECASE)
_LETTER = re.compile(r"(?:^|[\s(,;\-])([PS])(?=$|[\s),;.])")
_BOTH = re.compile(r"\b(?:p\s*[/&+]\s*s|s\s*[/&+]\s*p)\b", re.IGNORECASE)
_WORDS = re.compile(r"[a-z0-9]+")


@dataclass(frozen=True)
class Suspicion:
    """What looks wrong with an entry.

    Attributes
    ----------
    code : str
        ``no-centre``, ``outside-ship``, ``double-entry``, ``mass-zero``, ``mass-large``, ``mass-out-of-scale``,
        ``side-against-name``, ``side-on-centreline``, ``moved-nowhere``.
    item : int
        Number of the entry.
    message : str
        With numbers; never the entry's name.
    other_item : int or None
        The entry it is held against.
    """

    code: str
    item: int
    message: str
    other_item: int | None = None


def suspicious(
    *, items: Sequence[Item], names: Sequence[str], lightship_mass_t: float, bounds_m: Floats | None = None
) -> tuple[Suspicion, ...]:
    """Return what looks wrong, by entry.

    Parameters
    ----------
    items, names : sequences of one length
        The entries and their descriptions.
    lightship_mass_t : float
        What "large" is measured by. [t]
    bounds_m : (2, 3) float64, optional
        Least and largest x, y, z of the ship. [m]
    """
    found: list[Suspicion] = []
    scale = _scale(items)
    for number, (item, name) in enumerate(zip(items, names, strict=True)):
        checkpoint()
        found += _of_places(number, item, bounds_m)
        found += _of_mass(number, item.mass_t, scale, lightship_mass_t)
        found += _of_side(number, item, name)
    found += _doubles(items, names)
    return tuple(sorted(found, key=lambda one: one.item))


def _places(item: Item) -> list[Floats]:
    return [item.centre_m] if item.to_m is None else [item.centre_m, item.to_m]


def _of_places(number: int, item: Item, bounds_m: Floats | None) -> Iterator[Suspicion]:
    places = _places(item)
    if any(not place.any() for place in places):
        yield Suspicion("no-centre", number, "the centre is (0, 0, 0): nobody has filled it in, it seems")
    if item.to_m is not None and np.array_equal(item.centre_m, item.to_m):
        yield Suspicion("moved-nowhere", number, "it is relocated to where it is")
    if bounds_m is None:
        return
    for place in places:
        beyond = np.maximum(bounds_m[0] - place, place - bounds_m[1])
        axis = int(np.argmax(beyond))
        if beyond[axis] > 0 and place.any():
            words = f"{'xyz'[axis]} = {place[axis]:.6g} m is {beyond[axis]:.6g} m outside the ship"
            yield Suspicion("outside-ship", number, words)
            return


def _scale(items: Sequence[Item]) -> float | None:
    """Return the median mass, None where there are too few to say. [t]"""
    masses = [item.mass_t for item in items if item.mass_t > 0]
    return float(np.median(masses)) if len(masses) >= LEAST_FOR_SCALE_COUNT else None


def _of_mass(number: int, mass: float, scale: float | None, lightship: float) -> Iterator[Suspicion]:
    if mass == 0:
        yield Suspicion("mass-zero", number, "the mass is 0 t")
    share = 100 * mass / lightship
    if share > LARGE_SHARE_PERCENT:
        words = f"{mass:.6g} t is {share:.6g} % of the lightship; over {LARGE_SHARE_PERCENT:.6g} % is looked at"
        yield Suspicion("mass-large", number, words)
    if scale is not None and mass > 0:
        off = off_median(mass, median_t=scale, low_ratio=LOW_RATIO, high_ratio=HIGH_RATIO, of="the list")
        if off is not None:
            yield Suspicion("mass-out-of-scale", number, off)


def side_named(name: str) -> int:
    """Return +1 for a description that says port, −1 for starboard, 0 for neither or both."""
    if _BOTH.search(name):
        return 0
    letters = set(_LETTER.findall(name))
    port = bool(_PORT.search(name)) or "P" in letters
    starboard = bool(_STARBOARD.search(name)) or "S" in letters
    return int(port) - int(starboard)


def _of_side(number: int, item: Item, name: str) -> Iterator[Suspicion]:
    side = side_named(name)
    if side == 0:
        return
    across = [float(place[1]) for place in _places(item)]
    if any(side * y > CENTRELINE_M for y in across):  # a relocated item may be named by either of its places
        return
    word = "port" if side > 0 else "starboard"
    if any(abs(y) > CENTRELINE_M for y in across):
        y = max(across, key=abs)
        yield Suspicion("side-against-name", number, f"its name says {word}, y = {y:.6g} m; y is positive to port")
    else:
        yield Suspicion("side-on-centreline", number, f"its name says {word}, y = 0 m")


def _doubles(items: Sequence[Item], names: Sequence[str]) -> Iterator[Suspicion]:
    """Hold each entry against all before it; tell of the first that it may repeat."""
    mass = np.array([item.mass_t for item in items])
    centre = np.array([item.centre_m for item in items]).reshape(-1, 3)
    centred: NDArray[np.bool_] = np.any(centre, axis=1)
    spelled = [" ".join(_WORDS.findall(name.casefold())) for name in names]
    code_of = {words: code for code, words in enumerate(dict.fromkeys(spelled))}
    code: NDArray[np.intp] = np.array([code_of[words] for words in spelled], dtype=np.intp)
    action = np.array([item.action for item in items])
    for j in range(1, len(items)):
        checkpoint()
        alike = np.abs(mass[:j] - mass[j]) <= SAME_MASS_RATIO * mass[j]
        if mass[j] == 0 or not alike.any():
            continue
        apart = np.abs(centre[:j] - centre[j]).max(axis=1)
        known = centred[:j] & centred[j]
        in_place: NDArray[np.bool_] = known & (apart <= SAME_PLACE_M)
        mirrored = centre[:j, 1] * centre[j, 1] < 0
        named = (code[:j] == code[j]) & (spelled[j] != "") & ~mirrored
        named &= ~known | (apart <= NEAR_M) | (action[:j] != action[j])
        doubles = np.flatnonzero(alike & (in_place | named))
        if len(doubles):
            i = int(doubles[0])
            how = f"stands within {SAME_PLACE_M:.6g} m" if in_place[i] else "has the same name"
            other = "" if action[i] == action[j] else ", and is to be treated otherwise"
            yield Suspicion("double-entry", j, f"an earlier entry has this mass within 1 %, {how}{other}", i)
