"""Loading conditions and what comes of them. Layer: service.schemas."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Annotated, Literal

import numpy as np
from pydantic import Field

from engine.checks import Floats
from engine.errors import InputError
from engine.lightship.derivation import Mass as EngineMass
from engine.liquids.tank import checked_volume
from engine.stability import LoadingCondition, StabilityData, TankLoad
from service.edge.model import Model
from service.schemas.common import Density, Label, Length, PositionX, PositionY, SignedMass, Volume, each
from service.schemas.shape import ShapeOf
from service.schemas.stability import (
    Openings,
    SetNames,
    StabilityDataOf,
    WindProfileOf,
    openings_of,
    wind_of,
)
from service.schemas.tank import Empty, TankOf

Use = Literal[
    "fuel",
    "diesel",
    "lubricating_oil",
    "fresh_water",
    "feed_water",
    "other_consumable",
    "ballast",
    "cargo",
    "waste",
    "other",
]
NOT_CONSUMED = ("ballast", "cargo", "waste", "other")
DEFAULT_RULES = ("imo-2008-is-code-a-2-2",)
FULL_PERCENT = 100.0


class LoadedItem(Model):
    """Something aboard that is not lightship; a negative mass is taken off."""

    name: Label
    mass_t: SignedMass
    x_m: PositionX
    y_m: PositionY
    z_m: Length


class LoadedTank(Model):
    """A tank and how full it is: one of the document by its name, or another by its shape and density."""

    tank: Label
    """Name of a tank of the document; with `shape`, any name."""
    shape: ShapeOf | None = None
    permeability_ratio: Annotated[float, Field(gt=0, le=1)] = 1.0
    """Only with `shape`."""
    density_t_per_m3: Density | None = None
    """Left out, that of the document's tank."""
    fill_percent: Annotated[float, Field(ge=0, le=100)] | None = None
    """Either this or `volume_m3`."""
    volume_m3: Volume | None = None
    use: Use = "other"
    """What it holds: the consumable liquids are told apart by it where the worst pair or tank is looked for."""

    def load(self, tanks: Mapping[str, TankOf]) -> TankLoad:
        """Return it as the engine has it.

        Raises
        ------
        InputError
            ``condition-tank``, ``condition-fill``, ``volume-beyond-capacity``; as the shape.
        """
        known = tanks.get(self.tank)
        if self.shape is not None and self.density_t_per_m3 is not None:
            known = TankOf(
                name=self.tank,
                shape=self.shape,
                density_t_per_m3=self.density_t_per_m3,
                contents=Empty(kind="empty"),
                permeability_ratio=self.permeability_ratio,
            )
        elif self.shape is not None or known is None:
            raise InputError(
                f"no tank of the document has this name, it has {len(tanks)}, and shape and density are not both given",
                code="condition-tank",
                field="tank",
            )
        if (self.fill_percent is None) == (self.volume_m3 is None):
            raise InputError("either fill_percent or volume_m3 is needed", code="condition-fill", field="fill_percent")
        aboard = known.aboard()
        if self.volume_m3 is not None:
            volume = float(checked_volume(aboard.tank, self.volume_m3.value))
        else:
            volume = float(self.fill_percent or 0.0) / FULL_PERCENT * aboard.tank.capacity_m3
        density = known.density_t_per_m3 if self.density_t_per_m3 is None else self.density_t_per_m3
        return TankLoad(
            tank=aboard.tank,
            volume_m3=volume,
            density_t_per_m3=density.value,
            consumable=None if self.use in NOT_CONSUMED else self.use,
            cargo=self.use == "cargo",
            lightship_volume_m3=0.0 if self.shape is not None else aboard.lightship_volume_m3,
        )


class LoadingConditionOf(Model):
    """What comes on top of the lightship; tanks that are not listed hold what the lightship has of them."""

    name: Label
    items: Annotated[tuple[LoadedItem, ...], Field(max_length=2000)] = ()
    tanks: Annotated[tuple[LoadedTank, ...], Field(max_length=500)] = ()
    openings: Openings | None = None
    """In place of the ship's openings."""
    wind: WindProfileOf | None = None
    """In place of the ship's profile, as with deck cargo."""

    def condition(self, tanks: Mapping[str, TankOf], data: StabilityData) -> LoadingCondition:
        """Return it as the engine has it."""
        if self.openings is not None:
            data = replace(data, openings=openings_of(self.openings))
        if self.wind is not None:
            data = replace(data, wind=wind_of(self.wind))
        return LoadingCondition(
            items=tuple(
                EngineMass(one.mass_t.value, _array(one.x_m.value, one.y_m.value, one.z_m.value)) for one in self.items
            ),
            loads=each(self.tanks, lambda one: one.load(tanks), "tanks"),
            data=data,
        )


class StabilityBasis(StabilityDataOf):
    """What the loading conditions of a ship are judged with."""

    density_t_per_m3: Annotated[float, Field(gt=0.1, le=20)] = 1.025
    """Of the water she will sail in."""
    rules: SetNames = DEFAULT_RULES
    """Names of rule sets on stability."""
    free_surface: Literal["actual", "us_46_cfr_170_285", "imo_is_code_b3"] = "actual"
    """`actual`: every liquid runs to its level at every heel; else by the worst tanks of that rule, as a correction."""
    minimum_displacement_t: Annotated[float, Field(gt=0, le=1e7)] | None = None
    """With `imo_is_code_b3`: small tanks are left out against this displacement."""


def _array(x: float, y: float, z: float) -> Floats:
    return np.array([x, y, z])
