"""Free surfaces of simple shape, against their closed forms."""

import math

import pytest

from tests.service.cells.conftest import Ask


@pytest.mark.parametrize(
    ("form", "given", "moment_tm"),
    [
        ("rectangle", {"length_m": 10, "breadth_m": 4}, 10 * 4**3 / 12),
        ("isosceles-triangle", {"length_m": 10, "breadth_m": 4}, 10 * 4**3 / 48),
        ("right-triangle", {"length_m": 10, "breadth_m": 4}, 10 * 4**3 / 36),
        ("trapezoid", {"length_m": 10, "breadth_aft_m": 4, "breadth_forward_m": 4}, 10 * 4**3 / 12),
        ("trapezoid", {"length_m": 10, "breadth_aft_m": 4, "breadth_forward_m": 1}, 10 * 5 * 17 / 48),
        ("circle", {"radius_m": 2}, math.pi * 2**4 / 4),
        ("lying-cylinder", {"length_m": 10, "radius_m": 2, "depth_m": 2}, 10 * 4**3 / 12),
    ],
)
def test_form(ask: Ask, form: str, given: dict[str, float], moment_tm: float) -> None:
    path = f"free-surface-{form}"
    assert float(ask(path, **given)) == pytest.approx(moment_tm, rel=1e-14)  # of fresh water, 1 t/m³
    assert float(ask(path, **given, density_t_per_m3="0,86")) == pytest.approx(0.86 * moment_tm, rel=1e-14)


def test_too_deep(ask: Ask) -> None:
    assert ask("free-surface-lying-cylinder", length_m=10, radius_m=2, depth_m=5).startswith("#ERR ")
