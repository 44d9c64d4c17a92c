"""Slips of a unit among weights, displacement and GM; every limit is our choice, held from both sides."""

import numpy as np
import pytest

from engine.errors import NotDeterminedError
from engine.incline.plausible import masses_out_of_scale, refuse_implausible_gm, refuse_implausible_vcg


def told(masses, displacement):
    return [
        (one.code, one.message.split(":")[0])
        for one in masses_out_of_scale(masses_t=masses, displacement_t=displacement)
    ]


@pytest.mark.parametrize(
    ("masses", "displacement", "places"),
    [
        ((5.2, 5.0, 5.1, 5.3), 1228.0, []),
        ((5.2, 1.0), 30.0, []),  # a launch: 17 %
        ((5200.0, 5.0, 5.1, 5.3), 1228.0, ["weights/0"]),  # kilograms
        ((5200.0, 5.0), 1e6, ["weights/0"]),  # 1040 times the other, though a small part of the ship
        ((5.2, 5.0, 0.0051, 5.3), None, ["weights/2"]),  # tonnes twice; no displacement known
        ((5.2, 5200.0, 5.1), None, ["weights/1"]),
        ((5.2, 5.0), 1.0, ["weights/0", "weights/1"]),
    ],
)
def test_masses_that_do_not_go_with_the_rest(masses, displacement, places):
    assert told(masses, displacement) == [("mass-out-of-scale", place) for place in places]


def test_a_displacement_no_weights_could_heel():
    (found,) = masses_out_of_scale(masses_t=(5.2, 5.0), displacement_t=1.0e6)  # 0.001 %
    assert found.code == "displacement-out-of-scale"
    assert not told((5.2, 5.0), 1.0e5)  # 0.0102 %
    assert not told((), 1.0e5)


@pytest.mark.parametrize(("vcg", "limit"), [(-8.1, -8.0), (16.1, 16.0), (-827.0, -8.0)])
def test_a_centre_a_hull_height_outside_is_refused(vcg, limit):
    with pytest.raises(NotDeterminedError) as caught:
        refuse_implausible_vcg(vcg, gm_m=1.0, heights_m=np.array([0.0, 8.0]))
    assert (caught.value.code, caught.value.field, caught.value.limit) == ("gm-implausible", "weights", limit)


def test_a_centre_above_the_hull_by_less_is_not():
    for vcg in (-7.9, 4.0, 15.9):
        refuse_implausible_vcg(vcg, gm_m=1.0, heights_m=np.array([0.0, 8.0]))


def test_a_gm_no_ship_of_that_displacement_has():
    refuse_implausible_gm(299.0, displacement_t=1000.0)  # 30 × 1000^(1/3) = 300
    with pytest.raises(NotDeterminedError) as caught:
        refuse_implausible_gm(301.0, displacement_t=1000.0)
    assert (caught.value.code, caught.value.limit) == ("gm-implausible", pytest.approx(300.0, rel=1e-12))
