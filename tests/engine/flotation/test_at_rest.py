"""A box that is not stable upright says so; GM upright = T/2 + B²/12T − KG."""

import json

import numpy as np
import pytest

from engine.flotation.at_rest import of_rest, upright_gm_m
from engine.flotation.equilibrium import equilibrium
from service.resources.flotation import EXAMPLE, FlotationRequest
from service.schemas.hull import solid_of

SOLID = solid_of(FlotationRequest.model_validate_json(json.dumps(EXAMPLE)).hull)[0]
KM = 1.75 + 144 / 42  # 12 m wide, 3.5 m deep in the water


def told(y, z):
    given = {"solid": SOLID, "density_t_per_m3": 1.025, "mass_t": 2583.0, "centre_m": np.array([30.0, y, z])}
    at = equilibrium(**given)
    found = of_rest(float(at.planes.heel_deg[0]), upright_gm_m=upright_gm_m(at, **given))
    return {one.code: one.message for one in found}


@pytest.mark.parametrize(("y", "z"), [(0.0, 4.5), (0.2, 4.5), (0.0, KM - 0.01)])
def test_a_ship_stable_upright_says_nothing(y, z):
    assert told(y, z) == {}


@pytest.mark.parametrize("y", [0.0, 0.1])
def test_at_an_angle_of_loll(y):
    found = told(y, 5.6)
    assert set(found) == {"upright-unstable"}
    assert f"GM is {KM - 5.6:.6g} m" in found["upright-unstable"]
    assert "angle of loll" in found["upright-unstable"]


def test_turned_over():
    found = told(0.0, 12.0)
    assert set(found) == {"upright-unstable", "rests-bottom-up"}
    assert f"GM is {KM - 12:.6g} m" in found["upright-unstable"]
    assert "180 deg" in found["rests-bottom-up"]
    assert set(told(5.5, 4.5)) == {"rests-bottom-up"}  # stable upright, and loaded over the side
