"""What no ship is: slips in her hull, in heights of the water and in a lightship. Layer: engine.record.

Every limit here is our choice (docs/methods/record.md).
"""

import numpy as np

from engine.checks import Floats
from engine.errors import InputError, NotDeterminedError
from engine.flotation.tables import HydrostaticTables
from engine.geometry.cut import Solid
from engine.lightship.derivation import Mass
from engine.record.record import Record

TOP_BY_DRAFT_RATIO = 2.0
"""Where tables stand for the hull its top is taken so many times as high as their deepest draft."""
HEIGHTS_MARGIN_RATIO = 5.0
"""Heights of the hull by which the water may be read below its keel or above its top. Our choice: a slipped decimal
point is left to the fit and its diagnosis; centimetres or millimetres typed as metres go beyond."""

PROPORTIONS_RATIO = {"breadth": (0.02, 5.0), "depth": (0.005, 2.0)}
"""Of the hull's length: racing shells and round platforms are within, one axis in millimetres or centimetres is not."""
LEAST_T_PER_M3 = 0.01
"""Lightship by the box about the hull: half a racing shell's, a tenth of a raft's."""
CENTRE_MARGIN_RATIO = 1.0
"""Heights of the hull by which the centre of a lightship may lie below its keel or above its top."""


def hull_heights_m(hull: Solid | HydrostaticTables) -> Floats:
    """Return (2,) z of the keel and of the hull's top. [m]"""
    if isinstance(hull, HydrostaticTables):
        deepest = max(float(one.draft_m[-1]) for one in hull.tables)
        return np.array([0.0, TOP_BY_DRAFT_RATIO * deepest])
    return np.asarray(hull.bounds_m)[:, 2]


def refuse_implausible_heights(record: Record) -> None:
    """Refuse a freeboard or draft that puts the water out of all reach of the hull.

    Raises
    ------
    InputError
        ``height-implausible`` at the reading, or at the height it is read from where that lies farther off.
    """
    low, high = hull_heights_m(record.hull).tolist()
    margin = HEIGHTS_MARGIN_RATIO * (high - low)
    least, most = low - margin, high + margin
    one = record.heights
    for i, water in enumerate(one.from_m - one.plumb_m + one.up_m):
        if least <= water <= most:
            continue
        start, bound = float(one.from_m[i]), least if water < least else most
        is_freeboard = i < record.freeboard_count
        place = f"freeboards/{i}" if is_freeboard else f"draft_marks/{i - record.freeboard_count}"
        read = float(one.plumb_m[i] if is_freeboard else one.up_m[i])
        if not least <= start <= most:
            value, limit, name = start, bound, "reference_z_m" if is_freeboard else "zero_z_m"
        elif is_freeboard:
            value, limit, name = read, start - bound, "freeboard_m"
        else:
            value, limit, name = read, bound - start, "draft_m"
        raise InputError(
            f"{value:.6g} m puts the water at z = {water:.6g} m, the hull reaches from {low:.6g} to {high:.6g} m: the "
            f"limit here is {limit:.6g} m; is the unit right?",
            code="height-implausible",
            field=f"{place}/{name}",
            value=value,
            limit=limit,
        )


def refuse_implausible_hull(hull: Solid | HydrostaticTables) -> None:
    """Refuse a hull whose axes cannot be in one unit.

    Raises
    ------
    InputError
        ``hull-proportions`` at ``hull``.
    """
    if isinstance(hull, HydrostaticTables):
        return
    length, breadth, depth = np.ptp(hull.bounds_m, axis=0).tolist()
    for name, size in (("breadth", breadth), ("depth", depth)):
        least, most = PROPORTIONS_RATIO[name]
        if least * length <= size <= most * length:
            continue
        raise InputError(
            f"the hull is {length:.6g} m long, {breadth:.6g} m broad and {depth:.6g} m deep: no ship's {name} is "
            f"{size / length:.3g} of her length; are all axes in metres?",
            code="hull-proportions",
            field="hull",
            value=size,
            limit=(least if size < least * length else most) * length,
        )


def refuse_implausible_lightship(ship: Mass, *, hull: Solid | HydrostaticTables) -> None:
    """Withhold a lightship next to nothing, or with its centre off the hull.

    Raises
    ------
    NotDeterminedError
        ``lightship-implausible`` at ``items``.
    """
    low, high = hull_heights_m(hull).tolist()
    margin = CENTRE_MARGIN_RATIO * (high - low)
    bounds = [("z", float(ship.centre_m[2]), low - margin, high + margin)]
    if not isinstance(hull, HydrostaticTables):
        ends = hull.bounds_m
        bounds += [(name, float(ship.centre_m[k]), float(ends[0, k]), float(ends[1, k])) for k, name in enumerate("xy")]
        least = LEAST_T_PER_M3 * float(np.prod(np.ptp(ends, axis=0)))
        if ship.mass_t < least:
            raise NotDeterminedError(
                f"the lightship would be {ship.mass_t:.6g} t; no hull of this size is lighter than {least:.6g} t: "
                "check the heights, the tanks and the list",
                code="lightship-implausible",
                field="items",
                value=ship.mass_t,
                limit=least,
            )
    for name, value, least, most in bounds:
        if not least <= value <= most:
            raise NotDeterminedError(
                f"the lightship of {ship.mass_t:.6g} t would have its centre at {name} = {value:.6g} m, beyond "
                f"{least if value < least else most:.6g} m: check the heights, the tanks and the list",
                code="lightship-implausible",
                field="items",
                value=value,
                limit=least if value < least else most,
            )
