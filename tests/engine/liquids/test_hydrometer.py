"""Hydrometers: closed forms of ρ V = constant."""

import numpy as np
import pytest

from engine.errors import InputError
from engine.liquids.density import fresh_water_density
from engine.liquids.hydrometer import SIXTY_FAHRENHEIT_C, Hydrometer, density_per_reading, sample_density


def test_read_at_its_own_temperature_it_shows_the_density():
    assert sample_density(Hydrometer(), reading=1.0253, temperature_c=15.0) == 1.0253


def test_warmer_glass_is_larger_and_the_liquid_lighter_than_shown():
    found = sample_density(Hydrometer(glass_expansion_per_c=3e-5), reading=[1.025, 0.86], temperature_c=[25.0, 5.0])
    np.testing.assert_allclose(found, [1.025 / 1.0003, 0.86 / 0.9997], rtol=1e-15)


def test_a_specific_gravity_needs_its_water():
    found = sample_density(Hydrometer.relative_60f_60f(), reading=1.0257, temperature_c=SIXTY_FAHRENHEIT_C)
    assert found == pytest.approx(1.0257 * float(fresh_water_density(temperature_c=15.0 + 5 / 9)), rel=1e-15)
    # the two scales differ by 0.1 % of a displacement: 999.975 over 999.016 (from memory)
    other = sample_density(Hydrometer.relative_15_4(), reading=1.0257, temperature_c=15.0)
    assert other / found == pytest.approx(999.975 / 999.016, abs=2e-5)


def test_an_apparent_density_in_air_is_raised_to_that_in_vacuo():
    marked = Hydrometer(apparent_in_air=True)
    assert sample_density(marked, reading=1.024, temperature_c=15.0) == pytest.approx(1.0251, rel=1e-15)
    # weighed in air of 0.0012 t/m³ against weights of 8.0: closed form of the buoyancy of both
    apparent = (1.025 - 0.0012) / (1 - 0.0012 / 8.0)
    assert sample_density(marked, reading=apparent, temperature_c=15.0) == pytest.approx(1.025, abs=1e-4)


@pytest.mark.parametrize(
    "marked", [Hydrometer(), Hydrometer(apparent_in_air=True), Hydrometer.relative_60f_60f()], ids=str
)
def test_the_density_is_a_straight_line_in_the_reading(marked):
    """So its derivative is the difference of two densities over that of their readings."""
    low, high = sample_density(marked, reading=[1.0, 1.03125], temperature_c=24.0)
    assert density_per_reading(marked, temperature_c=24.0) == pytest.approx((high - low) / 0.03125, rel=1e-13)


@pytest.mark.parametrize(
    ("given", "code", "field"),
    [
        ({"scale": "degrees"}, "unknown-scale", "scale"),
        ({"scale": "specific_gravity"}, "water-temperature-missing", "water_temperature_c"),
        ({"water_temperature_c": 4.0}, "water-temperature-not-wanted", "water_temperature_c"),
        ({"scale": "specific_gravity", "water_temperature_c": 60.0}, "out-of-range", "water_temperature_c"),
        ({"reference_temperature_c": 60.0}, "out-of-range", "reference_temperature_c"),
        ({"glass_expansion_per_c": 1e-3}, "out-of-range", "glass_expansion_per_c"),
        ({"air_correction_t_per_m3": -0.001}, "out-of-range", "air_correction_t_per_m3"),
    ],
)
def test_a_scale_that_means_nothing_is_refused(given, code, field):
    with pytest.raises(InputError) as caught:
        Hydrometer(**given)
    assert (caught.value.code, caught.value.field) == (code, field)


@pytest.mark.parametrize(
    ("reading", "temperature", "field"), [(1025.0, 15.0, "reading"), (1.025, 120.0, "temperature_c")]
)
def test_a_reading_out_of_range_is_refused(reading, temperature, field):
    with pytest.raises(InputError) as caught:
        sample_density(Hydrometer(), reading=reading, temperature_c=temperature)
    assert (caught.value.code, caught.value.field) == ("out-of-range", field)
