"""How the test was conducted stands in the report as given, and what is not stated is named."""

import copy
import json

import pytest

from service.report.document import Facts, Number, Table, Words
from service.report.html import html
from service.report.pdf import pdf
from service.report.stability_test import stability_test_report
from service.resources.stability_tests import StabilityTest

HOSTILE = "<b>Quay</b> #1 *two* 船"
CONDUCT = {
    "day": "2026-05-14",
    "start_time": "08:40",
    "end_time": "12:15",
    "place": HOSTILE,
    "wind_speed_m_per_s": 3.0,
    "wind_direction": "from the north-west",
    "current_direction": "none seen",
    "water_depth_m": 7.5,
    "mooring": "slack at every reading " * 80,
    "persons": [{"role": "for the authority", "name": "Person One"}, {"role": "reads a pendulum"}],
    "documents": [{"title": "Lines plan", "reference": "INV-001"}, {"title": "Tables"}],
}


def test_the_demonstration_leaves_nothing_of_it_unstated(demo):
    document = stability_test_report(demo.request, demo.answer)
    words = [one.text for one in section(document, "Conditions of the day and water").blocks if isinstance(one, Words)]
    assert not any(one.startswith("Not stated") for one in words)
    assert document.occasion.startswith("2026-05-14, 08:40 to 11:25, Invented")
    people = section(document, "Vessel, drawings and people").blocks[-1]
    assert all(name is None for _, name in people.rows)  # capacities alone: no person is invented


def report_of(asked, units="si", **conduct):
    record = {**copy.deepcopy(asked.record), "conduct": conduct}
    record["weights"][1]["certificate"] = "INV-W-17"
    return stability_test_report(StabilityTest.model_validate_json(json.dumps(record)), asked.answer, units)


def section(document, title):
    return next(one for one in document.sections if one.title == title)


def facts_of(document):
    block = section(document, "Conditions of the day and water").blocks[0]
    assert isinstance(block, Facts)
    return {one.label: (one.value.text if isinstance(one.value, Number) else one.value, one.unit) for one in block.rows}


def test_what_is_given_stands_in_its_place(demo):
    document = report_of(demo, **CONDUCT)
    assert document.occasion == f"2026-05-14, 08:40 to 12:15, {HOSTILE}"
    assert facts_of(document) == {
        "Date": ("2026-05-14", ""),
        "Time": ("08:40 to 12:15", ""),
        "Place": (HOSTILE, ""),
        "Wind": ("3.0", "m/s"),
        "Wind, direction": ("from the north-west", ""),
        "Current, direction": ("none seen", ""),
        "Depth of water": ("7.50", "m"),
        "Mooring": (CONDUCT["mooring"], ""),
    }
    tables = [one for one in section(document, "Vessel, drawings and people").blocks if isinstance(one, Table)]
    assert [one.rows for one in tables] == [
        (("Lines plan", "INV-001"), ("Tables", None)),
        (("for the authority", "Person One"), ("reads a pendulum", None)),
    ]
    weights = section(document, "Inclining weights and moves").blocks[0]
    given = [one["certificate"] for one in demo.record["weights"]]
    assert [row[-1] for row in weights.rows] == [given[0], "INV-W-17", *given[2:]]


def test_what_is_not_stated_is_named(demo, noiseless):
    told = [one.text for one in section(report_of(demo, **CONDUCT), "Conditions of the day and water").blocks[1:2]]
    assert told == ["Not stated in the record: weather, air temperature, sea, condition of the vessel."]
    bare = stability_test_report(noiseless.request, noiseless.answer)  # its record tells nothing of it
    words = [one.text for one in section(bare, "Conditions of the day and water").blocks if isinstance(one, Words)]
    assert words[0].startswith("Not stated in the record: date, time, place, weather,")
    assert bare.occasion == ""


@pytest.mark.parametrize(
    ("given", "line"),
    [
        ({"start_time": "08:40"}, "from 08:40"),
        ({"end_time": "12:15"}, "until 12:15"),
        ({"place": "Quay"}, "Quay"),
        ({"remarks": "none"}, ""),
    ],
)
def test_the_line_under_the_name(demo, given, line):
    assert report_of(demo, **given).occasion == line


def test_in_feet(demo):
    told = facts_of(report_of(demo, "us", **CONDUCT))
    assert told["Depth of water"] == ("24-07-2", "ft-in-8ths")  # 7.5 m = 24.606 ft, 7.27 in
    assert told["Wind"] == ("10", "ft/s")  # 3 m/s = 9.84 ft/s


def test_texts_stay_texts(demo):
    document = report_of(demo, **CONDUCT)
    page = html(document)
    assert "&lt;b&gt;Quay&lt;/b&gt;" in page
    assert "<b>Quay" not in page
    assert pdf(document) == pdf(report_of(demo, **CONDUCT))
