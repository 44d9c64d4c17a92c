"""Samples of the water she floats in: what was read, and the density it gives. Layer: engine.survey."""

from dataclasses import dataclass, replace

from engine.liquids.density import density_at, density_at_slope
from engine.liquids.hydrometer import Hydrometer, density_per_reading, sample_density


@dataclass(frozen=True, kw_only=True)
class WaterSample:
    """One sample as it was read. Build it with ``by_density`` or ``by_hydrometer``.

    Attributes
    ----------
    field : str
        Where in the sample the value read stands.
    value : float
        What was read, in ``unit``.
    unit : str
        "t/m³", or "1" for a relative density.
    density_t_per_m3 : float
        Of the water, by that value. [t/m³]
    density_per_value : float
        Derivative of the density by the value.
    """

    field: str
    value: float
    unit: str
    density_t_per_m3: float
    density_per_value: float = 1.0

    def at_site(self, *, measured_temperature_c: float, site_temperature_c: float) -> "WaterSample":
        """Return the sample with the density its water has at another temperature; its salinity is kept. [°C]

        Raises
        ------
        InputError
            As ``density_at``: "density-not-of-water", "out-of-range".
        """
        temperatures = {"measured_temperature_c": measured_temperature_c, "site_temperature_c": site_temperature_c}
        slope = float(density_at_slope(density_t_per_m3=self.density_t_per_m3, **temperatures))
        return replace(
            self,
            density_t_per_m3=float(density_at(density_t_per_m3=self.density_t_per_m3, **temperatures)),
            density_per_value=self.density_per_value * slope,
        )


def by_density(density_t_per_m3: float) -> WaterSample:
    """Return a sample given by its density. [t/m³]"""
    return WaterSample(field="density_t_per_m3", value=density_t_per_m3, unit="t/m³", density_t_per_m3=density_t_per_m3)


def by_hydrometer(hydrometer: Hydrometer, *, field: str, reading: float, temperature_c: float) -> WaterSample:
    """Return a sample given by what a hydrometer shows in it at its temperature. [°C]

    Raises
    ------
    InputError
        As ``sample_density``: "out-of-range".
    """
    return WaterSample(
        field=field,
        value=reading,
        unit="t/m³" if hydrometer.scale == "density" else "1",
        density_t_per_m3=float(sample_density(hydrometer, reading=reading, temperature_c=temperature_c)),
        density_per_value=float(density_per_reading(hydrometer, temperature_c=temperature_c)),
    )
