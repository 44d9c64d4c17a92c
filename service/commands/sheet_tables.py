"""A filled sheet, workbook or CSV, as named tables of cells. Layer: service.commands.

A workbook has one sheet a table. A CSV file has the tables one below the other, each after a line with its name in
square brackets, ``[weights]``; its separator is a semicolon where the first head has any, else a comma.
"""

import csv
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import NamedTuple

Value = str | float | int | bool | None


class Row(NamedTuple):
    """One row: its number in the sheet, from 1, and its cells."""

    number: int
    cells: tuple[Value, ...]


Tables = dict[str, list[Row]]
"""Name of a table → its rows that hold anything, head first."""


class SheetError(Exception):
    """A sheet cannot be read; the text says where."""


def read_tables(path: Path) -> Tables:
    """Return the tables of a file by its ending, .xlsx or .csv."""
    match path.suffix.lower():
        case ".xlsx":
            return _workbook(path)
        case ".csv":
            return _csv(path)
    raise SheetError("the file must end in .xlsx or .csv")


def place(column: int, row: int) -> str:
    """Return the name of a cell, "B3" for the second column and third row."""
    letters = ""
    while column >= 0:
        letters = chr(65 + column % 26) + letters
        column = column // 26 - 1
    return f"{letters}{row}"


def _workbook(path: Path) -> Tables:
    import openpyxl

    try:
        book = openpyxl.load_workbook(path, read_only=True, data_only=True, keep_links=False)
    except FileNotFoundError:
        raise
    except Exception as error:  # openpyxl has no error of its own for a file that is no workbook
        raise SheetError(f"the file cannot be opened as a workbook: {type(error).__name__}") from error
    tables: Tables = {}
    for sheet in book.worksheets:
        rows = (
            Row(number, tuple(_plain(one) for one in row))
            for number, row in enumerate(sheet.iter_rows(values_only=True), start=1)
        )
        tables[sheet.title] = [row for row in rows if any(one is not None for one in row.cells)]
    book.close()
    return tables


def _plain(value: object) -> Value:
    if value is None or isinstance(value, (bool, int, float)):
        return value
    if isinstance(value, datetime) and not any((value.hour, value.minute, value.second, value.microsecond)):
        return value.date().isoformat()  # a cell with a date alone
    text = str(value).strip()  # a time of day too
    return text or None


def _csv(path: Path) -> Tables:
    tables: Tables = {}
    name = ""
    for row in _csv_rows(path):
        filled = [one for one in row.cells if one is not None]
        first = str(filled[0]) if len(filled) == 1 else ""
        if first.startswith("[") and first.endswith("]"):
            name = first[1:-1].strip()
            if name in tables:
                raise SheetError(f"line {row.number}: this table was begun before")
            tables[name] = []
        elif filled:
            if not name:
                raise SheetError(f"line {row.number}: a table begins with its name in square brackets")
            tables[name].append(row)
    return tables


def _csv_rows(path: Path) -> Iterator[Row]:
    try:
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        raise SheetError("the file is not UTF-8") from None
    heads = [line for line in text.splitlines() if line.strip() and not line.strip(' ,;"').startswith("[")]
    delimiter = ";" if heads and ";" in heads[0] else ","
    reader = csv.reader(text.splitlines(), delimiter=delimiter)
    for row in reader:
        yield Row(reader.line_num, tuple(one.strip() or None for one in row))
