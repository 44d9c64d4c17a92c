"""Water, against the check values of the equation of state."""

import pytest

from tests.service.cells.conftest import Ask


def test_density(ask: Ask) -> None:
    """Unesco technical papers in marine science 44 (1983), table of check values at p = 0, t68 = 5 and 25 °C."""
    for salinity, t68, density in ((0, 5, 999.96675), (0, 25, 997.04796), (35, 5, 1027.67547), (35, 25, 1023.34306)):
        text = ask("water-density", temperature_c=repr(t68 / 1.00024), salinity_g_per_kg=salinity)
        assert 1000 * float(text) == pytest.approx(density, abs=6e-6)


def test_a_sample_at_its_own_temperature_is_itself(ask: Ask) -> None:
    same = ask("sample-density", density_t_per_m3="1,0253", temperature_c="15", site_temperature_c="15")
    assert float(same) == pytest.approx(1.0253, rel=1e-14)


def test_no_water(ask: Ask) -> None:
    text = ask("sample-density", density_t_per_m3="0.95", temperature_c="15", site_temperature_c="15")
    assert text.startswith("#ERR density-not-of-water: ")
