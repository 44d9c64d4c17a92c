"""The incline in cells, against closed forms."""

import math

import pytest

from tests.service.cells.conftest import Ask


def test_moment(ask: Ask) -> None:
    """5 t from y = +4 m to y = −4 m: +40 t·m to starboard."""
    assert ask("moment", mass_t=5, from_y_m=4, to_y_m=-4) == "40.0"


def test_pendulum(ask: Ask) -> None:
    """(0.155 − 0.030)/2.5, with the heel of reading 0 added as a tangent."""
    given = {"deflection_m": "0,155", "initial_deflection_m": "0,03", "length_m": "2,5"}
    assert float(ask("pendulum-tangent", **given)) == pytest.approx(0.05, rel=1e-14)
    assert float(ask("pendulum-tangent", **given, positive="port")) == pytest.approx(-0.05, rel=1e-14)
    tilted = float(ask("pendulum-tangent", **given, initial_heel_deg=1))
    assert tilted == pytest.approx(0.05 + math.tan(math.radians(1)), rel=1e-14)


def test_u_tube(ask: Ask) -> None:
    """((0.66 − 0.34) − (0.52 − 0.50))/8."""
    text = ask(
        "u-tube-tangent",
        starboard_level_m=0.66,
        port_level_m=0.34,
        initial_starboard_level_m=0.52,
        initial_port_level_m=0.50,
        spread_m=8,
    )
    assert float(text) == pytest.approx(0.3 / 8, rel=1e-13)


def test_angle(ask: Ask) -> None:
    text = ask("angle-tangent", angle_deg=1.7, initial_angle_deg=0.2, initial_heel_deg=0.5)
    assert float(text) == pytest.approx(math.tan(math.radians(2.0)), rel=1e-14)


def test_slope_and_gm(ask: Ask) -> None:
    """Least squares by hand: Σxy/Σx² of (−40, −20, 0, 20, 40) about their mean 0, = 2.002/4000; GM = 1/(slope Δ)."""
    line = {"moments": "-40;-20;0;20;40", "tangents": "-0,0199;-0,0101;0;0,0100;0,0201"}
    slope = (40 * 0.0199 + 20 * 0.0101 + 20 * 0.0100 + 40 * 0.0201) / 4000
    assert float(ask("slope", **line)) == pytest.approx(slope, rel=1e-13)
    assert float(ask("gm", **line, displacement_t=2000)) == pytest.approx(1 / (2000 * slope), rel=1e-13)
    table = ask("residual-table", **line).splitlines()
    assert table[0] == "moment_tm,tangent_ratio,residual_ratio"
    residuals = [float(row.split(",")[2]) for row in table[1:]]
    assert sum(residuals) == pytest.approx(0, abs=1e-16)
    assert residuals[0] == pytest.approx(-0.0199 + 40 * slope - 0.0001 / 5, abs=1e-15)  # intercept: mean of tangents


@pytest.mark.parametrize(
    ("moments", "tangents", "code"),
    [("1;2;3", "1;2", "unequal-lengths"), ("5;5", "0;0.1", "moments-equal"), ("0;10", "0;-0.1", "gm-not-positive")],
)
def test_refused(ask: Ask, moments: str, tangents: str, code: str) -> None:
    for path in ("slope", "residual-table"):
        assert ask(path, moments=moments, tangents=tangents).startswith(f"#ERR {code}: ")
    assert ask("gm", moments=moments, tangents=tangents, displacement_t=1).startswith(f"#ERR {code}: ")


def test_list(ask: Ask) -> None:
    """atan(40/(2000 × 1.25)); the other side is the other sign."""
    wanted = math.degrees(math.atan(40 / 2500))
    assert float(ask("list", heeling_moment_tm=40, displacement_t=2000, gm_m="1,25")) == pytest.approx(
        wanted, rel=1e-14
    )
    assert float(ask("list", heeling_moment_tm=-40, displacement_t=2000, gm_m=1.25)) == pytest.approx(
        -wanted, rel=1e-14
    )
    refused = ask("list", heeling_moment_tm=40, displacement_t=2000, gm_m=0)
    assert refused.startswith("#ERR query: gm_m must be 1e-06 or more")
