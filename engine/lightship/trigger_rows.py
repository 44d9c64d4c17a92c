"""Deviations of a lightship held against the triggers of the rules. Layer: engine.lightship."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, get_args

from engine.lightship.deviation import Lengths, deviation, deviation_uncertainty
from engine.lightship.particulars import Lightship
from engine.lightship.triggers import Action, Against, Deviating, LengthName, ShipKind, Trigger, TriggerSet
from engine.rules.observables import OBSERVED_DECIMALS
from engine.rules.rule import SourceStatus

COVERAGE_RATIO = 2.0
"""A value is beyond the uncertainty of a limit when further from it than this many standard uncertainties (our choice;
95 % of a normal distribution)."""

LEAST = 10.0**-OBSERVED_DECIMALS
"""A standard uncertainty below the last decimal kept counts as none. [%]"""

Outcome = Literal["within", "exceeded", "not_assessed"]
Certainty = Literal["beyond_uncertainty", "within_uncertainty"]


@dataclass(frozen=True)
class TriggerRow:
    """What came of one trigger.

    Attributes
    ----------
    rule_set, rule, title, clause, source, source_status, quantity, action, note
        Of the trigger; ``action`` is what it asks for if exceeded.
    against : str
        The reference.
    value : float or None
        Size of the deviation. [%]
    limit : float or None
        [%]; None where the length it depends on is not given.
    value_t, limit_t, value_m, limit_m : float or None
        The same in tonnes (mass, aggregate) or metres (LCG, VCG).
    length : {"length_bp_m", "load_line_length_m"} or None
        The length the percentage or the limit is of.
    outcome : {"within", "exceeded", "not_assessed"}
        The limit itself is within, unless the text says otherwise.
    allowance_t : float or None
        Mass still to be changed before the trigger; for aggregate and mass. [t]
    standard_uncertainty : float or None
        Of the value, where the lightships state one. [%]
    exceedance_ratio : float or None
        (Value − limit) over that standard uncertainty; None where it is 0.
    certainty : {"beyond_uncertainty", "within_uncertainty"} or None
        Whether value and limit are further apart than ``COVERAGE_RATIO`` standard uncertainties.
    reason : str
        Why not assessed, else "".
    """

    rule_set: str
    rule: str
    title: str
    against: Against
    clause: str
    source: str
    source_status: SourceStatus
    quantity: Deviating
    action: Action
    value: float | None
    limit: float | None
    outcome: Outcome
    value_t: float | None = None
    limit_t: float | None = None
    value_m: float | None = None
    limit_m: float | None = None
    length: LengthName | None = None
    allowance_t: float | None = None
    standard_uncertainty: float | None = None
    exceedance_ratio: float | None = None
    certainty: Certainty | None = None
    reason: str = ""
    note: str = ""


@dataclass(frozen=True)
class Compared:
    """A derived lightship and what it is held against.

    Attributes
    ----------
    against : {"approved", "sister", "predicted"}
        What the reference is.
    derived, reference : Lightship
        The two.
    lengths : Lengths
        For the limits of LCG.
    aggregate_t : float or None
        Aggregate weight change since the reference; None where the history is not given. [t]
    documented : Lightship or None
        The reference with its documented differences, for limits of undocumented ones.
    """

    against: Against
    derived: Lightship
    reference: Lightship
    lengths: Lengths
    aggregate_t: float | None = None
    documented: Lightship | None = None


def limit_percent(trigger: Trigger, *, reference_mass_t: float, lengths: Lengths) -> float | None:
    """Return a trigger's limit, None where the length it depends on is not given. [%]

    Notes
    -----
    SOLAS II-1/5.2: 2 − (clip(L, 50, 160) − 50)/110.
    """
    if trigger.limit_by_length is None:
        limit = trigger.limit
    else:
        by, length = trigger.limit_by_length, getattr(lengths, trigger.limit_by_length.length)
        if length is None:
            return None
        (low, high), (first, last) = by.length_m, by.limit_percent
        share = (min(max(length, low), high) - low) / (high - low)
        limit = first + share * (last - first)
    if limit is None:
        return None
    return round(max(limit, 100.0 * trigger.least_limit_t / reference_mass_t), OBSERVED_DECIMALS)


def trigger_rows(
    sets: Sequence[TriggerSet], compared: Compared, *, ship_kind: ShipKind | None = None
) -> tuple[TriggerRow, ...]:
    """Return a row for each trigger that applies to this kind of reference and ship, in the order of the sets.

    Parameters
    ----------
    sets : sequence of TriggerSet
        From ``triggers.trigger_sets``.
    compared : Compared
        The lightships.
    ship_kind : {"passenger", "cargo"}, optional
        Without it the triggers of both kinds are shown.

    Notes
    -----
    Value and limit are rounded to nine decimals before they are compared, as observed values of ``engine.rules`` are:
    30.6 m − 30 m is 0.6 m and not 1.4e-15 m more.
    """
    return tuple(
        _row(one.name, trigger, compared)
        for one in sets
        for trigger in one.triggers
        if compared.against in trigger.against
        and (ship_kind is None or not trigger.ship_kinds or ship_kind in trigger.ship_kinds)
    )


def allowances(
    sets: Sequence[TriggerSet], *, approved: Lightship, lengths: Lengths, ship_kind: ShipKind | None = None
) -> tuple[TriggerRow, ...]:
    """Return the triggers of mass and aggregate against a lightship just approved, nothing changed since."""
    nothing = Compared(against="approved", derived=approved, reference=approved, lengths=lengths, aggregate_t=0.0)
    return tuple(row for row in trigger_rows(sets, nothing, ship_kind=ship_kind) if row.allowance_t is not None)


_ACTIONS: tuple[Action, ...] = get_args(Action)
"""The most demanding last."""


def next_trigger(rows: Sequence[TriggerRow]) -> TriggerRow | None:
    """Return the row not exceeded whose allowance of mass is used up first, and that asks for more than is asked."""
    asked = max((_ACTIONS.index(row.action) for row in rows if row.outcome == "exceeded"), default=-1)
    left = [
        row
        for row in rows
        if row.allowance_t is not None and row.outcome != "exceeded" and _ACTIONS.index(row.action) > asked
    ]
    return min(left, key=lambda row: row.allowance_t or 0.0, default=None)


def _row(rule_set: str, trigger: Trigger, compared: Compared) -> TriggerRow:
    base, lengths = compared.reference, compared.lengths
    exact, uncertainty, reason = _value(trigger, compared)
    size = None if exact is None else abs(exact)
    value = None if size is None else round(size, OBSERVED_DECIMALS)
    limit = limit_percent(trigger, reference_mass_t=base.mass_t, lengths=lengths)
    if limit is None:
        reason = "the load-line length is not given"
    outcome: Outcome = "not_assessed"
    if value is not None and limit is not None:
        beyond = value > limit or (trigger.limit_itself_triggers and value == limit)
        outcome = "exceeded" if beyond else "within" if not reason else "not_assessed"
    size_t = base.mass_t / 100.0 if trigger.quantity in ("mass_percent", "aggregate_percent") else None
    size_m = None if size_t is not None else _metres_per_percent(trigger.quantity, compared)
    value_t, limit_t = _times(size, size_t), _times(limit, size_t)
    known = uncertainty is not None and value is not None and limit is not None
    return TriggerRow(
        rule_set=rule_set,
        rule=trigger.id,
        title=trigger.title,
        against=compared.against,
        clause=trigger.clause,
        source=trigger.source,
        source_status=trigger.source_status,
        quantity=trigger.quantity,
        action=trigger.action,
        value=value,
        limit=limit,
        outcome=outcome,
        value_t=value_t,
        limit_t=limit_t,
        value_m=_times(size, size_m),
        limit_m=_times(limit, size_m),
        length=_length(trigger),
        allowance_t=None if value_t is None or limit_t is None else max(limit_t - value_t, 0.0),
        standard_uncertainty=uncertainty if known else None,
        exceedance_ratio=(value - limit) / uncertainty if known and uncertainty > LEAST else None,  # type: ignore[operator]
        certainty=_certainty(value - limit, uncertainty) if known else None,  # type: ignore[operator, arg-type]
        reason=reason if outcome == "not_assessed" else "",
        note=trigger.note,
    )


def _value(trigger: Trigger, compared: Compared) -> tuple[float | None, float | None, str]:
    """Return the deviation, its standard uncertainty, and why the row cannot be assessed. [%]"""
    derived, reference, lengths = compared.derived, compared.reference, compared.lengths
    off = deviation(derived=derived, reference=reference, lengths=lengths)
    spread = deviation_uncertainty(derived=derived, reference=reference, lengths=lengths)
    if trigger.documented_excluded and compared.documented is not None:
        known = deviation(derived=compared.documented, reference=reference, lengths=lengths)
    else:
        known = deviation(derived=reference, reference=reference, lengths=lengths)
    if trigger.quantity == "aggregate_percent":
        if compared.aggregate_t is not None:
            return 100.0 * compared.aggregate_t / reference.mass_t, None, ""
        return off.mass_percent, None, "the weight history is not given; the aggregate is this change of mass at least"
    if trigger.quantity == "mass_percent":
        return off.mass_percent - known.mass_percent, None if spread is None else spread.mass_percent, ""
    if trigger.quantity == "vcg_percent":
        reason = "" if off.z_percent is not None else "VCG is not given, or not above the base line"
        return off.z_percent, None if spread is None else spread.z_percent, reason
    field = "x_" + trigger.quantity.removeprefix("lcg_")
    value, less = getattr(off, field), getattr(known, field)
    if value is None:
        return None, None, "the load-line length is not given"
    return value - less, None if spread is None else getattr(spread, field), ""


def _metres_per_percent(quantity: Deviating, compared: Compared) -> float | None:
    if quantity == "vcg_percent":
        return None if compared.reference.z_m is None else compared.reference.z_m / 100.0
    bp = quantity == "lcg_over_length_bp_percent"
    length = compared.lengths.length_bp_m if bp else compared.lengths.load_line_length_m
    return None if length is None else length / 100.0


def _length(trigger: Trigger) -> LengthName | None:
    if trigger.limit_by_length is not None:
        return trigger.limit_by_length.length
    lengths: dict[Deviating, LengthName] = {
        "lcg_over_length_bp_percent": "length_bp_m",
        "lcg_over_load_line_length_percent": "load_line_length_m",
    }
    return lengths.get(trigger.quantity)


def _certainty(beyond: float, uncertainty: float) -> Certainty:
    return "beyond_uncertainty" if abs(beyond) > COVERAGE_RATIO * uncertainty else "within_uncertainty"


def _times(number: float | None, size: float | None) -> float | None:
    return None if number is None or size is None else number * size
