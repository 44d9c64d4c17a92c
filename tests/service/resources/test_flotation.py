"""Flotation over HTTP: the box barge by closed form, and what is refused."""

import pytest
from starlette.testclient import TestClient

from service.app import create_app
from service.resources.flotation import EXAMPLE
from tests.service.resources.test_righting_arms_tables import TABLES


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


def test_by_tables_as_by_the_hull_itself(client):
    """The box at a row of her tables; 0.2 m of LCG trim her 0.14 m, whose square the tables of one trim carry."""
    change = {"x_m": 29.8, "y_m": -0.01}
    found, whole = post(client, hull=TABLES, **change).json(), post(client, **change).json()
    for name in ("draft_m", "trim_m", "lcb_m", "vcb_m", "displacement_t", "volume_m3", "lcg_m", "tcg_m", "vcg_m"):
        assert found[name] == pytest.approx(whole[name], abs=1e-4), name  # by her list, which lifts B
    assert found["heel_deg"] == pytest.approx(whole["heel_deg"], abs=0.005)
    assert found["gm_solid_m"] == pytest.approx(whole["gm_solid_m"], abs=0.002)
    assert found["gm_longitudinal_m"] == pytest.approx(whole["gm_longitudinal_m"], rel=1e-3)
    assert [one["code"] for one in found["findings"]] == ["trim-off-tables"]


def test_by_tables_liquids_are_corrected_for(client):
    found = post(client, hull=TABLES, tanks=[TANK]).json()
    assert found["displacement_t"] == pytest.approx(2583 + 40, rel=1e-12)  # 10 × 4 × 1 m³ of fresh water
    assert found["free_surface_moment_tm"] == pytest.approx(10 * 4**3 / 12, rel=1e-12)  # ρ l b³/12
    assert found["gm_solid_m"] - found["gm_fluid_m"] == pytest.approx(10 * 4**3 / 12 / 2623, rel=1e-9)
    assert found["vcg_m"] == pytest.approx((2583 * 4.5 + 40 * 0.5) / 2623, rel=1e-12)
    assert "tables-no-geometry" in [one["code"] for one in found["findings"]]


@pytest.mark.parametrize(
    ("change", "code", "pointer"),
    [
        ({"mass_t": 9000.0}, "beyond-tables", "#/mass_t"),
        ({"z_m": 9.0}, "gm-not-positive", "#/z_m"),
        ({"y_m": 0.2}, "heel-needs-hull", "#/z_m"),
        ({"sag_m": 0.02}, "tables-no-geometry", "#/sag_m"),
        ({"x_m": 10.0}, "beyond-tables", "#/hull"),
    ],
)
def test_what_tables_do_not_hold_is_refused(client, change, code, pointer):
    reply = post(client, hull=TABLES, **change)
    assert reply.status_code == 422
    assert [(one["code"], one["pointer"]) for one in reply.json()["errors"]] == [(code, pointer)]
