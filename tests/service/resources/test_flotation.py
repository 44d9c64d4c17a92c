"""Flotation over HTTP: the box barge by closed form, and what is refused."""

import pytest
from starlette.testclient import TestClient

from service.app import create_app
from service.resources.flotation import EXAMPLE


@pytest.fixture(scope="module")
def client():
    with TestClient(create_app()) as one:
        yield one


TANK = {
    "name": "wing",
    "shape": {"kind": "box", "x_min_m": 20, "x_max_m": 30, "y_min_m": -2, "y_max_m": 2, "z_min_m": 0, "z_max_m": 2},
    "density_t_per_m3": 1.0,
    "contents": {"kind": "sounding", "sounding_m": "1 m"},
}


def post(client, **change):
    return client.post("/v1/flotation", json={**EXAMPLE, **change})


def test_the_example_floats_at_the_closed_forms(client):
    found = post(client).json()
    # 2583 t / (1.025 × 720 m²) = 3.5 m; GM = T/2 + B²/12T − KG
    assert found["draft_m"] == pytest.approx(3.5, abs=1e-11)
    assert found["gm_fluid_m"] == pytest.approx(1.75 + 144 / 42 - 4.5, rel=1e-11)


def test_a_sounded_tank_adds_its_mass_and_its_free_surface(client):
    found = post(client, tanks=[TANK]).json()
    assert found["displacement_t"] == pytest.approx(2583 + 40, rel=1e-12)  # 10 × 4 × 1 m³ of fresh water
    # l b³/12 × density, in a surface inclined by the small trim the tank gives her
    assert found["free_surface_moment_tm"] == pytest.approx(10 * 4**3 / 12, rel=1e-4)
    assert found["gm_solid_m"] - found["gm_fluid_m"] == pytest.approx(found["free_surface_moment_tm"] / 2623, rel=1e-9)


@pytest.mark.parametrize(
    ("change", "code", "pointer"),
    [
        ({"mass_t": 6000.0}, "sinks", "#/mass_t"),
        (
            {"tanks": [{**TANK, "contents": {"kind": "volume", "volume_m3": 81}}]},
            "volume-beyond-capacity",
            "#/tanks/0/contents/volume_m3",
        ),
        ({"mass_t": "2583"}, "quantity-no-unit", "#/mass_t"),
        ({"surprise": 1}, "unknown-field", "#"),
    ],
)
def test_refusals(client, change, code, pointer):
    refused = post(client, **change)
    assert refused.status_code == 422
    faults = refused.json()["errors"]
    assert code in [one["code"] for one in faults], faults
    assert pointer is None or pointer in [one["pointer"] for one in faults], faults
