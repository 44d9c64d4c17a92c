"""A candidate turned into a diagnosis: cause, evidence, size, what it touches. Layer: engine.diagnosis."""

import numpy as np

from engine.checks import Floats
from engine.diagnosis.causes import CLASS_OF, GM_MOVES, TRACES, trace_of
from engine.diagnosis.compare import Comparison
from engine.diagnosis.context import Context, criterion, median_ratio, scale_of, slope_ratios, to_side, unit_of
from engine.diagnosis.patterns import NAMED_RATIOS, NAMED_TOLERANCE_RATIO, Block
from engine.diagnosis.result import Alternative, Diagnosis
from engine.diagnosis.twins import AND_RETURNS, SHIFTS, TAPE_PLACES, Same, twins_of
from engine.diagnosis.weight_patterns import back_at

TOUCHED_SHARE = 0.05
GM_COVERAGE = 2.0
"""A shift after reading 0 is a fault where it moves GM by more than this many standard uncertainties: our choice."""


def explain(
    context: Context,
    block: Block,
    at: int,
    shift: Floats,
    allowed_for: Floats,
    compared: Comparison,
    best: int,
    alternatives: tuple[list[Same], list[Alternative]],
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
    trace = trace_of(name, context.kind(i))
    sigma = float(1.0 / np.sqrt(np.mean(context.sigma**-2.0))) if i < 0 else float(context.sigma[i])
    readings = tuple(int(j) for j in np.flatnonzero(touched.any(axis=0)))
    if name == "after-zero":
        readings = (0,)
    members = list(trace.members)
    for other in dict.fromkeys(one.block.trace for one in alternatives[0] if one.block.kind == "free"):
        members += [member for member in trace_of(other, context.kind(i)).members if member not in members]
    if block.trace in ("one-move", "restraint") and np.isfinite(context.table[:, list(readings)]).sum(axis=0).max() < 2:
        alone = int(np.argmax(np.isfinite(context.table[:, list(readings)]).any(axis=1)))
        single = trace_of("one-reading", context.kind(alone)).members
        members += [member for member in single if member not in members]
    if _may_be_form(context, block, where):
        members.append("knuckle-or-flare")
    before, after = context.as_read, context.without(allowed_for)
    per_tm = after[0] or context.tangent_per_tm(allowed_for)
    cause, evidence, terms, fault = _of_trace(context, block, i, where, ratio, size, shift, per_tm)
    action = trace.action
    if name == "after-zero":
        moved = context.gm_moved_ratio(shift, allowed_for)
        fault = moved > GM_COVERAGE
        if fault:
            action = GM_MOVES
            evidence += f"; GM moves by {moved:.3g} of its standard uncertainties"
        else:
            evidence += f"; slope intact: GM moves by {moved:.3g} of its standard uncertainties"
    twins = twins_of(context, name, alternatives[0], size / per_tm) if block.kind == "free" else []
    members += [one.cause for one in twins if one.cause not in members]
    evidence = "; ".join([evidence, *(one.evidence for one in twins)])
    separate = " ".join(dict.fromkeys([trace.separate, *(one.separate for one in twins)]))
    weights: tuple[str, ...] = ()
    if twins and name in SHIFTS:
        cause, weights = "shift-or-place", tuple(dict.fromkeys(one.weight for one in twins))
        terms["arm_m"] = twins[0].arm_m
        action += f" {TAPE_PLACES}"
    elif block.trace == "first-place" and block.kind == "free":
        action += f" {AND_RETURNS}"
    if cause not in members:
        members.insert(0, cause)
    uncertainty = float(compared.standard_uncertainty_ratio[best])
    if block.kind == "free":
        evidence += f"; the shift is {abs(size) / max(uncertainty, 1e-300):.3g} of its standard uncertainties"
    evidence += f"; {criterion(float(compared.gain[best]), float(compared.limit[best]))}"
    placed = context.placements[where if where >= 0 else -1 - where] if _of_weight(block) else None
    return Diagnosis(
        cause=cause,
        trace=name,
        members=tuple(members),
        is_fault=fault,
        evidence=evidence,
        action=action,
        separate=separate,
        largest_shift_ratio=largest,
        shift_over_reading_ratio=abs(largest) / sigma,
        readings=readings,
        moves=(placed.move,) if placed else tuple(j - 1 for j in readings if j > 0),
        instruments=(context.name(i),) if i >= 0 else tuple(context.name(k) for k in range(len(context.table))),
        weights=(placed.weight,) if placed else weights,
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
    return block.trace in ("weight-moment", "wrong-side", "first-place")


def _off_centre(y_m: float) -> str:
    return f"{abs(y_m):.6g} m to {'port' if y_m > 0 else 'starboard'}"


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
        at_y = placed.to_y_m
        text = f"the readings while it lay there fit a place {_off_centre(-at_y)}, not {_off_centre(at_y)}"
        return cause, text, {}, True
    if block.trace == "first-place":
        return _first_place(context, block, where, ratio, moment)
    terms = {"moment_tm": moment}
    count = int((np.abs(shift) > TOUCHED_SHARE * np.abs(shift).max()).any(axis=0).sum())
    if block.trace == "one-move":
        text = f"all instruments of reading {where} are off together by {to_side(moment, 't m')}"
    elif block.trace == "after-zero":
        return cause, f"reading 0 lies off the line of all others by {to_side(-moment, 't m')}", terms, False
    elif block.trace == "lasting-shift":
        text = f"from reading {where} on all instruments are off together by {to_side(moment, 't m')}"
    elif block.trace == "drift":
        text = f"the zero walks, by {to_side(moment, 't m')}, from first to last reading"
    elif block.trace == "direction":
        text = f"readings lag behind the moves by {abs(moment):.4g} t m, to and fro"
    elif block.trace == "restraint":
        side = "starboard" if where > 0 else "port"
        text = f"all instruments heel too little to {side}, by up to {abs(moment):.4g} t m, over {count} readings"
    elif block.trace == "bob-aground":
        own = trace_of("bob-aground", context.kind(i)).members[0]
        return own, f"it alone flattens where she heels most, over {count} readings", {}, True
    else:  # curvature
        text = f"the line bends the same way to both sides in all instruments, by up to {abs(moment):.4g} t m"
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
    text += f"; it stands {abs(by):.3f} {unit} too far to {'starboard' if by > 0 else 'port'}"
    if slipped:
        text += f", about {digit * power:.6g} {unit}"
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
    if not 0.5 < abs(found) < 2.0:  # its own noise and bends are scaled too: the slopes themselves
        found = median_ratio(slope_ratios(context.x, context.table)[i])
    text = f"its slope is {found:.6g} times the others' slope"
    name = min(NAMED_RATIOS, key=lambda one: abs(found / NAMED_RATIOS[one] - 1))
    if abs(found / NAMED_RATIOS[name] - 1) <= NAMED_TOLERANCE_RATIO:
        text += f", about {NAMED_RATIOS[name]:.6g}: {name.replace('-', ' ')}"
    return "instrument-length", text, {"length_ratio": found}, True


def _first_place(
    context: Context, block: Block, where: int, true_y_m: float, moment: float
) -> tuple[str, str, dict[str, float], bool]:
    placed = context.placements[where]
    y = placed.home_y_m
    if block.kind == "free":
        arm = moment / placed.mass_t
        text = f"wherever else weight {placed.weight} stood, all instruments are off by {to_side(moment, 't m')}: "
        text += f"it lay {abs(arm):.3f} m further to {'port' if arm > 0 else 'starboard'} at reading 0"
        back = back_at(context.placements, placed.weight, y)
        text += f", and again, on that spot, at reading {back}"
        return "first-place-off", text, {"moment_tm": moment, "arm_m": arm}, True
    by = placed.mass_t * (true_y_m - y)
    text = (
        f"from reading {placed.first} on the readings fit weight {placed.weight} having lain {_off_centre(true_y_m)} "
    )
    text += f"before its first move, not {_off_centre(y)}: {abs(by):.4g} t m, "
    terms = {"moment_tm": by, "arm_m": true_y_m - y}
    if true_y_m == -y:
        return "first-place-wrong-side", text + "twice its mass times its place", terms, True
    back = back_at(context.placements, placed.weight, true_y_m)
    text += f"its mass times the difference; at reading {back} it was logged there"
    return "first-place-off", text, terms, True


def _weight(context: Context, where: int, size: float, per_tm: float) -> tuple[str, str, dict[str, float], bool]:
    placed = context.placements[where if where >= 0 else -1 - where]
    moment = size / per_tm
    terms = {"moment_tm": moment}
    away = placed.to_y_m - placed.home_y_m
    if where < 0:  # pattern of its mass: the largest distance from home made one
        stays = [p for p in context.placements if p.weight == placed.weight]
        away = max((p.to_y_m - p.home_y_m for p in stays), key=abs)
        terms["mass_t"] = moment / abs(away)
        text = f"the readings with this weight away from home fit a mass of {placed.mass_t + terms['mass_t']:.3f} t"
        return "weight-mass", text + f", logged {placed.mass_t:.6g} t", terms, True
    terms["arm_m"] = -moment / placed.mass_t
    arm = terms["arm_m"]
    text = f"while it lay there all instruments are off by {to_side(moment, 't m')}: "
    text += f"a place {abs(arm):.3f} m further to {'port' if arm > 0 else 'starboard'}"
    cause = "weight-arm"
    if away != 0:
        terms["mass_t"] = -moment / away
        text += f", or a mass of {placed.mass_t + terms['mass_t']:.3f} t, logged {placed.mass_t:.6g} t"
    return cause, text, terms, True
