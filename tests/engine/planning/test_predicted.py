"""The predicted condition of the box against closed forms, and the ledger the right way round."""

import numpy as np
import pytest

from engine.errors import NotDeterminedError
from engine.incline.moments import Weight
from engine.planning.predicted import PlannedTank, predict, upright_moment_tm
from engine.survey.ledger import Item
from tests.engine.planning.ships import BREADTH_M, DENSITY, LENGTH_M, box_ship, box_tank


def test_box_floats_at_the_closed_forms_with_its_weights():
    # T = Δ/(ρLB); GM = T/2 + B²/12T − KG
    weights = [Weight(20.0, np.array([30.0, 4.0, 9.0])), Weight(20.0, np.array([30.0, -4.0, 9.0]))]
    at = predict(box_ship(), weights=weights)
    draft = 1540 / (DENSITY * LENGTH_M * BREADTH_M)
    height = (1500 * 4.6 + 40 * 9.0) / 1540
    assert at.displacement_t == pytest.approx(1540, rel=1e-12)
    assert at.draft_m == pytest.approx(draft, rel=1e-11)
    assert at.gm_solid_m == pytest.approx(draft / 2 + BREADTH_M**2 / (12 * draft) - height, rel=1e-10)
    assert at.gm_fluid_m == pytest.approx(at.gm_solid_m, rel=1e-12)
    assert at.stiffening_m == pytest.approx(BREADTH_M**2 / (12 * draft), rel=1e-10)
    assert (at.heel_deg, at.trim_m) == (pytest.approx(0, abs=1e-9), pytest.approx(0, abs=1e-9))


def test_a_slack_tank_lowers_the_fluid_gm_by_its_moment():
    at = predict(box_ship(tanks=[box_tank((25, 35), (-2, 2), (0, 2), density=0.9)]))
    assert at.free_surface_tm == pytest.approx(0.9 * 10 * 4**3 / 12, rel=1e-9)  # ρ l b³/12
    assert at.gm_solid_m - at.gm_fluid_m == pytest.approx(0.9 * 10 * 4**3 / 12 / (1500 + 36), rel=1e-9)


def test_items_are_aboard_as_their_action_says():
    here, there = np.array([20.0, 1.0, 9.0]), np.array([40.0, -2.0, 3.0])
    items = [Item("remove", 5.0, here), Item("add", 3.0, there), Item("relocate", 2.0, here, there)]
    rigid = box_ship(items=items).rigid()
    assert rigid.mass_t == pytest.approx(1500 + 5 - 3, rel=1e-14)
    wanted = 1500 * np.array([30.0, 0.0, 4.6]) + 5 * here - 3 * there + 2 * (here - there)
    assert rigid.moment_tm == pytest.approx(wanted, rel=1e-13)


def test_liquid_that_is_lightship_is_aboard_once():
    full = box_tank((25, 35), (-2, 2), (0, 2), fill=1.0)
    own = PlannedTank(full.liquid, lightship_volume_m3=full.liquid.volume_m3)
    at = predict(box_ship(tanks=[own]))
    assert at.displacement_t == pytest.approx(1500, rel=1e-12)
    assert at.position.centre_m[0] == pytest.approx([30.0, 0.0, 4.6], rel=1e-12, abs=1e-9)


def test_the_moment_that_brings_her_upright_is_that_of_the_offset():
    # a box held upright has no couple but that of her centre: Δ y
    assert upright_moment_tm(box_ship(centre=(30.0, 0.05, 4.6))) == pytest.approx(1500 * 0.05, rel=1e-9)
    weight = Weight(15.0, np.array([30.0, -5.0, 9.0]))
    level = box_ship(centre=(30.0, 0.05, 4.6))
    assert abs(predict(level, weights=[weight]).heel_deg) < 1e-9  # 15 t × 5 m takes it off


def test_heel_by_moment_answers_moment_by_heel():
    at = predict(box_ship())
    assert at.heel_deg_by(at.moment_tm(np.tan(np.radians(3.0)))) == pytest.approx(3.0, rel=1e-12)


def test_a_ledger_that_leaves_nothing_is_refused():
    with pytest.raises(NotDeterminedError) as refused:
        predict(box_ship(items=[Item("add", 1600.0, np.zeros(3))]))
    assert (refused.value.code, refused.value.field) == ("lightship-not-positive", "items")


def test_a_ship_that_sinks_is_refused():
    with pytest.raises(NotDeterminedError) as refused:
        predict(box_ship(mass_t=6000.0))
    assert refused.value.code == "sinks"


@pytest.mark.parametrize("centre", [(30.0, 0.0, 12.0), (30.0, 5.0, 4.6)])
def test_a_ship_far_from_upright_is_refused(centre):
    with pytest.raises(NotDeterminedError) as refused:
        predict(box_ship(centre=centre))
    assert (refused.value.code, refused.value.field) == ("predicted-not-upright", "lightship")
