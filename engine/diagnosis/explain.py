"""A candidate turned into a diagnosis: cause, evidence, size, what it touches. Layer: engine.diagnosis."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from engine.checks import Floats
from engine.diagnosis.causes import CLASS_OF, TRACES
from engine.diagnosis.compare import Comparison
from engine.diagnosis.patterns import NAMED_RATIOS, Block, Placement
from engine.diagnosis.result import Alternative, Diagnosis
from engine.errors import NotDeterminedError
from engine.incline.instruments import Instrument
from engine.incline.regression import Regression, regress

TOUCHED_SHARE = 0.05


@dataclass(frozen=True, eq=False)
class Context:
    """The test a diagnosis is written about: (n,), (p, n) and (p,) arrays as in ``incline.diagnose``."""

    moment_tm: Floats
    x: Floats
    table: Floats
    sigma: Floats
    instruments: tuple[Instrument, ...]
    placements: tuple[Placement, ...]
    modelled: bool
    displacement_t: float | None
    stiffening_m: float
    regression: Regression | None = None

    @cached_property
    def as_read(self) -> tuple[float | None, float | None]:
        """Slope and GM of the readings as they are, None where GM would not be positive. [1/(t·m), m]"""
        return self._fitted(self.table) if self.regression is None else self._of(self.regression)

    def without(self, shift: Floats) -> tuple[float | None, float | None]:
        """Return slope and GM with ``shift`` taken off the tangents: those as read, in the ratio of the two fits."""
        slope, gm = self.as_read
        if slope is None:
            return self._fitted(self.table - shift)
        x = self._centred(np.broadcast_to(self.x, self.table.shape))
        before, after = (
            float(np.sum(x * self._centred(self.table))),
            float(np.sum(x * self._centred(self.table - shift))),
        )
        if after <= 0 or before <= 0:
            return None, None
        return slope * after / before, None if gm is None else gm * before / after

    def _fitted(self, table: Floats) -> tuple[float | None, float | None]:
        try:
            fit = regress(
                moment_tm=self.moment_tm,
                tangents=list(table),
                displacement_t=self.displacement_t or 1.0,
                stiffening_m=self.stiffening_m if self.displacement_t else 0.0,
            )
        except NotDeterminedError:
            return None, None
        return self._of(fit)

    def _of(self, fit: Regression) -> tuple[float | None, float | None]:
        return fit.slope_per_tm, fit.gm_fluid_m if self.displacement_t else None

    def _centred(self, values: Floats) -> Floats:
        known = np.isfinite(self.table)
        kept = np.where(known, values, 0.0)
        return np.where(known, kept - kept.sum(axis=1, keepdims=True) / known.sum(axis=1, keepdims=True), 0.0)

    def name(self, i: int) -> str:
        """Return the name of instrument ``i``."""
        return self.instruments[i].id if i < len(self.instruments) else str(i)

    def tangent_per_tm(self, shift: Floats | float = 0.0) -> float:
        """Return the slope of the tangents less ``shift`` on the moment, all instruments; never 0. [1/(t·m)]"""
        m = self._centred(np.broadcast_to(self.moment_tm, self.table.shape))
        slope = float(np.sum(m * np.nan_to_num(self.table - shift)) / np.sum(m * m))
        return slope if abs(slope) > 1e-15 else 1e-15


def unit_of(instrument: Instrument) -> str:
    """Return the unit of its readings: m or deg."""
    return "deg" if instrument.base_m is None else "m"


def scale_of(instrument: Instrument) -> float:
    """Return what a reading changes by for a unit of tangent: m, or deg near upright."""
    return float(np.degrees(1.0)) if instrument.base_m is None else instrument.base_m


def explain(
    context: Context,
    block: Block,
    at: int,
    shift: Floats,
    allowed_for: Floats,
    compared: Comparison,
    best: int,
    alternatives: tuple[list[str], list[Alternative]],
) -> Diagnosis:
    """Write the diagnosis of candidate ``best``, the ``at``-th of its block.

    ``shift`` (p, n) is what it adds to the tangents, ``allowed_for`` that and what was named before it.
    """
    size = float(compared.size_ratio[best])
    largest = float(shift.flat[int(np.argmax(np.abs(shift)))])
    touched = np.abs(shift) > TOUCHED_SHARE * max(abs(largest), 1e-300)
    i = -1 if block.instrument is None else int(block.instrument[at])
    where = -1 if block.where is None else int(block.where[at])
    ratio = 1.0 if block.amount is None else float(block.amount[at])
    name = CLASS_OF.get(block.trace, block.trace)
    trace = TRACES[name]
    sigma = float(1.0 / np.sqrt(np.mean(context.sigma**-2.0))) if i < 0 else float(context.sigma[i])
    readings = tuple(int(j) for j in np.flatnonzero(touched.any(axis=0)))
    if name == "after-zero":
        readings = (0,)
    members = list(trace.members)
    for other in alternatives[0]:
        members += [member for member in TRACES[other].members if member not in members]
    if block.trace in ("one-move", "restraint") and np.isfinite(context.table[:, list(readings)]).sum(axis=0).max() < 2:
        members += [member for member in TRACES["one-reading"].members if member not in members]
    if _may_be_form(context, block, where):
        members.append("knuckle-or-flare")
    before, after = context.as_read, context.without(allowed_for)
    per_tm = after[0] or context.tangent_per_tm(allowed_for)
    cause, evidence, terms, fault = _of_trace(context, block, i, where, ratio, size, shift, per_tm)
    if cause not in members:
        members.insert(0, cause)
    uncertainty = float(compared.standard_uncertainty_ratio[best])
    if block.kind == "free":
        evidence += f"; the shift is {abs(size) / max(uncertainty, 1e-300):.3g} of its standard uncertainties"
    evidence += f"; 2 x log likelihood over no fault {compared.gain[best]:.4g}, limit {compared.limit[best]:.4g}"
    placed = context.placements[where if where >= 0 else -1 - where] if _of_weight(block) else None
    return Diagnosis(
        cause=cause,
        trace=name,
        members=tuple(members),
        is_fault=fault,
        evidence=evidence,
        action=trace.action,
        separate=trace.separate,
        largest_shift_ratio=largest,
        shift_over_reading_ratio=abs(largest) / sigma,
        readings=readings,
        moves=(placed.move,) if placed else tuple(j - 1 for j in readings if j > 0),
        instruments=(context.name(i),) if i >= 0 else tuple(context.name(k) for k in range(len(context.table))),
        weights=(placed.weight,) if placed else (),
        gain=float(compared.gain[best]),
        limit=float(compared.limit[best]),
        alternatives=tuple(alternatives[1]),
        slope_with_per_tm=before[0],
        slope_without_per_tm=after[0],
        gm_with_m=before[1],
        gm_without_m=after[1],
        moment_tm=terms.get("moment_tm"),
        mass_t=terms.get("mass_t"),
        arm_m=terms.get("arm_m"),
        reading_m=terms.get("reading_m"),
        reading_deg=terms.get("reading_deg"),
        length_ratio=terms.get("length_ratio"),
    )


def _may_be_form(context: Context, block: Block, reading: int) -> bool:
    """Whether, with no hull given, its form can leave this trace: a bend to one side, or only where she heels most."""
    if context.modelled:
        return False
    step = np.abs(context.x - context.x[0])
    return block.trace == "restraint" or (block.trace == "one-move" and bool(step[reading] > 0.9 * step.max()))


def _of_weight(block: Block) -> bool:
    return block.trace in ("weight-moment", "wrong-side")


def _of_trace(
    context: Context, block: Block, i: int, where: int, ratio: float, size: float, shift: Floats, per_tm: float
) -> tuple[str, str, dict[str, float], bool]:
    """Return the likeliest member, the evidence, the size in other terms, and whether it is a fault."""
    moment = size / per_tm
    cause = block.trace if block.trace in CLASS_OF else TRACES[block.trace].members[0]
    if block.trace == "one-reading":
        return _one_reading(context, i, where, size)
    if block.trace in ("reading-sign", "reading-repeated", "readings-swapped"):
        said = {
            "reading-sign": f"reading {where} stands on the other side of reading 0 from where the others put it",
            "reading-repeated": f"reading {where} repeats reading {where - 1}, although the moment changed",
            "readings-swapped": f"readings {where - 1} and {where} fit the others when exchanged",
        }
        return cause, said[block.trace], {}, True
    if block.trace == "instrument-reversed":
        return cause, "its slope is the negative of the others' slope", {}, True
    if block.trace == "instrument-length":
        return _length(context, i, block, ratio, size)
    if block.trace == "weight-moment":
        return _weight(context, where, size, per_tm)
    if block.trace == "wrong-side":
        placed = context.placements[where]
        text = f"the readings while it lay there fit a place at y = {-placed.to_y_m:.6g} m, not {placed.to_y_m:.6g} m"
        return cause, text, {}, True
    terms = {"moment_tm": moment}
    count = int((np.abs(shift) > TOUCHED_SHARE * np.abs(shift).max()).any(axis=0).sum())
    if block.trace == "one-move":
        text = f"all instruments of reading {where} are off together by {moment:.6g} t m"
    elif block.trace == "after-zero":
        return cause, f"reading 0 lies off the line of all others by {-moment:.6g} t m; slope intact", terms, False
    elif block.trace == "lasting-shift":
        text = f"from reading {where} on all instruments are off together by {moment:.6g} t m"
        if any(placed.first == where and placed.stop >= len(context.moment_tm) for placed in context.placements):
            text += "; the place of the weight moved then, or before its first move, leaves the same trace"
    elif block.trace == "drift":
        text = f"the zero walks, by {moment:.6g} t m from first to last reading"
    elif block.trace == "direction":
        text = f"readings lag behind the moves by {moment:.6g} t m, to and fro"
    elif block.trace == "restraint":
        side = "starboard" if where > 0 else "port"
        text = f"all instruments heel too little to {side}, by up to {abs(moment):.6g} t m, over {count} readings"
    elif block.trace == "bob-aground":
        return cause, f"it alone flattens where she heels most, over {count} readings", {}, True
    else:  # curvature
        text = f"the line bends the same way to both sides in all instruments, by up to {abs(moment):.6g} t m"
        if not context.modelled:
            return "knuckle-or-flare", text + "; with the hull's form given this may be explained", terms, False
    return cause, text, terms, True


def _one_reading(context: Context, i: int, j: int, size: float) -> tuple[str, str, dict[str, float], bool]:
    text = f"reading {j} is off the line of the others and the other instruments do not show it"
    if i >= len(context.instruments):
        return "reading-misread", text, {}, True
    instrument = context.instruments[i]
    scale = scale_of(instrument)
    by, unit = size * scale, unit_of(instrument)
    allowed = 3.0 * float(context.sigma[i]) * scale
    power = 10.0 ** np.floor(np.log10(max(abs(by) + allowed, 1e-300)))
    digit = np.rint(abs(by) / power)
    slipped = abs(abs(by) - digit * power) <= allowed and power >= 3.0 * allowed
    text += f"; it stands {by:.6g} {unit} too far to starboard"
    if slipped:
        text += f", about {np.copysign(digit * power, by):.6g} {unit}"
    terms = {"reading_deg" if unit == "deg" else "reading_m": float(by)}
    return ("digit-slipped" if slipped else "reading-misread"), text, terms, True


def _length(
    context: Context, i: int, block: Block, ratio: float, size: float
) -> tuple[str, str, dict[str, float], bool]:
    if block.kind == "slope":
        name = next(name for name, value in NAMED_RATIOS.items() if value == ratio)
        return (
            "instrument-length",
            f"its slope is {ratio:.6g} times the others' slope: {name.replace('-', ' ')}",
            {"length_ratio": ratio},
            True,
        )
    others = np.delete(context.table, i, axis=0)
    rest = Context(
        context.moment_tm, context.x, others, context.sigma, (), (), context.modelled, None, 0.0
    ).tangent_per_tm()
    top = float(np.abs(context.x - context.x[0]).max())
    tangent = rest * float(np.ptp(context.moment_tm)) / float(np.ptp(context.x)) * top
    found = 1.0 + size / tangent
    return "instrument-length", f"its slope is {found:.6g} times the others' slope", {"length_ratio": found}, True


def _weight(context: Context, where: int, size: float, per_tm: float) -> tuple[str, str, dict[str, float], bool]:
    placed = context.placements[where if where >= 0 else -1 - where]
    moment = size / per_tm
    terms = {"moment_tm": moment}
    away = placed.to_y_m - placed.home_y_m
    if where < 0:  # pattern of its mass: the largest distance from home made one
        stays = [p for p in context.placements if p.weight == placed.weight]
        away = max((p.to_y_m - p.home_y_m for p in stays), key=abs)
        terms["mass_t"] = moment / abs(away)
        text = f"the readings with this weight away from home fit a mass of {placed.mass_t + terms['mass_t']:.6g} t"
        return "weight-mass", text + f", logged {placed.mass_t:.6g} t", terms, True
    terms["arm_m"] = -moment / placed.mass_t
    text = f"while it lay there all instruments are off by {moment:.6g} t m: "
    text += f"a place {terms['arm_m']:.6g} m further to port"
    cause = "weight-arm"
    if away != 0:
        terms["mass_t"] = -moment / away
        text += f", or a mass of {placed.mass_t + terms['mass_t']:.6g} t, logged {placed.mass_t:.6g} t"
    return cause, text, terms, True
