"""A tank and what is in it. Layer: service.schemas."""

from typing import Annotated, Literal

from pydantic import Field

from engine.errors import EngineError
from engine.geometry.shapes import Box
from engine.liquids.tank import Tank as EngineTank
from engine.record.contents import Contents as EngineContents
from engine.record.record import TankAboard
from service.edge.axes import X, Y
from service.edge.model import Model
from service.schemas.common import Density, Label, Volume

Bound = Annotated[float, Field(ge=-1e4, le=1e4)]


class BoxShape(Model):
    """A box along the ship's axes."""

    kind: Literal["box"]
    x_min_m: Annotated[Bound, X]
    x_max_m: Annotated[Bound, X]
    y_min_m: Annotated[Bound, Y]
    y_max_m: Annotated[Bound, Y]
    z_min_m: Bound
    z_max_m: Bound


class Empty(Model):
    """Nothing in it."""

    kind: Literal["empty"]

    def contents(self) -> EngineContents:
        """Return it as the engine has it."""
        return EngineContents("empty")


class Full(Model):
    """Pressed full."""

    kind: Literal["full"]

    def contents(self) -> EngineContents:
        """Return it as the engine has it."""
        return EngineContents("full")


class VolumeOf(Model):
    """A net volume of liquid."""

    kind: Literal["volume"]
    volume_m3: Volume

    def contents(self) -> EngineContents:
        """Return it as the engine has it."""
        return EngineContents("volume", self.volume_m3.value)


class TankOf(Model):
    """A tank, its liquid, and how much of that belongs to the lightship."""

    name: Label
    shape: BoxShape
    density_t_per_m3: Density
    contents: Annotated[Empty | Full | VolumeOf, Field(discriminator="kind")]
    permeability_ratio: Annotated[float, Field(gt=0, le=1)] = 1.0
    lightship_volume_m3: Annotated[float, Field(ge=0, le=1e7)] = 0.0
    """Part of the liquid that is lightship."""

    def aboard(self) -> TankAboard:
        """Return it as the engine has it, a fault placed below ``shape``."""
        sides = {name: getattr(self.shape, name) for name in BoxShape.model_fields if name != "kind"}
        try:
            solid = Box(**sides).solid()
        except EngineError as error:
            raise error.at("shape") from error
        return TankAboard(
            tank=EngineTank.of_solid(solid, permeability_ratio=self.permeability_ratio),
            density_t_per_m3=self.density_t_per_m3.value,
            contents=self.contents.contents(),
            lightship_volume_m3=self.lightship_volume_m3,
        )
