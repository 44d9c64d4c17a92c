"""Second moments of a level liquid's surface, and what they do to a ship. Layer: engine.liquids.

Each form is the transverse second moment i about the surface's own longitudinal axis through its centre [m⁴]:
lengths along the ship, breadths athwart. The free-surface moment is ρ i and G rises virtually by Σ ρ i / Δ.
"""

import numpy as np
from numpy.typing import ArrayLike

from engine.checks import Floats, finite, positive
from engine.errors import InputError
from engine.liquids.columns import equal_columns, refuse_unless_rising


def rectangle_m4(*, length_m: float, breadth_m: float, divisions: int = 1) -> float:
    """L b³/12; with ``divisions`` equal parts athwart, tightly divided, over their number squared.

    Raises
    ------
    InputError
        "not-positive".
    """
    parts = positive(divisions, field="divisions")
    return _m(length_m, "length_m") * _m(breadth_m, "breadth_m") ** 3 / 12.0 / parts**2


def isosceles_triangle_m4(*, length_m: float, breadth_m: float) -> float:
    """L b³/48: symmetric about the ship's fore-and-aft axis, its base of breadth b athwart."""
    return _m(length_m, "length_m") * _m(breadth_m, "breadth_m") ** 3 / 48.0


def right_triangle_m4(*, length_m: float, breadth_m: float) -> float:
    """L b³/36: one leg along the ship, one athwart."""
    return _m(length_m, "length_m") * _m(breadth_m, "breadth_m") ** 3 / 36.0


def trapezoid_m4(*, length_m: float, breadth_aft_m: float, breadth_forward_m: float) -> float:
    """L (b₁ + b₂)(b₁² + b₂²)/48: symmetric about the fore-and-aft axis."""
    aft, forward = _m(breadth_aft_m, "breadth_aft_m"), _m(breadth_forward_m, "breadth_forward_m")
    return _m(length_m, "length_m") * (aft + forward) * (aft**2 + forward**2) / 48.0


def circle_m4(*, radius_m: float) -> float:
    """π r⁴/4."""
    return float(np.pi) * _m(radius_m, "radius_m") ** 4 / 4.0


def ellipse_m4(*, half_length_m: float, half_breadth_m: float) -> float:
    """π a b³/4: a along the ship, b athwart."""
    return float(np.pi) * _m(half_length_m, "half_length_m") * _m(half_breadth_m, "half_breadth_m") ** 3 / 4.0


def lying_cylinder_m4(*, length_m: float, radius_m: float, depth_m: float) -> float:
    """L w³/12 with w = 2 √(h (2r − h)): a cylinder lying along the ship, filled to h.

    Raises
    ------
    InputError
        "out-of-range": a depth not between 0 and the diameter; "not-positive".
    """
    radius = _m(radius_m, "radius_m")
    depth = float(finite(depth_m, field="depth_m"))
    if not 0 <= depth <= 2 * radius:
        raise InputError(
            f"must lie from 0 to {2 * radius:.6g} m, is {depth:.6g} m",
            code="out-of-range",
            field="depth_m",
            value=depth,
            limit=2 * radius if depth > 0 else 0.0,
        )
    width = 2.0 * float(np.sqrt(depth * (2 * radius - depth)))
    return _m(length_m, "length_m") * width**3 / 12.0


def plan_m4(*, x_m: ArrayLike, y_starboard_m: ArrayLike, y_port_m: ArrayLike) -> float:
    r"""Any plan by offsets from the centreline, straight between them.

    .. math:: i = \int \frac{y_P^3 - y_S^3}{3}\,dx - A\,y_c^2

    Parameters
    ----------
    x_m : (n,)
        Rising, n >= 2. [m]
    y_starboard_m, y_port_m : (n,)
        The two edges, port +, the port one nowhere to starboard of the other. [m]

    Raises
    ------
    InputError
        "not-increasing", "edges-cross", "no-area", or as ``equal_columns``.
    """
    x, starboard, port = equal_columns(at_least=2, x_m=x_m, y_starboard_m=y_starboard_m, y_port_m=y_port_m)
    refuse_unless_rising(x, field="x_m")
    step = np.diff(x)
    for row in np.flatnonzero(port < starboard)[:1]:
        raise InputError(
            f"the port edge, {port[row]:.6g} m, is to starboard of the other, {starboard[row]:.6g} m",
            code="edges-cross",
            field=f"y_port_m/{row}",
            value=float(port[row]),
            limit=float(starboard[row]),
        )
    origin = 0.5 * (starboard.mean() + port.mean())
    area, first, second = _powers(port - origin, step) - _powers(starboard - origin, step)
    if area <= 0:
        raise InputError("the plan has no area", code="no-area", field="y_port_m", value=float(area), limit=0.0)
    return float(second - first**2 / area)


def _powers(y: Floats, step: Floats) -> Floats:
    """∫y, ∫y²/2 and ∫y³/3 along x of a line straight between points."""
    a, b = y[:-1], y[1:]
    return np.array(
        [
            (step * (a + b) / 2.0).sum(),
            (step * (a * a + a * b + b * b) / 6.0).sum(),
            (step * (a**3 + a * a * b + a * b * b + b**3) / 12.0).sum(),
        ]
    )


def virtual_rise_m(*, second_moments_m4: ArrayLike, densities_t_per_m3: ArrayLike, displacement_t: float) -> float:
    """Σ ρ i / Δ: how far free surfaces raise G virtually. [m]

    Raises
    ------
    InputError
        "not-positive", "out-of-range", or as ``equal_columns``.
    """
    moments, densities = equal_columns(
        at_least=0,
        second_moments_m4=np.atleast_1d(second_moments_m4),
        densities_t_per_m3=np.atleast_1d(densities_t_per_m3),
    )
    return float(moments @ densities) / positive(displacement_t, field="displacement_t", unit="t")


def _m(value: float, field: str) -> float:
    return positive(value, field=field, unit="m")
