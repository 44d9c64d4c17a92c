"""Worked examples of textbooks, each with its source; answers unrounded, the book's figure behind.

S is "Ship Stability for Masters and Mates".
"""

import numpy as np
import pytest

from engine.flotation.equilibrium import equilibrium
from engine.flotation.hydrostatics import hydrostatics
from engine.geometry import Planes, SurfaceSolid
from engine.geometry.shapes import Box, Prism, PrismSection
from engine.survey.ledger import Item, change_by, total


def box(length, breadth, depth):
    return Box(x_min_m=0, x_max_m=length, y_min_m=-breadth / 2, y_max_m=breadth / 2, z_min_m=0, z_max_m=depth).solid()


def upright(solid: SurfaceSolid, *, draft, length, density=1.025):
    return hydrostatics(
        solid=solid,
        planes=Planes.from_waterplanes(draft_m=draft, length_bp_m=length),
        density_t_per_m3=density,
        length_bp_m=length,
    )


def test_box_ship_of_65_by_12_m():
    # S p. 130: 65 × 12 × 8 m, draft 4 m, KG 4 m: W 3198 t, KB 2, BM 3, GM 1 m
    h = upright(box(65, 12, 8), draft=4.0, length=65)
    assert h.displacement_t[0] == pytest.approx(3198.0, rel=1e-12)
    assert (h.vcb_m[0], h.bm_transverse_m[0]) == pytest.approx((2.0, 3.0), rel=1e-12)
    # its righting moment at 25°, wall-sided: GZ 0.5604612293 m, 1792.355011 t·m (computed, not in the book)
    held = equilibrium(
        solid=box(65, 12, 8),
        density_t_per_m3=1.025,
        mass_t=3198.0,
        centre_m=[32.5, 0.0, 4.0],
        start=Planes.from_waterplanes(draft_m=4.0, heel_deg=25.0, length_bp_m=65),
        hold="heel",
    )
    assert held.righting_arm_m[0] == pytest.approx(0.5604612293, abs=2e-10)
    assert held.righting_arm_m[0] * 3198 == pytest.approx(1792.355011, abs=1e-6)


def test_least_km_of_a_box_ten_metres_broad():
    # S p. 111: breadth 10 m: KM is least, 10/√6 = 4.082482905 m, at that draft (book 4.08);
    # BM at 3.5 m 2.380952381 (book 2.38)
    solid, draft = box(50, 10, 9), 10 / np.sqrt(6)
    h = upright(solid, draft=[draft - 0.01, draft, draft + 0.01, 3.5], length=50)
    assert h.km_transverse_m[1] == pytest.approx(4.082482905, abs=1e-9)
    assert h.km_transverse_m[1] < min(h.km_transverse_m[0], h.km_transverse_m[2])
    assert h.bm_transverse_m[3] == pytest.approx(2.380952381, abs=1e-9)


def test_triangular_prism():
    # S (from memory): 32 m long, 8 m broad at the top, 5 m deep, draft 4 m, KG 3.7: KB 2.6667, BM 1.7067, GM 0.6733
    triangle = np.array([[0.0, 0.0], [4.0, 5.0], [-4.0, 5.0]])
    solid = Prism((PrismSection(0.0, triangle), PrismSection(32.0, triangle))).solid()
    h = upright(solid, draft=4.0, length=32)
    assert h.vcb_m[0] == pytest.approx(8 / 3, rel=1e-12)
    assert h.bm_transverse_m[0] == pytest.approx(1.7066666667, abs=1e-9)
    assert h.km_transverse_m[0] - 3.7 == pytest.approx(0.6733333333, abs=1e-9)


def test_box_of_120_by_15_m():
    # textbook solution page (givens read): draft 4 m in salt water: 7380 t, 18.45 t/cm
    h = upright(box(120, 15, 8), draft=4.0, length=120)
    assert (h.displacement_t[0], h.immersion_t_per_cm[0]) == pytest.approx((7380.0, 18.45), rel=1e-12)


def test_final_kg_of_loads_and_discharges():
    # S, final KG chapter (from memory): 44330/7000 = 6.332857143 m
    def item(action, mass, kg):
        return Item(action, mass, np.array([0.0, 0.0, kg]))

    change = total(
        change_by(one)
        for one in (
            item("add", 1000, 2.5),
            item("add", 500, 3.5),
            item("add", 750, 9.0),
            item("remove", 450, 0.6),
            item("remove", 800, 3.0),
        )
    )
    assert (6000 * 6.0 + change.moment_tm[2]) / (6000 + change.mass_t) == pytest.approx(6.332857143, abs=1e-9)


def test_angle_of_loll_of_a_box():
    # tutorial sheet (read): box 100 × 12 m, draft 4 m, loll 25°: GM −0.3261642481 m (sheet 0.3262)
    kg = 2 + 3 + 0.3261642481  # KB + BM − GM
    found = equilibrium(solid=box(100, 12, 9), density_t_per_m3=1.025, mass_t=4920.0, centre_m=[50.0, 0.0, kg])
    assert abs(found.planes.heel_deg[0]) == pytest.approx(25.0, abs=1e-6)
