"""Where positions are sought first: mirror images, and answers that do not depend on the guess."""

from dataclasses import replace

import numpy as np
import pytest

from engine.flotation.equilibrium import equilibrium
from engine.geometry.shapes import Box
from engine.liquids import Liquid, Tank
from engine.stability.sweep import Guess
from tests.engine.stability.ships import workboat


def tank(y_min_m, y_max_m):
    shape = Box(x_min_m=20, x_max_m=30, y_min_m=y_min_m, y_max_m=y_max_m, z_min_m=1, z_max_m=3)
    return Tank.of_solid(shape.solid())


def test_a_mirror_image_swaps_the_tanks_of_a_pair_and_keeps_the_one_amidships():
    port, middle, starboard = [20.0, 3.0, 2.0], [25.0, 0.1, 1.0], [20.1, -3.0, 2.0]
    surfaces = np.array([[port, middle, starboard], [[20.0, 4.0, 2.5], [25.0, 0.5, 1.0], [20.1, -2.5, 1.5]]])
    guess = Guess(np.array([0.01, 0.02]), np.array([3.0, 3.5]), surfaces.copy())
    found = guess.with_mirror_image(np.array([0]), np.array([1]))
    assert found.slope_ratio.tolist() == [0.01, 0.02]
    assert found.offsets_m.tolist() == [3.0, 3.5]
    assert found.surfaces_m[0].tolist() == [port, middle, starboard]
    assert found.surfaces_m[1].tolist() == [[20.1, 2.5, 1.5], [25.0, -0.5, 1.0], [20.0, -4.0, 2.5]]
    assert guess.surfaces_m.tolist() == surfaces.tolist()


def test_a_mirror_image_without_liquids_and_with_a_full_tank():
    bare = Guess(np.zeros(2), np.zeros(2), np.zeros((2, 0, 3))).with_mirror_image(np.array([0]), np.array([1]))
    assert bare.surfaces_m.shape == (2, 0, 3)
    full = np.tile([[np.nan] * 3, [25.0, 0.1, 1.0]], (2, 1, 1))
    found = Guess(np.zeros(2), np.zeros(2), full).with_mirror_image(np.array([0]), np.array([1]))
    assert found.surfaces_m[1, 1].tolist() == [25.0, -0.1, 1.0]


@pytest.fixture(scope="module")
def laden():
    """A workboat with a little weight off her centreline, a pair of tanks, one of them fuller, and one nearly full."""
    liquids = (
        Liquid(tank(1.0, 3.0), 30.0, 0.9),
        Liquid(tank(-3.0, -1.0), 28.0, 0.9),
        Liquid(tank(-1.0, 1.0), 39.5, 1.0),
    )
    return workboat(mass_t=1100.0, centre_m=np.array([25.4, 0.02, 4.4]), liquids=liquids)


def test_arms_begun_where_she_floats_are_those_begun_from_nothing(laden):
    floats = equilibrium(
        solid=laden.solid,
        density_t_per_m3=laden.density_t_per_m3,
        mass_t=laden.mass_t,
        centre_m=laden.centre_m,
        liquids=laden.liquids,
    )
    cold, near = laden.arms(), laden.arms(near=floats)
    assert near.arm_m == pytest.approx(cold.arm_m, abs=1e-11)
    assert near.planes.offsets_m == pytest.approx(cold.planes.offsets_m, abs=1e-11)
    assert near.upright_by_plane == pytest.approx(cold.upright_by_plane, abs=1e-7)


def test_arms_begun_from_those_of_a_ship_that_lists(laden):
    lists = laden.arms()
    assert np.abs(lists.arm_m + lists.arm_m[::-1]).max() > 1e-3  # so both sides are begun at once
    risen = laden.raised(0.2)
    assert risen.arms(start=lists).arm_m == pytest.approx(risen.arms().arm_m, abs=1e-11)
    pair = laden.liquids[0], Liquid(tank(-3.0, -1.0), 30.0, 0.9), laden.liquids[2]
    level = replace(laden, centre_m=np.array([25.4, 0.0, 4.4]), liquids=pair)
    begun = level.arms(start=lists)
    assert begun.arm_m == pytest.approx(-begun.arm_m[::-1], abs=1e-15)  # found alike on both sides, and mirrored
    assert begun.arm_m == pytest.approx(level.arms().arm_m, abs=1e-11)
