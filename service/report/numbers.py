"""How a number is printed: its digits, its sign, its unit. Layer: service.report.

Digits follow the standard uncertainty: two significant ones of it fix the last decimal (GUM, JCGM 100:2008, 7.2.6).
Where none is known the decimals are fixed by the unit; those are our own choice.
"""

import math
from fractions import Fraction
from typing import Any

from engine.quantities import SUFFIX_UNITS
from service.edge.csv_table import us_head
from service.edge.operation import Units
from service.report.document import Number

MINUS = "\N{MINUS SIGN}"
DECIMALS = {
    "t/m³": 4,
    "t/m²": 3,
    "g/kg": 2,
    "t/cm": 3,
    "t·m/cm": 3,
    "m/s": 2,
    "m/rad": 3,
    "m·deg": 3,
    "m·rad": 4,
    "d": 0,
    "deg": 3,
    "min": 1,
    "mm": 1,
    "m²": 2,
    "m³": 2,
    "m⁴": 1,
    "Pa": 0,
    "t·m": 2,
    "°C": 1,
    "m": 3,
    "s": 1,
    "t": 2,
    "%": 2,
    "1": 5,
}
"""Decimals of a number whose uncertainty is not known, by its unit in SI."""
US_UNITS = {
    "_lt_ft_per_in": ("LT·ft/in", 2),
    "_lt_per_in": ("LT/in", 2),
    "_lb_per_ft3": ("lb/ft³", 3),
    "_ft_per_s": ("ft/s", 2),
    "_ft_per_rad": ("ft/rad", 2),
    "_per_lt_ft": ("1/(LT·ft)", 6),
    "_ft_deg": ("ft·deg", 2),
    "_ft_rad": ("ft·rad", 3),
    "_ft2": ("ft²", 1),
    "_ft3": ("ft³", 1),
    "_ft4": ("ft⁴", 0),
    "_in": ("in", 2),
    "_lt_ft": ("LT·ft", 1),
    "_ft": ("ft", 2),
    "_lt": ("LT", 2),
}
"""US ending → its unit as printed, and its decimals."""
SLOPE_DIGITS = 5
"""Significant digits of a slope of tangents on moments: a step below a hundredth of what such a slope is known to."""
SURVEYED_UNIT = "ft-in-8ths"
_INCH_M = 0.0254
_SUPERSCRIPT = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")


def decimals_of(standard_uncertainty: float) -> int:
    """Return the decimals at which two significant digits of the uncertainty end; negative left of the point.

    Raises
    ------
    ValueError
        The uncertainty is not above 0, or not finite.
    """
    if not (standard_uncertainty > 0 and math.isfinite(standard_uncertainty)):
        raise ValueError("an uncertainty that fixes digits is above 0 and finite")
    return 1 - int(f"{standard_uncertainty:.1e}".partition("e")[2])  # after rounding: 0.0996 is 0.10


def printed(value: float, decimals: int) -> str:
    """Return a number with so many decimals, a minus sign for a hyphen, and no negative zero."""
    text = f"{round(value, decimals) if decimals < 0 else value:.{max(decimals, 0)}f}"
    if text.startswith("-"):
        text = text[1:] if float(text) == 0 else MINUS + text[1:]
    return text


def scientific(value: float, digits: int = 6) -> str:
    """Return a number with so many significant digits and a power of ten."""
    mantissa, _, exponent = f"{value:.{digits - 1}e}".partition("e")
    if float(mantissa) == 0:
        return "0"
    return mantissa.replace("-", MINUS) + "×10" + str(int(exponent)).translate(_SUPERSCRIPT)


def feet_inches_eighths(value_m: float) -> str:
    """Return a length to the nearest eighth of an inch, as "12-06-3": twelve feet, six inches and three eighths."""
    eighths = round(abs(value_m) / _INCH_M * 8)
    feet, rest = divmod(eighths, 96)
    sign = MINUS if value_m < 0 and eighths else ""
    return f"{sign}{feet}-{rest // 8:02d}-{rest % 8}"


def read_back(text: str) -> float:
    """Return the number a printed text stands for; a length in feet, inches and eighths in metres."""
    plain = text.replace(MINUS, "-")
    if "×10" in plain:
        mantissa, _, exponent = plain.partition("×10")
        return float(mantissa) * 10.0 ** int(
            exponent.translate({ord(s): d for s, d in zip("⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "-0123456789", strict=True)})
        )
    parts = plain.lstrip("-").split("-")
    if len(parts) == 3:
        feet, inches, eighths = (int(one) for one in parts)
        return (-1 if plain.startswith("-") else 1) * (feet * 96 + inches * 8 + eighths) / 8 * _INCH_M
    return float(plain)


def si_unit(name: str) -> str:
    """Return the unit a field's name ends in, "" for one without dimension."""
    if name.endswith("_percent"):
        return "%"
    return next((unit for suffix, unit in SUFFIX_UNITS.items() if name.endswith(suffix)), "")


class Printer:
    """Prints numbers in SI or US units, by the names of their fields."""

    def __init__(self, units: Units = "si") -> None:
        self.units = units

    def unit(self, name: str, *, surveyed: bool = False) -> str:
        """Return the unit as printed; ``surveyed``: a length as a surveyor writes it."""
        if self.units == "us":
            if surveyed and name.endswith("_m"):
                return SURVEYED_UNIT
            head, _ = us_head(name)
            for ending, (unit, _decimals) in US_UNITS.items():
                if head != name and head.endswith(ending):
                    return unit
        return "°" if si_unit(name) == "deg" else si_unit(name)

    def factor(self, name: str) -> float:
        """Return what an SI number is divided by."""
        return float(us_head(name)[1]) if self.units == "us" else 1.0

    def number(
        self,
        value: float | None,
        name: str,
        *,
        at: str = "",
        uncertainty: float | None = None,
        surveyed: bool = False,
        decimals: int | None = None,
    ) -> Number | None:
        """Return a number as printed, None for one that does not exist.

        Parameters
        ----------
        name : str
            Name of the field, whose ending is the unit.
        uncertainty : float, optional
            Standard uncertainty, in the field's unit.
        surveyed : bool
            Whether a length is written in feet, inches and eighths in US units.
        decimals : int, optional
            In SI, where no uncertainty fixes them.
        """
        if value is None:
            return None
        if surveyed and self.units == "us" and name.endswith("_m"):
            return Number(feet_inches_eighths(value), at)
        if name.endswith("_per_tm"):
            return Number(scientific(value / self.factor(name), SLOPE_DIGITS), at)
        factor = self.factor(name)
        if uncertainty is not None and uncertainty > 0:
            places = decimals_of(uncertainty / factor)
        else:
            places = self._places(name, decimals)
        return Number(printed(value / factor, places), at)

    def _places(self, name: str, decimals: int | None) -> int:
        head, factor = us_head(name) if self.units == "us" else (name, Fraction(1))
        if head != name:
            if decimals is not None:
                return max(decimals + round(math.log10(float(factor))), 0)
            return next(places for ending, (_, places) in US_UNITS.items() if head.endswith(ending))
        if decimals is not None:
            return decimals
        return 0 if name.endswith("_count") else DECIMALS[si_unit(name) or "1"]

    def text(self, value: float, name: str, **how: Any) -> str:
        """Return the number with its unit."""
        found = self.number(value, name, **how)
        assert found is not None
        unit = self.unit(name, surveyed=bool(how.get("surveyed")))
        return found.text + ("" if not unit else unit if unit == "°" else f" {unit}")
