"""Cross curves of the box by closed form, and against the geometry."""

import numpy as np
import pytest

from engine.errors import InputError, NotDeterminedError
from engine.flotation.cross_curve_table import CrossCurveTable, compare_cross_curves
from engine.geometry.shapes import Box

L, B, RHO = 60.0, 12.0, 1.025
HULL = Box(x_min_m=0, x_max_m=L, y_min_m=-B / 2, y_max_m=B / 2, z_min_m=0, z_max_m=14).solid()
HEELS = np.array([0.0, 10.0, 20.0, 30.0])


def kn(draft):
    """Box with no corner immersed: |y_B| = B²/12T tan φ, z_B = T/2 + B²/24T tan² φ; KN = |y_B| cos φ + z_B sin φ."""
    slope = np.tan(np.radians(HEELS))
    across, height = B**2 / (12 * draft) * slope, draft / 2 + B**2 / (24 * draft) * slope**2
    return across * np.cos(np.radians(HEELS)) + height * np.sin(np.radians(HEELS))


def table(drafts=(3.5, 4.0, 4.5, 5.0), off=0.0):
    return CrossCurveTable(
        density_t_per_m3=RHO,
        displacement_t=[RHO * L * B * t for t in drafts],
        heel_deg=HEELS,
        kn_m=[kn(t) + off for t in drafts],
    )


def test_righting_arms_of_the_box():
    """Check values of the box 60 × 12, T 3.5, KG 4.5: GZ(10°) = 0.1270880021675 m, GZ(30°) = 0.625 m exactly."""
    arms = table().righting_arms(displacement_t=RHO * L * B * 3.5, density_t_per_m3=RHO, vcg_m=4.5)
    assert arms[0] == pytest.approx(0.0, abs=1e-14)
    assert arms[1] == pytest.approx(0.1270880021675, abs=1e-12)
    assert arms[3] == pytest.approx(0.625, abs=1e-12)


def test_an_off_centre_ship_to_port_is_righted_more_to_starboard():
    plain = table().righting_arms(displacement_t=3000.0, density_t_per_m3=RHO, vcg_m=4.5)
    port = table().righting_arms(displacement_t=3000.0, density_t_per_m3=RHO, vcg_m=4.5, tcg_m=0.1)
    assert port - plain == pytest.approx(0.1 * np.cos(np.radians(HEELS)), abs=1e-14)


def test_between_the_displacements():
    found = table().kn(displacement_t=RHO * L * B * 4.2, density_t_per_m3=RHO)
    assert found == pytest.approx(kn(4.2), abs=0.002)


def test_the_volume_counts_in_other_water():
    salt = table().kn(displacement_t=RHO * 2900.0, density_t_per_m3=RHO)
    fresh = table().kn(displacement_t=1.0 * 2900.0, density_t_per_m3=1.0)
    assert fresh == pytest.approx(salt, rel=1e-13)


@pytest.mark.parametrize(("off", "outcome"), [(0.0499, "within"), (-0.0499, "within"), (0.0501, "exceeded")])
def test_against_the_geometry_within_five_centimetres(off, outcome):
    """MSC.1/Circ.1229: cross curves 5 cm."""
    rows = compare_cross_curves(table=table(off=off), solid=HULL)
    assert len(rows) == 16
    assert {row.outcome for row in rows} == {outcome}
    assert max(abs(row.deviation + off) for row in rows) < 1e-9


@pytest.mark.parametrize("mass", [2582.0, 3691.0])
def test_nothing_is_extrapolated(mass):
    with pytest.raises(NotDeterminedError) as refused:
        table().kn(displacement_t=mass, density_t_per_m3=RHO)
    assert refused.value.code == "beyond-tables"


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"displacement_t": [1000.0]}, "too-few-rows"),
        ({"displacement_t": [1000.0, 900.0]}, "tables-not-monotone"),
        ({"heel_deg": [10.0, 10.0]}, "tables-not-monotone"),
        ({"kn_m": [[1.0, 2.0]]}, "wrong-shape"),
        ({"kn_m": [[1.0, np.nan], [1.0, 2.0]]}, "not-finite"),
    ],
)
def test_refusals(change, code):
    good = {"displacement_t": [1000.0, 2000.0], "heel_deg": [10.0, 20.0], "kn_m": [[1.0, 2.0], [1.0, 2.0]]}
    with pytest.raises(InputError) as refused:
        CrossCurveTable(density_t_per_m3=RHO, **{**good, **change})
    assert refused.value.code == code
