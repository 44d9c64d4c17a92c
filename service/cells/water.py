"""Cells of the water. Layer: service.cells."""

from typing import Annotated

from fastapi import APIRouter
from pydantic import Field

from engine.liquids.density import density_at, sea_water_density
from service.cells.cell import cell
from service.edge.model import Model
from service.edge.shelf import Shelf

router = APIRouter()

Temperature = Annotated[float, Field(ge=-2, le=40)]


class WaterParameters(Model):
    """Water of a salinity."""

    temperature_c: Temperature
    salinity_g_per_kg: Annotated[float, Field(ge=0, le=42)] = 0.0


class SampleParameters(Model):
    """A sample measured at one temperature, wanted at another."""

    density_t_per_m3: Annotated[float, Field(gt=0.9, lt=1.1)]
    temperature_c: Temperature
    """Of the sample when it was measured."""
    site_temperature_c: Temperature
    """Of the water she floats in."""


@cell(
    router,
    "water-density",
    parameters=WaterParameters,
    operation_id="compute_cell_water_density",
    summary="Density of water of a temperature and salinity [t/m³]",
    example={"temperature_c": "15", "salinity_g_per_kg": "35"},
)
def water_density(given: WaterParameters, _: Shelf) -> float:
    """Return the density at one atmosphere (EOS-80); without a salinity that of fresh water."""
    return float(sea_water_density(salinity_g_per_kg=given.salinity_g_per_kg, temperature_c=given.temperature_c))


@cell(
    router,
    "sample-density",
    parameters=SampleParameters,
    operation_id="compute_cell_sample_density",
    summary="Density at the site of water whose sample was measured at another temperature [t/m³]",
    example={"density_t_per_m3": "1.0253", "temperature_c": "20", "site_temperature_c": "12"},
)
def sample_density(given: SampleParameters, _: Shelf) -> float:
    """Return the density of water of the sample's salinity at the temperature of the site."""
    return float(
        density_at(
            density_t_per_m3=given.density_t_per_m3,
            measured_temperature_c=given.temperature_c,
            site_temperature_c=given.site_temperature_c,
        )
    )
