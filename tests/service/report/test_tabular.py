"""Reports of answers in columns: every number of the answer is in the tables, the curves are there."""

import json
import re

import pytest

from service.report.document import Figure, Table, Words
from service.report.html import html
from service.report.numbers import read_back
from service.report.pdf import pdf
from service.report.tabular import capacity_report, hydrostatics_report, righting_arms_report
from service.resources import hydrostatics, righting_arms, tanks

GRID = {
    "hull": hydrostatics.EXAMPLE["hull"],
    "density_t_per_m3": 1.025,
    "grid": {"draft_m": [1.0, 2.0, 3.0, 9.0], "trim_m": [0.0, 0.6]},  # at 9 m the deck of 8 m is under
}


def made(model, compute, build, body, units="si"):
    request = model.model_validate_json(json.dumps(body))
    answer = compute(request)
    return answer, build(request, answer, units)


def hydrostatic(body=GRID, units="si"):
    return made(hydrostatics.HydrostaticsRequest, hydrostatics.compute, hydrostatics_report, body, units)


def arms(body=righting_arms.EXAMPLE, units="si"):
    return made(righting_arms.RightingArmsRequest, righting_arms.compute, righting_arms_report, body, units)


def capacity(units="si", **more):
    body = {**tanks.EXAMPLE, "step_m": 0.5, **more}
    return made(tanks.CapacityRequest, tanks.capacity, capacity_report, body, units)


def printed(document):
    """Return the places and texts of all numbers on the page."""
    return re.findall("data-at='([^']+)'>([^<]*)<", html(document))


@pytest.mark.parametrize("build", [hydrostatic, arms, capacity])
def test_every_entry_of_the_columns_is_printed_as_it_is(build):
    answer, document = build()
    columns = answer.columns.model_dump(mode="json", exclude_none=True)
    numbers = dict(printed(document))
    shown = {place.split("/")[2] for place in numbers if place.startswith("answer/columns/")}
    assert len(shown) >= 9
    for name in shown:
        for i, true in enumerate(columns[name]):
            text = numbers.get(f"answer/columns/{name}/{i}")
            if true is None:
                assert text is None
            else:
                decimals = len(text.partition(".")[2])
                assert abs(read_back(text) - true) <= 0.5000001 * 10.0**-decimals


def test_hydrostatics_leave_no_column_out():
    answer, document = hydrostatic()
    shown = {place.split("/")[2] for place, _ in printed(document) if place.startswith("answer/columns/")}
    assert shown == set(answer.columns.model_dump())


def test_an_entry_that_does_not_exist_is_told():
    answer, document = hydrostatic()
    assert answer.column_notes
    notes = [one for one in document.blocks() if isinstance(one, Table) and "do not exist" in one.caption]
    assert len(notes[0].rows) == len(answer.column_notes)


def test_curves_for_every_trim_with_drafts_enough():
    _, document = hydrostatic()
    assert [one.caption for one in document.blocks() if isinstance(one, Figure)] == [
        "Hydrostatic curves, trim 0.000 m, heel 0.000°.",
        "Hydrostatic curves, trim 0.600 m, heel 0.000°.",
    ]
    _, single = hydrostatic({**GRID, "grid": {"draft_m": [1.0], "trim_m": [0.0]}})
    assert not [one for one in single.blocks() if isinstance(one, Figure)]
    assert any("too few drafts" in one.text for one in single.blocks() if isinstance(one, Words))


def test_the_arms_report_marks_what_the_answer_says():
    answer, document = arms()
    (figure,) = [one for one in document.blocks() if isinstance(one, Figure)]
    assert "flooding</text>" in figure.svg
    assert "deck edge</text>" in figure.svg
    assert "by the correction</text>" in figure.svg
    flooding = next(text for place, text in printed(document) if place == "answer/starboard/flooding_deg")
    assert read_back(flooding) == pytest.approx(answer.starboard.flooding_deg, abs=5e-4)


def test_us_units_by_their_factors():
    """A 10 × 4 × 2 m box holds 80 m³ = 2825.17 ft³ (1 ft³ = 0.3048³ m³, exactly)."""
    _, document = capacity("us")
    assert dict(printed(document))["answer/capacity_m3"] == "2825.2"


@pytest.mark.parametrize("build", [hydrostatic, arms, capacity])
@pytest.mark.parametrize("units", ["si", "us"])
def test_they_are_written_as_pdf(build, units):
    _, document = build(units=units)
    assert pdf(document).startswith(b"%PDF-1.7")


def test_a_tank_named_in_markup_stays_text():
    tank = {**tanks.TANK, "name": "<img src=x onerror=alert(1)> #panic()"}
    page = html(capacity(tank=tank)[1])
    assert "<img" not in page
    assert "&lt;img src=x onerror=alert(1)&gt; #panic()" in page


@pytest.mark.parametrize(
    ("path", "body"),
    [
        ("/v1/hydrostatics", hydrostatics.EXAMPLE),
        ("/v1/righting-arms", righting_arms.EXAMPLE),
        ("/v1/tanks/capacity", {**tanks.EXAMPLE, "step_m": 0.5}),
    ],
)
def test_over_http(plain, path, body):
    assert plain.post(f"{path}?format=html&units=us", json=body).text.startswith("<!doctype html>")
    assert plain.post(path, json=body, headers={"Accept": "application/pdf"}).content.startswith(b"%PDF")
    refused = plain.post(f"{path}?format=docx", json=body)
    assert refused.status_code == 406
