"""Triggers of deviation as data: what asks for a survey, a test, or amended information. Layer: engine.lightship.

A limit of ``engine.rules`` is one number; one of these may depend on the ship's length (SOLAS II-1/5.2) or be the
larger of a percentage and a mass (MSC/Circ.1158), holds against one kind of reference only, and asks for an action.
Hence a small table of its own: one JSON file a set in ``trigger_sets``.
"""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, Literal

from engine.errors import InputError
from engine.rules.rule import SourceStatus

Against = Literal["approved", "sister", "predicted"]
ShipKind = Literal["passenger", "cargo"]
Situation = Literal["new", "sister", "in_service"]
Decision = Literal["full_test", "survey_only", "neither"]
Action = Literal["amended_information", "survey_only", "full_test"]
LengthName = Literal["length_bp_m", "load_line_length_m"]
VcgKind = Literal["approved", "calculated", "sister", "tank_vessel"]
Deviating = Literal[
    "mass_percent",
    "lcg_over_length_bp_percent",
    "lcg_over_load_line_length_percent",
    "vcg_percent",
    "aggregate_percent",
]
"""mass: of the reference's mass; LCG: of the length named; VCG: of the reference's VCG; aggregate: absolute total of
additions, removals and relocations, of the reference's mass. Sizes, never negative."""


@dataclass(frozen=True)
class LimitByLength:
    """A limit linear in a named length, constant beyond both ends. [m, %]"""

    length: LengthName
    length_m: tuple[float, float]
    limit_percent: tuple[float, float]


@dataclass(frozen=True, kw_only=True)
class Trigger:
    """One limit of deviation; the limit itself passes unless ``limit_itself_triggers``.

    Attributes
    ----------
    id, title, clause, source, source_status, note
        As of an ``engine.rules`` rule.
    against : tuple of str
        Which references it is for.
    ship_kinds : tuple of str
        Empty: every ship. A cargo ship is any that is not a passenger ship.
    quantity : str
        What is compared. [%]
    limit : float or None
        [%]; None where ``limit_by_length`` gives it.
    least_limit_t : float
        The limit is never less than this mass. [t]
    documented_excluded : bool
        Differences that are documented (the weight history) do not count.
    action : str
        What it asks for when exceeded.
    """

    id: str
    title: str
    against: tuple[Against, ...]
    quantity: Deviating
    action: Action
    clause: str
    source: str
    source_status: SourceStatus
    ship_kinds: tuple[ShipKind, ...] = ()
    limit: float | None = None
    limit_by_length: LimitByLength | None = None
    least_limit_t: float = 0.0
    limit_itself_triggers: bool = False
    documented_excluded: bool = False
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class Baseline:
    """What a set asks for in a situation before any deviation is looked at.

    Attributes
    ----------
    least_load_line_length_m : float
        It holds from this length on. [m]
    interval_days : float or None
        It falls due when the last survey is older. [d]
    permissive : bool
        The authority may allow it; it is shown and not counted.
    """

    id: str
    title: str
    situations: tuple[Situation, ...]
    decision: Decision
    clause: str
    source: str
    source_status: SourceStatus
    ship_kinds: tuple[ShipKind, ...] = ()
    least_load_line_length_m: float = 0.0
    interval_days: float | None = None
    permissive: bool = False
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class VcgRule:
    """What VCG a set gives to a ship that is surveyed and not inclined."""

    id: str
    kind: VcgKind
    title: str
    clause: str
    source: str
    source_status: SourceStatus
    note: str = ""


@dataclass(frozen=True)
class TriggerSet:
    """Baselines and triggers under one name; ``version`` changes whenever a number, clause or word does."""

    name: str
    title: str
    version: str
    baselines: tuple[Baseline, ...]
    triggers: tuple[Trigger, ...]
    vcg: VcgRule | None = None


def trigger_sets(names: Sequence[str] | None = None) -> tuple[TriggerSet, ...]:
    """Return the sets named, in that order, or all, ordered by name.

    Raises
    ------
    InputError
        ``rule-set-not-known``, ``rule-set-duplicate``; field ``rules/<i>``.
    """
    known = _built_in()
    chosen = list(known) if names is None else list(names)
    for i, name in enumerate(chosen):
        if name not in known:
            words = f"is not the name of a set of triggers: {', '.join(known)}"
            raise InputError(words, code="rule-set-not-known", field=f"rules/{i}")
        if name in chosen[:i]:
            raise InputError("is the name of an earlier set too", code="rule-set-duplicate", field=f"rules/{i}")
    return tuple(known[name] for name in chosen)


@cache
def _built_in() -> dict[str, TriggerSet]:
    """Return the sets of this package by name, ordered by it; their files are read once."""
    folder = files("engine.lightship") / "trigger_sets"
    entries = sorted((entry for entry in folder.iterdir() if entry.name.endswith(".json")), key=lambda one: one.name)
    return {entry.name.removesuffix(".json"): _set(json.loads(entry.read_text(encoding="utf-8"))) for entry in entries}


def vcg_rule(kind: VcgKind) -> VcgRule:
    """Return the rule of the built-in sets that gives the VCG in this way."""
    return next(one.vcg for one in trigger_sets() if one.vcg is not None and one.vcg.kind == kind)


def _set(body: dict[str, Any]) -> TriggerSet:
    return TriggerSet(
        name=body["name"],
        title=body["title"],
        version=body["version"],
        baselines=tuple(Baseline(**_tuples(one)) for one in body["baselines"]),
        triggers=tuple(_trigger(_tuples(one)) for one in body["triggers"]),
        vcg=VcgRule(**body["vcg"]) if "vcg" in body else None,
    )


def _trigger(body: dict[str, Any]) -> Trigger:
    if "limit_by_length" in body:
        body = {**body, "limit_by_length": LimitByLength(**_tuples(body["limit_by_length"]))}
    return Trigger(**body)


def _tuples(body: dict[str, Any]) -> dict[str, Any]:
    return {name: tuple(value) if isinstance(value, list) else value for name, value in body.items()}
