"""The report of a test: what it holds, what it does not invent, what it says where a step was not done."""

import copy
import json

import pytest

from engine.quantities import SUFFIX_UNITS
from service.report import generic
from service.report.document import Facts, Note, Number, Signatures, Table, Words
from service.report.generic import plain
from service.report.html import html
from service.report.numbers import Printer, read_back
from service.report.stability_test import stability_test_report
from service.report.values import Values
from service.resources.stability_tests import StabilityTest, compute

ORDER = [
    "Preliminary answer",
    "Vessel, drawings and people",
    "Conditions of the day and water",
    "Hydrostatics used",
    "Freeboards, drafts and floating plane",
    "Tanks",
    "Add, remove and relocate",
    "Inclining weights and moves",
    "Instruments and raw readings",
    "Tangents and metacentric height",
    "As inclined: displacement and KG",
    "Lightship",
    "Uncertainty",
    "Checks",
    "Findings and cautions",
    "Signatures",
    "Appendix: the record as sent",
    "Provenance",
]


def report(asked, units="si"):
    return stability_test_report(asked.request, asked.answer, units)


def section(document, title):
    return next(one for one in document.sections if one.title == title)


def words(document):
    return " ".join(one.text for one in document.blocks() if isinstance(one, (Words, Note)))


def test_sections_in_the_order_a_reviewer_reads(demo):
    titles = [one.title for one in report(demo).sections]
    assert [one for one in titles if one in ORDER] == ORDER


def test_every_check_stands_with_its_clause(demo):
    found = [one for one in section(report(demo), "Checks").blocks if isinstance(one, Table)]
    printed = {(row[1], row[5]) for one in found if one.columns[0].head == "outcome" for row in one.rows}
    assert len(demo.answer.checks) > 40
    for check in demo.answer.checks:
        assert any(
            title.startswith(check.title) and clause == f"{check.clause}; {check.source}" for title, clause in printed
        )


def test_the_lightship_table_closes(demo, awkward):
    """Mass and moments of all lines above the last add up to the lightship's own, as derived by the engine."""
    for asked in (demo, awkward):
        table = section(report(asked), "Lightship").blocks[0]
        columns = [0, 5, 6, 7]
        sums = [sum(read_back(row[k + 1 if k == 0 else k].text) for row in table.rows[:-1]) for k in columns]
        last = [read_back(table.rows[-1][k + 1 if k == 0 else k].text) for k in columns]
        steps = [0.0005, 0.005, 0.005, 0.005]
        for total, told, step in zip(sums, last, steps, strict=True):
            assert abs(total - told) <= step * (len(table.rows) + 1)


def test_the_answer_comes_first_with_its_uncertainty(demo):
    first = report(demo).sections[0]
    facts = first.blocks[0]
    assert isinstance(facts, Facts)
    assert facts.large
    assert [one.label for one in facts.rows] == ["Lightship", "LCG", "TCG", "VCG"]
    assert all("±" in one.remark and "standard uncertainty" in one.remark for one in facts.rows)
    assert facts.rows[0].value == Number("1162.4", "answer/lightship/mass_t")  # u 3.0 t: one decimal
    cautions = [one.text for one in first.blocks if isinstance(one, Note) and one.kind == "caution"]
    assert cautions == list(demo.answer.cautions)


def test_no_people_are_invented(demo):
    document = report(demo)
    assert "names no people" in words(document)
    signed = section(document, "Signatures").blocks[0]
    assert isinstance(signed, Signatures)
    assert all(one not in html(document) for one in ("P.E.", "Eng.", "Mr", "Ms "))


def test_a_step_that_was_not_done_says_why(demo):
    """With two readings alike GM cannot be had: the report has the survey, and the reason in place of the rest."""
    record = copy.deepcopy(demo.record)
    record["moves"] = []
    for one in record["instruments"]:
        for field in ("deflections_m", "port_levels_m", "starboard_levels_m", "angles_deg"):
            if field in one:
                one[field] = one[field][:1]
    request = StabilityTest.model_validate_json(json.dumps(record))
    answer = compute(request)
    assert answer.lightship.outcome == "not_determined"
    document = stability_test_report(request, answer)
    told = words(document)
    assert "The metacentric height could not be determined from this record." in told
    assert answer.lightship.findings[0].message in told
    assert section(document, "Freeboards, drafts and floating plane").blocks


def test_other_axes_are_told_and_the_pictures_stay(demo):
    record = copy.deepcopy(demo.record)
    length = record["hull"]["length_bp_m"]
    record["axes"] = {"x": "forward_from_midship", "y": "port"}
    for station in record["hull"]["stations"]:
        station["x_m"] -= length / 2
    shifted = [*record["freeboards"], *record["weights"], *record["items"]]
    shifted += [one["to"] for one in record["items"] if "to" in one]
    shifted += [record["approved"], record["predicted"]]
    for one in shifted:
        one["x_m"] -= length / 2
    for tank in record["tanks"]:
        for name in ("x_min_m", "x_max_m"):
            tank["shape"][name] -= length / 2
    request = StabilityTest.model_validate_json(json.dumps(record))
    document = stability_test_report(request, compute(request))
    assert "x forward of midship" in words(document)
    lcg = document.sections[0].blocks[0].rows[1].value
    assert read_back(lcg.text) == pytest.approx(demo.answer.lightship.x_m - length / 2, abs=0.002)
    drawn = [
        one.svg for one in section(document, "Freeboards, drafts and floating plane").blocks if hasattr(one, "svg")
    ]
    same = [
        one.svg for one in section(report(demo), "Freeboards, drafts and floating plane").blocks if hasattr(one, "svg")
    ]
    assert drawn == same


def test_a_part_nobody_wrote_a_section_for_is_shown():
    data = {
        "speed_m_per_s": 2.5,
        "agrees": True,
        "rows": [{"name": "a", "mass_t": 1.25}, {"name": "b", "mass_t": -0.0}],
    }
    made = generic.blocks(Values(data, Printer(), "answer"))
    assert [type(one) for one in made] == [Facts, Table]
    assert made[0].rows[0].value.text == "2.50"
    assert made[0].rows[1].value == "yes"
    assert [row[1].text for row in made[1].rows] == ["1.25", "0.00"]
    nested = {"rows": [{"name": "a", "inner": [{"x_m": 1.0}]}]}
    assert [type(one) for one in generic.blocks(Values(nested, Printer(), "answer"))] == [Words, Facts, Table]


@pytest.mark.parametrize("suffix", sorted(SUFFIX_UNITS))
def test_labels_leave_the_unit_off(suffix):
    assert generic.label(f"first_thing{suffix}") == "first thing"


@pytest.mark.parametrize(
    ("value", "text"), [(0.0, "0"), (-0.0, "0"), (2.0, "2"), (0.336372779, "0.336373"), (1e-17, "1.00000×10⁻¹⁷")]
)
def test_plain_numbers(value, text):
    assert plain(value) == text
