"""Loading conditions of the demonstration vessel by tables made from her hull, against her hull, at one lightship."""

import json

import numpy as np
import pytest
from pydantic import TypeAdapter

from engine.flotation.cross_curves import cross_curves
from engine.lightship.derivation import Mass
from engine.stability.table_ship import TablesOfShip
from service.demo import demo_record
from service.schemas.hull import OffsetsHull, solid_of
from service.schemas.loading import LoadingConditionOf, StabilityBasis
from service.schemas.loading_answer import assess_conditions
from service.schemas.table_hull import TablesHull
from service.schemas.tank import TankOf
from tests.engine.record.test_chain import tables_of

RECORD = demo_record()
SOLID, _ = solid_of(TypeAdapter(OffsetsHull).validate_json(json.dumps(RECORD["hull"])))
LIGHTSHIP = Mass(1143.0, np.array([24.0, -0.008, 5.2]))
BASIS = {
    **RECORD["stability"],
    "openings": [],
    "rules": ["imo-2008-is-code-a-2-2"],
    "free_surface": "us_46_cfr_170_285",
}
MASSES = np.arange(1000.0, 1500.1, 50.0)


def made(kind, body):
    return TypeAdapter(kind).validate_json(json.dumps(body))


def tables(*, step_deg=5.0, trims=None, own_lcg=False):
    """Her hydrostatics every 50 mm at five trims or some of them; KN trim free from even keel or by her LCG."""
    hull = tables_of(RECORD["hull"])
    hull["tables"] = [one for one in hull["tables"] if trims is None or one["trim_m"] in trims]
    heels = np.arange(0.0, 60.1, step_deg)
    along = {"lcg_m": np.interp(MASSES, *OWN_LCG), "assumed_vcg_m": 5.1} if own_lcg else {}
    lever = cross_curves(solid=SOLID, density_t_per_m3=1.025, displacement_t=MASSES, heel_deg=heels, **along).kn_m
    hull["cross_curves"] = {
        "displacement_t": MASSES.tolist(),
        "heel_deg": heels.tolist(),
        "kn_m": lever.reshape(len(MASSES), -1).tolist(),
    }
    return hull


def assessed(hull=None, **change):
    solid = SOLID
    if hull is not None:
        by_tables = made(TablesHull, hull)
        solid = TablesOfShip(by_tables.hydrostatics(), by_tables.righting_levers())
    found = assess_conditions(
        [made(LoadingConditionOf, one) for one in RECORD["loading_conditions"]],
        hull=solid,
        length_bp_m=56.0,
        lightship=LIGHTSHIP,
        covariance=None,
        basis=made(StabilityBasis, {**BASIS, **change}),
        tanks=[made(TankOf, one) for one in RECORD["tanks"]],
    )
    assert len(found) == 2
    return found


WHOLE = assessed()
OWN_LCG = list(zip(*sorted((one.displacement_t, one.lcg_m) for one in WHOLE), strict=True))
"""LCG over displacement of the two conditions, 0.66 and 0.62 m by the stern."""


def differences(found):
    """Largest difference from the hull itself of each criterion and of what else is told, over both conditions."""
    worst = {}
    for one, whole in zip(found, WHOLE, strict=True):
        by_rule = {check.rule: check.value for check in whole.criteria}
        off = {check.rule: check.value - by_rule[check.rule] for check in one.criteria}
        names = ("draft_m", "trim_m", "heel_deg", "gm_solid_m", "gm_fluid_m", "vcg_limit_m")
        off |= {name: getattr(one, name) - getattr(whole, name) for name in names}
        heel, arm = whole.righting_arms.heel_deg, whole.righting_arms.righting_arm_m
        given = dict(zip(np.round(one.righting_arms.heel_deg, 6), one.righting_arms.righting_arm_m, strict=True))
        off["arm"] = max(abs(given[h] - a) for h, a in zip(np.round(heel, 6), arm, strict=True) if h in given)
        worst = {name: max(abs(value), worst.get(name, 0.0)) for name, value in off.items()}
        assert one.outcome == whole.outcome == "met"
        assert one.displacement_t == pytest.approx(whole.displacement_t, rel=1e-12)
        assert (one.lcg_m, one.tcg_m, one.vcg_m) == pytest.approx((whole.lcg_m, whole.tcg_m, whole.vcg_m), abs=1e-9)
    return worst


def test_tables_at_her_own_trim_give_her_own_answer_to_the_interpolation():
    """Where KN is of her LCG only interpolation is left; GM: straight between tables 0.5 m of trim apart.

    Measured: GM 0.9 mm, draft 0.4 mm, trim 2.8 mm, arm 0.3 mm, areas 0.00009 m·rad, limit of VCG 0.6 mm.
    """
    off = differences(assessed(tables(own_lcg=True)))
    assert max(off["gm_fluid_m"], off["gm_solid_m"]) < 0.001
    assert off["draft_m"] < 0.0005
    assert off["trim_m"] < 0.003
    assert off["heel_deg"] < 0.004
    assert off["arm"] < 0.0005
    assert max(off["area-to-30"], off["area-to-40"], off["area-30-to-40"]) < 1e-4
    assert off["vcg_limit_m"] < 0.001


def test_heels_10_degrees_apart_cost_half_a_thousandth_of_area():
    """Measured: arm 4.2 mm between the heels of the table, areas 0.00046 m·rad, limit of VCG 4.1 mm."""
    off = differences(assessed(tables(own_lcg=True, step_deg=10.0)))
    assert off["arm"] < 0.006
    assert max(off["area-to-30"], off["area-to-40"], off["area-30-to-40"]) < 6e-4
    assert off["vcg_limit_m"] < 0.005


def test_cross_curves_of_even_keel_miss_what_her_trim_does():
    """Measured: areas 0.0037 m·rad of 0.26, arms 12.5 mm, both on the safe side here; not an error of interpolation."""
    found = assessed(tables())
    off = differences(found)
    assert 0.001 < off["area-to-30"] < 0.005
    assert 0.005 < off["arm"] < 0.02
    for one in found:
        (told,) = (item.message for item in one.findings if item.code == "trim-off-tables")
        assert f"trimmed by {one.trim_m:.6g} m" in told


def test_tables_of_one_trim_say_that_they_were_entered_at_another():
    """Measured: draft 0.3 mm, trim 6 mm, GM 12 mm."""
    found = assessed(tables(trims=(0.0,), own_lcg=True))
    off = differences(found)
    assert off["draft_m"] < 0.0005
    assert off["trim_m"] < 0.007
    assert 0.005 < off["gm_fluid_m"] < 0.015
    for one in found:
        assert [item.code for item in one.findings].count("trim-off-tables") == 2
