"""What a hydrometer's reading says of a sample. Layer: engine.liquids.

A hydrometer floats with the same mass whatever it floats in, so ρ(t) V(t) is constant. Its glass grows with
temperature: read in a sample at t, a hydrometer made for the reference temperature t_r and showing R there has

    ρ(t) = R / (1 + γ (t − t_r))

R is a density, or a specific gravity times the density of water at the scale's own water temperature.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from engine.checks import Floats, within
from engine.errors import InputError
from engine.liquids.density import TEMPERATURE_LIMITS_C, fresh_water_density

GLASS_EXPANSION_PER_C = 25e-6
"""Cubical expansion of soda-lime glass: from memory, common practice. [1/°C]"""

AIR_CORRECTION_T_PER_M3 = 0.0011
"""What an apparent density in air lies below that in vacuo, for water: from memory. [t/m³]"""

SIXTY_FAHRENHEIT_C = (60.0 - 32.0) / 1.8
READING_LIMITS = (0.5, 2.5)


@dataclass(frozen=True)
class Hydrometer:
    """How a hydrometer is marked.

    Attributes
    ----------
    scale : {"density", "specific_gravity"}
        Density in t/m³, or relative to water.
    reference_temperature_c : float
        Of the liquid the scale is made for. [°C]
    water_temperature_c : float or None
        Of the water a specific gravity is relative to: 60 °F for 60F/60F, 4 for 15/4. [°C]
    apparent_in_air : bool
        The scale shows mass weighed in air: ``air_correction_t_per_m3`` is added.
    glass_expansion_per_c : float
        Cubical. [1/°C]
    air_correction_t_per_m3 : float
        [t/m³]

    Raises
    ------
    InputError
        "unknown-scale", "water-temperature-missing", "water-temperature-not-wanted", "out-of-range".
    """

    scale: Literal["density", "specific_gravity"] = "density"
    reference_temperature_c: float = 15.0
    water_temperature_c: float | None = None
    apparent_in_air: bool = False
    glass_expansion_per_c: float = GLASS_EXPANSION_PER_C
    air_correction_t_per_m3: float = AIR_CORRECTION_T_PER_M3

    def __post_init__(self) -> None:
        if self.scale not in ("density", "specific_gravity"):
            raise InputError("must be density or specific_gravity", code="unknown-scale", field="scale")
        if self.scale == "specific_gravity" and self.water_temperature_c is None:
            raise InputError(
                "a specific gravity needs the temperature of the water it is relative to",
                code="water-temperature-missing",
                field="water_temperature_c",
            )
        if self.scale == "density" and self.water_temperature_c is not None:
            raise InputError(
                "a density is relative to no water",
                code="water-temperature-not-wanted",
                field="water_temperature_c",
                value=self.water_temperature_c,
            )
        low, high = TEMPERATURE_LIMITS_C
        within(self.reference_temperature_c, low=low, high=high, field="reference_temperature_c", unit="°C")
        if self.water_temperature_c is not None:
            within(self.water_temperature_c, low=low, high=high, field="water_temperature_c", unit="°C")
        within(self.glass_expansion_per_c, low=0.0, high=1e-4, field="glass_expansion_per_c", unit="1/°C")
        within(self.air_correction_t_per_m3, low=0.0, high=0.01, field="air_correction_t_per_m3", unit="t/m³")

    @classmethod
    def relative_60f_60f(cls) -> "Hydrometer":
        """Specific gravity of a liquid at 60 °F relative to water at 60 °F."""
        return cls("specific_gravity", SIXTY_FAHRENHEIT_C, SIXTY_FAHRENHEIT_C)

    @classmethod
    def relative_15_4(cls) -> "Hydrometer":
        """Specific gravity of a liquid at 15 °C relative to water at 4 °C."""
        return cls("specific_gravity", 15.0, 4.0)


def sample_density(hydrometer: Hydrometer, *, reading: ArrayLike, temperature_c: ArrayLike) -> Floats:
    """Return the density in vacuo of a sample at the temperature it was read at. [t/m³]

    Parameters
    ----------
    hydrometer : Hydrometer
        How it is marked.
    reading : array_like
        At the liquid's surface, from 0.5 to 2.5: t/m³ or relative, as the scale says.
    temperature_c : array_like
        Of the sample. [°C]

    Raises
    ------
    InputError
        "out-of-range", "not-finite".

    Examples
    --------
    >>> marked = Hydrometer("density", reference_temperature_c=15.0)
    >>> round(float(sample_density(marked, reading=1.025, temperature_c=25.0)), 6)
    1.024744
    """
    low, high = READING_LIMITS
    shown = within(reading, low=low, high=high, field="reading")
    if hydrometer.water_temperature_c is not None:
        shown = shown * fresh_water_density(temperature_c=hydrometer.water_temperature_c)
    density = shown / _grown(hydrometer, temperature_c)
    if hydrometer.apparent_in_air:
        density = density + hydrometer.air_correction_t_per_m3
    return np.asarray(density)


def density_per_reading(hydrometer: Hydrometer, *, temperature_c: ArrayLike) -> Floats:
    """Return the derivative of ``sample_density`` by the reading: [1], of a relative density [t/m³].

    Raises
    ------
    InputError
        "out-of-range", "not-finite".
    """
    marked = 1.0
    if hydrometer.water_temperature_c is not None:
        marked = float(fresh_water_density(temperature_c=hydrometer.water_temperature_c))
    return np.asarray(marked / _grown(hydrometer, temperature_c))


def _grown(hydrometer: Hydrometer, temperature_c: ArrayLike) -> Floats:
    """Return the volume of the glass at a temperature over that it is marked for."""
    temperature = within(temperature_c, low=-2.0, high=100.0, field="temperature_c", unit="°C")
    return np.asarray(1.0 + hydrometer.glass_expansion_per_c * (temperature - hydrometer.reference_temperature_c))
