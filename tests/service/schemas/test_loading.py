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
