"""The report of a test: what it holds, what it does not invent, what it says where a step was not done."""

import copy
import json

import pytest
from pydantic import TypeAdapter

from engine.quantities import SUFFIX_UNITS
from service.report import generic
from service.report.document import Document, Facts, Figure, Note, Number, Signatures, Table, Words
from service.report.generic import plain
from service.report.html import html
from service.report.numbers import Printer, read_back
from service.report.stability_test import stability_test_report
from service.report.values import Values
from service.resources.stability_tests import StabilityTest, compute
from service.schemas.loading_answer import ConditionResult
from service.schemas.terms import label

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
        table = next(one for one in section(report(asked), "Lightship").blocks if isinstance(one, Table))
        columns = [0, 5, 6, 7]
        sums = [sum(read_back(row[k + 1 if k == 0 else k].text) for row in table.rows[:-1]) for k in columns]
        last = [read_back(table.rows[-1][k + 1 if k == 0 else k].text) for k in columns]
        steps = [0.0005, 0.005, 0.005, 0.005]
        for total, told, step in zip(sums, last, steps, strict=True):
            assert abs(total - told) <= step * (len(table.rows) + 1)


def test_the_answer_comes_first_with_its_uncertainty(noiseless):
    first = report(noiseless).sections[0]
    facts = first.blocks[0]
    assert isinstance(facts, Facts)
    assert facts.large
    assert [one.label for one in facts.rows] == ["Lightship", "LCG", "TCG", "VCG"]
    assert all("±" in one.remark and "standard uncertainty" in one.remark for one in facts.rows)
    assert facts.rows[0].value == Number("1162.4", "answer/lightship/mass_t")  # u 3.0 t: one decimal
    cautions = [one.text for one in first.blocks if isinstance(one, Note) and one.kind == "caution"]
    assert cautions == list(noiseless.answer.cautions)


HYDROMETERS = [
    {"kind": "density", "reference_temperature_c": 15, "apparent_in_air": True, "reading_t_per_m3": 1.0239},
    {"kind": "density", "reference_temperature_c": 20, "apparent_in_air": False, "reading_t_per_m3": {"value": 1.0251}},
    {
        "kind": "relative_density",
        "reference_temperature_c": 15,
        "water_temperature_c": 4,
        "reading_ratio": {"value": 1.0247, "standard_uncertainty": 0.0002},
    },
]


def samples_of(document):
    blocks = section(document, "Conditions of the day and water").blocks
    (table,) = (one for one in blocks if isinstance(one, Table) and one.caption.startswith("Samples"))
    shown = [[one.text if isinstance(one, Number) else one or "" for one in row] for row in table.rows]
    return [one.head for one in table.columns], shown


@pytest.mark.parametrize("units", ["si", "us"])
def test_samples_read_by_hydrometer_stand_with_the_density_they_gave(demo, units):
    """The readings as given; densities by hand: R / (1 + 25e-6 (t − t_r)), + 0.0011 in air, times 0.999975 for 15/4."""
    record = copy.deepcopy(demo.record)
    del record["loading_conditions"], record["stability"]
    record["water"]["samples"] = [
        *({"hydrometer": one, "temperature_c": 12.0} for one in HYDROMETERS),
        {"density_t_per_m3": 1.0249},
    ]
    request = StabilityTest.model_validate_json(json.dumps(record))
    heads, rows = samples_of(stability_test_report(request, compute(request), units))
    assert heads == ["sample", "hydrometer", "as read", "temperature", "density used"]
    assert [row[1] for row in rows] == [
        "density in air, 15.0 °C",
        "density in vacuo, 20.0 °C",
        "relative density, 15.0 °C to water at 4.0 °C",
        "none: a density",
    ]
    used = [1.0239 / (1 - 75e-6) + 0.0011, 1.0251 / (1 - 200e-6), 1.0247 * 0.999975 / (1 - 75e-6), 1.0249]
    per = 1.0 if units == "si" else 0.45359237e-3 / 0.3048**3
    assert [float(row[4]) for row in rows] == pytest.approx([one / per for one in used], abs=6e-5 if per == 1 else 6e-4)
    assert rows[2][2] == "1.0247"
    if units == "si":
        assert [rows[i][2] for i in (0, 1, 3)] == ["1.0239 t/m³", "1.0251 t/m³", "1.0249 t/m³"]


def test_samples_brought_to_the_water_say_so(demo):
    """As read and as used in columns of their own; those of a record that gives densities alone are one."""
    assert samples_of(report(demo))[0] == ["sample", "density", "temperature"]
    record = copy.deepcopy(demo.record)
    del record["loading_conditions"], record["stability"]
    record["water"]["temperature_c"] = 8.0
    request = StabilityTest.model_validate_json(json.dumps(record))
    document = stability_test_report(request, compute(request), "si")
    _, rows = samples_of(document)
    assert [row[2] for row in rows] == [f"{one['density_t_per_m3']:.4f} t/m³" for one in record["water"]["samples"]]
    assert all(float(row[4]) > float(row[2].split()[0]) for row in rows)  # colder water is heavier
    facts = section(document, "Conditions of the day and water").blocks[-1]
    assert isinstance(facts, Facts)
    assert "Temperature of the water alongside" in [one.label for one in facts.rows]


def test_no_people_are_invented(noiseless):
    """Its record tells nothing of how the test was conducted."""
    document = report(noiseless)
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
    assert label(f"first_thing{suffix}") == "first thing"


@pytest.mark.parametrize(
    ("value", "text"), [(0.0, "0"), (-0.0, "0"), (2.0, "2"), (0.336372779, "0.336373"), (1e-17, "1.00000×10⁻¹⁷")]
)
def test_plain_numbers(value, text):
    assert plain(value) == text


def condition(name, outcome="met"):
    """Return a loading condition's answer, made up here."""
    criterion = {
        "rule_set": "invented-set",
        "rule": "area-30",
        "title": "Area to 30°",
        "clause": "clause 2.2.1",
        "source": "invented source",
        "level": "required",
        "quantity": "gz_area_to_30_m_rad",
        "comparison": "at_least",
        "value": 0.0712345,
        "limit": 0.055,
        "unit": "m·rad",
        "outcome": "met",
        "side": "port",
        "statement": "met",
    }
    return {
        "name": name,
        "outcome": outcome,
        "statement": "met by 0.512 m of VCG",
        "displacement_t": 1300.0,
        "draft_m": 3.0,
        "trim_m": 0.2,
        "heel_deg": 0.1,
        "lcg_m": 24.0,
        "tcg_m": 0.0,
        "vcg_m": 5.0,
        "vcg_fluid_m": 5.1,
        "gm_solid_m": 1.6,
        "gm_fluid_m": 1.5,
        "free_surface_moment_tm": 130.0,
        "free_surfaces": [],
        "vcg_limit_m": 5.5124,
        "vcg_margin_m": 0.5124,
        "vcg_margin_standard_uncertainty_m": 0.0118,
        "governing": {"rule_set": "invented-set", "rule": "area-30", "clause": "clause 2.2.1", "side": "port"},
        "criteria": [criterion],
        "righting_arms": {
            "heel_deg": [0.0, 20.0, 40.0],
            "righting_arm_m": [0.0, 0.5, 0.6],
            "area_m_rad": [0.0, 0.1, 0.3],
        },
        "loads": [],
        "findings": [],
        "limit_findings": [],
    }


def test_loading_conditions_with_arms_and_the_limit_of_vcg(demo):
    undone = {
        "name": "Too much",
        "outcome": "not_determined",
        "findings": [{"code": "sinks", "message": "she sinks"}],
    }
    read = TypeAdapter(tuple[ConditionResult, ...]).validate_json(json.dumps([condition("Departure"), undone]))
    answer = demo.answer.model_copy(update={"loading_conditions": read})
    blocks = section(stability_test_report(demo.request, answer), "Loading conditions").blocks
    facts = {row.label: row.value.text for row in blocks[1].rows if isinstance(row.value, Number)}
    assert facts["Limit of VCG, solid"] == "5.512"  # its uncertainty 0.012 m: three decimals
    assert facts["Margin, limit less VCG solid"] == "0.512"
    arms = [one for one in blocks if isinstance(one, Figure)]
    assert [one.caption for one in arms] == ["Righting arms, Departure."]
    rows = [row for one in blocks if isinstance(one, Table) for row in one.rows]
    assert rows[-1][2].text == "0.0712"  # 0.0712345 against 0.055, no uncertainty: four decimals of m·rad
    assert rows[-1][5] == "clause 2.2.1; invented source"
    told = [one.text for one in blocks if isinstance(one, Note)]
    assert told == ["Departure: met by 0.512 m of VCG", "Too much: not determined", "she sinks"]


def test_comparison_verdict_and_cross_checks_stand_as_answered(demo):
    document = report(demo)
    compared = section(document, "Comparison with other lightships").blocks
    assert len(demo.answer.comparisons) == 2  # the demonstration gives an approved and a predicted one
    tables = [one for one in compared if isinstance(one, Table)]
    assert [len(one.rows) for one in tables] == [len(one.rows) for one in demo.answer.comparisons]
    verdict = section(document, "Verdict").blocks
    asked = [one.text for one in verdict if isinstance(one, Note)]
    for one in demo.answer.verdict:
        statement = one[1]
        assert any(statement.question in text and statement.statement in text for text in asked)
        lines = [row[0] for block in verdict if isinstance(block, Table) for row in block.rows]
        assert set(statement.evidence) <= set(lines)
    crossed = section(document, "Cross-checks and diagnoses").blocks[0]
    assert [row[1] for row in crossed.rows] == [one.message for one in demo.answer.cross_checks]


def test_a_fault_is_told_with_what_to_do(failed):
    document = report(failed)
    fault = next(one for one in failed.answer.incline.diagnoses if one.is_fault)
    told = words(document)
    assert fault.evidence in told
    assert "suspected fault" in words(Document("", "", document.sections[:1]))
    facts = [row for one in document.blocks() if isinstance(one, Facts) for row in one.rows]
    assert fault.action in [row.value for row in facts if row.label == "What to do"]
    assert fault.separate in [row.value for row in facts if row.label == "What tells the causes apart"]
    findings = section(document, "Findings and cautions").blocks[0]
    assert all(row[3] is None for row in findings.rows)  # what was done about it is left to the architect
