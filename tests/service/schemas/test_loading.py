"""Loading conditions as a document has them: tanks by name or shape, what comes of each, what is refused."""

import json

import numpy as np
import pytest
from pydantic import TypeAdapter

from engine.errors import InputError
from engine.lightship.derivation import Mass
from service.schemas.hull import BOX_BARGE, OffsetsHull, solid_of
from service.schemas.loading import LoadingConditionOf, StabilityBasis
from service.schemas.loading_answer import assess_conditions
from service.schemas.tank import TankOf

SHAPE = {"kind": "box", "x_min_m": 25, "x_max_m": 35, "y_min_m": -2, "y_max_m": 2, "z_min_m": 0, "z_max_m": 2}
FUEL = {"name": "fuel", "shape": SHAPE, "density_t_per_m3": 0.86, "contents": {"kind": "empty"}}
CARGO = {"name": "deck cargo", "mass_t": "500 t", "x_m": 30, "y_m": 0, "z_m": "6 m"}
COVARIANCE = np.diag([5.0, 0.05, 0.005, 0.03]) ** 2


def made(kind, body):
    return TypeAdapter(kind).validate_json(json.dumps(body))


def results(*conditions, basis=None, covariance=COVARIANCE):
    solid, _ = solid_of(made(OffsetsHull, BOX_BARGE))
    return assess_conditions(
        [made(LoadingConditionOf, one) for one in conditions],
        hull=solid,
        length_bp_m=60.0,
        lightship=Mass(2000.0, np.array([30.0, 0.0, 4.4])),
        covariance=covariance,
        basis=None if basis is None else made(StabilityBasis, basis),
        tanks=[made(TankOf, FUEL)],
    )


def test_a_condition_with_a_tank_of_the_document():
    basis = {"openings": [], "free_surface": "us_46_cfr_170_285"}
    tank = {"tank": "fuel", "fill_percent": 50, "use": "fuel"}
    (found,) = results({"name": "departure", "items": [CARGO], "tanks": [tank]}, basis=basis)
    mass = 2500 + 40 * 0.86
    vcg = (2000 * 4.4 + 500 * 6 + 34.4 * 0.5) / mass
    draft = mass / (1.025 * 720)
    assert (found.name, found.outcome) == ("departure", "met")
    assert (found.displacement_t, found.vcg_m) == pytest.approx((mass, vcg))
    assert found.gm_solid_m == pytest.approx(draft / 2 + 12 / draft - vcg, abs=1e-9)  # T/2 + B²/12T − KG
    moment = 0.86 * 10 * 64 / 12  # ρ l b³/12
    assert found.gm_fluid_m == pytest.approx(found.gm_solid_m - moment / mass, abs=1e-9)
    assert [one.tanks for one in found.free_surfaces] == [("fuel",)]
    assert found.vcg_margin_m == pytest.approx(found.gm_fluid_m - 0.15, abs=1e-8)
    assert found.governing.rule == "gm"
    by_rule = {one.rule: one for one in found.criteria}
    assert by_rule["gm"].standard_uncertainty > 0
    margin, u = found.vcg_margin_m, found.vcg_margin_standard_uncertainty_m
    assert found.statement == f"met, {margin:.2g} m, {margin / u:.0f} standard uncertainties"
    assert len(found.righting_arms.heel_deg) == len(found.righting_arms.righting_arm_m)


def test_another_tank_by_its_shape_and_a_ship_without_data():
    tank = {"tank": "portable", "shape": SHAPE, "density_t_per_m3": "1.0 t/m3", "volume_m3": 20}
    (found,) = results({"name": "a", "items": [CARGO], "tanks": [tank]}, covariance=None)
    assert found.displacement_t == pytest.approx(2520.0)
    assert found.outcome == "not_assessed"  # nothing is said about openings
    assert found.statement == "not assessed"
    assert {one.standard_uncertainty for one in found.criteria} == {None}
    (stated,) = results({"name": "a", "items": [CARGO], "tanks": [tank], "openings": []}, covariance=None)
    assert stated.outcome == "met"


def test_a_condition_that_fails_or_sinks():
    high = {**CARGO, "z_m": 9.5}
    heavy = {"name": "heavy", "items": [{**CARGO, "mass_t": 4000}]}
    fails, sinks = results({"name": "high", "items": [high], "openings": []}, heavy)
    assert (fails.name, fails.outcome, fails.statement) == ("high", "not_met", "not met")
    assert fails.vcg_margin_m < 0
    assert (sinks.name, sinks.outcome, sinks.findings[0].code) == ("heavy", "not_determined", "sinks")


@pytest.mark.parametrize(
    ("tank", "code", "field"),
    [
        ({"tank": "water", "fill_percent": 50}, "condition-tank", "tank"),
        ({"tank": "fuel"}, "condition-fill", "fill_percent"),
        ({"tank": "fuel", "fill_percent": 50, "volume_m3": 3}, "condition-fill", "fill_percent"),
        ({"tank": "fuel", "volume_m3": 81}, "volume-beyond-capacity", "volume_m3"),
        ({"tank": "x", "shape": SHAPE, "fill_percent": 50}, "condition-tank", "tank"),
    ],
)
def test_refused_tanks(tank, code, field):
    with pytest.raises(InputError) as caught:
        results({"name": "a"}, {"name": "b", "tanks": [tank]})
    assert (caught.value.code, caught.value.field) == (code, f"loading_conditions/1/tanks/0/{field}")


@pytest.mark.parametrize(
    ("basis", "code", "field"),
    [
        ({"rules": ["no-such-set"]}, "rule-set-unknown", "stability/rules/0"),
        ({"rules": ["our-choices"]}, "rule-set-subject", "stability/rules/0"),
        (
            {"wind": {"draft_m": [2.0, 1.0], "area_m2": [1.0, 1.0], "centroid_z_m": [1.0, 1.0]}},
            "not-increasing",
            "stability/wind/draft_m",
        ),
    ],
)
def test_refused_data(basis, code, field):
    with pytest.raises(InputError) as caught:
        results({"name": "a"}, basis=basis)
    assert (caught.value.code, caught.value.field) == (code, field)


def test_lines_arms_and_wind_of_a_condition():
    """Mass and centre of the fuel by hand; the area of the curve by the trapezoid rule on its own points."""
    basis = {
        "openings": [],
        "rules": ["imo-2008-is-code-a-2-2", "imo-2008-is-code-a-2-3"],
        "wind": {"draft_m": [3.4], "area_m2": [300.0], "centroid_z_m": [7.0]},
    }
    tank = {"tank": "fuel", "fill_percent": 50, "use": "fuel"}
    (found,) = results({"name": "departure", "items": [CARGO], "tanks": [tank]}, basis=basis)
    lightship, cargo, fuel = found.loads
    assert [(one.kind, one.name) for one in found.loads] == [
        ("lightship", None),
        ("item", "deck cargo"),
        ("tank", "fuel"),
    ]
    assert (cargo.mass_t, cargo.z_m, cargo.fill_percent) == (500.0, 6.0, None)
    assert (fuel.volume_m3, fuel.fill_percent, fuel.density_t_per_m3) == pytest.approx((40.0, 50.0, 0.86))
    assert (fuel.mass_t, fuel.z_m) == pytest.approx((34.4, 0.5))
    assert fuel.free_surface_moment_tm == pytest.approx(0.86 * 10 * 64 / 12)
    total = lightship.mass_t + cargo.mass_t + fuel.mass_t
    assert total == pytest.approx(found.displacement_t, rel=1e-13)
    heel, arm = np.radians(found.righting_arms.heel_deg), np.array(found.righting_arms.righting_arm_m)
    area = np.array(found.righting_arms.area_m_rad)
    upright = int(np.argmin(np.abs(heel)))
    steps = np.diff(heel) * (arm[1:] + arm[:-1]) / 2
    along = np.concatenate([[0.0], np.cumsum(steps)])
    np.testing.assert_allclose(area, along - along[upright], atol=2e-3)
    assert area[upright] == 0
    assert area[upright + 4] > 0
    assert area[upright - 4] == pytest.approx(area[upright + 4], abs=1e-12)  # she is alike on both sides
    lever = 7.0 - found.draft_m / 2
    steady = 504 * 300 * lever / (1000 * 9.81 * found.displacement_t)  # P A Z / (1000 g Δ)
    wind = found.weather.severe_wind
    assert (found.weather.lever_m, wind.steady_lever_m) == pytest.approx((lever, steady))
    assert wind.gust_lever_m == pytest.approx(1.5 * steady)
    by_rule = {one.rule: one for one in found.criteria}
    assert wind.area_b_m_rad == pytest.approx(by_rule["areas"].value, abs=1e-9)
    assert wind.area_a_m_rad == pytest.approx(by_rule["areas"].limit, abs=1e-9)


def test_what_is_found_at_the_limit_is_told_apart():
    """B/d of the box is 3.5 or more in the condition and at its limit: told once each."""
    basis = {
        "openings": [],
        "rules": ["imo-2008-is-code-a-2-2", "imo-2008-is-code-a-2-3"],
        "wind": {"draft_m": [3.0], "area_m2": [100.0], "centroid_z_m": [6.0]},
    }
    (found,) = results({"name": "light"}, basis=basis)
    ranges = [one for one in found.findings if one.code == "weather-criterion-range"]
    own = [one for one in ranges if one not in found.limit_findings]
    assert any("B/d" in one.message for one in own)
    at_limit = [one for one in found.limit_findings if one.code == "weather-criterion-range"]
    assert at_limit
    assert all(one.message.startswith("at the limit of VCG, ") for one in at_limit)
    assert not any(one.message.startswith("at the limit") for one in own)
