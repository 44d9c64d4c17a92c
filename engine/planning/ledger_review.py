"""A review of the add, remove and relocate list before anybody relies on it. Layer: engine.planning.

Three questions: does what is aboard, missing and too much keep within practice; what to land first; and which entries
look wrong. Nothing is repaired: a suspicion is for a person to look at.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from engine.checks import Floats, finite, points, positive
from engine.errors import InputError
from engine.geometry.cut import Solid
from engine.planning.suspicions import Suspicion, suspicious
from engine.rules import OBSERVED_DECIMALS, Check, assess, built_in_sets
from engine.survey.ledger import Item

_QUANTITIES = (
    "deadweight_over_lightship_percent",
    "surplus_over_lightship_percent",
    "missing_over_lightship_percent",
    "completeness_percent",
)
DEADWEIGHT_LIMIT_PERCENT = 2.0
"""Deadweight left aboard over the lightship: common practice, no source."""
MASS_UNCERTAINTY_RATIO, CENTRE_UNCERTAINTY_M = 0.05, 0.1
"""Standard uncertainties of an entry where none is stated: our choice (docs/methods/ledger-review.md)."""


@dataclass(frozen=True)
class Shares:
    """What the list adds up to, and its share of the lightship.

    Attributes
    ----------
    surplus_t, missing_t, relocated_t : float
        Items to remove, to add, to relocate. [t]
    liquids_t : float or None
        Liquids aboard that are not lightship; None where not known. [t]
    surplus_percent, missing_percent, completeness_percent : float
        Over the lightship.
    deadweight_percent : float or None
        Surplus and liquids over the lightship; None where the liquids are not known.
    aggregate_percent : float
        Surplus, missing and relocated masses, each once, over the lightship.
    """

    surplus_t: float
    missing_t: float
    relocated_t: float
    liquids_t: float | None
    surplus_percent: float
    missing_percent: float
    completeness_percent: float
    deadweight_percent: float | None
    aggregate_percent: float


@dataclass(frozen=True)
class ToLand:
    """An item to land, the heaviest first.

    Attributes
    ----------
    item : int
        Its number in the list.
    mass_t : float
        [t]
    share_percent : float
        Of the lightship.
    remaining_percent : float
        Deadweight over the lightship once this and all before it are ashore (the surplus alone where the liquids are
        not known).
    needed : bool
        Whether it has to go, in this order, before the deadweight is within 2 %.
    vcg_standard_uncertainty_m : float or None
        What this entry alone puts on the lightship's VCG; None where that VCG is not known. [m]
    """

    item: int
    mass_t: float
    share_percent: float
    remaining_percent: float
    needed: bool
    vcg_standard_uncertainty_m: float | None


@dataclass(frozen=True)
class LedgerReview:
    """Shares, the checks of the rule sets on them, what to land, and what looks wrong."""

    shares: Shares
    checks: tuple[Check, ...]
    to_land: tuple[ToLand, ...]
    suspicions: tuple[Suspicion, ...]


DECKHOUSES_RATIO = 2.0
"""Deckhouses, masts and cranes reach this many depths above the hull: our choice."""


def ship_bounds_m(hull: Solid) -> Floats:
    """Return (2, 3) the box within which an entry of the ledger is not called outside: the hull's, higher. [m]"""
    low, high = hull.bounds_m
    return np.array([low, high + np.array([0.0, 0.0, DECKHOUSES_RATIO * (high[2] - low[2])])])


def review(
    *,
    items: Sequence[Item],
    names: Sequence[str],
    lightship_mass_t: float,
    bounds_m: ArrayLike | None = None,
    liquids_mass_t: float | None = None,
    lightship_vcg_m: float | None = None,
    mass_uncertainty_ratio: float = MASS_UNCERTAINTY_RATIO,
    centre_uncertainty_m: float = CENTRE_UNCERTAINTY_M,
) -> LedgerReview:
    """Review a ledger.

    Parameters
    ----------
    items : sequence of Item
        The add, remove and relocate list; inclining weights and tank contents are not in it.
    names : sequence of str
        Their descriptions, one each.
    lightship_mass_t : float
        Mass the shares are of, > 0. [t]
    bounds_m : (2, 3) array_like, optional
        Least and largest x, y, z of the ship; without them no entry is called outside. [m]
    liquids_mass_t : float, optional
        Liquids aboard that are not lightship, >= 0. [t]
    lightship_vcg_m : float, optional
        For the part of its uncertainty that each entry causes. [m]
    mass_uncertainty_ratio, centre_uncertainty_m : float
        Standard uncertainty of an entry's mass over the mass, and of its centre. [1, m]

    Raises
    ------
    InputError
        ``unequal-lengths``, ``not-positive``, ``out-of-range``, ``not-finite``, ``wrong-shape``, ``box-ends``.

    Notes
    -----
    Removing m at z from a lightship W with VCG Z gives dZ/dm = (Z − z)/W, dZ/dz = −m/W, so
    u² = ((Z − z) u(m)/W)² + (m u(z)/W)² (JCGM 100:2008, 5.1.2). The limits are rows of the rule sets ``us-46-cfr-170``
    (completeness 98 %), ``class-practice`` (missing 2 %, surplus 4 %, from memory) and ``common-practice`` (deadweight
    2 %, no source).
    """
    if len(items) != len(names):
        raise InputError(
            f"{len(items)} items and {len(names)} names", code="unequal-lengths", field="names", value=len(names)
        )
    lightship = positive(lightship_mass_t, field="lightship_mass_t", unit="t")
    liquids = None if liquids_mass_t is None else _not_negative(liquids_mass_t, field="liquids_mass_t")
    shares = _shares(items, lightship, liquids)
    return LedgerReview(
        shares=shares,
        checks=_checks(shares),
        to_land=_to_land(
            items,
            shares,
            lightship_mass_t=lightship,
            vcg_m=lightship_vcg_m,
            mass_uncertainty_ratio=_not_negative(mass_uncertainty_ratio, field="mass_uncertainty_ratio"),
            centre_uncertainty_m=_not_negative(centre_uncertainty_m, field="centre_uncertainty_m"),
        ),
        suspicions=suspicious(
            items=items, names=names, lightship_mass_t=lightship, bounds_m=None if bounds_m is None else _box(bounds_m)
        ),
    )


def _not_negative(value: float, *, field: str) -> float:
    number = float(finite(value, field=field))
    if number < 0:
        raise InputError(f"must be 0 or more, is {number:.6g}", code="out-of-range", field=field, value=number, limit=0)
    return number


def _box(bounds_m: ArrayLike) -> Floats:
    box = points(bounds_m, columns=3, field="bounds_m")
    if len(box) != 2:
        raise InputError("must be two points", code="wrong-shape", field="bounds_m")
    if (box[0] >= box[1]).any():
        raise InputError("the lower end must be below the upper", code="box-ends", field="bounds_m")
    return box


def _shares(items: Sequence[Item], lightship: float, liquids: float | None) -> Shares:
    mass = {
        action: math.fsum(item.mass_t for item in items if item.action == action)
        for action in ("remove", "add", "relocate")
    }

    def percent(part: float) -> float:
        return round(100 * part / lightship, OBSERVED_DECIMALS)

    return Shares(
        surplus_t=mass["remove"],
        missing_t=mass["add"],
        relocated_t=mass["relocate"],
        liquids_t=liquids,
        surplus_percent=percent(mass["remove"]),
        missing_percent=percent(mass["add"]),
        completeness_percent=percent(lightship - mass["add"]),
        deadweight_percent=None if liquids is None else percent(mass["remove"] + liquids),
        aggregate_percent=percent(math.fsum(mass.values())),
    )


def _checks(shares: Shares) -> tuple[Check, ...]:
    observed = {
        "deadweight_over_lightship_percent": shares.deadweight_percent,
        "surplus_over_lightship_percent": shares.surplus_percent,
        "missing_over_lightship_percent": shares.missing_percent,
        "completeness_percent": shares.completeness_percent,
    }
    return tuple(check for check in assess(built_in_sets("test"), observed) if check.quantity in _QUANTITIES)


def _to_land(
    items: Sequence[Item],
    shares: Shares,
    *,
    lightship_mass_t: float,
    vcg_m: float | None,
    mass_uncertainty_ratio: float,
    centre_uncertainty_m: float,
) -> tuple[ToLand, ...]:
    """Rank by mass: no other order brings the deadweight within the limit with fewer items landed."""
    numbers = [i for i, item in enumerate(items) if item.action == "remove" and item.mass_t > 0]
    numbers.sort(key=lambda i: -items[i].mass_t)
    aboard = shares.surplus_t + (shares.liquids_t or 0.0)
    left = aboard - np.cumsum([items[i].mass_t for i in numbers])
    limit = DEADWEIGHT_LIMIT_PERCENT / 100 * lightship_mass_t
    rows = []
    for rank, i in enumerate(numbers):
        mass, height = items[i].mass_t, float(items[i].centre_m[2])
        before = aboard if rank == 0 else float(left[rank - 1])
        spread = None
        if vcg_m is not None:
            of_mass = (vcg_m - height) * mass_uncertainty_ratio * mass
            spread = math.hypot(of_mass, mass * centre_uncertainty_m) / lightship_mass_t
        rows.append(
            ToLand(
                item=i,
                mass_t=mass,
                share_percent=100 * mass / lightship_mass_t,
                remaining_percent=max(0.0, 100 * float(left[rank]) / lightship_mass_t),
                needed=before > limit * (1 + 1e-12),
                vcg_standard_uncertainty_m=spread,
            )
        )
    return tuple(rows)
