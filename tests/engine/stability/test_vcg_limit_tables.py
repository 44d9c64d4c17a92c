"""Limits of VCG by tables: the box barge by closed form and against her own geometry."""

from dataclasses import replace

import pytest

from engine.errors import NotDeterminedError
from engine.rules import built_in_sets
from engine.stability import StabilityData, vcg_limit_table
from tests.engine.flotation.test_table_position import BOX, tables_of
from tests.engine.stability.ships import DENSITY, DISPLACEMENT_T, KM_M, LENGTH_M
from tests.engine.stability.test_condition_tables import CLOSED, TABLES
from tests.engine.stability.test_vcg_limit import house

CODE = [one for one in built_in_sets("stability") if one.name == "imo-2008-is-code-a-2-2"]
SEVERAL = replace(TABLES, hydrostatics=tables_of(BOX, (-1.0, -0.5, 0.0, 0.5, 1.0)))
ALONE = replace(TABLES, cross_curves=None)


def limits(hull=TABLES, *, masses=(DISPLACEMENT_T,), rule_sets=CODE, data=CLOSED, **more):
    return vcg_limit_table(
        solid=hull,
        density_t_per_m3=DENSITY,
        length_bp_m=LENGTH_M,
        displacement_t=masses,
        rule_sets=rule_sets,
        data=data,
        **({"trim_m": [0.0]} | more if "lcg_m" not in more else more),
    )


def test_gm_of_the_box_at_a_row():
    for hull in (TABLES, ALONE):
        (row,) = limits(hull)
        assert row.limit.vcg_m == pytest.approx(KM_M - 0.15, abs=1e-8)  # KB + BM − 0.15 m (closed form)
        assert row.limit.governing.check.rule == "gm"
    assert {one.rule for one in limits(TABLES)[0].limit.not_assessed} == set()
    assert "gm" not in {one.rule for one in limits(ALONE)[0].limit.not_assessed}


def test_free_surfaces_lower_it():
    (row,) = limits(free_surface_tm=0.2 * DISPLACEMENT_T)
    assert row.limit.vcg_m == pytest.approx(KM_M - 0.35, abs=1e-8)


@pytest.mark.parametrize(
    ("quantity", "limit"), [("gz_area_to_30_m_rad", 0.1), ("gz_largest_from_30_m", 0.5), ("gm_fluid_m", 0.35)]
)
def test_as_the_hull_itself(quantity, limit):
    """Measured: 0.17 mm on even keel, between the rows too; 0.10 mm by GM and 5.4 mm by arms 0.5 m by the stern.

    The cross curves are those of even keel: the 5.4 mm are their trim's, not the interpolation's, and are told.
    """
    rules = [house(quantity, "at_least", limit)]
    masses = [2400.0, DISPLACEMENT_T, 2700.0]
    found, whole = (limits(hull, masses=masses, rule_sets=rules, trim_m=[0.0, 0.5]) for hull in (SEVERAL, BOX))
    for one, other in zip(found, whole, strict=True):
        assert (one.displacement_t, one.trim_m) == (other.displacement_t, other.trim_m)
        tolerance = 0.006 if one.trim_m and quantity != "gm_fluid_m" else 2e-4
        assert one.limit.vcg_m == pytest.approx(other.limit.vcg_m, abs=tolerance)
        assert one.limit.arms.trim_m == pytest.approx(one.trim_m, abs=1e-9)
        codes = [item.code for item in one.limit.arms.findings()]
        assert ("trim-off-tables" in codes) is (one.trim_m != 0.0)


def test_the_lcg_is_held_where_it_is_given():
    (row,), (whole,) = (limits(hull, lcg_m=[29.8]) for hull in (SEVERAL, BOX))
    assert row.limit.arms.centre_m[0] == pytest.approx(29.8, abs=1e-12)
    assert row.limit.arms.trim_m == pytest.approx(whole.limit.arms.trim_m, abs=1e-4)
    # straight between the tables of 0 and 0.5 m of trim VCB, quadratic in trim, is t (0.5 − t)/24T too high: 0.6 mm
    trim = row.limit.arms.trim_m
    assert row.limit.vcg_m - whole.limit.vcg_m == pytest.approx(trim * (0.5 - trim) / (24 * 3.5), abs=2e-5)


def test_a_row_beyond_the_tables_does_not_stop_the_others():
    inside, deep, trimmed = (
        *limits(masses=[DISPLACEMENT_T, 6000.0]),
        *limits(SEVERAL, trim_m=[2.0]),
    )
    assert inside.limit is not None
    assert (deep.code, trimmed.code) == ("beyond-tables", "beyond-tables")
    assert deep.limit is trimmed.limit is None


def test_without_data_no_criterion_is_assessed():
    with pytest.raises(NotDeterminedError) as refused:
        limits(rule_sets=[house("gz_area_to_40_or_flooding_m_rad", "at_least", 0.1)], data=StabilityData())
    assert refused.value.code == "no-criterion-assessed"


def test_a_limit_that_lies_beyond_the_cross_curves_is_not_told():
    """Arms must be positive to 75°, the curves end at 70°: low down not known, higher up known to fail, no limit."""
    (row,) = limits(rule_sets=[house("gz_positive_to_deg", "at_least", 75.0)])
    assert (row.limit, row.code) == (None, "beyond-tables")
    assert "beyond the cross curves" in row.reason


def test_a_criterion_not_known_at_the_limit_of_another_is_not_in_it():
    """GM of 1.5 m sets the limit, below the height at which arms are known to vanish within the cross curves."""
    one, other = house("gm_fluid_m", "at_least", 1.5), house("gz_positive_to_deg", "at_least", 75.0)
    both = replace(other, name="other")
    (row,) = limits(rule_sets=[one, both])
    assert row.limit.vcg_m == pytest.approx(KM_M - 1.5, abs=1e-8)
    assert [check.quantity for check in row.limit.not_assessed] == ["gz_positive_to_deg"]


def test_a_limit_within_the_cross_curves_is_told_whatever_is_not_known_below():
    """Positive to 50° by curves to 70°: as the hull itself has it."""
    rules = [house("gz_positive_to_deg", "at_least", 50.0)]
    (row,), (whole,) = limits(rule_sets=rules), limits(BOX, rule_sets=rules)
    assert row.limit.vcg_m == pytest.approx(whole.limit.vcg_m, abs=5e-4)
