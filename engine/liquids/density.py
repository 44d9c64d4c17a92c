r"""Density of water by the one-atmosphere equation EOS-80. Layer: engine.liquids.

.. math:: \rho(S, t) = \rho_w(t) + A(t)\,S + B(t)\,S^{3/2} + C\,S^2

with t on IPTS-68, t68 = 1.00024 t90; every temperature here is on ITS-90. Salinity is the practical salinity
(PSS-78), which is close to grams of salt a kilogram; the field carries that unit.
"""

import numpy as np
from numpy.typing import ArrayLike

from engine.checks import Floats, finite, within
from engine.deadline import checkpoint
from engine.errors import InputError, NotDeterminedError

SALINITY_LIMIT_G_PER_KG = 42.0
TEMPERATURE_LIMITS_C = (-2.0, 40.0)
ITERATION_LIMIT = 60

_PURE = (999.842594, 6.793952e-2, -9.095290e-3, 1.001685e-4, -1.120083e-6, 6.536332e-9)
_A = (8.24493e-1, -4.0899e-3, 7.6438e-5, -8.2467e-7, 5.3875e-9)
_B = (-5.72466e-3, 1.0227e-4, -1.6546e-6)
_C = 4.8314e-4


def fresh_water_density(*, temperature_c: ArrayLike) -> Floats:
    """Return the density of pure water at one atmosphere. [t/m³]

    Parameters
    ----------
    temperature_c : array_like
        From −2 to 40, ITS-90. [°C]

    Examples
    --------
    >>> round(float(fresh_water_density(temperature_c=15.0)), 6)
    0.999101
    """
    return sea_water_density(salinity_g_per_kg=0.0, temperature_c=temperature_c)


def sea_water_density(*, salinity_g_per_kg: ArrayLike, temperature_c: ArrayLike) -> Floats:
    """Return the density of sea water at one atmosphere; the arguments are broadcast. [t/m³]

    Parameters
    ----------
    salinity_g_per_kg : array_like
        Practical salinity, from 0 to 42. [g/kg]
    temperature_c : array_like
        From −2 to 40, ITS-90. [°C]

    Raises
    ------
    InputError
        "out-of-range", "not-finite".

    References
    ----------
    .. [1] Unesco technical papers in marine science 44 (1983), algorithm 3, at p = 0.
    """
    salinity = within(salinity_g_per_kg, low=0.0, high=SALINITY_LIMIT_G_PER_KG, field="salinity_g_per_kg", unit="g/kg")
    low, high = TEMPERATURE_LIMITS_C
    temperature = within(temperature_c, low=low, high=high, field="temperature_c", unit="°C")
    return _density(salinity, temperature)[0]


def salinity_from_density(*, density_t_per_m3: ArrayLike, temperature_c: ArrayLike) -> Floats:
    """Return the practical salinity of water of a density at a temperature. [g/kg]

    Parameters
    ----------
    density_t_per_m3 : array_like
        In vacuo, between those of fresh water and of salinity 42 at the temperature. [t/m³]
    temperature_c : array_like
        From −2 to 40, ITS-90. [°C]

    Raises
    ------
    InputError
        "density-not-of-water": no salinity from 0 to 42 has it; "out-of-range", "not-finite".
    NotDeterminedError
        "salinity-not-converged".
    """
    low, high = TEMPERATURE_LIMITS_C
    temperature = within(temperature_c, low=low, high=high, field="temperature_c", unit="°C")
    wanted = finite(density_t_per_m3, field="density_t_per_m3")
    wanted, temperature = np.broadcast_arrays(wanted, temperature)
    least = _density(np.zeros(wanted.shape), temperature)[0]
    most = _density(np.full(wanted.shape, SALINITY_LIMIT_G_PER_KG), temperature)[0]
    slack = 1e-12
    wrong = (wanted < least - slack) | (wanted > most + slack)
    if wrong.any():
        value, a, b = float(wanted[wrong].flat[0]), float(least[wrong].flat[0]), float(most[wrong].flat[0])
        raise InputError(
            f"water has from {a:.6g} to {b:.6g} t/m³ at that temperature, not {value:.6g} t/m³",
            code="density-not-of-water",
            field="density_t_per_m3",
            value=value,
            limit=a if value < a else b,
        )
    salinity = SALINITY_LIMIT_G_PER_KG * (wanted - least) / (most - least)
    for _ in range(ITERATION_LIMIT):
        checkpoint()
        density, slope = _density(salinity, temperature)
        step = (wanted - density) / slope
        salinity = np.clip(salinity + step, 0.0, SALINITY_LIMIT_G_PER_KG)
        if (np.abs(wanted - density) <= 4e-16).all() or (np.abs(step) <= 1e-12).all():
            return salinity
    raise NotDeterminedError("no salinity found", code="salinity-not-converged", field="density_t_per_m3")


def density_at(
    *, density_t_per_m3: ArrayLike, measured_temperature_c: ArrayLike, site_temperature_c: ArrayLike
) -> Floats:
    """Return the density at the site of water whose sample was measured at another temperature. [t/m³]

    The salinity is taken from the sample and kept.

    Raises
    ------
    InputError
        "density-not-of-water", "out-of-range", "not-finite".
    """
    salinity, _, site = _kept(density_t_per_m3, measured_temperature_c, site_temperature_c)
    return _density(salinity, site)[0]


def density_at_slope(
    *, density_t_per_m3: ArrayLike, measured_temperature_c: ArrayLike, site_temperature_c: ArrayLike
) -> Floats:
    """Return the derivative of ``density_at`` by the density measured: that of ρ by salinity there over that here.

    Raises
    ------
    InputError
        "density-not-of-water", "out-of-range", "not-finite".
    """
    salinity, measured, site = _kept(density_t_per_m3, measured_temperature_c, site_temperature_c)
    return np.asarray(_density(salinity, site)[1] / _density(salinity, measured)[1])


def _kept(density: ArrayLike, measured_c: ArrayLike, site_c: ArrayLike) -> tuple[Floats, Floats, Floats]:
    """Return the salinity of a sample, and both temperatures."""
    low, high = TEMPERATURE_LIMITS_C
    measured = within(measured_c, low=low, high=high, field="measured_temperature_c", unit="°C")
    site = within(site_c, low=low, high=high, field="site_temperature_c", unit="°C")
    return salinity_from_density(density_t_per_m3=density, temperature_c=measured), measured, site


def _density(salinity: Floats, temperature: Floats) -> tuple[Floats, Floats]:
    """Return the density and its derivative with salinity, no limits checked."""
    t68 = 1.00024 * temperature
    a, b = np.polynomial.polynomial.polyval(t68, _A), np.polynomial.polynomial.polyval(t68, _B)
    root = np.sqrt(salinity)
    pure = np.polynomial.polynomial.polyval(t68, _PURE)
    density = pure + salinity * (a + b * root + _C * salinity)
    return np.asarray(density / 1000.0), np.asarray((a + 1.5 * b * root + 2.0 * _C * salinity) / 1000.0)
