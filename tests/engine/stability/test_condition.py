"""Loading conditions of the box barge by closed form."""

from dataclasses import replace

import numpy as np
import pytest

from engine.errors import InputError
from engine.geometry.shapes import Box
from engine.lightship.derivation import Mass
from engine.liquids import Tank
from engine.rules import built_in_sets
from engine.stability import Assessed, LoadingCondition, NotAssessed, ShipData, TankLoad, assess_conditions
from tests.engine.stability.ships import BREADTH_M, DENSITY, LENGTH_M, WHOLE, box

CODE = [one for one in built_in_sets("stability") if one.name == "imo-2008-is-code-a-2-2"]
LIGHTSHIP = Mass(1800.0, np.array([30.0, 0.0, 4.6]))
CARGO = Mass(700.0, np.array([30.0, 0.0, 5.0]))
SHIP = ShipData(box(), DENSITY, LENGTH_M, WHOLE)
TANK = Tank.of_solid(Box(x_min_m=25, x_max_m=35, y_min_m=-2, y_max_m=2, z_min_m=0, z_max_m=2).solid())
LOAD = TankLoad(TANK, 40.0, 0.86, consumable="fuel")


def assessed(condition, *, ship=SHIP, lightship=LIGHTSHIP, **more):
    (found,) = assess_conditions(ship=ship, lightship=lightship, conditions=[condition], rule_sets=CODE, **more)
    assert isinstance(found, Assessed)
    return found


def upright(mass_t, vcg_m):
    """Draft and solid GM of the box at a mass and height (closed form)."""
    draft = mass_t / (DENSITY * LENGTH_M * BREADTH_M)
    return draft, draft / 2 + BREADTH_M**2 / (12 * draft) - vcg_m


def test_lightship_and_cargo():
    found = assessed(LoadingCondition(items=(CARGO,)))
    vcg = (1800 * 4.6 + 700 * 5.0) / 2500
    draft, gm = upright(2500.0, vcg)
    assert found.arms.displacement_t == pytest.approx(2500.0)
    assert found.position.planes.draft_m(length_bp_m=60.0)[0] == pytest.approx(draft, abs=1e-10)
    assert (found.gm_fluid_m, found.gm_solid_m) == pytest.approx((gm, gm), abs=1e-10)
    assert found.arms.vcg_m == pytest.approx(vcg, abs=1e-12)
    assert found.limit.governing.check.rule == "gm"
    assert found.limit.vcg_m == pytest.approx(vcg + gm - 0.15, abs=1e-8)  # KM − 0.15 m
    assert found.vcg_margin_m == pytest.approx(gm - 0.15, abs=1e-8)
    assert {one.check.outcome for one in found.criteria} == {"met"}
    assert found.findings == ()


@pytest.mark.parametrize("rule", ["actual", "us_46_cfr_170_285", "imo_is_code_b3"])
def test_a_tank_by_each_rule(rule):
    found = assessed(LoadingCondition(items=(CARGO,), loads=(LOAD,)), ship=replace(SHIP, free_surface=rule))
    mass = 2500 + 0.86 * 40
    vcg = (1800 * 4.6 + 700 * 5.0 + 0.86 * 40 * 0.5) / mass  # 1 m of liquid in the tank
    _, gm = upright(mass, vcg)
    moment = 0.86 * 10 * 4**3 / 12  # ρ l b³/12
    assert found.gm_solid_m == pytest.approx(gm, abs=1e-9)
    assert found.gm_fluid_m == pytest.approx(gm - moment / mass, abs=1e-9)
    assert found.arms.vcg_m == pytest.approx(vcg, abs=1e-9)
    assert found.arms.free_surface_tm == pytest.approx(moment, rel=1e-9)
    assert found.vcg_margin_m == pytest.approx(gm - moment / mass - 0.15, abs=1e-8)
    assert [one.tanks for one in found.counted] == ([] if rule == "actual" else [(0,)])


def test_running_liquid_and_correction_agree_at_small_heels_and_part_at_large_ones():
    runs, corrected = (
        assessed(LoadingCondition(items=(CARGO,), loads=(LOAD,)), ship=replace(SHIP, free_surface=rule)).arms
        for rule in ("actual", "us_46_cfr_170_285")
    )
    small, large = (
        runs.curve("starboard").at(np.radians(heel)) - corrected.curve("starboard").at(np.radians(heel))
        for heel in (2.5, 60.0)
    )
    assert abs(small) < 1e-6  # (ρ i/Δ) sin φ tan² φ/2 is 8e-7 m at 2.5° (closed form)
    assert large > 1e-3  # past the top of a half-full tank the liquid shifts less than the correction says


def test_what_the_lightship_has_of_a_tank_is_not_counted_twice():
    plain = assessed(LoadingCondition(items=(CARGO,), loads=(replace(LOAD, volume_m3=20.0),)))
    # the same ship, 20 m³ of the tank taken to belong to the lightship: 0.5 m deep, its centre 0.25 m up
    mass = 1800.0 + 0.86 * 20
    heavier = Mass(mass, (LIGHTSHIP.moment_tm + 0.86 * 20 * np.array([30.0, 0.0, 0.25])) / mass)
    within = assessed(
        LoadingCondition(items=(CARGO,), loads=(replace(LOAD, volume_m3=20.0, lightship_volume_m3=20.0),)),
        lightship=heavier,
    )
    assert within.arms.displacement_t == pytest.approx(plain.arms.displacement_t, rel=1e-13)
    assert within.arms.vcg_m == pytest.approx(plain.arms.vcg_m, abs=1e-12)


def test_a_list_is_noticed():
    off = Mass(10.0, np.array([30.0, 6.0, 5.0]))  # 60 t·m to port
    found = assessed(LoadingCondition(items=(CARGO, off)))
    tangent = np.tan(np.radians(float(found.position.planes.heel_deg[0])))
    bm = BREADTH_M**2 / (12 * upright(2510.0, 0.0)[0])
    # Δ tan φ (GM + BM tan² φ/2) = w d (closed form, wall-sided)
    assert -2510 * tangent * (found.arms.gm_fluid_m + bm * tangent**2 / 2) == pytest.approx(60.0, rel=1e-9)
    assert [one.code for one in found.findings] == ["condition-lists"]


def test_a_condition_not_stable_upright_is_noticed():
    found = assessed(LoadingCondition(items=(replace(CARGO, centre_m=np.array([30.0, 0.0, 8.5])),)))
    _, gm = upright(2500.0, (1800 * 4.6 + 700 * 8.5) / 2500)  # -0.5 m
    told = {one.code: one.message for one in found.findings}
    assert f"GM is {gm:.6g} m" in told["upright-unstable"]
    assert "rests-bottom-up" not in told


def test_data_of_a_condition_take_the_place_of_the_ships():
    silent = LoadingCondition(items=(CARGO,), data=replace(WHOLE, openings=None))
    outcomes = {one.check.rule: one.check.outcome for one in assessed(silent).criteria}
    assert (outcomes["gm"], outcomes["area-to-40"]) == ("met", "not_assessed")


def test_a_condition_that_sinks_does_not_stop_the_others():
    heavy = Mass(5000.0, np.array([30.0, 0.0, 5.0]))
    first, second = assess_conditions(
        ship=SHIP,
        lightship=LIGHTSHIP,
        conditions=[LoadingCondition(items=(heavy,)), LoadingCondition(items=(CARGO,))],
        rule_sets=CODE,
    )
    assert isinstance(first, NotAssessed)
    assert first.error.code == "sinks"
    assert isinstance(second, Assessed)


def test_a_condition_without_a_limit_says_why():
    top_heavy = [one for one in built_in_sets("stability") if one.name == "us-46-cfr-170-173-c"]
    (found,) = assess_conditions(
        ship=SHIP, lightship=LIGHTSHIP, conditions=[LoadingCondition(items=(CARGO,))], rule_sets=top_heavy
    )
    assert (found.limit, found.limit_code, found.vcg_margin_m) == (None, "no-vcg-meets", None)


def test_nothing_left_of_her_mass():
    with pytest.raises(InputError) as caught:
        assessed(LoadingCondition(items=(Mass(-1800.0, np.zeros(3)),)))
    assert (caught.value.code, caught.value.field) == ("not-positive", "0/items")
