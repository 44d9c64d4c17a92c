"""What is offered does bring her upright."""

import dataclasses

import numpy as np
import pytest

from engine.incline.moments import Weight
from engine.liquids import Liquid
from engine.planning.levelling import levelling
from engine.planning.predicted import predict
from tests.engine.planning.ships import DEPTH_M, TWO_LANES, box_ship, box_tank

TANKS = (box_tank((25, 35), (3, 5), (0, 2), fill=0.5), box_tank((25, 35), (-5, -3), (0, 2), fill=0.5))


def test_none_within_half_a_degree():
    ship = box_ship(centre=(30.0, 0.01, 4.6))
    assert levelling(ship, at=predict(ship), weights=(), deck=TWO_LANES) is None


@pytest.mark.parametrize("y", [0.08, -0.08])
def test_a_weight_at_the_end_of_a_lane_levels_her(y):
    ship = box_ship(centre=(30.0, y, 4.6))
    at = predict(ship)
    found = levelling(ship, at=at, weights=(), deck=TWO_LANES)
    assert found.list_deg == at.heel_deg
    assert found.moment_tm == pytest.approx(1500 * y, rel=1e-9)
    for one in found.weights:
        assert np.sign(one.y_m) == -np.sign(y)
        weight = Weight(one.mass_t, np.array([30.0, one.y_m, DEPTH_M]))
        assert abs(predict(ship, weights=[weight]).heel_deg) < 1e-6


def test_liquid_in_or_out_of_a_tank_levels_her():
    ship = box_ship(centre=(30.0, 0.03, 4.6), tanks=TANKS)
    found = levelling(ship, at=predict(ship), weights=(), deck=TWO_LANES)
    assert {(one.tank, np.sign(one.volume_m3)) for one in found.liquids} == {(0, -1.0), (1, 1.0)}
    for one in found.liquids:
        tank = TANKS[one.tank]
        changed = Liquid(tank.liquid.tank, tank.liquid.volume_m3 + one.volume_m3, 1.0)
        tanks = [dataclasses.replace(tank, liquid=changed) if i == one.tank else t for i, t in enumerate(TANKS)]
        assert abs(predict(dataclasses.replace(ship, tanks=tuple(tanks))).heel_deg) < 1e-6


def test_a_tank_that_cannot_take_it_is_not_offered():
    ship = box_ship(centre=(30.0, 0.3, 4.6), tanks=TANKS)
    assert levelling(ship, at=predict(ship), weights=(), deck=TWO_LANES).liquids == ()


def test_the_weights_aboard_count():
    ship = box_ship()
    weights = [Weight(20.0, np.array([30.0, 4.0, 9.0]))]
    found = levelling(ship, at=predict(ship, weights=weights), weights=weights, deck=TWO_LANES)
    assert found.moment_tm == pytest.approx(80.0, rel=1e-9)
