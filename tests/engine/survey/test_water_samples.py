"""Samples as read: closed forms of the hydrometer and of EOS-80, and derivatives against differences."""

import pytest

from engine.errors import InputError
from engine.liquids.density import density_at, density_at_slope, sea_water_density
from engine.liquids.hydrometer import Hydrometer
from engine.survey.water_samples import by_density, by_hydrometer


def test_a_density_is_what_was_read():
    found = by_density(1.0215)
    assert (found.field, found.value, found.unit) == ("density_t_per_m3", 1.0215, "t/m³")
    assert (found.density_t_per_m3, found.density_per_value) == (1.0215, 1.0)


def test_a_reading_by_the_glass():
    """ρ = R / (1 + γ (t − t_r)), γ = 25·10⁻⁶: 12.4 °C against 15 °C."""
    found = by_hydrometer(Hydrometer(), field="reading", reading=1.0215, temperature_c=12.4)
    grown = 1 + 25e-6 * (12.4 - 15.0)
    assert found.density_t_per_m3 == pytest.approx(1.0215 / grown, rel=1e-15)
    assert found.density_per_value == pytest.approx(1 / grown, rel=1e-15)
    assert found.unit == "t/m³"


def test_a_relative_density_by_its_water():
    """Pure water of 4 °C has 0.999975 t/m³ (from memory; EOS-80 agrees to 1e-6)."""
    found = by_hydrometer(Hydrometer.relative_15_4(), field="reading", reading=1.02, temperature_c=15.0)
    assert found.density_t_per_m3 == pytest.approx(1.02 * 0.999975, rel=2e-6)
    assert found.density_per_value == pytest.approx(0.999975, rel=2e-6)
    assert found.unit == "1"


@pytest.mark.parametrize(("salinity", "measured", "site"), [(35.0, 25.0, 5.0), (12.0, 4.0, 28.0), (0.5, 20.0, 12.0)])
def test_brought_to_the_site_the_salinity_is_kept(salinity, measured, site):
    """EOS-80 at the same salinity; the derivative against a central difference of the same."""
    density = float(sea_water_density(salinity_g_per_kg=salinity, temperature_c=measured))
    there = by_density(density).at_site(measured_temperature_c=measured, site_temperature_c=site)
    wanted = float(sea_water_density(salinity_g_per_kg=salinity, temperature_c=site))
    assert there.density_t_per_m3 == pytest.approx(wanted, rel=1e-14)
    assert there.value == density
    at = {"measured_temperature_c": measured, "site_temperature_c": site}
    low, high = (float(density_at(density_t_per_m3=density + step, **at)) for step in (-1e-6, 1e-6))
    assert there.density_per_value == pytest.approx((high - low) / 2e-6, rel=1e-7)
    assert there.density_per_value != 1.0
    assert float(density_at_slope(density_t_per_m3=density, **at)) == there.density_per_value


def test_the_slopes_of_reading_and_temperature_multiply():
    marked, at = Hydrometer.relative_60f_60f(), {"measured_temperature_c": 25.0, "site_temperature_c": 8.0}

    def there(reading):
        return by_hydrometer(marked, field="reading", reading=reading, temperature_c=25.0).at_site(**at)

    difference = (there(1.021).density_t_per_m3 - there(1.019).density_t_per_m3) / 0.002
    assert there(1.02).density_per_value == pytest.approx(difference, rel=1e-6)


def test_no_water_of_that_temperature_is_refused():
    """Fresh water of 10 °C has 0.9997 t/m³."""
    with pytest.raises(InputError) as caught:
        by_density(0.99).at_site(measured_temperature_c=10.0, site_temperature_c=12.0)
    assert (caught.value.code, caught.value.field) == ("density-not-of-water", "density_t_per_m3")
