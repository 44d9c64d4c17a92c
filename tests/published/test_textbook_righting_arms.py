"""Righting arms, moments and lists of textbooks, by the whole curve; unrounded values, the book's figure behind.

S is "Ship Stability for Masters and Mates". The books state KM, KB and mass, not a hull: a hull with those values and
the property the example assumes (wall-sided, or KM the same at every heel) is made here.
"""

import numpy as np
import pytest

from engine.flotation.arm_curve import side_curve
from engine.flotation.righting_arms import righting_arms
from tests.engine.flotation.arm_hulls import Ellipsoid, barge

SEA = 1.025


def arms_of(*, length, breadth, depth, draft, kg, heel, off=0.0):
    return righting_arms(
        solid=barge(depth, length_m=length, breadth_m=breadth),
        density_t_per_m3=SEA,
        mass_t=SEA * length * breadth * draft,
        centre_m=[length / 2, off, kg],
        heel_deg=heel,
    )


def test_righting_moment_of_4000_t_at_5_degrees():
    # S list chapter (from memory): W 4000 t, KG 5.5 m, KM 6.0 m; W GM sin 5° = 174.3114855 t·m, book 174.4. An
    # ellipsoid of b = c = 6 m has KM 6 m at every heel; 5° is one of its 72 sides.
    body = Ellipsoid(80.0, 6.0, 6.0)
    solid = body.solid()
    assert SEA * solid.volume_m3 > 4000
    arms = righting_arms(solid=solid, density_t_per_m3=SEA, mass_t=4000.0, centre_m=[0, 0, 5.5], heel_deg=[0.0, 5.0])
    assert arms.gm_fluid_m[0] == pytest.approx(0.5, abs=2e-3)  # facets; the arm is exact
    assert 4000 * arms.gz_m[1] == pytest.approx(174.3114855, abs=1e-7)


def test_wall_sided_ship_of_6000_t_at_25_degrees():
    # S p. 130: W 6000 t, KB 3, KM 6, KG 5.5 m, 25°: GZ 0.3491520984 m, 2094.912591 t·m; book 0.35 and 2100
    breadth = np.sqrt(12 * 6 * 3)  # draft 6: KB 3 and BM 3
    arms = arms_of(length=6000 / SEA / breadth / 6, breadth=breadth, depth=12, draft=6, kg=5.5, heel=25.0)
    assert arms.mass_t == pytest.approx(6000.0)
    assert arms.gz_m[0] == pytest.approx(0.3491520984, abs=1e-10)
    assert arms.mass_t * arms.gz_m[0] == pytest.approx(2094.912591, abs=1e-6)


def test_box_ship_of_65_by_12_m():
    # S p. 130: 65 × 12 × 8 m, draft 4, KG 4: W 3198 t; at 5° the wall-sided arm gives 279.79 t·m where the book's
    # W GM sin φ is 278.7240653 (book 278.9). At 25° GZ 0.5604612293 m, 1792.355011 t·m (computed, not in the book).
    arms = arms_of(length=65, breadth=12, depth=8, draft=4, kg=4, heel=[0.0, 5.0, 25.0])
    assert arms.mass_t == pytest.approx(3198.0)
    assert arms.gm_fluid_m[0] == pytest.approx(1.0, abs=1e-12)
    assert arms.mass_t * arms.gm_fluid_m[0] * np.sin(np.radians(5)) == pytest.approx(278.7240653, abs=1e-7)
    share = 1 + 3 * np.tan(np.radians(5)) ** 2 / 2  # the part the book leaves out
    assert arms.mass_t * arms.gz_m[1] == pytest.approx(278.7240653 * share, abs=1e-6)
    assert arms.gz_m[2] == pytest.approx(0.5604612293, abs=1e-10)
    assert arms.mass_t * arms.gz_m[2] == pytest.approx(1792.355011, abs=1e-6)


def test_angle_of_loll_of_20000_t():
    # tutorial sheet: I = 75 000 m⁴, W 20 000 t, GM −0.83 m: BM 3.84375 m, loll 33.31164113°, sheet 33.31
    bm, draft = 75_000 * SEA / 20_000, 9.0
    assert bm == 3.84375
    breadth = np.sqrt(12 * draft * bm)
    arms = arms_of(
        length=12 * 75_000 / breadth**3, breadth=breadth, depth=18, draft=draft, kg=draft / 2 + bm + 0.83, heel=0.0
    )
    assert arms.mass_t == pytest.approx(20_000.0)
    assert arms.gm_fluid_m[0] == pytest.approx(-0.83, abs=1e-11)
    for side in ("starboard", "port"):
        assert side_curve(arms, side=side, range_deg=50.0).start_deg == pytest.approx(33.31164113, abs=1e-8)


def test_box_that_lolls_at_25_degrees():
    # tutorial sheet: 100 × 12 m, draft 4, loll 25°: GM −0.3261642481 m, sheet 0.3262
    arms = arms_of(length=100, breadth=12, depth=8, draft=4, kg=2 + 3 + 0.3261642481, heel=0.0)
    assert side_curve(arms, side="starboard", range_deg=40.0).start_deg == pytest.approx(25.0, abs=1e-8)


def test_list_at_no_gm():
    # exam question bank: W 12 250 t, KM = KG = 8 m, KB 3.8 m, 2 t moved 12 m: tan³ = 2 w d/(W BM), 5.580820871°
    breadth = np.sqrt(12 * 7.6 * 4.2)
    arms = arms_of(
        length=12_250 / SEA / breadth / 7.6,
        breadth=breadth,
        depth=15,
        draft=7.6,
        kg=8.0,
        off=-2 * 12 / 12_250,
        heel=0.0,
    )
    assert arms.gm_fluid_m[0] == pytest.approx(0.0, abs=1e-11)
    assert side_curve(arms, side="starboard", range_deg=40.0).start_deg == pytest.approx(5.580820871, abs=1e-6)
