"""A loading condition in the report: what is aboard, arms, wind, the limit and what was found about it."""

import copy
import json

import pytest

from service.report.document import Facts, Figure, Note, Number, Table
from service.report.numbers import read_back
from service.report.stability_test import stability_test_report
from service.resources.stability_tests import StabilityTest, compute

WIND_SETS = ["imo-2008-is-code-a-2-2", "imo-2008-is-code-a-2-3"]


def section(document, title):
    return next(one for one in document.sections if one.title == title)


@pytest.fixture(scope="module")
def windy(demo):
    """The demonstration judged by severe wind and rolling too; so shallow a hull is outside the formula's range."""
    record = copy.deepcopy(demo.record)
    record["stability"]["rules"] = WIND_SETS
    request = StabilityTest.model_validate_json(json.dumps(record))
    answer = compute(request)
    return answer, stability_test_report(request, answer)


def tables(document, beginning):
    found = section(document, "Loading conditions").blocks
    return [one for one in found if isinstance(one, Table) and one.caption.startswith(beginning)]


def text(cell):
    return cell.text if isinstance(cell, Number) else cell


def test_what_is_aboard_with_its_sums(demo):
    document = stability_test_report(demo.request, demo.answer)
    made = tables(document, "What is aboard")
    assert len(made) == len(demo.answer.loading_conditions) == 2
    for table, condition, asked in zip(
        made, demo.answer.loading_conditions, demo.request.loading_conditions, strict=True
    ):
        names = [row[0] for row in table.rows]
        assert names[0] == "lightship, as found"
        for one in asked.items:
            assert one.name in names
        masses = [read_back(row[3].text) for row in table.rows]
        assert sum(masses[:-1]) == pytest.approx(masses[-1], abs=0.005 * len(masses))
        assert masses[-1] == pytest.approx(condition.displacement_t, abs=0.005)
        for column, total in ((4, condition.lcg_m), (6, condition.vcg_m)):
            moment = sum(read_back(row[3].text) * read_back(row[column].text) for row in table.rows[:-1])
            assert moment / masses[-1] == pytest.approx(total, abs=0.002)
        assert table.emphasised == (len(table.rows) - 1,)


def test_arms_and_areas_as_a_table_beside_the_figure(demo):
    document = stability_test_report(demo.request, demo.answer)
    blocks = section(document, "Loading conditions").blocks
    made = tables(document, "Righting arms")
    assert len(made) == sum(isinstance(one, Figure) for one in blocks) == 2
    for table, condition in zip(made, demo.answer.loading_conditions, strict=True):
        arms = condition.righting_arms
        at = {round(heel, 6): i for i, heel in enumerate(arms.heel_deg)}
        assert [text(row[0]) for row in table.rows] == [str(5 * k) for k in range(19)]
        assert len(table.columns) == 5  # she lists: the sides differ
        for row in table.rows:
            heel = read_back(row[0].text)
            for sign, (arm, area) in ((1, row[1:3]), (-1, row[3:5])):
                i = at[sign * heel]
                assert read_back(arm.text) == pytest.approx(sign * arms.righting_arm_m[i], abs=5.1e-4)
                assert read_back(area.text) == pytest.approx(arms.area_m_rad[i], abs=5.1e-5)
        thirty = next(one for one in condition.criteria if one.rule == "area-to-30")
        row = next(row for row in table.rows if row[0].text == "30")
        assert read_back(row[2 if thirty.side == "starboard" else 4].text) == pytest.approx(thirty.value, abs=5.1e-5)


def test_the_steps_of_severe_wind_and_rolling(windy):
    answer, document = windy
    for table, condition in zip(
        tables(document, "What the criteria on the wind"), answer.loading_conditions, strict=True
    ):
        shown = {row[0]: row[2] for row in table.rows}
        wind = condition.weather.severe_wind
        for symbol, value, step in (
            ("l_w1", wind.steady_lever_m, 5e-5),
            ("l_w2", wind.gust_lever_m, 5e-5),
            ("φ₀", wind.steady_heel_deg, 5e-3),
            ("φ₁", wind.roll.angle_deg, 5e-3),
            ("X₁", wind.roll.x1_ratio, 5e-4),
            ("X₂", wind.roll.x2_ratio, 5e-4),
            ("k", wind.roll.k_ratio, 5e-4),
            ("r", wind.roll.r_ratio, 5e-4),
            ("s", wind.roll.s_ratio, 5e-5),
            ("T", wind.roll.period_s, 5e-3),
            ("a", wind.area_a_m_rad, 5e-5),
            ("b", wind.area_b_m_rad, 5e-5),
        ):
            assert read_back(shown[symbol].text) == pytest.approx(value, abs=1.01 * step), symbol
            assert shown[symbol].at.startswith("answer/loading_conditions/")


def test_the_gm_asked_against_the_wind_has_its_heel(demo):
    document = stability_test_report(demo.request, demo.answer)
    (first, _) = tables(document, "What the criteria on the wind")
    assert [row[0] for row in first.rows] == ["A", "Z, H", ""]
    assert first.rows[2][1] == "heel T of 46 CFR 170.170"


def test_what_is_found_about_the_limit_says_so_in_three_places(windy):
    answer, document = windy
    condition = answer.loading_conditions[0]
    assert condition.limit_findings
    blocks = section(document, "Loading conditions").blocks
    limits = [
        row for one in blocks if isinstance(one, Facts) for row in one.rows if row.label.startswith("Limit of VCG")
    ]
    assert [row.remark for row in limits] == ["see the finding beneath: roll formula outside its range"] * len(
        answer.loading_conditions
    )
    told = [one.text for one in blocks if isinstance(one, Note) and one.kind == "finding"]
    of_limit = [one for one in told if one.startswith("at the limit of VCG, ")]
    assert len(of_limit) == sum(len(one.limit_findings) for one in answer.loading_conditions)
    assert len(told) > len(of_limit)
    listed = next(one for one in section(document, "Findings and cautions").blocks if isinstance(one, Table))
    rows = [(row[1], row[2]) for row in listed.rows]
    for one in answer.loading_conditions:
        for finding in one.findings:
            assert (finding.message, f"condition {one.name}") in rows


def test_a_limit_without_a_finding_has_no_remark(demo):
    blocks = section(stability_test_report(demo.request, demo.answer), "Loading conditions").blocks
    limits = [
        row for one in blocks if isinstance(one, Facts) for row in one.rows if row.label.startswith("Limit of VCG")
    ]
    assert [row.remark for row in limits] == ["", ""]


def test_a_trigger_within_the_uncertainty_says_so_in_its_row(demo):
    document = stability_test_report(demo.request, demo.answer)
    told = [
        row[0]
        for one in section(document, "Comparison with other lightships").blocks
        if isinstance(one, Table)
        for row in one.rows
    ]
    given = [row for one in demo.answer.comparisons for row in one.rows]
    assert any(one.outcome == "exceeded" and one.certainty == "within_uncertainty" for one in given)
    for words, one in zip(told, given, strict=True):
        assert ("within the uncertainty" in words) == (one.certainty == "within_uncertainty")
        if one.certainty == "within_uncertainty":
            side = "above" if one.exceedance_ratio > 0 else "below"
            assert f"{abs(one.exceedance_ratio):.1f} standard uncertainties {side} the limit" in words
