"""A derived lightship less the approved, a sister's or the predicted one. Layer: engine.lightship.

Deviations are derived less reference, so + is heavier, further forward, to port, higher. Percentages of mass and VCG
are of the reference, those of LCG of the length named. The two lightships are taken as independent: the standard
uncertainty of a deviation is the root of the sum of squares of both.
"""

from dataclasses import dataclass
from math import hypot

from engine.checks import within
from engine.lightship.particulars import Lightship, Spread

LEAST_BASE_M = 0.01
"""Least height or length a percentage is taken of. [m]"""


@dataclass(frozen=True)
class Lengths:
    """The lengths a limit may be of. [m]"""

    length_bp_m: float
    load_line_length_m: float | None = None

    def checked(self) -> "Lengths":
        """Return itself if both lengths can be a ship's (``out-of-range``)."""
        for field in ("length_bp_m", "load_line_length_m"):
            length = getattr(self, field)
            if length is not None:
                within(length, low=LEAST_BASE_M, high=1e4, field=field, unit="m")
        return self


@dataclass(frozen=True)
class Deviation:
    """Derived less reference; None where one of the two does not state it.

    Attributes
    ----------
    mass_t, mass_percent : float
        [t], % of the reference's mass.
    x_m, x_over_length_bp_percent, x_over_load_line_length_percent : float
        LCG, forward +. [m], % of the length named.
    y_m : float or None
        TCG, to port +; no rule read limits it. [m]
    z_m, z_percent : float or None
        VCG, up +. [m], % of the reference's VCG above the moulded base line.
    """

    mass_t: float
    mass_percent: float
    x_m: float
    x_over_length_bp_percent: float
    x_over_load_line_length_percent: float | None
    y_m: float | None
    z_m: float | None
    z_percent: float | None


def deviation(*, derived: Lightship, reference: Lightship, lengths: Lengths) -> Deviation:
    """Return derived less reference.

    Raises
    ------
    InputError
        ``not-finite``, ``out-of-range``: numbers that cannot be a lightship's or a length's.
    """
    for one in (derived, reference):
        one.checked()
    lengths.checked()
    x = derived.x_m - reference.x_m
    z = _less(derived.z_m, reference.z_m)
    mass = derived.mass_t - reference.mass_t
    return Deviation(
        mass_t=mass,
        mass_percent=100.0 * mass / reference.mass_t,
        x_m=x,
        x_over_length_bp_percent=100.0 * x / lengths.length_bp_m,
        x_over_load_line_length_percent=_percent(x, lengths.load_line_length_m),
        y_m=_less(derived.y_m, reference.y_m),
        z_m=z,
        z_percent=_percent(z, reference.z_m),
    )


def deviation_uncertainty(*, derived: Lightship, reference: Lightship, lengths: Lengths) -> Deviation | None:
    """Return the standard uncertainty of each deviation, None where neither lightship states one."""
    if derived.spread is None and reference.spread is None:
        return None
    ours, theirs = derived.spread or Spread(), reference.spread or Spread()
    x = hypot(ours.x_m, theirs.x_m)
    z = None if derived.z_m is None or reference.z_m is None else hypot(ours.z_m, theirs.z_m)
    ratio = derived.mass_t / reference.mass_t
    high = 0.0
    if derived.z_m is not None and reference.z_m is not None and reference.z_m >= LEAST_BASE_M:
        high = derived.z_m / reference.z_m
    return Deviation(
        mass_t=hypot(ours.mass_t, theirs.mass_t),
        mass_percent=100.0 * hypot(ours.mass_t, ratio * theirs.mass_t) / reference.mass_t,
        x_m=x,
        x_over_length_bp_percent=100.0 * x / lengths.length_bp_m,
        x_over_load_line_length_percent=_percent(x, lengths.load_line_length_m),
        y_m=None if derived.y_m is None or reference.y_m is None else hypot(ours.y_m, theirs.y_m),
        z_m=z,
        z_percent=None if z is None else _percent(hypot(ours.z_m, high * theirs.z_m), reference.z_m),
    )


def _less(ours: float | None, theirs: float | None) -> float | None:
    return None if ours is None or theirs is None else ours - theirs


def _percent(part: float | None, of: float | None) -> float | None:
    return None if part is None or of is None or of < LEAST_BASE_M else 100.0 * part / of
