"""Loading conditions by tables: the box barge by closed form and against her own geometry."""

from dataclasses import replace

import numpy as np
import pytest

from engine.flotation.cross_curve_table import CrossCurveTable
from engine.flotation.cross_curves import cross_curves
from engine.lightship.derivation import Mass
from engine.rules import built_in_sets
from engine.stability import Assessed, LoadingCondition, NotAssessed, StabilityData, assess_conditions
from engine.stability.table_ship import TablesOfShip
from tests.engine.flotation.test_table_position import BOX, tables_of
from tests.engine.stability.ships import DENSITY, KM_M, WHOLE
from tests.engine.stability.test_condition import CODE, LIGHTSHIP, LOAD, SHIP

HEELS = np.arange(0.0, 71.0, 2.5)
MASSES = DENSITY * 720 * np.arange(3.0, 4.01, 0.25)
KN = cross_curves(solid=BOX, density_t_per_m3=DENSITY, displacement_t=MASSES, heel_deg=HEELS).kn_m
TABLES = TablesOfShip(
    tables_of(BOX),
    CrossCurveTable(
        density_t_per_m3=DENSITY, displacement_t=MASSES, heel_deg=HEELS, kn_m=KN.reshape(len(MASSES), len(HEELS))
    ),
)
CLOSED = StabilityData(openings=())
BY_TABLES = replace(SHIP, hull=TABLES, data=CLOSED)
CARGO = Mass(783.0, np.array([30.0, 0.0, 5.0]))  # 2583 t: 3.5 m of draft, a row of the tables
COVARIANCE = np.diag([6.0, 0.05, 0.004, 0.03]) ** 2


def both(condition, *, rule_sets=CODE, **change):
    """The condition by tables and by the hull they were made of."""
    found = [
        assess_conditions(
            ship=replace(ship, **change),
            lightship=LIGHTSHIP,
            conditions=[condition],
            rule_sets=rule_sets,
            lightship_covariance=COVARIANCE,
        )[0]
        for ship in (BY_TABLES, replace(BY_TABLES, hull=BOX))
    ]
    assert all(isinstance(one, Assessed) for one in found)
    return found


def codes(found):
    return [one.code for one in found.findings]


def test_closed_forms_at_a_row_of_the_tables():
    found, _ = both(LoadingCondition(items=(CARGO,)))
    vcg = (1800 * 4.6 + 783 * 5.0) / 2583
    assert found.rest == pytest.approx((0.0, 3.5, 0.0, KM_M - vcg, KM_M - vcg), abs=1e-9)  # KB + BM − KG
    assert found.position is None
    assert found.limit.governing.check.rule == "gm"
    assert found.limit.vcg_m == pytest.approx(KM_M - 0.15, abs=1e-8)
    assert found.vcg_margin_m == pytest.approx(KM_M - 0.15 - vcg, abs=1e-8)
    assert {one.check.outcome for one in found.criteria} == {"met"}


@pytest.mark.parametrize("rule", ["us_46_cfr_170_285", "imo_is_code_b3"])
def test_as_the_hull_itself_to_the_interpolation(rule):
    """Measured: GM and limit of VCG 0.12 mm (rows 0.25 m apart), areas 3e-5 m·rad, arm 0.1 mm, angle 0.014°."""
    found, whole = both(LoadingCondition(items=(CARGO,), loads=(LOAD,)), free_surface=rule)
    assert found.gm_fluid_m == pytest.approx(whole.gm_fluid_m, abs=2e-4)
    assert found.gm_solid_m - found.gm_fluid_m == pytest.approx(whole.gm_solid_m - whole.gm_fluid_m, abs=1e-9)
    assert found.rest.draft_m == pytest.approx(whole.rest.draft_m, abs=1e-9)
    assert found.limit.vcg_m == pytest.approx(whole.limit.vcg_m, abs=2e-4)
    assert found.certainty.vcg_margin_m == pytest.approx(whole.certainty.vcg_margin_m, rel=1e-3)
    by_hull = {one.check.rule: one.check for one in whole.criteria}
    for one in found.criteria:
        tolerance = {"m": 2e-4, "m·rad": 4e-5, "deg": 0.02}[one.check.unit]
        assert one.check.value == pytest.approx(by_hull[one.check.rule].value, abs=tolerance), one.check.rule
        assert one.check.outcome == by_hull[one.check.rule].outcome


def test_liquids_are_corrected_for_as_filled():
    found, whole = both(LoadingCondition(items=(CARGO,), loads=(LOAD,)))
    moment = 0.86 * 10 * 4**3 / 12  # ρ l b³/12
    assert [one.tanks for one in found.counted] == [(0,)]
    assert found.arms.free_surface_tm == pytest.approx(moment, rel=1e-9)
    assert found.gm_fluid_m == pytest.approx(whole.gm_fluid_m, abs=2e-4)
    assert "liquids are not made to run" in " ".join(one.message for one in found.findings)
    dry, _ = both(LoadingCondition(items=(CARGO,), loads=(replace(LOAD, volume_m3=0.0),)))
    assert codes(dry) == ["tables-no-geometry", "cross-curves-mirrored"]


def test_a_list_beyond_the_tables_leaves_draft_and_trim_out():
    off = Mass(20.0, np.array([30.0, -6.0, 5.0]))
    found, whole = both(LoadingCondition(items=(replace(CARGO, mass_t=763.0), off)))
    assert found.rest.heel_deg == pytest.approx(whole.rest.heel_deg, abs=1e-4)  # measured 1e-5°
    assert (found.rest.draft_m, found.rest.trim_m) == (None, None)
    assert "condition-lists" in codes(found)


def test_a_ship_unstable_upright_is_told_and_fails():
    found, whole = both(LoadingCondition(items=(replace(CARGO, centre_m=np.array([30.0, 0.0, 8.0])),)))
    assert abs(found.rest.heel_deg) == pytest.approx(abs(whole.rest.heel_deg), abs=0.01)
    assert "upright-unstable" in codes(found)
    assert {one.check.outcome for one in found.criteria if one.check.rule == "gm"} == {"not_met"}
    assert found.vcg_margin_m < 0


def test_beyond_the_tables_a_condition_is_not_determined_and_the_others_are():
    heavy = Mass(2700.0, np.array([30.0, 0.0, 5.0]))
    first, second = assess_conditions(
        ship=BY_TABLES,
        lightship=LIGHTSHIP,
        conditions=[LoadingCondition(items=(heavy,)), LoadingCondition(items=(CARGO,))],
        rule_sets=CODE,
    )
    assert isinstance(first, NotAssessed)
    assert first.error.code == "beyond-tables"
    assert isinstance(second, Assessed)


def test_beyond_the_cross_curves_gm_alone_is_judged():
    deep, whole = both(LoadingCondition(items=(replace(CARGO, mass_t=1300.0),)))
    assert "beyond-tables" in codes(deep)
    outcomes = {one.check.rule: one.check.outcome for one in deep.criteria}
    assert outcomes.pop("gm") == "met"
    assert set(outcomes.values()) == {"not_assessed"}
    assert deep.gm_fluid_m == pytest.approx(whole.gm_fluid_m, abs=2e-4)
    assert deep.limit.governing.check.rule == "gm"


def test_without_cross_curves_the_limit_is_that_of_gm():
    (found,) = assess_conditions(
        ship=replace(BY_TABLES, hull=replace(TABLES, cross_curves=None)),
        lightship=LIGHTSHIP,
        conditions=[LoadingCondition(items=(CARGO,))],
        rule_sets=CODE,
        lightship_covariance=COVARIANCE,
    )
    assert codes(found) == ["cross-curves-missing"]
    assert found.limit.vcg_m == pytest.approx(KM_M - 0.15, abs=1e-8)
    assert len(found.limit.not_assessed) == len(found.criteria) - 1
    assert found.certainty.vcg_margin_m > 0


def test_a_standard_uncertainty_that_leaves_the_tables_leaves_the_uncertainties_out():
    lowest = Mass(DENSITY * 720 * 2.0 - 1800.0 + 1.0, np.array([30.0, 0.0, 5.0]))  # 1 t above the first row, u = 6 t
    (found,) = assess_conditions(
        ship=BY_TABLES,
        lightship=LIGHTSHIP,
        conditions=[LoadingCondition(items=(lowest,))],
        rule_sets=CODE,
        lightship_covariance=COVARIANCE,
    )
    assert found.certainty is None
    assert "standard uncertainties are left out" in found.findings[-1].message


def test_what_is_judged_is_judged_as_on_the_hull_and_the_rest_says_why():
    """The box with deck edge, wind and nothing open, under every built-in set."""
    left_out = set()
    for rule_set in built_in_sets("stability"):
        found, whole = both(LoadingCondition(items=(CARGO,)), rule_sets=[rule_set], data=replace(WHOLE, openings=()))
        by_hull = {one.check.rule: one.check.outcome for one in whole.criteria}
        assert "not_assessed" not in by_hull.values()
        for one in found.criteria:
            if one.check.outcome == "not_assessed":
                left_out.add(one.check.rule)
                assert "tables hold no geometry" in one.check.reason
            else:
                assert one.check.outcome == by_hull[one.check.rule], one.check
    assert left_out == {"steady-heel-deck-edge", "areas", "weather-gm"}
