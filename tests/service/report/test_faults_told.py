"""What is wrong is told where it is read: places counted as the tables count, GM with it and without."""

import copy
import json
import math

import pytest

from service.report.document import Facts, Note, Table
from service.report.stability_test import stability_test_report
from service.resources.stability_tests import StabilityTest, compute

MISREAD = 3
"""The freeboard misread, counted as the table counts it; in the record's list it has index 2."""


def computed(record):
    request = StabilityTest.model_validate_json(json.dumps(record))
    answer = compute(request)
    return answer, stability_test_report(request, answer)


def note(document) -> str:
    """Return the finding on the first page."""
    return next(one.text for one in document.sections[0].blocks if isinstance(one, Note) and one.kind == "finding")


def where(document) -> list[str]:
    facts = [row for one in document.blocks() if isinstance(one, Facts) for row in one.rows]
    return [row.value for row in facts if row.label == "Where"]


@pytest.fixture(scope="module")
def misread(demo):
    """The demonstration with a freeboard 0.1 m too long; the error is made here."""
    record = copy.deepcopy(demo.record)
    record["freeboards"][MISREAD - 1]["freeboard_m"] += 0.1
    return computed(record)[1]


def test_a_misread_freeboard_is_named_as_in_its_table(misread):
    assert f"(freeboard {MISREAD})" in note(misread)
    assert where(misread) == [f"freeboard {MISREAD}"]
    table = next(one for one in misread.blocks() if isinstance(one, Table) and one.columns[0].head == "read at")
    assert table.rows[MISREAD - 1][0] == f"freeboard {MISREAD}"


def test_a_wrong_side_is_named_with_gm_both_ways(failed):
    """The case's fault is its own: fixtures/cases/wrong-side.json moves one weight to the wrong side."""
    answer, document = computed(failed.record)
    fault = next(one for one in answer.incline.diagnoses if one.is_fault)
    assert f"move {fault.moves[0] + 1}, weight {fault.weights[0]}" in note(document)
    assert f"{fault.gm_with_m:.3f} m as the record stands, {fault.gm_without_m:.3f} m with this allowed" in note(
        document
    )
    assert "settle this before" in note(document)


def test_a_shifted_zero_is_no_fault_and_yet_told_where_gm_stands(noiseless):
    """Reading 0 of all instruments as if she lay there by 1.56 t m less, of the 88 she is heeled by: GM stays."""
    record = copy.deepcopy(noiseless.record)
    tangent = 1.56 * noiseless.answer.incline.slope_per_tm
    for one in record["instruments"]:
        if one["kind"] == "u_tube":
            one["starboard_levels_m"][0] -= tangent * one["spread_m"]
        elif one["kind"] == "pendulum":
            one["deflections_m"][0] -= tangent * one["length_m"] * (1 if one["positive"] == "starboard" else -1)
        else:
            one["angles_deg"][0] -= math.degrees(tangent) * (1 if one["positive"] == "starboard" else -1)
    answer, document = computed(record)
    assert not any(one.is_fault for one in answer.incline.diagnoses)
    assert note(document).startswith("Noticed, no fault: shift or place (reading 0, weight A): GM")


@pytest.mark.parametrize("true_less_logged", [0.3, -0.5, 1.0])
def test_a_first_place_off_by_a_length_is_a_fault_with_its_weight(demo, true_less_logged):
    """Weight A was put back where it lay, 4.6 m to port, as its return says."""
    record = copy.deepcopy(demo.record)
    record["weights"][0]["y_m"] -= true_less_logged
    answer, document = computed(record)
    assert note(document).startswith("1 suspected fault: first place off")
    assert "move 1, weight A" in note(document)
    (fault,) = (one for one in answer.incline.diagnoses if one.is_fault)
    assert fault.arm_m == pytest.approx(true_less_logged, abs=1e-9)


def test_a_first_place_on_the_wrong_side_is_a_fault_with_its_weight(demo):
    record = copy.deepcopy(demo.record)
    record["weights"][0]["y_m"] = -record["weights"][0]["y_m"]
    _, document = computed(record)
    assert note(document).startswith("1 suspected fault: first place wrong side")
    assert "move 1, weight A" in note(document)


def test_a_sound_record_has_no_finding_on_the_first_page(demo):
    _, document = computed(demo.record)
    assert not [one for one in document.sections[0].blocks if isinstance(one, Note) and one.kind == "finding"]


def test_a_margin_is_the_difference_of_numbers_that_are_shown(demo):
    answer, document = computed(demo.record)
    facts = [{row.label: row.value for row in one.rows} for one in document.blocks() if isinstance(one, Facts)]
    shown = [one for one in facts if "Margin, limit less VCG solid" in one]
    assert len(shown) == len(answer.loading_conditions)
    for one in shown:
        limit, solid = float(one["Limit of VCG, solid"].text), float(one["VCG solid"].text)
        # three numbers of four decimals: each rounded by 0.00005 at most
        assert float(one["Margin, limit less VCG solid"].text) == pytest.approx(limit - solid, abs=1.6e-4)


def test_an_answer_is_not_said_twice(demo):
    _, document = computed(demo.record)
    told = [one.text for one in document.blocks() if isinstance(one, Note) and one.kind == "result"]
    assert not [text for text in told if "Yes. Yes" in text or "Not known. Not known" in text or "No. No" in text]
    assert any("approved? Yes: " in text for text in told)


def test_the_residuals_of_the_report_are_those_of_its_formula(noiseless):
    """Closed form: tan + (BM - FSC)/(2 GM) tan^3 - a - b M, by the numbers of the answer alone.

    Without reading errors the instruments have one intercept, so the mean of the intercepts is each one's.
    """
    i, water = noiseless.answer.incline, noiseless.answer.waterline
    k = water.km_transverse_m - water.vcb_m - i.free_surface_correction_m
    cubic = k / (2 * i.gm_fluid_m)
    for one in i.points:
        tangent = one.tangent_ratio
        residual = tangent + cubic * tangent**3 - i.intercept_ratio - i.slope_per_tm * one.moment_tm
        assert residual == pytest.approx(one.residual_ratio, abs=2e-8)  # KM is BM cos(heel) + VCB, heel 0.2 degrees
        bare = tangent - i.intercept_ratio - i.slope_per_tm * one.moment_tm
        assert abs(tangent) < 0.01 or abs(bare - residual) > 1e-6  # without the term another residual
