"""Columns as CSV (RFC 4180), in SI or US units. Layer: service.edge.

The heads are the names of the fields, so each tells its unit; with ``units="us"`` both head and numbers change. An
entry that does not exist is empty. A text that a spreadsheet would take for a formula is quoted with an apostrophe.
"""

import csv
import io
from collections.abc import Mapping, Sequence
from fractions import Fraction

from service.edge.operation import Units
from service.edge.units import DIMENSIONS

_FT = DIMENSIONS["length"]["ft"].factor
_IN = DIMENSIONS["length"]["in"].factor
_LT = DIMENSIONS["mass"]["LT"].factor
_LB_FT3 = DIMENSIONS["density"]["lb/ft3"].factor
_CM = Fraction(1, 100)

US_SUFFIXES: dict[str, tuple[str, Fraction]] = {
    "_tm_per_cm": ("_lt_ft_per_in", _LT * _FT / (_IN / _CM)),
    "_t_per_cm": ("_lt_per_in", _LT / (_IN / _CM)),
    "_t_per_m3": ("_lb_per_ft3", _LB_FT3),
    "_m_per_s": ("_ft_per_s", _FT),
    "_m_per_rad": ("_ft_per_rad", _FT),
    "_per_tm": ("_per_lt_ft", 1 / (_LT * _FT)),
    "_m_deg": ("_ft_deg", _FT),
    "_m_rad": ("_ft_rad", _FT),
    "_m2": ("_ft2", _FT**2),
    "_m3": ("_ft3", _FT**3),
    "_m4": ("_ft4", _FT**4),
    "_mm": ("_in", _IN * 1000),
    "_tm": ("_lt_ft", _LT * _FT),
    "_m": ("_ft", _FT),
    "_t": ("_lt", _LT),
}
"""Ending of a field's name → its US ending, and how much of the SI unit one US unit is. The longest endings first."""

Cell = float | int | str | None


def columns_csv(columns: Mapping[str, Sequence[Cell]], units: Units = "si") -> str:
    """Return equally long columns, by field name, as CSV."""
    out = io.StringIO()
    writer = csv.writer(out)  # CRLF, as RFC 4180 has it
    heads, ready = [], []
    for name, column in columns.items():
        head, factor = us_head(name) if units == "us" else (name, Fraction(1))
        heads.append(head)
        ready.append([_cell(one, float(factor)) for one in column])
    writer.writerow(heads)
    writer.writerows(zip(*ready, strict=True))
    return out.getvalue()


def us_head(name: str) -> tuple[str, Fraction]:
    """Return the head of a column in US units and the size of its unit in the SI one."""
    for ending, (us, factor) in US_SUFFIXES.items():
        if name.endswith(ending):
            return name.removesuffix(ending) + us, factor
    return name, Fraction(1)


def _cell(value: Cell, factor: float) -> str:
    if value is None:
        return ""
    if isinstance(value, str):
        return "'" + value if value[:1] in ("=", "+", "-", "@", "\t", "\r") else value
    if isinstance(value, int):
        return str(value) if factor == 1.0 else repr(value / factor)
    return repr(value / factor + 0.0)
