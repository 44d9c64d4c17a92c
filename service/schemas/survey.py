"""Water, freeboards, marks, survey differences and the ledger. Layer: service.schemas."""

from typing import Annotated, Literal

import numpy as np
from pydantic import Field

from engine.checks import Floats
from engine.errors import InputError
from engine.lightship.derivation import Mass as EngineMass
from engine.survey.ledger import Item as EngineItem
from engine.survey.waterline import Heights
from service.edge.model import Model
from service.edge.quantities import Measured, MeasuredIn
from service.schemas.common import Label, Length, Mass, PositionX, PositionY, SignedMass

WaterDensity = Annotated[Measured, MeasuredIn("t/m³", ge=0.95, le=1.1)]
"""No water a ship is tested in is lighter or heavier."""


class WaterSample(Model):
    """One sample of the water she floats in."""

    density_t_per_m3: WaterDensity
    temperature_c: Annotated[float, Field(ge=-3, le=60)] | None = None


class Water(Model):
    """The samples; their mean is used."""

    samples: Annotated[tuple[WaterSample, ...], Field(min_length=1, max_length=200)]

    def densities(self) -> Floats:
        """Return (s,) the densities. [t/m³]"""
        return np.array([sample.density_t_per_m3.value for sample in self.samples])


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
