"""Eight moves, symmetric and back to zero; what the box answers against the wall-sided closed form."""

import numpy as np
import pytest
from scipy.optimize import brentq

from engine.planning.moves import Group, expect, moves_of, weights_of
from engine.planning.predicted import predict
from tests.engine.planning.ships import box_ship, box_tank


def groups_of(count):
    if count == 1:
        return (Group("A", (6.0,), np.array([30.0, 0.0, 8.5]), 10.0, 0),)
    found = []
    for i in range(count):  # even about midlength: no trim
        side = 1.0 if i < count // 2 else -1.0
        found.append(Group("ABCD"[i], (6.0,), np.array([15.0 + 30 * i / (count - 1), side * 4.5, 8.5]), side * 8.0, i))
    return tuple(found)


@pytest.mark.parametrize(("count", "unit"), [(4, 48.0), (2, 24.0), (1, 15.0)])
def test_plateaus_are_0_m_2m_m_0_and_the_same_to_port(count, unit):
    groups = groups_of(count)
    seen = expect(box_ship(), weights=weights_of(groups), moves=moves_of(groups))
    assert len(moves_of(groups)) == 8
    assert seen.plateaus.moment_tm == pytest.approx(unit * np.array([0, 1, 2, 1, 0, -1, -2, -1, 0]), abs=1e-12)
    assert seen.tangent_ratio[[0, 4, 8]] == pytest.approx(0, abs=1e-12)
    starboard, port = seen.sides_deg
    assert starboard == pytest.approx(port, rel=1e-9)
    assert seen.sides_ratio == pytest.approx((np.tan(np.radians(starboard)), np.tan(np.radians(port))), rel=1e-9)


def test_tangents_of_the_box_are_those_of_the_wall_sided_formula():
    # a level shift of weight in a wall-sided ship: Δ (GM tan + BM tan³/2) = m, exactly
    groups = groups_of(4)
    weights = weights_of(groups)
    at = predict(box_ship(centre=(30.0, 0.0, 4.6)), weights=weights.values())
    seen = expect(box_ship(), weights=weights, moves=moves_of(groups), start=at.position.planes)
    for moment, tangent in zip(seen.plateaus.moment_tm, seen.tangent_ratio, strict=True):
        exact = brentq(lambda t, m=moment: at.moment_tm(t) - m, -0.3, 0.3, xtol=1e-15, rtol=1e-14)
        assert tangent == pytest.approx(exact, rel=1e-9, abs=1e-12)


def test_running_liquid_heels_her_further():
    groups = groups_of(4)
    dry = expect(box_ship(), weights=weights_of(groups), moves=moves_of(groups))
    slack = box_ship(tanks=[box_tank((25, 35), (-5, 5), (0, 3))])
    wet = expect(slack, weights=weights_of(groups), moves=moves_of(groups))
    at = predict(slack, weights=weights_of(groups).values())
    assert max(wet.sides_ratio) > 1.05 * max(dry.sides_ratio)
    assert wet.tangent_ratio[1] == pytest.approx(48 / (at.displacement_t * at.gm_fluid_m), rel=2e-3)
