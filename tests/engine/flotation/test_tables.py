"""Tables read back: closed forms of the box and the wedge, check values, and what is refused."""

import numpy as np
import pytest

from engine.errors import InputError, NotDeterminedError
from engine.flotation.table_rows import hydrostatic_table
from engine.flotation.tables import HydrostaticTables

L, B, RHO = 60.0, 12.0, 1.025


def box_rows(drafts):
    """Return the rows of a box 60 × 12 m: V = L B T, KB = T/2, BM = B²/12T and L²/12T."""
    t = np.asarray(drafts, dtype=float)
    return {
        "draft_m": t,
        "displacement_t": RHO * L * B * t,
        "lcb_m": np.full_like(t, 30.0),
        "vcb_m": t / 2,
        "lcf_m": np.full_like(t, 30.0),
        "km_transverse_m": t / 2 + B**2 / (12 * t),
        "km_longitudinal_m": t / 2 + L**2 / (12 * t),
    }


def tables(*more, rows=None, **change):
    made = hydrostatic_table(length_bp_m=L, **{**(rows or box_rows(np.arange(2.0, 5.01, 0.25))), **change})
    return HydrostaticTables(length_bp_m=L, density_t_per_m3=RHO, tables=(made, *more))


@pytest.mark.parametrize("draft", [2.0, 3.5, 5.0])
def test_rows_come_back_as_they_are(draft):
    found = tables().at(draft_m=draft, density_t_per_m3=RHO)
    assert found.displacement_t == pytest.approx(RHO * L * B * draft, rel=1e-14)
    assert found.km_transverse_m == pytest.approx(draft / 2 + B**2 / (12 * draft), rel=1e-14)
    assert found.vcb_m == pytest.approx(draft / 2, rel=1e-14)


def test_between_the_rows_linear_columns_are_exact_and_curved_ones_close():
    found = tables().at(draft_m=3.37, density_t_per_m3=RHO)
    assert found.displacement_t == pytest.approx(RHO * L * B * 3.37, rel=1e-13)
    assert found.vcb_m == pytest.approx(3.37 / 2, rel=1e-13)
    km = 3.37 / 2 + B**2 / (12 * 3.37)
    by_lines = np.interp(3.37, *(box_rows([3.25, 3.5])[name] for name in ("draft_m", "km_transverse_m")))
    assert abs(found.km_transverse_m - km) < 0.0005
    assert abs(found.km_transverse_m - km) < 0.2 * abs(by_lines - km)  # why not straight lines


def test_trimmed_and_heeled_box_by_closed_form():
    """The box of the table of check values: T 3.5, trim 0.9: x_B shift 1.285714285714, KB 1.759642857143."""
    found = tables().at(draft_m=3.5, trim_m=0.9, density_t_per_m3=RHO)
    assert found.displacement_t == pytest.approx(RHO * 2520, rel=1e-12)
    assert found.lcb_m == pytest.approx(30 - 1.285714285714, abs=1e-11)
    assert found.vcb_m == pytest.approx(1.759642857143, abs=1e-11)
    assert found.moment_to_trim_tm_per_cm == pytest.approx(36.9, rel=1e-12)
    heeled = tables().at(draft_m=3.5, heel_deg=2.0, density_t_per_m3=RHO)
    # y_B = −B²/(12 T) tan φ (to starboard), z_B = T/2 + B²/(24 T) tan² φ
    slope = np.tan(np.radians(2.0))
    assert heeled.tcb_m == pytest.approx(-(B**2) / (12 * 3.5) * slope, rel=1e-12)
    assert heeled.vcb_m == pytest.approx(1.75 + B**2 / (24 * 3.5) * slope**2, rel=1e-12)


def test_a_table_made_at_a_trim_is_carried_to_another():
    """The same box tabled at 0.5 m of trim, read at 0.9 m and at 0."""
    rows = box_rows(np.arange(2.0, 5.01, 0.25))
    rows["lcb_m"] = 30.0 - L * 0.5 / (12 * rows["draft_m"])
    rows["vcb_m"] = rows["draft_m"] / 2 + 0.5**2 / (24 * rows["draft_m"])
    rows["km_longitudinal_m"] = rows["vcb_m"] + L**2 / (12 * rows["draft_m"])
    rows["km_transverse_m"] = rows["vcb_m"] + B**2 / (12 * rows["draft_m"])
    for trim in (0.0, 0.9):
        found = tables(rows=rows, trim_m=0.5).at(draft_m=3.5, trim_m=trim, density_t_per_m3=RHO)
        assert found.lcb_m == pytest.approx(30 - L * trim / (12 * 3.5), abs=1e-10)
        assert found.vcb_m == pytest.approx(1.75 + trim**2 / (24 * 3.5), abs=1e-10)


def test_equivalent_draft_and_second_trim_correction_by_check_values():
    """By check values: F 3.10, A 3.38, sag 0.020, LCF 0.6 m aft, L 60, dMTC/dZ 1.8: 3.2578 m and 0.1176 t.

    The mean of means with the sag in it is 3.255 m; the first correction, 100 · 0.28 · 6.2 · 0.6/60 = 1.736 t, is the
    same step as the equivalent draft's 0.0028 m · 620 t/m.
    """
    drafts = np.array([2.0, 3.0, 4.0, 5.0])
    displacement = 620.0 * drafts
    rows = {
        "draft_m": drafts,
        "displacement_t": displacement,
        "lcb_m": np.full(4, 30.0),
        "vcb_m": drafts / 2,
        "lcf_m": np.full(4, 29.4),
        "km_transverse_m": np.full(4, 6.0),
        "moment_to_trim_tm_per_cm": 20.0 + 1.8 * drafts,
    }
    found = tables(rows=rows).at(draft_m=3.255, trim_m=0.28, density_t_per_m3=RHO)
    assert found.equivalent_draft_m == pytest.approx(3.2578, abs=1e-9)
    assert found.second_trim_correction_t == pytest.approx(0.1176, abs=1e-9)
    assert found.displacement_t == pytest.approx(620 * 3.255 + 1.736 + 0.1176, abs=1e-9)


POINTS, SHARES = np.polynomial.legendre.leggauss(8)  # exact to degree 15: the integrands are of degree 4 at most
X, DX = L * (POINTS + 1) / 2, SHARES * L / 2


def test_a_draft_outside_the_rows_whose_equivalent_draft_is_inside():
    """LCF 24 of 60 m: 1 m by the stern puts the water 0.1 m deeper there, so 1.9 m is read at the first row, 2 m."""
    rows = box_rows(np.arange(2.0, 5.01, 0.25))
    aft = {**rows, "lcf_m": np.full_like(rows["draft_m"], 24.0)}
    made = tables(rows=aft)
    least, most = made.draft_range_m(trim_m=1.0)
    assert (least, most) == pytest.approx((1.9, 4.9))
    assert made.at(draft_m=least, trim_m=1.0, density_t_per_m3=RHO).equivalent_draft_m == pytest.approx(2.0)
    for beyond in (1.89, 4.91):
        with pytest.raises(NotDeterminedError) as refused:
            made.at(draft_m=beyond, trim_m=1.0, density_t_per_m3=RHO)
        assert refused.value.code == "beyond-tables"


@pytest.mark.parametrize(("own", "trim", "told"), [(0.0, 0.009, 0), (0.0, -0.011, 1), (0.5, 0.5, 0), (0.5, 0.9, 1)])
def test_a_trim_that_a_single_table_does_not_cover_is_told(own, trim, told):
    found = list(tables(trim_m=own).off_trim(trim))
    assert [one.code for one in found] == ["trim-off-tables"] * told
    if found:
        assert f"trimmed by {trim:.6g} m" in found[0].message
        assert f"of {own:.6g} m alone" in found[0].message
    second = hydrostatic_table(length_bp_m=L, trim_m=own + 1, **box_rows([2.0, 5.0]))
    assert list(tables(second, trim_m=own).off_trim(trim)) == []


def wedge(trim, draft):
    """Volume and lengthwise centre of a prismatic wedge, y = z to each side, at a trimmed plane."""
    depth = draft + trim * (0.5 - X / L)
    volume = DX @ depth**2
    return volume, DX @ (X * depth**2) / volume


def wedge_tables(trims, drafts):
    """Return tables of the wedge; its waterline has the half breadth of its depth."""
    made = []
    drafts = np.asarray(drafts)
    for trim in trims:
        volume, centre = np.transpose([wedge(trim, draft) for draft in drafts])
        breadth = 2 * (drafts[:, None] + trim * (0.5 - X / L))
        middle = breadth @ (DX * X) / (breadth @ DX)
        second = (breadth * (X - middle[:, None]) ** 2) @ DX
        height = 2 * drafts / 3
        made.append(
            hydrostatic_table(
                length_bp_m=L,
                trim_m=trim,
                draft_m=drafts,
                displacement_t=RHO * volume,
                lcb_m=centre,
                vcb_m=height,
                lcf_m=middle,
                km_transverse_m=height * 2,
                km_longitudinal_m=height + second / volume,
            )
        )
    return HydrostaticTables(length_bp_m=L, density_t_per_m3=RHO, tables=made)


def test_second_trim_correction_on_a_wedge():
    """V = ∫ d² dx = L T² + L t²/12 exactly; even-keel tables without the correction would miss the second term."""
    found = wedge_tables([0.0], np.arange(2.0, 5.01, 0.25)).at(draft_m=4.0, trim_m=0.9, density_t_per_m3=RHO)
    exact, centre = wedge(0.9, 4.0)
    assert exact == pytest.approx(L * 16 + L * 0.81 / 12, rel=1e-12)
    assert found.second_trim_correction_t == pytest.approx(RHO * L * 0.81 / 12, rel=1e-9)
    assert found.volume_m3 == pytest.approx(exact, rel=1e-10)
    assert found.lcb_m == pytest.approx(centre, abs=1e-9)
    # first moment of height: ∫ 2/3 d³ dx = 2/3 (L T³ + L T t²/4)
    assert found.vcb_m == pytest.approx(2 / 3 * (L * 64 + L * 4 * 0.81 / 4) / exact, abs=1e-9)


def test_several_trims_are_interpolated_between():
    """Half way between two trims a linear rule misses t² by δ²: here L δ²/12 with δ = 0.25 m."""
    several = wedge_tables([0.0, 0.5, 1.0], np.arange(2.0, 5.01, 0.25))
    for trim in (0.0, 0.5, 1.0):
        exact, centre = wedge(trim, 4.0)
        found = several.at(draft_m=4.0, trim_m=trim, density_t_per_m3=RHO)
        assert found.volume_m3 == pytest.approx(exact, rel=1e-12)
        assert found.lcb_m == pytest.approx(centre, rel=1e-12)
    between = several.at(draft_m=4.0, trim_m=0.75, density_t_per_m3=RHO)
    exact, centre = wedge(0.75, 4.0)
    assert between.volume_m3 - exact == pytest.approx(L * 0.25**2 / 12, rel=1e-6)
    assert between.lcb_m == pytest.approx(centre, abs=0.003)


def test_density_scales_mass_and_moment_only():
    salt, fresh = (tables().at(draft_m=3.4, trim_m=0.3, density_t_per_m3=rho) for rho in (RHO, 1.0))
    assert fresh.displacement_t == pytest.approx(salt.displacement_t / RHO, rel=1e-14)
    assert fresh.moment_to_trim_tm_per_cm == pytest.approx(salt.moment_to_trim_tm_per_cm / RHO, rel=1e-14)
    assert fresh.volume_m3 == pytest.approx(salt.volume_m3, rel=1e-14)
    assert (fresh.lcb_m, fresh.km_transverse_m) == (salt.lcb_m, salt.km_transverse_m)


def test_displacement_stays_increasing_over_a_jump():
    """A flat of bottom and a wide deck house: the interpolant must not dip below a row (PCHIP is monotone)."""
    drafts = np.array([1.0, 1.1, 2.0, 2.1, 3.0])
    rows = {**box_rows(drafts), "displacement_t": np.array([1.0, 500.0, 501.0, 900.0, 901.0])}
    made = tables(rows=rows)
    read = [made.at(draft_m=float(t), density_t_per_m3=RHO).displacement_t for t in np.linspace(1, 3, 401)]
    assert (np.diff(read) >= 0).all()


@pytest.mark.parametrize(
    ("asked", "code", "field"),
    [
        ({"draft_m": 1.99}, "beyond-tables", "draft_m"),
        ({"draft_m": 5.01}, "beyond-tables", "draft_m"),
        ({"draft_m": 3.0, "trim_m": 3.01}, "beyond-tables", "trim_m"),  # 5 % of 60 m, our choice
        ({"draft_m": 3.0, "trim_m": -3.01}, "beyond-tables", "trim_m"),
        ({"draft_m": 3.0, "heel_deg": 3.1}, "heel-needs-hull", "heel_deg"),
    ],
)
def test_nothing_is_extrapolated(asked, code, field):
    with pytest.raises(NotDeterminedError) as refused:
        tables().at(**asked, density_t_per_m3=RHO)
    assert (refused.value.code, refused.value.field) == (code, field)


def test_no_trim_beyond_those_of_several_tables():
    several = wedge_tables([0.0, 0.5], [3.0, 4.0, 5.0])
    with pytest.raises(NotDeterminedError) as refused:
        several.at(draft_m=4.0, trim_m=0.6, density_t_per_m3=RHO)
    assert (refused.value.code, refused.value.field, refused.value.limit) == ("beyond-tables", "trim_m", 0.5)


@pytest.mark.parametrize(
    ("change", "code", "field"),
    [
        ({"draft_m": [2.0, 3.0, 3.0]}, "tables-not-monotone", "draft_m/2"),
        ({"displacement_t": [100.0, 90.0, 200.0]}, "tables-not-monotone", "displacement_t/1"),
        ({"lcb_m": [30.0, 30.0]}, "columns-differ", "lcb_m"),
        ({"km_transverse_m": [9.0, 1.0, 9.0]}, "tables-bm", "km_transverse_m/1"),
        ({"km_longitudinal_m": [90.0, 90.0, 1.0]}, "tables-bm", "km_longitudinal_m/2"),
        ({"km_longitudinal_m": None}, "tables-longitudinal", "lcf_m"),
        ({"moment_to_trim_tm_per_cm": [30.0, 30.0, 30.0]}, "tables-longitudinal", "lcf_m"),
        ({"vcb_m": [1.0, np.nan, 2.0]}, "not-finite", "vcb_m"),
        ({"displacement_t": [0.0, 1.0, 2.0]}, "out-of-range", "displacement_t"),
    ],
)
def test_refusals(change, code, field):
    with pytest.raises(InputError) as refused:
        tables(rows=box_rows([2.0, 3.0, 4.0]), **change)
    assert (refused.value.code, refused.value.field) == (code, field)


def test_one_row_and_a_repeated_trim_are_refused():
    with pytest.raises(InputError) as refused:
        tables(rows=box_rows([2.0]))
    assert refused.value.code == "too-few-rows"
    again = hydrostatic_table(length_bp_m=L, **box_rows([2.0, 3.0]))
    with pytest.raises(InputError) as refused:
        tables(again)
    assert refused.value.code == "tables-trims-repeated"
    with pytest.raises(InputError):
        HydrostaticTables(length_bp_m=L, density_t_per_m3=RHO, tables=())


def test_an_equivalent_draft_that_does_not_settle_is_told():
    """LCF jumps 20 m in a tenth of draft: T = 3.01 leads to 3.5, that to 2.5, and back, by T + t (½ − LCF/L)."""
    drafts = [2.0, 2.95, 3.05, 4.0]
    wild = tables(rows={**box_rows(drafts), "lcf_m": [20.0, 20.0, 40.0, 40.0]})
    with pytest.raises(NotDeterminedError) as refused:
        wild.at(draft_m=3.01, trim_m=3.0, density_t_per_m3=RHO)
    assert (refused.value.code, refused.value.field) == ("equivalent-draft", "trim_m")
