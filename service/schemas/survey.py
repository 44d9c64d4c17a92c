"""Water, freeboards, marks, survey differences and the ledger. Layer: service.schemas."""

from typing import Annotated, Literal, Self

import numpy as np
from pydantic import Field, model_validator

from engine.checks import Floats, within
from engine.errors import InputError
from engine.findings import Finding
from engine.lightship.derivation import Mass as EngineMass
from engine.survey.ledger import Item as EngineItem
from engine.survey.water_samples import WaterSample as EngineSample
from engine.survey.water_samples import by_density
from engine.survey.waterline import Heights
from service.edge.model import Model
from service.edge.quantities import Measured
from service.schemas.common import Label, Length, Mass, PositionX, PositionY, SignedMass, each
from service.schemas.hydrometer import HEAVIEST, LIGHTEST, HydrometerOf, WaterDensity


class WaterSample(Model):
    """One sample of the water she floats in: its density, or what a hydrometer shows in it."""

    density_t_per_m3: WaterDensity | None = None
    """In vacuo, at the sample's temperature; in place of `hydrometer`."""
    hydrometer: HydrometerOf | None = None
    """In place of `density_t_per_m3`; needs the sample's temperature."""
    temperature_c: Annotated[float, Field(ge=-3, le=60)] | None = None
    """Of the sample when its density was measured."""

    @model_validator(mode="after")
    def _one_form(self) -> Self:
        """Refuse two forms and none, and a hydrometer read at no temperature."""
        if (self.density_t_per_m3 is None) == (self.hydrometer is None):
            raise InputError("give a density or a hydrometer, one of the two", code="density-or-hydrometer")
        if self.hydrometer is not None and self.temperature_c is None:
            raise InputError(
                "a hydrometer's reading needs the sample's temperature",
                code="sample-temperature-missing",
                field="hydrometer",
            )
        return self

    def sample(self, site_temperature_c: float | None) -> EngineSample:
        """Return it as the engine has it, brought to the temperature of the water alongside where both are known."""
        found = self._as_measured()
        if site_temperature_c is None or self.temperature_c in (None, site_temperature_c):
            return found
        try:
            return found.at_site(measured_temperature_c=self.temperature_c, site_temperature_c=site_temperature_c)
        except InputError as error:
            field = {"density_t_per_m3": found.field, "measured_temperature_c": "temperature_c"}[error.field]
            raise InputError(
                error.message, code=error.code, field=field, value=error.value, limit=error.limit
            ) from error

    def _as_measured(self) -> EngineSample:
        if self.density_t_per_m3 is not None:
            return by_density(self.density_t_per_m3.value)
        assert self.hydrometer is not None
        assert self.temperature_c is not None
        found = self.hydrometer.sample(temperature_c=self.temperature_c)
        within(found.density_t_per_m3, low=LIGHTEST, high=HEAVIEST, field=found.field, unit="t/m³")
        return found


class Water(Model):
    """The samples; the mean of their densities is used."""

    samples: Annotated[tuple[WaterSample, ...], Field(min_length=1, max_length=200)]
    temperature_c: Annotated[float, Field(ge=-2, le=40)] | None = None
    """Of the water alongside: samples measured at another are brought to it; left out, all are used as measured."""

    def read(self) -> tuple[EngineSample, ...]:
        """Return the samples as the engine has them, a fault placed in the document."""
        return each(self.samples, lambda one: one.sample(self.temperature_c), "water/samples")

    def noticed(self) -> tuple[Finding, ...]:
        """Return what the temperatures did to the samples, where that of the water alongside is given."""
        site = self.temperature_c
        if site is None:
            return ()
        found = []
        changes = [
            abs(one.sample(site).density_t_per_m3 - one.sample(None).density_t_per_m3)
            for one in self.samples
            if one.temperature_c not in (None, site)
        ]
        if changes:
            words = f"samples measured at other temperatures are brought to the water's {site:.6g} °C, their salinity"
            words += f" kept: densities change by up to {max(changes):.6g} t/m³"
            found.append(Finding("samples-brought-to-temperature", words, count=len(changes)))
        unknown = sum(one.temperature_c is None for one in self.samples)
        if unknown:
            words = f"samples without a temperature are taken to be at the water's {site:.6g} °C"
            found.append(Finding("sample-temperature-assumed", words, count=unknown))
        return tuple(found)


class Freeboard(Model):
    """A plumb length from a known point of the ship down to the water."""

    x_m: PositionX
    y_m: PositionY
    reference_z_m: Length
    freeboard_m: Length
    time: Label | None = None


class DraftMark(Model):
    """A draft read at a mark, up along the ship's z from the mark's zero."""

    x_m: PositionX
    y_m: PositionY
    draft_m: Length
    zero_z_m: Length = Measured(0.0)


class SurveyDifference(Model):
    """Aboard at reading 0 but not when the heights were read; a negative mass the reverse."""

    name: Label
    mass_t: SignedMass
    x_m: PositionX
    y_m: PositionY
    z_m: Length

    def mass(self) -> EngineMass:
        """Return it as the engine has it."""
        return EngineMass(self.mass_t.value, place(self))


class Place(Model):
    """A place in the ship."""

    x_m: PositionX
    y_m: PositionY
    z_m: Length


class Item(Model):
    """One line of the add, remove and relocate list."""

    name: Label
    action: Literal["remove", "add", "relocate"]
    mass_t: Mass
    x_m: PositionX
    y_m: PositionY
    z_m: Length
    to: Place | None = None
    """Where a relocated item belongs."""

    def item(self) -> EngineItem:
        """Return it as the engine has it; ``to`` goes with relocate, and only with it."""
        if (self.action == "relocate") != (self.to is not None):
            raise InputError("`to` goes with relocate, and only with it", code="relocation-place", field="to")
        return EngineItem(self.action, self.mass_t.value, place(self), None if self.to is None else place(self.to))


def place(of: SurveyDifference | Item | Place) -> Floats:
    """Return x, y, z. [m]"""
    return np.array([of.x_m.value, of.y_m.value, of.z_m.value])


def heights(freeboards: tuple[Freeboard, ...], marks: tuple[DraftMark, ...], *, assumed_m: float) -> Heights:
    """Return freeboards, then marks, as heights of the water; ``assumed_m`` where no uncertainty is stated."""
    read = [(f.x_m, f.y_m, f.reference_z_m, f.freeboard_m, None) for f in freeboards]
    read += [(m.x_m, m.y_m, m.zero_z_m, None, m.draft_m) for m in marks]  # type: ignore[misc]
    uncertainty = [(down or up).standard_uncertainty for *_, down, up in read]
    return Heights.from_readings(
        x_m=[row[0].value for row in read],
        y_m=[row[1].value for row in read],
        from_m=[row[2].value for row in read],
        plumb_m=[0.0 if row[3] is None else row[3].value for row in read],
        up_m=[0.0 if row[4] is None else row[4].value for row in read],
        standard_uncertainty_m=[assumed_m if u is None else u for u in uncertainty],
    )
