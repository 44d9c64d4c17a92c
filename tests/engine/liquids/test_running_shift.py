"""The true shift of liquid at finite heel against closed forms and summed strips."""

import numpy as np
import pytest

from engine.errors import InputError
from engine.geometry.shapes import Box, Cylinder
from engine.liquids.running_shift import running_shift
from engine.liquids.tank import Tank
from tests.engine.liquids.tanks import clipped_section, standing_cylinder

BOX = Tank.of_solid(Box(0.0, 7.0, -2.5, 2.5, 0.6, 1.5).solid())


def test_short_of_the_corners_it_is_the_wall_sided_form():
    heel = np.array([0.0, 2, -8, 10])
    found = running_shift(BOX, volume_m3=15.75, density_t_per_m3=0.9, heel_deg=heel)
    moment, angle = 0.9 * 7 * 125 / 12, np.radians(heel)
    stiff = 1 + np.tan(angle) ** 2 / 2
    np.testing.assert_allclose(found.moment_tm, moment * np.sin(angle) * stiff, rtol=0, atol=1e-12)
    np.testing.assert_allclose(found.effective_free_surface_moment_tm, moment * stiff, rtol=1e-12)


def test_beyond_them_it_is_less_and_is_that_of_the_clipped_section():
    found = running_shift(BOX, volume_m3=15.75, density_t_per_m3=0.9, heel_deg=40.0)
    section = [(-2.5, 0.6), (2.5, 0.6), (2.5, 1.5), (-2.5, 1.5)]
    upright, _ = clipped_section(section, heel_deg=0.0, area=2.25)
    heeled, _ = clipped_section(section, heel_deg=40.0, area=2.25)
    y, z = heeled - upright
    a = np.radians(40)
    assert found.moment_tm[0] == pytest.approx(0.9 * 15.75 * (z * np.sin(a) - y * np.cos(a)), rel=1e-9)
    assert found.effective_free_surface_moment_tm[0] < 0.9 * 7 * 125 / 12


def test_a_standing_cylinder_is_that_of_summed_strips():
    tank = Tank.of_solid(Cylinder("z", 1.5, 3.0, 4.0, 0.0, 1.5).solid())
    heel = np.array([1.0, 25, 60])
    found = running_shift(tank, volume_m3=9.0, density_t_per_m3=1.0, heel_deg=heel)
    upright = standing_cylinder(radius=1.5, height=3.0, heel_deg=0.0, volume=9.0)
    for row, angle in enumerate(np.radians(heel)):
        y, z = standing_cylinder(radius=1.5, height=3.0, heel_deg=heel[row], volume=9.0) - upright
        expected = 9.0 * (z * np.sin(angle) - y * np.cos(angle))
        assert found.moment_tm[row] == pytest.approx(expected, rel=3e-5)
    assert found.effective_free_surface_moment_tm[0] == pytest.approx(np.pi * 1.5**4 / 4, rel=2e-4)  # small heel: ρ i


def test_a_lying_cylinder_swings_like_a_pendulum():
    tank = Tank.of_solid(Cylinder("x", 1.5, 8.0, 4.0, 0.0, 1.5).solid())
    volume = 0.5 * np.pi * 1.5**2 * 8
    found = running_shift(tank, volume_m3=volume, density_t_per_m3=1.0, heel_deg=[0.0, 5, 45])
    # half full: V × 4r/(3π) = 2 r³ l/3, at every heel; upright it is l w³/12 with w = 2 r, the same
    np.testing.assert_allclose(found.effective_free_surface_moment_tm, 2 * 1.5**3 * 8 / 3, rtol=3e-5)


def test_trim_alone_makes_no_heeling_moment():
    found = running_shift(BOX, volume_m3=15.75, density_t_per_m3=0.9, heel_deg=[0.0, 3.0], slope_ratio=0.02)
    assert found.moment_tm[0] == pytest.approx(0.0, abs=1e-12)
    assert found.moment_tm[1] == pytest.approx(
        running_shift(BOX, volume_m3=15.75, density_t_per_m3=0.9, heel_deg=3.0).moment_tm[0], rel=1e-9
    )


@pytest.mark.parametrize(
    ("given", "code", "field"),
    [
        ({"heel_deg": 81.0}, "out-of-range", "heel_deg"),
        ({"slope_ratio": 1.5}, "out-of-range", "slope_ratio"),
        ({"density_t_per_m3": -1.0}, "not-positive", "density_t_per_m3"),
        ({"volume_m3": 99.0}, "volume-beyond-capacity", "volume_m3"),
    ],
)
def test_what_has_no_shift_is_refused(given, code, field):
    with pytest.raises(InputError) as caught:
        running_shift(BOX, **{"volume_m3": 10.0, "density_t_per_m3": 1.0, "heel_deg": 1.0, **given})
    assert (caught.value.code, caught.value.field) == (code, field)
