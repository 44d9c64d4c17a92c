"""Evidence of an error that no diagnosis has named keeps a verdict from being plain."""

import pytest

from service.schemas.diagnosis import CrossCheck
from service.schemas.verdict_doubt import LOOK_AT, Doubt
from tests.service.schemas.test_verdict import FAULT, NEAR_OVER, against, condition, stated


def crossed(name, value=3.19, limit=2.57, unit="t", instrument=None):
    return CrossCheck(
        name=name, value=value, limit=limit, unit=unit, agrees=False, message="one less another", instrument=instrument
    )


MASS = crossed("displacement-against-predicted")
HEIGHT = crossed("vcg-against-predicted", -0.166, 0.124, "m")
MARKS = crossed("marks-against-freeboards", 0.05, 0.02, "m")
SLOPE = crossed("instrument-against-the-others", 0.03, 0.01, "1", "forward")
UNFAIR = "point 13 of station 30 is 1.0 m off the run of its neighbours"


@pytest.mark.parametrize(
    ("doubt", "clause", "more"),
    [
        (
            Doubt(crossed=[MASS]),
            "displacement differs from the prediction by more than the uncertainty of both",
            " Either she has changed or an input is wrong.",
        ),
        (
            Doubt(crossed=[MASS, HEIGHT]),
            "displacement and VCG differ from the prediction by more than the uncertainty of both",
            " Either she has changed or an input is wrong.",
        ),
        (Doubt(crossed=[MARKS]), "1 cross-check of the record disagrees", ""),
        (Doubt(crossed=[MARKS, SLOPE]), "2 cross-checks of the record disagree", ""),
        (Doubt(inputs=[UNFAIR]), "1 input is in doubt", ""),
        (Doubt(inputs=[UNFAIR] * 2), "2 inputs are in doubt", ""),
    ],
)
def test_a_doubt_is_no_plain_yes_and_leaves_what_rests_on_it_not_known(doubt, clause, more):
    given = {"comparisons": [against("approved", NEAR_OVER, NEAR_OVER)], "conditions": [condition()]}
    plain, found = stated(**given), stated(**given, doubt=doubt)
    assert plain.test_is_sound.answer == "yes"
    assert (found.test_is_sound.answer, found.test_is_sound.statement) == ("not_known", f"Not known: {clause}.{more}")
    for name in ("differs_from_approved", "conditions_meet_criteria"):
        said, doubted = getattr(plain, name), getattr(found, name)
        assert said.answer == "yes"
        assert doubted.answer == "not_known"
        assert doubted.statement == f"Not known while {clause}. As computed: {said.statement}"
        assert doubted.evidence == said.evidence


def test_beside_a_fault_a_doubt_is_counted():
    found = stated(faults=[FAULT], doubt=Doubt(crossed=[MARKS], inputs=[UNFAIR])).test_is_sound
    assert found.answer == "no"
    assert found.statement == (
        "In question: 1 fault is suspected, 1 cross-check of the record disagrees, 1 input is in doubt."
    )


def test_the_evidence_has_the_numbers_and_where_to_look():
    doubt = Doubt(crossed=[MASS, MARKS, SLOPE], inputs=[UNFAIR])
    assert stated(doubt=doubt).test_is_sound.evidence[:4] == (
        "differs from the prediction: one less another: +3.19 t, limit 2.57 t: either she has changed or an input is "
        f"wrong; check {LOOK_AT['displacement-against-predicted']}",
        f"disagrees: marks against freeboards: one less another: +0.05 m, limit 0.02 m; check {LOOK_AT[MARKS.name]}",
        "disagrees: instrument against the others: instrument forward: one less another: +0.03, limit 0.01; check "
        f"{LOOK_AT[SLOPE.name]}",
        f"in doubt: {UNFAIR}",
    )
