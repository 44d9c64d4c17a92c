"""Density of water: limits, inverse, another temperature. Published values are in tests/published."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.errors import InputError
from engine.liquids.density import density_at, fresh_water_density, salinity_from_density, sea_water_density


@given(st.floats(0, 42), st.floats(-2, 40))
@settings(max_examples=60)
def test_salinity_and_density_are_each_other_s_inverse(salinity, temperature):
    density = sea_water_density(salinity_g_per_kg=salinity, temperature_c=temperature)
    back = salinity_from_density(density_t_per_m3=density, temperature_c=temperature)
    # one rounding of the density, 2e-16, over dρ/dS of 7e-4 at least
    assert back == pytest.approx(salinity, abs=3e-12)


def test_a_sample_that_warmed_on_the_way_is_taken_back():
    # EOS-80 of salinity 35 at t68 = 25 and 5: the Unesco check values (technical paper 44, from memory)
    at_site = density_at(
        density_t_per_m3=1.02334306, measured_temperature_c=25 / 1.00024, site_temperature_c=5 / 1.00024
    )
    assert at_site == pytest.approx(1.02767547, abs=1.5e-8)
    fresh = fresh_water_density(temperature_c=22.0)
    assert density_at(density_t_per_m3=fresh, measured_temperature_c=22.0, site_temperature_c=9.0) == pytest.approx(
        fresh_water_density(temperature_c=9.0), abs=1e-15
    )


def test_the_salinity_slope_is_finite_in_fresh_water():
    temperature = np.array([0.0, 10, 30])
    fresh = fresh_water_density(temperature_c=temperature)
    np.testing.assert_allclose(salinity_from_density(density_t_per_m3=fresh, temperature_c=temperature), 0, atol=1e-12)


@pytest.mark.parametrize(
    ("call", "code", "field", "limit"),
    [
        (lambda: sea_water_density(salinity_g_per_kg=42.1, temperature_c=10), "out-of-range", "salinity_g_per_kg", 42),
        (lambda: sea_water_density(salinity_g_per_kg=-0.1, temperature_c=10), "out-of-range", "salinity_g_per_kg", 0),
        (lambda: sea_water_density(salinity_g_per_kg=35, temperature_c=40.5), "out-of-range", "temperature_c", 40),
        (lambda: fresh_water_density(temperature_c=-2.5), "out-of-range", "temperature_c", -2),
        (lambda: fresh_water_density(temperature_c=np.nan), "not-finite", "temperature_c", None),
        (
            lambda: density_at(density_t_per_m3=1.02, measured_temperature_c=50, site_temperature_c=5),
            "out-of-range",
            "measured_temperature_c",
            40,
        ),
        (
            lambda: density_at(density_t_per_m3=1.02, measured_temperature_c=5, site_temperature_c=50),
            "out-of-range",
            "site_temperature_c",
            40,
        ),
    ],
)
def test_limits(call, code, field, limit):
    with pytest.raises(InputError) as caught:
        call()
    assert (caught.value.code, caught.value.field, caught.value.limit) == (code, field, limit)


@pytest.mark.parametrize(("density", "salinity"), [(0.99, 0.0), (1.04, 42.0)])
def test_a_density_no_water_has_is_refused_with_the_limit_it_passed(density, salinity):
    with pytest.raises(InputError) as caught:
        salinity_from_density(density_t_per_m3=[1.01, density], temperature_c=15)
    assert (caught.value.code, caught.value.value) == ("density-not-of-water", density)
    assert caught.value.limit == pytest.approx(
        float(sea_water_density(salinity_g_per_kg=salinity, temperature_c=15)), abs=1e-15
    )
