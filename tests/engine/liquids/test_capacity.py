"""Capacity tables: closed forms of a box of 7 × 5 × 0.9 m, bottom at z = 0.6."""

import numpy as np
import pytest

from engine.errors import InputError, LimitError
from engine.geometry.shapes import Box
from engine.liquids.capacity import capacity_table, tank_state
from engine.liquids.sounding import SoundingPipe
from engine.liquids.sounding_table import SoundingTable
from engine.liquids.tank import Tank
from tests.engine.liquids.tanks import normal

SOLID = Box(0.0, 7.0, -2.5, 2.5, 0.6, 1.5).solid()
TANK = Tank.of_solid(SOLID, permeability_ratio=0.8)
UPRIGHT = [0.0, 0.0, 1.0]


def test_an_upright_table_by_steps():
    table = capacity_table(TANK, normal=UPRIGHT, density_t_per_m3=0.9, step_m=0.4)
    sounding = np.array([0, 0.4, 0.8, 0.9])
    np.testing.assert_allclose(table.sounding_m, sounding, atol=1e-15)
    np.testing.assert_allclose(table.ullage_m, 0.9 - sounding, atol=1e-15)
    np.testing.assert_allclose(table.level_m, 0.6 + sounding)
    np.testing.assert_allclose(table.volume_m3, 28 * sounding, atol=1e-13)
    np.testing.assert_allclose(table.fill_percent, 100 * sounding / 0.9, atol=1e-11)
    np.testing.assert_allclose(table.mass_t, 25.2 * sounding, atol=1e-13)
    np.testing.assert_allclose(table.centroid_m[1:, 2], 0.6 + sounding[1:] / 2)
    assert np.isnan(table.centroid_m[0]).all()
    np.testing.assert_allclose(table.surface_area_m2, [0, 28, 28, 0], atol=1e-12)
    np.testing.assert_allclose(table.surface_moment_m4, np.array([0, 1, 1, 0]) * 0.8 * 7 * 125 / 12, atol=1e-11)
    longitudinal = np.array([0, 1, 1, 0]) * 0.8 * 5 * 343 / 12
    np.testing.assert_allclose(table.surface_moment_longitudinal_m4, longitudinal, atol=1e-11)
    assert np.isnan(table.offsets_m[[0, 3]]).all()


def test_a_step_that_fits_ends_once_at_the_top():
    table = capacity_table(TANK, normal=UPRIGHT, density_t_per_m3=1.0, step_m=0.3)
    np.testing.assert_allclose(table.sounding_m, [0, 0.3, 0.6, 0.9], atol=1e-15)


def test_a_heeled_and_trimmed_table_by_soundings():
    n = normal(3.0, 0.01)
    table = capacity_table(TANK, normal=n, density_t_per_m3=1.0, soundings_m=[0.45, 0.3])
    # no corner touched: the mean depth is that at the pipe in the middle
    np.testing.assert_allclose(table.volume_m3, [12.6, 8.4], rtol=1e-13)
    # surface of a box in its own plane: area / n_z; across the ship each breadth grows by 1/cos(heel)
    heel = np.arctan2(n[1], n[2])
    np.testing.assert_allclose(table.surface_area_m2, 28 / n[2], rtol=1e-13)
    across = np.array([0, np.cos(heel), -np.sin(heel)])
    # a surface point is (x, y, −(x n_x + y n_y) / n_z); ∫y² and ∫x² of the plan are l b³/12 and b l³/12
    by_y, by_x = across[1] - across[2] * n[1] / n[2], across[2] * n[0] / n[2]
    second = 0.8 / n[2] * (7 * 125 / 12 * by_y**2 + 5 * 343 / 12 * by_x**2)
    np.testing.assert_allclose(table.surface_moment_m4, second, rtol=1e-12)


def test_a_surface_that_misses_the_pipe_has_no_sounding():
    aside = Tank.of_solid(SOLID, pipe=SoundingPipe.vertical(x_m=3.5, y_m=2.4, z_min_m=0.6, z_max_m=1.5))
    state = tank_state(aside, volume_m3=1.0, normals=[normal(10), UPRIGHT], density_t_per_m3=1.0)
    assert np.isnan([state.sounding_m[0], state.ullage_m[0], state.level_m[0]]).all()
    assert state.sounding_m[1] == pytest.approx(1 / 35, rel=1e-12)


def test_a_tank_given_by_a_table_has_no_level_and_no_longitudinal_moment():
    columns = {"sounding_m": [0.1, 1.0], "volume_m3": [1, 10], "x_m": [3, 3], "y_m": [0, 0], "z_m": [0, 1]}
    tank = Tank.of_table(SoundingTable.from_columns(**columns, free_surface_moment_m4=[5, 5]))
    table = capacity_table(tank, normal=UPRIGHT, density_t_per_m3=1.0, step_m=0.5)
    np.testing.assert_allclose(table.sounding_m, [0.1, 0.6, 1.0])
    np.testing.assert_allclose(table.volume_m3, [1, 6, 10])
    np.testing.assert_allclose(table.surface_moment_m4, [5, 5, 0])
    assert np.isnan(table.level_m).all()
    assert np.isnan(table.surface_moment_longitudinal_m4).all()


@pytest.mark.parametrize(
    ("given", "error", "code", "field"),
    [
        ({}, InputError, "soundings-or-step", "soundings_m"),
        ({"soundings_m": [0.1], "step_m": 0.1}, InputError, "soundings-or-step", "soundings_m"),
        ({"step_m": 0.0}, InputError, "not-positive", "step_m"),
        ({"step_m": 1e-5}, LimitError, "too-many-rows", "step_m"),
        ({"step_m": 1e-300}, LimitError, "too-many-rows", "step_m"),
        ({"soundings_m": np.zeros(10_001)}, LimitError, "too-many-rows", "soundings_m"),
        ({"soundings_m": [0.1, 1.0]}, InputError, "out-of-range", "sounding_m"),
        ({"soundings_m": [0.1], "density_t_per_m3": 0.0}, InputError, "not-positive", "density_t_per_m3"),
    ],
)
def test_what_gives_no_table_is_refused(given, error, code, field):
    with pytest.raises(error) as caught:
        capacity_table(TANK, **{"normal": UPRIGHT, "density_t_per_m3": 1.0, **given})
    assert (caught.value.code, caught.value.field) == (code, field)
