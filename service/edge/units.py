"""Units a survey sheet may use, and the reading of a number with its unit. Layer: service.edge.

Every factor is exact: the international foot, inch and pound (0.3048 m, 25.4 mm, 0.45359237 kg) and what is built on
them. A long ton (LT) is 2240 lb, a short ton (ST) 2000 lb, a US gallon 231 in³, a knot 1852 m an hour.
"""

import re
from fractions import Fraction
from typing import NamedTuple

TEXT_LENGTH = 40
"""Characters of a quantity at most."""

_FOOT = Fraction(3048, 10000)
_INCH = _FOOT / 12
_POUND = Fraction(45359237, 10**11)  # in tonnes


class Scale(NamedTuple):
    """One unit: value in the dimension's base unit = number × factor + offset."""

    factor: Fraction
    offset: Fraction = Fraction(0)


def _scales(**factors: Fraction | int) -> dict[str, Scale]:
    return {name.replace("_per_", "/").replace("_", " "): Scale(Fraction(factor)) for name, factor in factors.items()}


DIMENSIONS: dict[str, dict[str, Scale]] = {
    "length": _scales(m=1, cm=Fraction(1, 100), mm=Fraction(1, 1000), ft=_FOOT) | {"in": Scale(_INCH)},
    "area": _scales(m2=1, cm2=Fraction(1, 10**4), mm2=Fraction(1, 10**6), ft2=_FOOT**2, in2=_INCH**2),
    "volume": _scales(m3=1, L=Fraction(1, 1000), ft3=_FOOT**3, in3=_INCH**3, US_gal=231 * _INCH**3),
    "mass": _scales(t=1, kg=Fraction(1, 1000), LT=2240 * _POUND, ST=2000 * _POUND, lb=_POUND),
    "density": _scales(t_per_m3=1, kg_per_m3=Fraction(1, 1000), g_per_cm3=1, kg_per_L=1, lb_per_ft3=_POUND / _FOOT**3),
    "moment": {"t.m": Scale(Fraction(1)), "LT.ft": Scale(2240 * _POUND * _FOOT), "kg.m": Scale(Fraction(1, 1000))},
    "angle": _scales(deg=1, arcmin=Fraction(1, 60)),
    "speed": _scales(m_per_s=1, kn=Fraction(1852, 3600), ft_per_s=_FOOT),
    "temperature": {"C": Scale(Fraction(1)), "F": Scale(Fraction(5, 9), Fraction(-160, 9))},
}
"""Dimension → the name of a unit → its scale. The first unit of a dimension is its base."""

OWN_UNITS: dict[str, tuple[str, Fraction]] = {
    "m": ("length", Fraction(1)),
    "mm": ("length", Fraction(1, 1000)),
    "m²": ("area", Fraction(1)),
    "m³": ("volume", Fraction(1)),
    "t": ("mass", Fraction(1)),
    "t/m³": ("density", Fraction(1)),
    "t·m": ("moment", Fraction(1)),
    "deg": ("angle", Fraction(1)),
    "m/s": ("speed", Fraction(1)),
    "°C": ("temperature", Fraction(1)),
}
"""Unit of a field → its dimension and its size in the base unit."""

_NUMBER = r"[0-9]+(?:\.[0-9]+)?"
_INCHES = r"(?:(?:[0-9]|1[01])(?:\.[0-9]+)?|(?:(?:[0-9]|1[01]) )?[0-9]{1,2}/(?:2|4|8|16|32|64))"
_FEET_AND_INCHES = re.compile(rf"(?:(?P<feet>[0-9]+) ft )?(?P<inches>{_INCHES}) in")
_EIGHTHS = re.compile(r"(?P<feet>[0-9]+)-(?P<inches>0?[0-9]|1[01])-(?P<eighths>[0-7]) ft")
_PLAIN = re.compile(rf"(?P<number>{_NUMBER}) ?(?P<unit>US gal|[A-Za-z][A-Za-z0-9/.]*)")
_BARE = re.compile(r"[+-]?[0-9]+(?:\.[0-9]+)?")


class UnreadableError(Exception):
    """A text is no quantity of the dimension; ``code`` says why."""

    def __init__(self, code: str) -> None:
        super().__init__(code)
        self.code = code


def pattern(dimension: str) -> str:
    """Return the regular expression a quantity of this dimension fits, for a schema."""
    names = "|".join(re.escape(name).replace("\\ ", " ").replace("/", r"\/") for name in DIMENSIONS[dimension])
    forms = [rf"{_NUMBER} ?(?:{names})"]
    if dimension == "length":
        forms += [rf"(?:[0-9]+ ft )?{_INCHES} in", r"[0-9]+-(?:0?[0-9]|1[01])-[0-7] ft"]
    return rf"^[+-]?(?:{'|'.join(forms)})$"


def read(text: str, *, unit: str) -> float:
    """Return the quantity written in ``text`` in the field's own ``unit``.

    Raises
    ------
    UnreadableError
        "quantity-text", "quantity-no-unit", "quantity-unit".
    """
    dimension, size = OWN_UNITS[unit]
    if len(text) > TEXT_LENGTH or not text.isascii():
        raise UnreadableError("quantity-text")
    if _BARE.fullmatch(text):
        raise UnreadableError("quantity-no-unit")
    sign, rest = (-1, text[1:]) if text[:1] == "-" else (1, text[1:] if text[:1] == "+" else text)
    return float(sign * _magnitude(rest, dimension, sign) / size)


def _magnitude(text: str, dimension: str, sign: int) -> Fraction:
    if found := _EIGHTHS.fullmatch(text) or _FEET_AND_INCHES.fullmatch(text):
        if dimension != "length":
            raise UnreadableError("quantity-unit")
        parts = found.groupdict()
        inches = _mixed(parts["inches"]) + Fraction(int(parts.get("eighths") or 0), 8)
        return int(parts["feet"] or 0) * _FOOT + inches * _INCH
    plain = _PLAIN.fullmatch(text)
    if plain is None:
        raise UnreadableError("quantity-text")
    scale = DIMENSIONS[dimension].get(plain["unit"])
    if scale is None:
        raise UnreadableError("quantity-unit")
    return Fraction(plain["number"]) * scale.factor + sign * scale.offset


def _mixed(text: str) -> Fraction:
    """Return "6", "6.25", "3/8" or "6 3/8" as a number; a fraction must be below one."""
    whole, _, part = text.rpartition(" ")
    if "/" not in part:
        return Fraction(part)
    fraction = Fraction(part)
    if fraction >= 1:
        raise UnreadableError("quantity-text")
    return int(whole or 0) + fraction
