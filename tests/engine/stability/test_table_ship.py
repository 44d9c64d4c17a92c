"""A ship by tables: the box barge's closed forms, where she lies, what is told and what is not."""

import numpy as np
import pytest

from engine.errors import NotDeterminedError
from engine.flotation.cross_curve_table import CrossCurveTable
from engine.stability.table_ship import TableShip, TablesOfShip
from tests.engine.flotation.test_table_position import BOX, tables_of
from tests.engine.stability.ships import BM_M, DENSITY, DISPLACEMENT_T, KM_M, wall_sided_area, wall_sided_arm
from tests.engine.stability.test_table_arms import DRAFTS, HEELS, kn, table

HYDROSTATICS = tables_of(BOX)
"""A row at the box's 3.5 m of draft, so that KM is exact there."""


def ship(
    vcg_m=4.5, *, tcg_m=0.0, lcg_m=30.0, mass_t=DISPLACEMENT_T, cross_curves=True, hydrostatics=HYDROSTATICS, **more
):
    levers = table() if cross_curves is True else cross_curves or None
    return TableShip(TablesOfShip(hydrostatics, levers), DENSITY, mass_t, np.array([lcg_m, tcg_m, vcg_m]), **more)


def codes(arms):
    return [one.code for one in arms.findings()]


def test_the_wall_sided_box():
    arms = ship().arms()
    assert (arms.draft_m, arms.trim_m) == pytest.approx((3.5, 0.0), abs=1e-9)
    assert arms.gm_fluid_m == pytest.approx(KM_M - 4.5, abs=1e-9)  # KB + BM − KG
    assert arms.reach_deg == pytest.approx(30.0)
    for side in ("starboard", "port"):
        curve = arms.curve(side)
        for heel in HEELS.tolist():  # GZ = (GM + BM tan²φ/2) sin φ, at the table's heels to rounding
            assert curve.at(np.radians(heel)) == pytest.approx(wall_sided_arm(np.radians(heel), KM_M - 4.5), abs=1e-12)
        area = curve.area(0.0, np.radians(30.0))  # closed form of its integral; heels 5° apart: 2e-5 m·rad measured
        assert area == pytest.approx(wall_sided_area(np.radians(30.0), KM_M - 4.5), abs=2e-5)
    assert arms.rest() == pytest.approx((0.0, 3.5, 0.0, KM_M - 4.5, KM_M - 4.5), abs=1e-9)
    assert codes(arms) == ["tables-no-geometry", "cross-curves-mirrored"]


def test_free_surfaces_raise_the_centre():
    arms = ship(free_surface_tm=0.2 * DISPLACEMENT_T).arms()
    plain = ship(4.7).arms()
    np.testing.assert_allclose(arms.arm_m, plain.arm_m, atol=1e-12)
    assert (arms.gm_fluid_m, arms.vcg_m) == (pytest.approx(plain.gm_fluid_m, abs=1e-12), 4.5)
    assert arms.rest().gm_solid_m == pytest.approx(KM_M - 4.5, abs=1e-9)


def test_raised_and_loaded_are_arms_computed_anew():
    up, made = ship(4.5).arms().raised(0.3), ship(4.8).arms()
    np.testing.assert_allclose(up.arm_m, made.arm_m, atol=1e-12)
    assert (up.gm_fluid_m, up.vcg_m) == pytest.approx((made.gm_fluid_m, 4.8), abs=1e-9)
    more = ship(4.5).arms().loaded(mass_t=7.2 * DENSITY, moment_tm=np.array([30.0, 0.0, 4.5]) * 7.2 * DENSITY)
    assert more.draft_m == pytest.approx(3.51, abs=1e-9)  # 7.2 m³ over 720 m²
    assert more.vcg_m == pytest.approx(4.5, abs=1e-12)


def test_a_small_list_is_that_of_gm_and_a_larger_one_that_of_the_arms():
    small = ship(tcg_m=0.02).arms().rest()
    assert np.tan(np.radians(small.heel_deg)) == pytest.approx(-0.02 / (KM_M - 4.5), rel=1e-9)
    assert small.draft_m == pytest.approx(3.5, abs=1e-9)
    for tcg in (0.06, -0.06):
        large = ship(tcg_m=tcg).arms().rest()
        turn = np.radians(abs(large.heel_deg))
        # GZ = (GM + BM tan²φ/2) sin φ balances y cos φ (closed form); the spline between the heels: 2e-4 m
        assert wall_sided_arm(turn, KM_M - 4.5) == pytest.approx(0.06 * np.cos(turn), abs=2e-4)
        assert np.sign(large.heel_deg) == -np.sign(tcg)
        assert (large.draft_m, large.trim_m) == (None, None)


def test_a_ship_that_lolls():
    rest = ship(KM_M + 0.1).arms().rest()
    assert rest.heel_deg == pytest.approx(np.degrees(np.arctan(np.sqrt(0.2 / BM_M))), abs=0.01)  # √(−2 GM/BM)
    assert (rest.draft_m, rest.gm_fluid_m) == (None, pytest.approx(-0.1, abs=1e-9))
    assert ship(9.0).arms().rest().heel_deg is None  # no arm rights her within the cross curves
    assert ship(KM_M + 0.1, cross_curves=False).arms().rest().heel_deg is None


def test_what_is_missing_is_told():
    none = ship(cross_curves=False).arms()
    assert (len(none.heel_rad), none.reach_deg) == (0, 0.0)
    assert codes(none) == ["cross-curves-missing"]
    assert none.gm_fluid_m == pytest.approx(KM_M - 4.5, abs=1e-9)
    beyond = ship(mass_t=DENSITY * 720 * 4.5).arms()  # the cross curves end at 3.75 m of draft, the rows at 6 m
    assert codes(beyond) == ["beyond-tables"]
    assert beyond.draft_m == pytest.approx(4.5, abs=1e-9)
    two = CrossCurveTable(
        density_t_per_m3=DENSITY,
        displacement_t=DENSITY * 720 * DRAFTS,
        heel_deg=[0, 30],
        kn_m=kn(np.array([0.0, 30.0])),
    )
    assert codes(ship(cross_curves=two).arms()) == ["too-few-points"]
    with pytest.raises(NotDeterminedError) as refused:
        ship(mass_t=DENSITY * 720 * 7.0).arms()
    assert refused.value.code == "beyond-tables"


def test_a_trim_off_tables_of_one_trim_is_told_with_its_size():
    even, trimmed = ship(lcg_m=30.0).arms(), ship(lcg_m=29.9).arms()
    assert "trim-off-tables" not in codes(even)
    of_rows, of_curves = (one.message for one in trimmed.findings() if one.code == "trim-off-tables")
    assert f"trimmed by {trimmed.trim_m:.6g} m" in of_rows
    assert "of 0 m alone" in of_rows
    assert f"trimmed by {trimmed.trim_m:.6g} m" in of_curves
    several = ship(lcg_m=29.9, hydrostatics=tables_of(BOX, (-1.0, 0.0, 1.0))).arms()
    assert codes(several).count("trim-off-tables") == 1  # that of the cross curves: the rows are interpolated


def test_cross_curves_of_another_ship_are_found():
    other = CrossCurveTable(
        density_t_per_m3=DENSITY, displacement_t=DENSITY * 720 * DRAFTS, heel_deg=HEELS, kn_m=0.9 * kn(HEELS)
    )
    assert "slope-differs-from-gm" in codes(ship(cross_curves=other).arms())


def test_a_table_to_both_sides_is_used_as_far_as_both_reach():
    heels = np.arange(-20.0, 31.0, 5.0)
    both = CrossCurveTable(
        density_t_per_m3=DENSITY, displacement_t=DENSITY * 720 * DRAFTS, heel_deg=heels, kn_m=kn(heels)
    )
    arms = ship(cross_curves=both).arms()
    assert (arms.heel_deg[0], arms.heel_deg[-1]) == pytest.approx((-20.0, 20.0))
    assert not arms.mirrored
