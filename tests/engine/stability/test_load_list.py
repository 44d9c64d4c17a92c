"""The lines of a loading condition sum to its totals, and each is what was given."""

from dataclasses import replace

import numpy as np
import pytest

from engine.geometry.shapes import Box
from engine.lightship.derivation import Mass
from engine.liquids import Tank
from engine.rules import built_in_sets
from engine.stability import Assessed, LoadingCondition, ShipData, TankLoad, assess_conditions
from tests.engine.stability.ships import DENSITY, LENGTH_M, WHOLE, box

CODE = [one for one in built_in_sets("stability") if one.name == "imo-2008-is-code-a-2-2"]
LIGHTSHIP = Mass(1800.0, np.array([30.0, 0.0, 4.6]))
CARGO = Mass(700.0, np.array([33.0, 0.2, 5.0]))
TANK = Tank.of_solid(Box(x_min_m=25, x_max_m=35, y_min_m=-2, y_max_m=2, z_min_m=0, z_max_m=2).solid())
LOAD = TankLoad(TANK, 40.0, 0.86, consumable="fuel", lightship_volume_m3=8.0)
FULL = TankLoad(TANK, TANK.capacity_m3, 1.025)
EMPTY = TankLoad(TANK, 0.0, 1.0)


@pytest.mark.parametrize("rule", ["actual", "us_46_cfr_170_285", "imo_is_code_b3"])
def test_lines_sum_to_the_displacement_and_its_centre(rule):
    ship = ShipData(box(), DENSITY, LENGTH_M, WHOLE, free_surface=rule)
    condition = LoadingCondition(items=(CARGO,), loads=(LOAD, EMPTY, FULL))
    (found,) = assess_conditions(ship=ship, lightship=LIGHTSHIP, conditions=[condition], rule_sets=CODE)
    assert isinstance(found, Assessed)
    kinds = [(one.kind, one.number) for one in found.loads]
    assert kinds == [("lightship", 0), ("item", 0), ("tank", 0), ("lightship_liquid", 0), ("tank", 2)]
    assert abs(found.arms.trim_m) > 0.1  # liquids that run lie at the trim she has upright
    mass = sum(one.mass.mass_t for one in found.loads)
    moment = sum(one.mass.moment_tm for one in found.loads)
    assert mass == pytest.approx(found.arms.displacement_t, rel=1e-13)
    np.testing.assert_allclose(moment / mass, found.arms.centre_m, atol=1e-9)


def test_a_line_by_closed_form():
    ship = ShipData(box(), DENSITY, LENGTH_M, WHOLE)
    level = LoadingCondition(items=(replace(CARGO, centre_m=np.array([30.0, 0.0, 5.0])),), loads=(LOAD,))
    (found,) = assess_conditions(ship=ship, lightship=LIGHTSHIP, conditions=[level], rule_sets=CODE)
    tank, within = found.loads[2], found.loads[3]
    assert (tank.mass.mass_t, within.mass.mass_t) == pytest.approx((40 * 0.86, -8 * 0.86))
    np.testing.assert_allclose(tank.mass.centre_m, [30.0, 0.0, 0.5], atol=1e-9)  # 40 m³ on 40 m²: 1 m deep
    np.testing.assert_allclose(within.mass.centre_m, [30.0, 0.0, 0.1], atol=1e-9)
    assert tank.free_surface_tm == pytest.approx(0.86 * 10 * 4**3 / 12)  # ρ l b³/12
    assert within.free_surface_tm == 0
