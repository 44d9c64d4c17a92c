"""Diagnosis of simulated surveys; the table is in docs/methods/diagnosis.md."""

import numpy as np
import pytest

from engine.diagnosis.survey import diagnose_survey
from engine.diagnosis.survey_displacement import Aboard, Loaded, diagnose_displacement
from engine.diagnosis.survey_heights import diagnose_heights, eighths_as_decimals_m
from engine.errors import InputError
from engine.survey.waterline import Heights, floating_plane
from tests.engine.diagnosis.surveyed import KINDS, ship, sound


@pytest.mark.parametrize("name", list(KINDS))
def test_a_fault_of_the_survey_is_named(name: str) -> None:
    """At least six of eight; an inch is five standard deviations only and is shown by the long run."""
    kind = KINDS[name]
    found = [diagnose_survey(**kind.make(700 + k)) for k in range(8)]
    assert sum(bool(one) and one[0].trace == kind.trace for one in found) >= (4 if "inch" in name else 6)


def test_sound_surveys_are_rarely_blamed() -> None:
    """Nominal 3 %: 100 surveys give 3 on average, more than 8 in 0.4 % of such sets (binomial)."""
    assert sum(bool(diagnose_survey(**sound(90_000 + k))) for k in range(100)) <= 8


def test_both_planes_are_given_for_a_foot() -> None:
    """The plane with the foot allowed for is the one that was simulated: a centimetre and 0.05 deg."""
    plain, spoiled = ship(11), ship(11)
    spoiled.read[3] += 0.3048
    found = diagnose_heights(heights=spoiled.given()["heights"], length_bp_m=plain.length)
    right = diagnose_heights(heights=plain.given()["heights"], length_bp_m=plain.length)
    assert right == ()
    assert found[0].cause == "height-foot"
    assert found[0].heights == (3,)
    assert found[0].size_m == pytest.approx(-0.3048, abs=0.02)  # a freeboard too long: water too low
    true = floating_plane(heights=plain.given()["heights"], length_bp_m=plain.length, deflection="apply")
    assert found[0].draft_without_m == pytest.approx(true.draft_m, abs=0.01)
    assert found[0].heel_without_deg == pytest.approx(true.heel_deg, abs=0.05)
    assert abs(found[0].heel_with_deg - true.heel_deg) > 0.1


def test_eighths_as_decimals() -> None:
    """7-3-4 is 7 ft 3 4/8 in = 7.291667 ft, written 7.34 ft: 0.048333 ft too much (closed form)."""
    assert eighths_as_decimals_m(7.34 * 0.3048) == pytest.approx((7.34 - (7 + 3.5 / 12)) * 0.3048, abs=1e-12)
    assert eighths_as_decimals_m(7.38 * 0.3048) is None  # no eighth is an 8
    assert eighths_as_decimals_m(7.345 * 0.3048) is None


def heights(z: np.ndarray, x: np.ndarray, y: np.ndarray) -> Heights:
    return Heights.from_readings(x_m=x, y_m=y, from_m=0.0, plumb_m=0.0, up_m=z, standard_uncertainty_m=0.005)


def test_too_few_heights_name_nothing() -> None:
    x, y = np.array([0.0, 0, 50, 50]), np.array([5.0, -5, 5, -5])
    assert diagnose_heights(heights=heights(np.array([3.0, 3.0, 3.0, 3.4]), x, y), length_bp_m=50.0) == ()


LOADED = {"length_bp_m": 60.0}


def loaded(mass: float, lcg: float) -> Loaded:
    return Loaded(mass, lcg, 1.0, 0.02)


def test_agreement_is_no_finding_and_nonsense_is_unexplained() -> None:
    assert diagnose_displacement(surveyed=loaded(1000.0, 28.0), predicted=loaded(1001.0, 28.01), **LOADED) == ()
    found = diagnose_displacement(surveyed=loaded(1000.0, 28.0), predicted=loaded(1370.0, 26.1), **LOADED)
    assert found[0].cause == "unexplained"


def test_an_item_is_matched_by_mass_and_moment() -> None:
    """40 t at 10 m counted twice: predicted 1040 t, LCG (1000 × 28 + 40 × 10)/1040; 40 t at 50 m does not fit."""
    predicted = loaded(1040.0, (28_000.0 + 400.0) / 1040.0)
    items = [Aboard(40.0, 50.0), Aboard(40.0, 10.0), Aboard(12.0, 10.0)]
    found = diagnose_displacement(surveyed=loaded(1000.0, 28.0), predicted=predicted, items=items, **LOADED)
    assert found[0].cause == "item-counted-twice"
    assert found[0].items == (1,)
    assert found[0].mass_t == pytest.approx(-40.0)


def test_long_tons() -> None:
    """1 long ton = 1.0160469088 t by definition: 984.2 taken for tonnes are long tons."""
    predicted = loaded(1000.0 / 1.0160469088, 28.0)
    found = diagnose_displacement(surveyed=loaded(1000.0, 28.0), predicted=predicted, **LOADED)
    assert found[0].cause == "long-ton-for-tonne"
    assert found[0].share_ratio == pytest.approx(0.0160469, rel=1e-4)


def test_density_and_a_shift_of_heights_are_one_class() -> None:
    found = diagnose_displacement(
        surveyed=loaded(1000.0, 28.0), predicted=loaded(1007.0, 28.0), immersion_t_per_cm=4.0, lcf_m=28.0, **LOADED
    )
    assert found[0].trace == "displacement"
    assert {"density-wrong", "hull-volume-wrong", "draft-shift"} <= set(found[0].members)


def test_refuses_masses_that_are_none() -> None:
    with pytest.raises(InputError):
        diagnose_displacement(surveyed=loaded(0.0, 28.0), predicted=loaded(1000.0, 28.0), **LOADED)


@pytest.mark.parametrize(("by", "words"), [(-0.1, "0.100 m below the plane"), (0.1, "0.100 m above the plane")])
def test_a_height_off_the_plane_is_told_where_and_to_which_side(by: float, words: str) -> None:
    """Ten exact heights of a level plane, the third off by a decimetre."""
    x, y = np.repeat([0.0, 15, 30, 45, 60], 2), np.tile([5.0, -5], 5)
    z = np.full(10, 3.0)
    z[2] += by
    freeboards = Heights.from_readings(x_m=x, y_m=y, from_m=6.0, plumb_m=6.0 - z, up_m=0.0, standard_uncertainty_m=0.01)
    marks = heights(z, x, y)
    for read, place in ((freeboards, "freeboard 3 (freeboards/2)"), (marks, "draft mark 3 (draft_marks/2)")):
        found = diagnose_heights(heights=read, length_bp_m=60.0)
        assert found[0].heights == (2,)
        assert f"the water at {place} stands {words} of the others" in found[0].evidence
        assert f"up to {found[0].limit:.3g} would be chance" in found[0].evidence


def test_a_draft_mark_is_counted_among_the_draft_marks() -> None:
    """Freeboards come first among the heights: the fifth mark of ten heights is number 5 of the marks, height 14."""
    x, y = np.repeat([0.0, 15, 30, 45, 60], 2), np.tile([5.0, -5], 5)
    z = np.full(20, 3.0)
    z[14] += 0.2
    plumb = np.concatenate([np.full(10, 3.0), np.zeros(10)])
    read = Heights.from_readings(
        x_m=np.tile(x, 2),
        y_m=np.tile(y, 2),
        from_m=np.concatenate([np.full(10, 6.0), np.zeros(10)]),
        plumb_m=plumb,
        up_m=np.concatenate([np.zeros(10), z[10:]]),
        standard_uncertainty_m=0.01,
    )
    found = diagnose_heights(heights=read, length_bp_m=60.0)
    assert found[0].heights == (14,)
    assert "draft mark 5 (draft_marks/4) stands 0.200 m above" in found[0].evidence
