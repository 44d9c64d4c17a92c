"""What a load added does to a position at a held heel, against positions found anew."""

import numpy as np
import pytest

from engine.flotation.held_heel import HeldHeel, held_heel
from engine.geometry.shapes import Box
from engine.liquids import Liquid, Tank
from tests.engine.stability.ships import workboat_hull

MASS_T, CENTRE_M = 1200.0, np.array([25.5, 0.05, 4.6])
TANK = Tank.of_solid(Box(x_min_m=20, x_max_m=26, y_min_m=-2, y_max_m=2, z_min_m=1, z_max_m=3).solid())
LIQUIDS = [Liquid(TANK, 20.0, 0.9)]
HEEL_DEG = np.array([0.0, 12.0, -35.0, 70.0])


@pytest.fixture(scope="module")
def hull():
    return workboat_hull()


def held(hull, *, load=(0.0, 0.0, 0.0, 0.0), trim="free", **more):
    mass = MASS_T + load[0]
    centre = (MASS_T * CENTRE_M + np.array(load[1:])) / mass
    return held_heel(
        solid=hull,
        density_t_per_m3=1.025,
        mass_t=np.full(len(HEEL_DEG), mass),
        centre_m=np.tile(centre, (len(HEEL_DEG), 1)),
        liquids=LIQUIDS,
        heel_deg=HEEL_DEG,
        slope_ratio=np.full(len(HEEL_DEG), 0.01),
        trim=trim,
        **more,
    )


@pytest.mark.parametrize("trim", ["free", "fixed"])
@pytest.mark.parametrize("place", range(4))
def test_change_by_load_against_positions_found_anew(hull, trim, place):
    step = np.zeros(4)
    step[place] = 0.02  # small: a mesh's waterplane has corners
    above, below = held(hull, load=step, trim=trim), held(hull, load=-step, trim=trim)
    expected = np.stack(
        [
            (above.planes.offsets_m - below.planes.offsets_m) / 0.04,
            (above.planes.normals[:, 0] - below.planes.normals[:, 0]) / 0.04,
            (above.arm_m - below.arm_m) / 0.04,
        ],
        axis=-1,
    )
    found = held(hull, trim=trim).by_load[:, :, place]
    assert found == pytest.approx(expected, rel=1e-5, abs=1e-9)


def test_a_near_start_gives_the_same(hull):
    cold = held(hull)
    warm = held(hull, offsets_m=cold.planes.offsets_m + 0.01, surfaces_m=cold.surfaces_m + 0.01)
    assert warm.arm_m == pytest.approx(cold.arm_m, abs=1e-11)
    assert warm.surfaces_m == pytest.approx(cold.surfaces_m, abs=1e-9)


def test_rows_are_joined_and_taken(hull):
    whole = held(hull)
    rows = np.array([2, 0])
    again = HeldHeel.joined([whole.take(rows), whole.take(np.array([1, 3]))])
    assert again.planes.heel_deg == pytest.approx([-35.0, 0.0, 12.0, 70.0], abs=1e-9)
    assert again.cuts.volume_m3 == pytest.approx(whole.cuts.volume_m3[[2, 0, 1, 3]], rel=1e-14)
    assert again.codes == ("",) * 4
