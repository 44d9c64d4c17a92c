"""Tanks over HTTP: a box tank by closed forms, and what is refused."""

import numpy as np
import pytest
from starlette.testclient import TestClient

from service.app import create_app
from service.resources.tanks import EXAMPLE, TANK


@pytest.fixture(scope="module")
def client():
    with TestClient(create_app()) as one:
        yield one


def test_capacity_of_a_box(client):
    found = client.post("/v1/tanks/capacity", json={**EXAMPLE, "step_m": 0.5}).json()
    assert found["capacity_m3"] == pytest.approx(80.0, rel=1e-12)
    columns = found["columns"]
    assert columns["volume_m3"] == pytest.approx([0, 20, 40, 60, 80], abs=1e-10)  # 10 × 4 × sounding
    assert columns["mass_t"][2] == pytest.approx(40 * 0.86, rel=1e-12)
    assert columns["vcg_m"][2] == pytest.approx(0.5, abs=1e-12)
    # ρ l b³/12, and none where empty or full
    assert columns["free_surface_moment_tm"] == pytest.approx([0, *[0.86 * 10 * 64 / 12] * 3, 0], abs=1e-9)


def test_true_shift_of_a_box_is_wall_sided(client):
    found = client.post("/v1/tanks/free-surface", json={**EXAMPLE, "heel_deg": [0.0, 10.0]}).json()
    small = 0.86 * 10 * 64 / 12
    assert found["free_surface_moment_tm"] == pytest.approx(small, rel=1e-11)
    # wall-sided: ρ i (1 + tan²/2) sin φ about the upright centre (closed form)
    angle = np.radians(10.0)
    assert found["shift_moment_tm"][1] == pytest.approx(small * (1 + np.tan(angle) ** 2 / 2) * np.sin(angle), rel=1e-9)


@pytest.mark.parametrize(
    ("path", "change", "code", "pointer"),
    [
        ("capacity", {}, "soundings-or-step", "#"),
        ("capacity", {"soundings_m": [9.0]}, "out-of-range", "#"),
        (
            "free-surface",
            {"tank": {**TANK, "contents": {"kind": "volume", "volume_m3": 81.0}}},
            "volume-beyond-capacity",
            "#/tank/contents/volume_m3",
        ),
        ("free-surface", {"tank": {**TANK, "shape": {**TANK["shape"], "z_max_m": -1.0}}}, "box-ends", "#/tank/shape"),
        ("free-surface", {"heel_deg": [81.0]}, None, "#/heel_deg/0"),
    ],
)
def test_refusals(client, path, change, code, pointer):
    refused = client.post(f"/v1/tanks/{path}", json={**EXAMPLE, **change})
    assert refused.status_code == 422
    faults = refused.json()["errors"]
    assert code is None or code in [one["code"] for one in faults], faults
    assert any(one["pointer"].startswith(pointer) for one in faults), faults
