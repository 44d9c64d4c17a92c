"""Tables against geometry: a table of the box itself, and one put off by exactly each tolerance."""

import numpy as np
import pytest

from engine.flotation.table_check import TOLERANCES, Tolerance, compare_tables, worst
from engine.flotation.table_rows import hydrostatic_table
from engine.flotation.tables import HydrostaticTables
from engine.geometry.shapes import Box

L, B, DEPTH, RHO = 60.0, 12.0, 8.0, 1.025
HULL = Box(x_min_m=0, x_max_m=L, y_min_m=-B / 2, y_max_m=B / 2, z_min_m=0, z_max_m=DEPTH).solid()


def held(drafts=(2.0, 3.0, 4.0), trim=0.0, **factor):
    t = np.asarray(drafts, dtype=float)
    rows = {
        "displacement_t": RHO * L * B * t,
        "lcb_m": 30 - L * trim / (12 * t),
        "vcb_m": t / 2 + trim**2 / (24 * t),
        "lcf_m": np.full_like(t, 30.0),
    }
    rows["km_transverse_m"] = rows["vcb_m"] + B**2 / (12 * t)
    rows["km_longitudinal_m"] = rows["vcb_m"] + L**2 / (12 * t)
    rows = {name: column * factor.get(name, 1.0) for name, column in rows.items()}
    made = hydrostatic_table(length_bp_m=L, draft_m=t, trim_m=trim, **rows)
    return compare_tables(tables=HydrostaticTables(length_bp_m=L, density_t_per_m3=RHO, tables=[made]), solid=HULL)


@pytest.mark.parametrize("trim", [0.0, 0.6])
def test_a_table_of_the_hull_itself_agrees(trim):
    rows = held(trim=trim)
    assert len(rows) == 3 * len(TOLERANCES)
    assert {row.outcome for row in rows} == {"within"}
    assert max(abs(row.deviation_percent) for row in rows) < 0.03  # BM is along the ship's z here, KM by n_z there
    assert {row.clause for row in rows} == {"MSC.1/Circ.1229, table of tolerances"}


@pytest.mark.parametrize(
    ("name", "percent", "length_m"),
    [
        ("displacement_t", 2.0, None),
        ("lcb_m", 1.0, 0.5),
        ("vcb_m", 1.0, 0.05),
        ("lcf_m", 1.0, 0.5),
        ("moment_to_trim_tm_per_cm", 2.0, None),
        ("km_transverse_m", 1.0, 0.05),
        ("km_longitudinal_m", 1.0, 0.5),
    ],
)
def test_tolerances_of_the_circular(name, percent, length_m):
    """MSC.1/Circ.1229, as read in a copy."""
    assert TOLERANCES[name][:2] == (percent, length_m)


def test_the_percentage_counts_up_to_the_length():
    """1 % of 3 m is 0.03 m, of 8 m 0.08 m, more than the 0.05 m the circular allows of VCB."""
    assert Tolerance(1.0, 0.05, "m").of(3.0) == pytest.approx(0.03)
    assert Tolerance(1.0, 0.05, "m").of(8.0) == 0.05
    assert Tolerance(2.0, None, "t").of(5000.0) == 100.0


@pytest.mark.parametrize(("name", "percent"), [("displacement_t", 2.0), ("lcf_m", 1.0), ("lcb_m", 1.0)])
@pytest.mark.parametrize("sign", [1, -1])
def test_off_by_a_little_less_and_a_little_more(name, percent, sign):
    for beyond, outcome in ((0.999, "within"), (1.001, "exceeded")):
        factor = 1 / (1 + sign * beyond * percent / 100)
        rows = [row for row in held(**{name: factor}) if row.quantity == name]
        assert {row.outcome for row in rows} == {outcome}
        assert rows[0].deviation_percent == pytest.approx(sign * beyond * percent, rel=1e-9)


def test_worst_is_one_row_a_quantity():
    found = {row.quantity: row for row in worst(held(displacement_t=1.01))}
    assert set(found) == set(TOLERANCES)
    assert found["displacement_t"].deviation_percent == pytest.approx(100 * (1 / 1.01 - 1))


def test_a_draft_above_the_hull_is_not_assessed():
    rows = held(drafts=(4.0, 8.5))
    above = [row for row in rows if row.draft_m == 8.5 and row.quantity in ("lcf_m", "km_transverse_m")]
    assert {row.outcome for row in above} == {"not_assessed"}
