"""The example tank, a box of 10 × 4 × 2 m, against closed forms; its liquid is of 0.86 t/m³."""

import pytest

from tests.service.cells.conftest import Ask

FUEL = {"hull": "example-barge", "tank": "fuel"}


@pytest.mark.parametrize(
    ("quantity", "value"),
    [
        ("volume_m3", 48.0),
        ("mass_t", 48 * 0.86),
        ("fill_percent", 60.0),
        ("lcg_m", 25.0),
        ("vcg_m", 0.6),
        ("ullage_m", 0.8),
        ("free_surface_moment_tm", 0.86 * 10 * 4**3 / 12),
    ],
)
def test_capacity(ask: Ask, quantity: str, value: float) -> None:
    text = ask("capacity", **FUEL, sounding_m="1,2", quantity=quantity)
    assert float(text) == pytest.approx(value, rel=1e-12)


def test_table(ask: Ask) -> None:
    rows = ask("capacity-table", **FUEL, soundings="0;0,5;2").splitlines()
    assert rows[0].startswith("sounding_m,volume_m3,")
    assert [float(row.split(",")[1]) for row in rows[1:]] == [0.0, 20.0, 80.0]


@pytest.mark.parametrize(
    ("given", "code"),
    [({"tank": "ballast"}, "tank-unknown"), ({"hull": "no-such"}, "hull-unknown"), ({"heel_deg": 81}, "query")],
)
def test_refused(ask: Ask, given: dict[str, object], code: str) -> None:
    one = ask("capacity", **{**FUEL, **given}, sounding_m=1, quantity="volume_m3")
    assert one.startswith(f"#ERR {code}: ")
    assert ask("capacity-table", **{**FUEL, **given}, soundings="1").startswith(f"#ERR {code}: ")


def test_empty_has_no_centre(ask: Ask) -> None:
    assert ask("capacity", **FUEL, sounding_m=0, quantity="vcg_m").startswith("#ERR not-defined-here: ")
