"""The VCG a tank vessel may be assumed to have, 46 CFR 170.200. Layer: engine.lightship."""

from dataclasses import dataclass, fields
from typing import Literal

from engine.checks import positive, within

LEAST_GROSS_TONNAGE = 150.0
DEPTH_PERCENT = {"tank_ship": 70.0, "tank_barge": 60.0}
"""VCG as a percentage of the moulded depth, 46 CFR 170.200 (read in a copy: "For a tank ship-70%", "For a tank
barge-60%")."""


@dataclass(frozen=True, kw_only=True)
class TankVessel:
    """A tank vessel and the conditions of the section; None where it is not stated whether one holds.

    Attributes
    ----------
    kind : {"tank_ship", "tank_barge"}
        Which.
    depth_m : float
        Moulded depth. [m]
    gross_tonnage : float or None
        At least 150 for the section to apply.
    ordinary_form, flush_deck, longitudinal_bulkhead : bool or None
        Must hold; at least one longitudinal bulkhead.
    independent_tanks, cargo_above_freeboard_deck, special_cargo : bool or None
        Must not hold; special: a cargo of part 153 table 1 or part 154 table 4.
    """

    kind: Literal["tank_ship", "tank_barge"]
    depth_m: float
    gross_tonnage: float | None = None
    ordinary_form: bool | None = None
    flush_deck: bool | None = None
    longitudinal_bulkhead: bool | None = None
    independent_tanks: bool | None = None
    cargo_above_freeboard_deck: bool | None = None
    special_cargo: bool | None = None


@dataclass(frozen=True)
class AssumedVcg:
    """Whether the section applies, and the VCG where it does.

    Attributes
    ----------
    outcome : {"applies", "does_not_apply", "not_assessed"}
        Not assessed where no condition fails and one is not stated.
    z_m : float or None
        Where it applies. [m]
    depth_percent : float
        [%]
    failed, not_stated : tuple of str
        The conditions, by field.
    """

    outcome: Literal["applies", "does_not_apply", "not_assessed"]
    z_m: float | None
    depth_percent: float
    failed: tuple[str, ...]
    not_stated: tuple[str, ...]


_MUST_NOT_HOLD = ("independent_tanks", "cargo_above_freeboard_deck", "special_cargo")


def assumed_vcg(vessel: TankVessel) -> AssumedVcg:
    """Return the lightship VCG a tank vessel may be assumed to have.

    Raises
    ------
    InputError
        ``not-positive``, ``out-of-range``: depth or tonnage.

    References
    ----------
    .. [1] 46 CFR 170.200.

    Examples
    --------
    >>> barge = TankVessel(
    ...     kind="tank_barge",
    ...     depth_m=5.0,
    ...     gross_tonnage=600.0,
    ...     ordinary_form=True,
    ...     flush_deck=True,
    ...     longitudinal_bulkhead=True,
    ...     independent_tanks=False,
    ...     cargo_above_freeboard_deck=False,
    ...     special_cargo=False,
    ... )
    >>> assumed_vcg(barge).z_m
    3.0
    """
    depth = positive(vessel.depth_m, field="depth_m", unit="m")
    if vessel.gross_tonnage is not None:
        within(vessel.gross_tonnage, low=0.0, high=1e7, field="gross_tonnage")
    failed, not_stated = [], []
    for name in (field.name for field in fields(vessel) if field.name not in ("kind", "depth_m")):
        value = getattr(vessel, name)
        if value is None:
            not_stated.append(name)
        elif name == "gross_tonnage":
            failed += [name] if value < LEAST_GROSS_TONNAGE else []
        elif value is (name in _MUST_NOT_HOLD):
            failed.append(name)
    percent = DEPTH_PERCENT[vessel.kind]
    if failed:
        return AssumedVcg("does_not_apply", None, percent, tuple(failed), tuple(not_stated))
    if not_stated:
        return AssumedVcg("not_assessed", None, percent, (), tuple(not_stated))
    return AssumedVcg("applies", percent * depth / 100.0, percent, (), ())
