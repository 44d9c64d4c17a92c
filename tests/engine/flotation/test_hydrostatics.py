"""Hydrostatics of a box barge, 60 × 12 m, closed forms (IMO- and textbook-free geometry)."""

import numpy as np
import pytest

from engine.flotation.hydrostatics import hydrostatics
from engine.geometry import Planes
from engine.geometry.shapes import Box

BARGE = Box(x_min_m=0, x_max_m=60, y_min_m=-6, y_max_m=6, z_min_m=0, z_max_m=8).solid()


def at(**plane):
    return hydrostatics(
        solid=BARGE,
        planes=Planes.from_waterplanes(length_bp_m=60, **plane),
        density_t_per_m3=1.025,
        length_bp_m=60,
    )


def test_upright_box():
    h = at(draft_m=3.5)
    # closed forms: LBT, T/2, B²/12T, L²/12T, LB + 2T(L + B), ρA/100, Δ BM_L/100L
    expected = {
        "volume_m3": 2520.0,
        "displacement_t": 2583.0,
        "lcb_m": 30.0,
        "tcb_m": 0.0,
        "vcb_m": 1.75,
        "waterplane_area_m2": 720.0,
        "lcf_m": 30.0,
        "bm_transverse_m": 144 / 42,
        "bm_longitudinal_m": 3600 / 42,
        "km_transverse_m": 1.75 + 144 / 42,
        "wetted_area_m2": 1224.0,
        "immersion_t_per_cm": 7.38,
        "moment_to_trim_tm_per_cm": 36.9,
        "block_coefficient": 1.0,
        "prismatic_coefficient": 1.0,
        "midship_coefficient": 1.0,
        "waterplane_coefficient": 1.0,
    }
    assert {name: getattr(h, name)[0] for name in expected} == pytest.approx(expected, rel=1e-12, abs=1e-11)


def test_heeled_and_trimmed_box():
    # closed forms: y_B = −(B²/12T) tan φ to starboard, z_B = T/2 + (B²/24T) tan² φ + t²/24T, x_B = L/2 − L t/12T
    h = at(draft_m=3.5, heel_deg=10.0, trim_m=0.9)
    tan = np.tan(np.radians(10.0))
    assert h.volume_m3[0] == pytest.approx(2520.0, rel=1e-12)
    assert h.tcb_m[0] == pytest.approx(-144 / 42 * tan, abs=1e-12)
    assert h.vcb_m[0] == pytest.approx(1.75 + 144 / 84 * tan**2 + 0.81 / 84, abs=1e-12)
    assert h.lcb_m[0] == pytest.approx(30 - 60 * 0.9 / 42, abs=1e-11)
    # in the inclined plane the breadth is B / cos φ without trim, the area LB / n_z
    upward = 1 / np.sqrt(1 + tan**2 + (0.9 / 60) ** 2)
    assert h.waterplane_area_m2[0] == pytest.approx(720 / upward, rel=1e-12)


def test_density_scales_masses_alone():
    fresh = hydrostatics(
        solid=BARGE,
        planes=Planes.from_waterplanes(draft_m=3.5, length_bp_m=60),
        density_t_per_m3=1.0,
        length_bp_m=60,
    )
    assert fresh.displacement_t[0] == pytest.approx(2520.0, rel=1e-12)
    assert fresh.km_transverse_m[0] == pytest.approx(at(draft_m=3.5).km_transverse_m[0], rel=1e-14)


def test_planes_that_miss_the_hull_have_no_waterplane():
    h = at(draft_m=[-1.0, 9.0])
    assert h.waterplane_area_m2.tolist() == [0.0, 0.0]
    assert np.isnan(h.bm_transverse_m).tolist() == [True, True]
    assert h.volume_m3 == pytest.approx([0.0, 5760.0])
