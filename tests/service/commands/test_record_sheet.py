"""A filled sheet becomes the record, or each fault is told with its cell."""

import csv
import json
from collections.abc import Callable
from datetime import datetime, time
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from fixtures.workbook.__main__ import workbook
from fixtures.workbook.tables import Table, tables_of
from service.__main__ import main
from service.commands.sheet_tables import place
from service.demo import demo_record

Change = Callable[[dict[str, Table]], object]


def written(path: Path, tables: dict[str, Table], *, delimiter: str = ",", comma: bool = False) -> Path:
    """Write tables as a workbook or as a CSV file."""
    if path.suffix == ".xlsx":
        book = openpyxl.Workbook()
        for name, rows in tables.items():
            sheet = book.create_sheet(name)
            for row in rows:
                sheet.append(row)
        book.save(path)
        return path
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, delimiter=delimiter)
        for name, rows in tables.items():
            writer.writerow([f"[{name}]"])
            for row in rows:
                writer.writerow([_text(one, comma) for one in row])
            writer.writerow([])
    return path


def _text(value: Any, comma: bool) -> Any:
    return repr(value).replace(".", ",") if comma and isinstance(value, float) else value


def same(read: Any, wanted: Any) -> bool:
    """Return whether two records are the same, numbers to the 16 digits a workbook holds."""
    if isinstance(wanted, dict):
        return isinstance(read, dict) and read.keys() == wanted.keys() and all(same(read[k], wanted[k]) for k in wanted)
    if isinstance(wanted, list):
        return len(read) == len(wanted) and all(map(same, read, wanted))
    if isinstance(wanted, float):
        return bool(read == pytest.approx(wanted, rel=1e-15, abs=0))
    return bool(read == wanted)


def record(path: Path, capsys: pytest.CaptureFixture[str]) -> Any:
    assert main(["record", str(path)]) == 0, capsys.readouterr().err
    return json.loads(capsys.readouterr().out)


def on_a_sheet():
    """The demo without her loading conditions, which no incline sheet holds."""
    return {key: part for key, part in demo_record().items() if key not in ("loading_conditions", "stability")}


def test_the_workbook_of_the_demo_gives_the_demo(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    workbook("http://127.0.0.1:8000").save(tmp_path / "incline.xlsx")
    assert same(record(tmp_path / "incline.xlsx", capsys), on_a_sheet())


@pytest.mark.parametrize(("delimiter", "comma"), [(",", False), (";", False), (";", True)])
def test_csv(tmp_path: Path, capsys: pytest.CaptureFixture[str], delimiter: str, comma: bool) -> None:
    path = written(tmp_path / "sheet.csv", tables_of(demo_record()), delimiter=delimiter, comma=comma)
    assert same(record(path, capsys), on_a_sheet())


def test_a_test_still_running_and_a_missed_reading(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    tables = tables_of(demo_record())
    tables["readings"][2][1] = None
    for row in tables["readings"][5:]:
        row[1] = None
    made = record(written(tmp_path / "sheet.xlsx", tables), capsys)["instruments"][0]["deflections_m"]
    wanted = demo_record()["instruments"][0]["deflections_m"]
    assert made == [pytest.approx(wanted[0]), None, pytest.approx(wanted[2]), pytest.approx(wanted[3])]


def test_a_library_hull_quantities_and_names_of_digits(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    tables = tables_of(demo_record())
    del tables["hull"]
    alone = [row for row in tables["record"] if not str(row[0]).startswith("hull/")]
    tables["record"] = [*alone, ["hull/kind", "library"], ["hull/name", "example-barge"]]
    tables["weights"][1][1] = "5.02 LT"
    tables["weights"][1][0] = 1
    for row in tables["moves"][1:]:
        row[0] = 1 if row[0] == "A" else row[0]
    made = record(written(tmp_path / "sheet.xlsx", tables), capsys)
    assert made["hull"] == {"kind": "library", "name": "example-barge"}
    assert (made["weights"][0]["id"], made["weights"][0]["mass_t"]) == ("1", "5.02 LT")
    assert made["moves"][0]["weight"] == "1"


@pytest.mark.parametrize("name", ["a.xlsx", "a.csv"])
def test_samples_by_hydrometer(tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str) -> None:
    """Heads of both markings side by side, an empty cell where a marking has no such field."""
    marking = ["kind", "reference_temperature_c", "apparent_in_air", "reading_t_per_m3"]
    relative = ["water_temperature_c", "reading_ratio"]
    tables = tables_of(on_a_sheet())
    tables["record"].append(["water/temperature_c", 11.5])
    tables["water"] = [
        [*(f"hydrometer/{one}" for one in marking + relative), "temperature_c", "density_t_per_m3"],
        ["density", 15.0, True, 1.0239, None, None, 12.4, None],
        ["relative_density", 15.0, None, None, 4.0, 1.0248, 12.4, None],
        [None, None, None, None, None, None, 12.0, 1.025],
    ]
    assert record(written(tmp_path / name, tables), capsys)["water"] == {
        "temperature_c": 11.5,
        "samples": [
            {"hydrometer": dict(zip(marking, ["density", 15, True, 1.0239], strict=True)), "temperature_c": 12.4},
            {
                "hydrometer": {
                    "kind": "relative_density",
                    "reference_temperature_c": 15,
                    "water_temperature_c": 4,
                    "reading_ratio": 1.0248,
                },
                "temperature_c": 12.4,
            },
            {"temperature_c": 12, "density_t_per_m3": 1.025},
        ],
    }


def test_how_the_test_was_conducted(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Cells with a date or a time of day are read as the record has them."""
    tables = tables_of({key: part for key, part in on_a_sheet().items() if key != "conduct"})
    tables["weights"] = [row[:-1] for row in tables["weights"]]  # those of the demo have certificates
    tables["record"] += [["conduct/day", datetime(2026, 5, 14)], ["conduct/start_time", time(8, 40)]]
    tables["persons"] = [["role", "name"], ["for the yard", None], ["for the authority", "Person One"]]
    tables["documents"] = [["title", "reference"], ["Lines plan", 17]]
    for row, more in zip(tables["weights"], ["certificate", "INV-17", *[None] * 20], strict=False):
        row.append(more)
    read = record(written(tmp_path / "a.xlsx", tables), capsys)
    assert read["conduct"] == {
        "day": "2026-05-14",
        "start_time": "08:40:00",
        "persons": [{"role": "for the yard"}, {"role": "for the authority", "name": "Person One"}],
        "documents": [{"title": "Lines plan", "reference": "17"}],
    }
    assert [one.get("certificate") for one in read["weights"]][:2] == ["INV-17", None]


def _set(table: str, row: int, column: int, value: Any) -> Change:
    def change(tables: dict[str, Table]) -> None:
        tables[table][row][column] = value

    return change


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (_set("weights", 2, 1, -5.0), "weights!B3: must be above 0 t, is -5 t (out-of-bounds)"),
        (_set("weights", 2, 1, None), "weights!A3, mass_t: a required field is missing (missing-field)"),
        (_set("weights", 0, 1, "mass"), "weights!B2: the record has no field of this name"),
        (_set("freeboards", 3, 3, "two"), "freeboards!D4: "),
        (_set("readings", 4, 1, "?"), "readings!B5: "),
        (_set("readings", 0, 1, "nobody/deflections_m"), "readings!B1: no instrument has this id"),
        (_set("tanks", 1, 1, "barrel"), "tanks!A2, shape: kind must be one of"),
        (_set("hull", 5, 2, None), "hull!A6: x, y and z are needed"),
        (_set("hull", 0, 0, "x"), "hull!A1: the heads must be"),
        (lambda tables: tables["record"].append(["water", 1.025]), "record!B31: a value stands in the way"),
        (lambda tables: tables["record"].append(["hull", 1.025]), "record!B31: a value stands in the way"),
        (lambda tables: tables.pop("water"), "water: a required field is missing (missing-field)"),
    ],
)
def test_a_fault_is_told_with_its_cell(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], change: Change, said: str
) -> None:
    tables = tables_of(demo_record())
    change(tables)
    assert main(["record", str(written(tmp_path / "sheet.xlsx", tables))]) == 1
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith(said), err


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("a.xlsx", b"no workbook", "the file cannot be opened as a workbook"),
        ("a.csv", b"x_m,y_m\n", "line 1: a table begins with its name"),
        ("a.csv", b"[water]\n[water]\n", "line 2: this table was begun before"),
        ("a.csv", b"\xff\xfe\x00", "the file is not UTF-8"),
        ("a.txt", b"", "the file must end in"),
    ],
)
def test_no_sheet(tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str, content: bytes, said: str) -> None:
    (tmp_path / name).write_bytes(content)
    assert main(["record", str(tmp_path / name)]) == 1
    assert capsys.readouterr().err.startswith(said)


def test_no_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["record", str(tmp_path / "none.xlsx")]) == 1
    assert capsys.readouterr().err == "there is no such file\n"


@pytest.mark.parametrize(("column", "name"), [(0, "A7"), (25, "Z7"), (26, "AA7"), (701, "ZZ7"), (702, "AAA7")])
def test_place(column: int, name: str) -> None:
    assert place(column, 7) == name
