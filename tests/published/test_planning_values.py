"""Planning formulae against worked examples of textbooks and of a practitioner's page, unrounded by their own formulae.

"Ship Stability for Masters and Mates": inclining and list chapters; the first two from memory, the next two read.
"""

import numpy as np
import pytest

from engine.planning.instruments import least_length_m
from engine.planning.wall_sided import moment_tm, tangent_ratio

INCH_M = 0.0254


def test_25_t_by_15_m_deflects_a_4_m_pendulum_by_0_20_m():
    # Ship Stability for Masters and Mates, inclining chapter (from memory): GM 0.9375 m, KG 6.0625 m with KM 7 m
    tangent = tangent_ratio(displacement_t=8000, gm_m=7 - 6.0625, moment_tm=25 * 15)
    assert 4 * tangent == pytest.approx(0.20, rel=1e-12)
    assert least_length_m(deflection_m=0.20, tangent_ratio=tangent) == pytest.approx(4, rel=1e-12)


def test_10_t_by_12_m_deflects_a_10_m_pendulum_by_0_25_m():
    # the same chapter (from memory): GM 0.6 m, the displacement found is 8000 t
    tangent = tangent_ratio(displacement_t=8000, gm_m=0.6, moment_tm=10 * 12)
    assert 10 * tangent == pytest.approx(0.25, rel=1e-12)
    assert moment_tm(displacement_t=8000, gm_m=0.6, tangent_ratio=0.25 / 10) == pytest.approx(120, rel=1e-12)


def test_10_t_by_10_m_lists_1500_t_by_9_degrees_27_minutes():
    # Ship Stability for Masters and Mates, exercise 14.4: KG 2.7 m, KM 3.1 m; printed 9° 27'
    tangent = tangent_ratio(displacement_t=1500, gm_m=3.1 - 2.7, moment_tm=10 * 10)
    assert np.degrees(np.arctan(tangent)) == pytest.approx(9.462322208, rel=1e-9)
    assert np.degrees(np.arctan(tangent)) == pytest.approx(9 + 27 / 60, abs=0.5 / 60 + 0.005)


def test_15_t_moved_4_2_m_takes_a_list_of_2_degrees_off():
    # Ship Stability for Masters and Mates, exercise 14.2: 4515 t, KG 5.4 m, KM 5.8 m; printed 4.2 m
    moment = moment_tm(displacement_t=4515, gm_m=5.8 - 5.4, tangent_ratio=float(np.tan(np.radians(2))))
    assert moment / 15 == pytest.approx(4.204460647, rel=1e-9)
    assert round(moment / 15, 1) == 4.2


def test_6_inches_at_2_degrees_need_172_inches():
    # a practitioner's page prints 172 in
    length = least_length_m(deflection_m=6 * INCH_M, tangent_ratio=float(np.tan(np.radians(2)))) / INCH_M
    assert length == pytest.approx(171.8175197, rel=1e-9)
    assert round(length) == 172


@pytest.mark.parametrize("stiffening", [0.0, 3.0])
def test_moment_and_tangent_are_inverse(stiffening):
    for tangent in (-0.07, 0.0, 0.02, 0.3):
        moment = moment_tm(displacement_t=1200, gm_m=0.8, tangent_ratio=tangent, stiffening_m=stiffening)
        back = tangent_ratio(displacement_t=1200, gm_m=0.8, moment_tm=moment, stiffening_m=stiffening)
        assert back == pytest.approx(tangent, abs=1e-13)
