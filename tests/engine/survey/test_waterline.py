"""The floating plane from heights whose plane is known: closed forms throughout."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.errors import NotDeterminedError
from engine.survey.waterline import Heights, floating_plane

L = 60.0
X = np.array([5.0, 18.0, 30.0, 42.0, 55.0] * 2)
Y = np.array([5.5] * 5 + [-5.5] * 5)


def water_z(x, y, *, draft, trim, heel_deg, sag=0.0):
    """The plane of the module's docstring, written out again."""
    return draft + trim * (0.5 - x / L) - y * np.tan(np.radians(heel_deg)) + sag * (1 - (2 * x / L - 1) ** 2)


def freeboards(*, draft, trim, heel_deg, sag=0.0, deck_z=6.0, u=0.005):
    upward = 1 / np.sqrt(1 + (trim / L) ** 2 + np.tan(np.radians(heel_deg)) ** 2)
    plumb = (deck_z - water_z(X, Y, draft=draft, trim=trim, heel_deg=heel_deg, sag=sag)) * upward
    return Heights.from_readings(x_m=X, y_m=Y, from_m=deck_z, plumb_m=plumb, up_m=0.0, standard_uncertainty_m=u)


@given(st.floats(2, 5), st.floats(-1.5, 1.5), st.floats(-4, 4), st.floats(-0.08, 0.08))
def test_recovers_the_plane_the_heights_were_made_from(draft, trim, heel_deg, sag):
    fit = floating_plane(
        heights=freeboards(draft=draft, trim=trim, heel_deg=heel_deg, sag=sag), length_bp_m=L, deflection="apply"
    )
    assert (fit.draft_m, fit.trim_m, fit.heel_deg, fit.sag_m) == pytest.approx((draft, trim, heel_deg, sag), abs=1e-11)
    assert np.abs(fit.residual_m).max() < 1e-12
    assert fit.degrees_of_freedom_count == 6


def test_a_starboard_heel_shortens_the_starboard_freeboards():
    heights = freeboards(draft=3.0, trim=0.0, heel_deg=2.0)
    assert heights.plumb_m[Y < 0].max() < heights.plumb_m[Y > 0].min()
    assert floating_plane(heights=heights, length_bp_m=L).heel_deg == pytest.approx(2.0, abs=1e-12)


def test_tape_hangs_plumb_so_its_length_is_the_vertical_height_times_nz():
    # closed form: heel 3°, no trim: n_z = cos 3°, water 3 m below the deck along the ship's z
    heights = freeboards(draft=3.0, trim=0.0, heel_deg=3.0)
    z = water_z(X, Y, draft=3.0, trim=0.0, heel_deg=3.0)
    assert heights.plumb_m == pytest.approx((6.0 - z) * np.cos(np.radians(3.0)), rel=1e-14)


def test_marks_and_freeboards_share_one_plane():
    marks_x, marks_y = np.array([1.0, 59.0]), np.array([4.0, -1.0])
    up = water_z(marks_x, marks_y, draft=3.0, trim=0.6, heel_deg=1.0) - (-0.012)
    board = freeboards(draft=3.0, trim=0.6, heel_deg=1.0)
    both = Heights.from_readings(
        x_m=np.r_[board.x_m, marks_x],
        y_m=np.r_[board.y_m, marks_y],
        from_m=np.r_[board.from_m, [-0.012, -0.012]],  # zero of the marks a keel plate below the base line
        plumb_m=np.r_[board.plumb_m, 0, 0],
        up_m=np.r_[board.up_m, up],
        standard_uncertainty_m=0.005,
    )
    fit = floating_plane(heights=both, length_bp_m=L, deflection="ignore")
    assert (fit.draft_m, fit.trim_m, fit.heel_deg) == pytest.approx((3.0, 0.6, 1.0), abs=1e-12)


def test_auto_keeps_a_plain_sag_and_drops_one_within_the_readings():
    plain = floating_plane(heights=freeboards(draft=3, trim=0.2, heel_deg=0.5, sag=-0.05), length_bp_m=L)
    assert plain.sag_m == pytest.approx(-0.05, abs=1e-12)
    # u(sag) of this layout at 5 mm is 4.8 mm by its own normal equations; three of them are 14 mm
    faint = floating_plane(heights=freeboards(draft=3, trim=0.2, heel_deg=0.5, sag=0.008), length_bp_m=L)
    assert faint.sag_m == 0.0
    assert 3 * faint.sag_standard_uncertainty_m > 0.008


def test_the_least_certain_reading_pulls_least():
    heights = freeboards(draft=3.0, trim=0.0, heel_deg=0.0)
    plumb = heights.plumb_m.copy()
    plumb[2] += 0.3
    uncertainty = np.full(10, 0.005)
    uncertainty[2] = 5.0
    fit = floating_plane(
        heights=Heights.from_readings(
            x_m=X, y_m=Y, from_m=6.0, plumb_m=plumb, up_m=0.0, standard_uncertainty_m=uncertainty
        ),
        length_bp_m=L,
        deflection="ignore",
    )
    assert fit.draft_m == pytest.approx(3.0, abs=1e-5)
    assert fit.residual_m[2] == pytest.approx(-0.3, abs=1e-5)


@pytest.mark.parametrize(
    ("x", "y"), [([5.0, 50.0], [4.0, 4.0]), ([5.0, 30.0, 55.0], [4.0, 4.0, 4.0]), ([30.0] * 3, [4.0, 0.0, -4.0])]
)
def test_too_few_or_collinear_heights_fix_no_plane(x, y):
    heights = Heights.from_readings(x_m=x, y_m=y, from_m=6.0, plumb_m=3.0, up_m=0.0, standard_uncertainty_m=0.005)
    with pytest.raises(NotDeterminedError) as caught:
        floating_plane(heights=heights, length_bp_m=L)
    assert caught.value.code == "plane-not-determined"


def test_deflection_needs_three_stations():
    heights = Heights.from_readings(
        x_m=[5, 5, 55, 55, 5], y_m=[4, -4, 4, -4, 0], from_m=6.0, plumb_m=3.0, up_m=0.0, standard_uncertainty_m=0.005
    )
    with pytest.raises(NotDeterminedError) as caught:
        floating_plane(heights=heights, length_bp_m=L, deflection="apply")
    assert caught.value.code == "deflection-not-determined"
