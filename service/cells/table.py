"""A table as CSV or XML. Layer: service.cells."""

from collections.abc import Mapping, Sequence
from typing import Literal
from xml.sax.saxutils import escape

from service.edge.csv_table import Cell, columns_csv, us_head

Table = Mapping[str, Sequence[Cell]]
"""Equally long columns by the name of the field."""


def written(table: Table, chosen: str, units: Literal["si", "us"]) -> bytes:
    """Return the table in the format chosen: "csv" or "xml"."""
    return (columns_csv(table, units) if chosen == "csv" else xml(table, units)).encode()


def xml(table: Table, units: Literal["si", "us"] = "si") -> str:
    """Return one ``row`` element a row, one element a column named as the field; empty where there is no value."""
    heads, columns = [], []
    for name, column in table.items():
        head, factor = us_head(name) if units == "us" else (name, 1)
        heads.append(head)
        columns.append([_text(value, float(factor)) for value in column])
    rows = zip(*columns, strict=True)
    body = "".join(
        "<row>" + "".join(f"<{head}>{text}</{head}>" for head, text in zip(heads, row, strict=True)) + "</row>"
        for row in rows
    )
    return f'<?xml version="1.0" encoding="UTF-8"?><table>{body}</table>'


def _text(value: Cell, factor: float) -> str:
    if value is None:
        return ""
    if isinstance(value, str):
        return escape(value)
    return str(value) if isinstance(value, int) and factor == 1.0 else repr(value / factor + 0.0)
