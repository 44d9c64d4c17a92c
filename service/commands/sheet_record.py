"""Named tables of cells as the record of a stability test. Layer: service.commands.

Heads are the names of the record's fields; a field inside another has both names with a slash, ``shape/x_min_m``. An
empty cell is an absent field; true and false are told from texts by the field. The tables:

record        two columns headed field and value: what stands alone, ``vessel/name``, ``approved/mass_t``, ``hull/name``
hull          x_m, y_m, z_m: points of the stations from the keel up, a station where x changes
instruments   one row each, without readings
readings      reading 0 … m downwards, a column each, headed by instrument and field, ``forward/deflections_m``; empty
              where missed
water, freeboards, draft_marks, survey_differences, tanks, weights, moves, items       one row each
persons, documents                                                                     of the conduct, one row each

Other tables are left alone. A number may be a text with one decimal comma, or a quantity with its unit.
"""

import json
from functools import partial
from typing import Any

from service.cells.parameters import NUMBER
from service.commands.sheet_tables import Row, SheetError, Tables, Value, place
from service.edge import strict_json
from service.edge.operation import names_of
from service.edge.problems import ProblemError
from service.schemas.record import StabilityTest

ROWS = ("freeboards", "draft_marks", "survey_differences", "tanks", "weights", "moves", "items", "instruments")


def texts_only() -> frozenset[str]:
    """Return the names of the record's fields that hold a text, never a number."""
    texts: set[str] = set()
    numbers: set[str] = set()

    def walk(node: Any) -> None:
        if isinstance(node, dict):
            for name, facts in node.get("properties", {}).items():
                alone = {**facts, "anyOf": None}
                (texts if alone.get("type") == "string" else numbers).add(name)
            for below in node.values():
                walk(below)
        elif isinstance(node, list):
            for below in node:
                walk(below)

    walk(StabilityTest.model_json_schema())
    return frozenset(texts - numbers)


class _Reading:
    """Builds the record, and remembers from which cell each value came."""

    def __init__(self, tables: Tables) -> None:
        self.tables = tables
        self.places: dict[str, str] = {}
        self._texts = texts_only()

    def record(self) -> dict[str, Any]:
        record: dict[str, Any] = {}
        for row in self.tables.get("record", [])[1:]:
            if len(row.cells) > 1 and row.cells[0] is not None and row.cells[1] is not None:
                self._put(record, str(row.cells[0]), row.cells[1], ("record", 1, row.number), "#")
        for name in ROWS:
            if rows := self._rows(name, f"#/{name}"):
                record[name] = rows
        if samples := self._rows("water", "#/water/samples"):
            self._part(record, "water").update(samples=samples)
        for name in ("persons", "documents"):
            if rows := self._rows(name, f"#/conduct/{name}"):
                self._part(record, "conduct")[name] = rows
        if stations := self._stations():
            self._part(record, "hull").update(stations=stations)
        self._readings(record.get("instruments", []))
        record.setdefault("moves", [])
        return record

    def _part(self, record: dict[str, Any], name: str) -> dict[str, Any]:
        part: object = record.setdefault(name, {})
        if not isinstance(part, dict):
            raise SheetError(f"{self.places[f'#/{name}']}: a value stands in the way of this field")
        return part

    def _put(self, target: dict[str, Any], path: str, value: Value, cell: tuple[str, int, int], above: str) -> None:
        *parts, last = path.split("/")
        if not names_of(StabilityTest).issuperset((*parts, last)):
            raise SheetError(f"{cell[0]}!{place(cell[1], cell[2])}: the record has no field of this name")
        for part in parts:
            target = target.setdefault(part, {})
            if not isinstance(target, dict):
                raise SheetError(f"{cell[0]}!{place(cell[1], cell[2])}: a value stands in the way of this field")
        target[last] = self._value(last, value)
        self.places[f"{above}/{path}"] = f"{cell[0]}!{place(cell[1], cell[2])}"

    def _value(self, name: str, value: Value) -> Value:
        if name in self._texts:
            return f"{value:g}" if isinstance(value, float) else str(value)
        if isinstance(value, str) and NUMBER.fullmatch(value):
            return float(value.replace(",", "."))
        if isinstance(value, str) and value.lower() in ("true", "false"):
            return value.lower() == "true"
        return value

    def _rows(self, table: str, pointer: str) -> list[dict[str, Any]]:
        found: list[dict[str, Any]] = []
        for row in self.tables.get(table, [])[1:]:
            one: dict[str, Any] = {}
            at = f"{pointer}/{len(found)}"
            for column, head in enumerate(_heads(self.tables[table])):
                value = row.cells[column] if column < len(row.cells) else None
                if head and value is not None:
                    self._put(one, head, value, (table, column, row.number), at)
            self.places[at] = f"{table}!{place(0, row.number)}"
            if one:
                found.append(one)
        return found

    def _stations(self) -> list[dict[str, Any]]:
        stations: list[dict[str, Any]] = []
        rows = self.tables.get("hull", [])
        if rows and _heads(rows)[:3] != ["x_m", "y_m", "z_m"]:
            raise SheetError("hull!A1: the heads must be x_m, y_m and z_m")
        for row in rows[1:]:
            numbers = [self._value("x_m", one) for one in (*row.cells, None, None)[:3]]
            if any(one is None for one in numbers):
                raise SheetError(f"hull!A{row.number}: x, y and z are needed")
            if not stations or stations[-1]["x_m"] != numbers[0]:
                self.places[f"#/hull/stations/{len(stations)}"] = f"hull!A{row.number}"
                stations.append({"x_m": numbers[0], "points_m": []})
            points = stations[-1]["points_m"]
            self.places[f"#/hull/stations/{len(stations) - 1}/points_m/{len(points)}"] = f"hull!B{row.number}"
            points.append(numbers[1:])
        return stations

    def _readings(self, instruments: list[dict[str, Any]]) -> None:
        rows = self.tables.get("readings", [])
        by_id = {one.get("id"): (i, one) for i, one in enumerate(instruments)}
        for column, head in enumerate(_heads(rows) if rows else []):
            name, _, field = head.rpartition("/")
            if not name:
                continue
            where = f"readings!{place(column, rows[0].number)}"
            if name not in by_id:
                raise SheetError(f"{where}: no instrument has this id")
            i, instrument = by_id[name]
            values = [self._value(field, r.cells[column] if column < len(r.cells) else None) for r in rows[1:]]
            while values and values[-1] is None:  # a test still running
                values.pop()
            instrument[field] = values
            self.places[f"#/instruments/{i}/{field}"] = where
            for k in range(len(values)):
                self.places[f"#/instruments/{i}/{field}/{k}"] = f"readings!{place(column, rows[k + 1].number)}"


def _heads(rows: list[Row]) -> list[str]:
    return ["" if one is None else str(one) for one in rows[0].cells] if rows else []


def record_of(tables: Tables) -> dict[str, Any]:
    """Return the record the tables hold, checked against its schema.

    Raises
    ------
    SheetError
        One line a fault, each with its sheet and cell.
    """
    reading = _Reading(tables)
    record = reading.record()
    try:
        strict_json.parse(StabilityTest, json.dumps(record).encode(), partial(names_of, StabilityTest))
    except ProblemError as problem:
        lines = [f"{_nearest(reading.places, one.pointer)}: {one.detail} ({one.code})" for one in problem.faults]
        raise SheetError("\n".join(lines) or problem.detail) from None
    return record


def _nearest(places: dict[str, str], pointer: str) -> str:
    """Return the cell of a pointer, or of what it stands in; else the name of the table it would be in."""
    here = pointer
    while here not in places and "/" in here:
        here = here.rpartition("/")[0]
    if here in places:
        missing = pointer.removeprefix(here).strip("/")
        return f"{places[here]}, {missing}" if missing else places[here]
    return pointer.removeprefix("#/") or "record"
