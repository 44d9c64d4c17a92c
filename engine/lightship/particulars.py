"""A lightship as somebody states it. Layer: engine.lightship."""

from dataclasses import dataclass

from engine.checks import finite, within

LEAST_MASS_T = 0.001
"""A kilogram: a lightship below it is a slip. [t]"""


@dataclass(frozen=True)
class Spread:
    """Standard uncertainties of a lightship; 0 where none is stated. [t, m]"""

    mass_t: float = 0.0
    x_m: float = 0.0
    y_m: float = 0.0
    z_m: float = 0.0


@dataclass(frozen=True)
class Lightship:
    """A mass and as much of its centre as is known, in the ship's frame.

    Attributes
    ----------
    mass_t : float
        A kilogram or more. [t]
    x_m : float
        Forward of the aft perpendicular. [m]
    y_m, z_m : float or None
        To port, up from the moulded base line; None where not stated. [m]
    spread : Spread or None
        Standard uncertainties; None where none is stated.
    """

    mass_t: float
    x_m: float
    y_m: float | None = None
    z_m: float | None = None
    spread: Spread | None = None

    def checked(self) -> "Lightship":
        """Return itself if its numbers can be those of a lightship (``not-finite``, ``out-of-range``)."""
        within(self.mass_t, low=LEAST_MASS_T, high=1e7, field="mass_t", unit="t")
        for field in ("x_m", "y_m", "z_m"):
            value = getattr(self, field)
            if value is not None:
                finite(value, field=field)
        if self.spread is not None:
            for field in ("mass_t", "x_m", "y_m", "z_m"):
                within(getattr(self.spread, field), low=0.0, high=1e7, field=f"standard_uncertainty/{field}")
        return self
