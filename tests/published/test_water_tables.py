"""Density of water against published values and against two later equations of state."""

import gsw
import numpy as np
import pytest

from engine.liquids.density import fresh_water_density, salinity_from_density, sea_water_density
from engine.liquids.hydrometer import Hydrometer, sample_density

T68 = np.array([0.0, 5, 10, 15, 20, 25, 30])
SALINITY = np.array([0.0, 10, 20, 30, 35])
# EOS-80 at one atmosphere by t68, computed once with a general-purpose oceanographic library to 1e-5 kg/m³
EOS_80 = np.array(
    [
        [999.84259, 1007.95481, 1016.01368, 1024.07155, 1028.10633],
        [999.96675, 1007.90745, 1015.80711, 1023.71379, 1027.67547],
        [999.70208, 1007.50114, 1015.26932, 1023.05112, 1026.95241],
        [999.10157, 1006.78392, 1014.44336, 1022.12162, 1025.97275],
        [998.20632, 1005.79270, 1013.36199, 1020.95387, 1024.76301],
        [997.04796, 1004.55577, 1012.05014, 1019.56947, 1023.34306],
        [995.65113, 1003.09523, 1010.52735, 1017.98539, 1021.72864],
    ]
)
# IAPWS-95 at one atmosphere, the same temperatures read on ITS-90; computed once with a general-purpose library
FRESH_IAPWS_95 = np.array([999.8438, 999.9666, 999.7025, 999.1026, 998.2072, 997.0476, 995.6495])
# TEOS-10 at absolute salinity 35.16504 g/kg, the reference sea water of practical salinity 35; likewise
SEA_TEOS_10 = np.array([1028.1072, 1027.6756, 1026.9541, 1025.9760, 1024.7660, 1023.3436, 1021.7261])


def test_unesco_check_values():
    # Unesco technical papers in marine science 44 (1983), check values of algorithm 3 at p = 0 (from memory)
    density = sea_water_density(salinity_g_per_kg=[0, 35, 35], temperature_c=np.array([5.0, 5, 25]) / 1.00024)
    np.testing.assert_allclose(1000 * density, [999.96675, 1027.67547, 1023.34306], rtol=0, atol=5.1e-6)


def test_the_whole_table():
    density = sea_water_density(salinity_g_per_kg=SALINITY, temperature_c=T68[:, None] / 1.00024)
    np.testing.assert_allclose(1000 * density, EOS_80, rtol=0, atol=6e-6)


def test_fresh_water_of_iapws_95():
    np.testing.assert_allclose(1000 * fresh_water_density(temperature_c=T68), FRESH_IAPWS_95, rtol=0, atol=0.004)


def test_sea_water_of_teos_10():
    density = 1000 * sea_water_density(salinity_g_per_kg=35.0, temperature_c=T68)
    np.testing.assert_allclose(density, SEA_TEOS_10, rtol=0, atol=0.006)
    # by another implementation of TEOS-10 over the range of harbours: 0.006 kg/m³ is 6e-6 of a displacement
    salinity, temperature = np.meshgrid(np.linspace(0, 40, 9), np.linspace(0, 35, 8))
    absolute = salinity * 35.16504 / 35.0
    theirs = gsw.rho(absolute, gsw.CT_from_t(absolute, temperature, 0.0), 0.0)
    ours = 1000 * sea_water_density(salinity_g_per_kg=salinity, temperature_c=temperature)
    np.testing.assert_allclose(ours, theirs, rtol=0, atol=0.006)


def test_the_table_read_backwards():
    salinity = salinity_from_density(density_t_per_m3=EOS_80[:, 1:] / 1000, temperature_c=T68[:, None] / 1.00024)
    np.testing.assert_allclose(salinity, np.broadcast_to(SALINITY[1:], salinity.shape), rtol=0, atol=1e-5)


def test_the_water_of_hydrometer_scales():
    # water at 60 °F and 4 °C: 999.016 and 999.975 kg/m³ (from memory)
    sixty = sample_density(Hydrometer.relative_60f_60f(), reading=1.0, temperature_c=(60 - 32) / 1.8)
    four = sample_density(Hydrometer.relative_15_4(), reading=1.0, temperature_c=15.0)
    assert 1000 * sixty == pytest.approx(999.016, abs=0.003)
    assert 1000 * four == pytest.approx(999.975, abs=0.001)
