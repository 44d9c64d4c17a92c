"""A hydrometer: how it is marked, and what it shows in a sample. Layer: service.schemas."""

from typing import Annotated, Any, Literal

from pydantic import Field
from pydantic.json_schema import JsonSchemaValue

from engine.liquids.hydrometer import Hydrometer
from engine.survey.water_samples import WaterSample, by_hydrometer
from service.edge.model import Model, fault
from service.edge.quantities import Bounds, Measured, MeasuredIn

LIGHTEST, HEAVIEST = 0.95, 1.1
"""No water a ship is tested in is lighter or heavier. [t/m³]"""

WaterDensity = Annotated[Measured, MeasuredIn("t/m³", ge=LIGHTEST, le=HEAVIEST)]
ReferenceTemperature = Annotated[float, Field(ge=-2, le=40)]


class _MeasuredRatio(MeasuredIn):
    """Marks a ``Measured`` field without a unit: a number or an object, no text."""

    def __init__(self, *, ge: float, le: float) -> None:
        self.unit = "1"
        self.bounds = Bounds(ge=ge, le=le)

    def number(self, given: Any, bounds: Bounds) -> float:
        """Return a number within its bounds."""
        if isinstance(given, str):
            raise fault("wrong-type", "must be a number")
        return super().number(given, bounds)

    def quantity_schema(self, bounds: Bounds) -> JsonSchemaValue:
        """Return the JSON schema of the number."""
        return {"anyOf": [{"type": "number", **bounds.schema()}], "x-unit": self.unit}


class DensityHydrometer(Model):
    """Marked in density, and what it shows in the sample."""

    kind: Literal["density"]
    reference_temperature_c: ReferenceTemperature
    """At which its marks are right: often 15 or 20."""
    apparent_in_air: bool
    """Whether the marks are mass as weighed in air over volume, as often for draught surveys: 0.0011 t/m³ is added."""
    reading_t_per_m3: WaterDensity
    """At the level of the sample's surface."""

    def sample(self, *, temperature_c: float) -> WaterSample:
        """Return what it says of a sample. [°C]"""
        marked = Hydrometer(
            "density", reference_temperature_c=self.reference_temperature_c, apparent_in_air=self.apparent_in_air
        )
        reading = self.reading_t_per_m3.value
        return by_hydrometer(marked, field="hydrometer/reading_t_per_m3", reading=reading, temperature_c=temperature_c)


class RelativeHydrometer(Model):
    """Marked in relative density (specific gravity), and what it shows in the sample."""

    kind: Literal["relative_density"]
    reference_temperature_c: ReferenceTemperature
    """Of the liquid its marks are right for: 15 of 15/4, 15.556 of 60F/60F."""
    water_temperature_c: ReferenceTemperature
    """Of the water it is relative to: 4 of 15/4, 15.556 of 60F/60F."""
    reading_ratio: Annotated[Measured, _MeasuredRatio(ge=LIGHTEST, le=HEAVIEST)]
    """At the level of the sample's surface."""

    def sample(self, *, temperature_c: float) -> WaterSample:
        """Return what it says of a sample. [°C]"""
        marked = Hydrometer(
            "specific_gravity",
            reference_temperature_c=self.reference_temperature_c,
            water_temperature_c=self.water_temperature_c,
        )
        reading = self.reading_ratio.value
        return by_hydrometer(marked, field="hydrometer/reading_ratio", reading=reading, temperature_c=temperature_c)


HydrometerOf = Annotated[DensityHydrometer | RelativeHydrometer, Field(discriminator="kind")]
