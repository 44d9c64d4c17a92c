"""The plan and the procedure: what is known, what is wanted, and sheets that key into a record."""

import json
import re

import pytest

from service.report.before_test import plan_report, procedure_report
from service.report.document import Note, Section, Table
from service.report.field_sheets import ROW_MM
from service.report.html import html
from service.report.numbers import read_back
from service.report.pdf import pages, pdf
from service.report.word import word
from service.resources import plan, procedure
from service.resources.stability_tests import StabilityTest


@pytest.fixture(scope="module")
def planned():
    body = {name: value for name, value in plan.EXAMPLE.items() if name != "rehearsal"}
    request = plan.PlanRequest.model_validate_json(json.dumps(body))
    answer = plan.plan(request)
    return answer, plan_report(request, answer)


def proceed(**more):
    request = procedure.ProcedureRequest.model_validate_json(json.dumps({**procedure.EXAMPLE, **more}))
    answer = procedure.check(request)
    return answer, procedure_report(request, answer)


@pytest.fixture(scope="module")
def proceeded():
    return proceed()


def sheets(document):
    return [one for one in document.sections if one.title.startswith("Field sheet: ")]


def places(document):
    """Return the first column of every row that is filled in by hand."""
    tables = [block for one in sheets(document) for block in one.blocks if isinstance(block, Table)]
    return [row[0] for table in tables for row in table.rows if isinstance(row[0], str)]


def in_schema(schema, path):
    """Return whether a place is one of the schema's: field names and ranks."""

    def down(node, parts):
        while "$ref" in node:
            node = schema["$defs"][node["$ref"].rsplit("/", 1)[1]]
        if not parts:
            return True
        choices = [one for key in ("anyOf", "oneOf") for one in node.get(key, ())]
        if choices:
            return any(down(one, parts) for one in choices)
        head, *rest = parts
        if head.isdigit():
            return "items" in node and down(node["items"], rest)
        return head in node.get("properties", {}) and down(node["properties"][head], rest)

    return down(schema, path.split("/"))


@pytest.mark.parametrize("which", ["planned", "proceeded"])
def test_rows_are_numbered_as_the_record(request, which):
    _, document = request.getfixturevalue(which)
    found = [one.split(",")[0] for one in places(document) if "/" in one]
    schema = StabilityTest.model_json_schema()
    assert len(found) > 40
    assert not in_schema(schema, "freeboards/0/no_such_field")
    assert [one for one in found if not in_schema(schema, one)] == []
    assert {one.split("/")[0] for one in found} == {
        *("water", "freeboards", "draft_marks", "weights", "moves", "tanks", "items", "survey_differences")
    }


def test_columns_of_readings_name_the_instruments_field(planned):
    _, document = planned
    heads = re.findall("\\((instruments/[^)]*)\\)", html(document))
    assert heads == [
        "instruments/0/deflections_m",
        "instruments/1/deflections_m",
        "instruments/2/port_levels_m",
        "instruments/2/starboard_levels_m",
    ]


def test_what_is_planned_is_printed_in(planned):
    answer, document = planned
    found = places(document)
    expected = [f"freeboards/{i}" for i in range(len(answer.freeboards))]
    assert [one for one in found if one.startswith("freeboards/")] == expected
    moves = [one for one in answer.moves if one.weight]
    rows = next(block for one in sheets(document) if "readings 1" in one.title for block in one.blocks[2:]).rows
    assert [row[1] for row in rows] == ["before any move", *(one.weight for one in moves)]
    for row, one in zip(rows[1:], moves, strict=True):
        assert read_back(row[2].text) == pytest.approx(one.to_y_m, abs=5e-4)
        assert row[3:] == (None,) * (len(row) - 3)  # nothing measured is printed before it is measured


def test_rows_are_tall_enough_to_write_in(proceeded):
    """9 mm a row at least: what lined paper for handwriting has (common practice, no source)."""
    _, document = proceeded
    tables = [block for one in sheets(document) for block in one.blocks if isinstance(block, Table)]
    assert ROW_MM >= 9
    assert all(table.row_height_mm == ROW_MM for table in tables)
    assert all(one.new_page for one in sheets(document))


@pytest.mark.parametrize("paper", ["a4", "us-letter"])
def test_a_sheet_fits_its_page(proceeded, paper):
    """Every sheet of the example is one page of A4 and of US letter."""
    _, document = proceeded
    for one in sheets(document):
        alone = type(document)(title="t", subject="", sections=(Section("before", ()), one))
        assert len(pages(alone, paper=paper, ppi=15)) == 2, one.title


def test_what_is_missing_comes_first(proceeded):
    answer, document = proceeded
    first = document.sections[0]
    assert not answer.complete
    assert first.blocks[0] == Note("result", f"{len(answer.missing)} parts are not wholly given.")
    wanted = [fact.words for part in answer.parts for fact in part.missing]
    told = " ".join(row[1] for row in first.blocks[1].rows)
    assert wanted
    assert all(words in told for words in wanted)


def test_every_part_stands_with_its_clause(proceeded):
    answer, document = proceeded
    table = next(one for one in document.sections if one.title == "What the regulations ask for").blocks[0]
    assert [row[3] for row in table.rows] == [f"{one.clause}; {one.source}" for one in answer.parts]


def test_given_texts_stay_texts():
    evil = "<script>x</script> #panic() *b*"
    _, document = proceed(place=evil, persons=[{"name": evil}])
    page = html(document)
    assert "<script>" not in page
    assert page.count("&lt;script&gt;x&lt;/script&gt; #panic() *b*") >= 2


@pytest.mark.parametrize("which", ["planned", "proceeded"])
def test_all_forms_are_written(request, which):
    _, document = request.getfixturevalue(which)
    assert pdf(document) == pdf(document)
    assert word(document)[:2] == b"PK"


@pytest.mark.parametrize(
    ("path", "body"),
    [("/v1/stability-tests/procedure", procedure.EXAMPLE)],
)
def test_over_http(plain, path, body):
    for form, start in (("html", b"<!doctype html>"), ("pdf", b"%PDF"), ("docx", b"PK")):
        assert plain.post(f"{path}?format={form}", json=body).content.startswith(start)
    assert plain.post(f"{path}?format=odt", json=body).status_code == 406


def test_us_sheets_ask_for_feet_inches_and_eighths():
    request = procedure.ProcedureRequest.model_validate_json(json.dumps(procedure.EXAMPLE))
    document = procedure_report(request, procedure.check(request), "us")
    tables = [block for one in sheets(document) for block in one.blocks if isinstance(block, Table)]
    units = {column.head: column.unit for one in tables for column in one.columns if column.unit}
    assert {units[head] for head in ("freeboard", "draft", "sounding", "ullage")} == {"ft-in-8ths"}
    assert (units["x"], units["mass"], units["density"]) == ("ft", "LT", "lb/ft³")
