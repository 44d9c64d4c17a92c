"""The example barge, a box of 60 × 12 × 8 m, against closed forms."""

import math

import pytest

from tests.service.cells.conftest import Ask

T, B = 3.5, 12.0
LOADED = {"hull": "example-barge", "displacement_t": 60 * B * T * 1.025, "lcg_m": 30, "vcg_m": 4.5}


@pytest.mark.parametrize(
    ("quantity", "value"),
    [
        ("volume_m3", 60 * B * T),
        ("displacement_t", 60 * B * T * 1.025),
        ("vcb_m", T / 2),
        ("km_transverse_m", T / 2 + B**2 / (12 * T)),
        ("waterplane_area_m2", 720),
        ("block_coefficient", 1.0),
        ("lcf_m", 30.0),
    ],
)
def test_hydrostatic(ask: Ask, quantity: str, value: float) -> None:
    text = ask("hydrostatic", hull="example-barge", quantity=quantity, draft_m="3,5")
    assert float(text) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("given", "code"),
    [
        ({"draft_m": 9}, "waterplane-above-hull"),
        ({"draft_m": -1}, "waterplane-below-hull"),
        ({"draft_m": 3, "hull": "no-such"}, "hull-unknown"),
        ({"draft_m": 3, "hull": "../x"}, "query"),
        ({"draft_m": 3, "quantity": "colour"}, "query"),
    ],
)
def test_refused(ask: Ask, given: dict[str, object], code: str) -> None:
    text = ask("hydrostatic", **{"hull": "example-barge", "quantity": "lcf_m", **given})
    assert text.startswith(f"#ERR {code}: ")


def test_table_of_a_hull_that_is_not_there(ask: Ask) -> None:
    assert ask("hydrostatic-table", hull="no-such", drafts="1;2").startswith("#ERR hull-unknown: ")


@pytest.mark.parametrize("heel", [-20, -5, 0, 5, 20, 30])
def test_wall_sided_arm(ask: Ask, heel: float) -> None:
    """Until the deck or the bilge is reached: GZ = sin φ (GM + ½ BM tan² φ), here BM = B²/12T."""
    bm = B**2 / (12 * T)
    angle = math.radians(abs(heel))
    wanted = math.sin(angle) * (T / 2 + bm - 4.5 + 0.5 * bm * math.tan(angle) ** 2)
    assert T - 6 * math.tan(angle) > 0
    assert float(ask("righting-arm", **LOADED, heel_deg=heel)) == pytest.approx(wanted, abs=1e-12)
    assert float(ask("righting-arm", **LOADED, heel_deg=heel, quantity="draft_m")) == pytest.approx(T, rel=1e-9)


def test_table_of_arms(ask: Ask) -> None:
    rows = ask("righting-arm-table", **LOADED, heels="-20;0;20").splitlines()
    assert rows[0] == "heel_deg,righting_arm_m,gm_fluid_m,draft_m,trim_m"
    arms = [float(row.split(",")[1]) for row in rows[1:]]
    assert arms[0] == pytest.approx(arms[2], rel=1e-12)
    assert arms[1] == pytest.approx(0, abs=1e-12)


def test_too_heavy(ask: Ask) -> None:
    for path, more in (("righting-arm", {"heel_deg": 10}), ("righting-arm-table", {"heels": "10"})):
        assert ask(path, **{**LOADED, "displacement_t": 1e5}, **more).startswith("#ERR sinks: ")
