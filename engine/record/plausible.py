"""Heights of the water no ship floats at, refused where they were read. Layer: engine.record."""

import numpy as np

from engine.checks import Floats
from engine.errors import InputError
from engine.flotation.tables import HydrostaticTables
from engine.geometry.cut import Solid
from engine.record.record import Record

TOP_BY_DRAFT_RATIO = 2.0
"""Where tables stand for the hull its top is taken so many times as high as their deepest draft."""
HEIGHTS_MARGIN_RATIO = 5.0
"""Heights of the hull by which the water may be read below its keel or above its top. Our choice: a slipped decimal
point is left to the fit and its diagnosis; centimetres or millimetres typed as metres go beyond."""


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
