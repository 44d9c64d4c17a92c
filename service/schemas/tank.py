"""A tank and what is in it. Layer: service.schemas."""

from typing import Annotated, Literal

from pydantic import Field

from engine.errors import EngineError
from engine.liquids.sounding import SoundingPipe
from engine.liquids.tank import Tank as EngineTank
from engine.record.contents import Contents as EngineContents
from engine.record.record import TankAboard
from service.edge.model import Model
from service.edge.quantities import Measured, MeasuredIn
from service.schemas.common import Density, Label, PositionX, PositionY, Volume
from service.schemas.shape import ShapeOf, TableShape

Depth = Annotated[Measured, MeasuredIn("m", ge=0, le=1e3)]


class SoundingPoint(Model):
    """Where a plumb sounding pipe stands, from the tank's lowest level to its highest."""

    x_m: PositionX
    y_m: PositionY


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


class Sounding(Model):
    """Depth of liquid along the sounding pipe, from its foot."""

    kind: Literal["sounding"]
    sounding_m: Depth

    def contents(self) -> EngineContents:
        """Return it as the engine has it."""
        return EngineContents("sounding", self.sounding_m.value)


class Ullage(Model):
    """Space above the liquid along the sounding pipe, from its top."""

    kind: Literal["ullage"]
    ullage_m: Depth

    def contents(self) -> EngineContents:
        """Return it as the engine has it."""
        return EngineContents("ullage", self.ullage_m.value)


ContentsOf = Annotated[Empty | Full | VolumeOf | Sounding | Ullage, Field(discriminator="kind")]


class TankOf(Model):
    """A tank, its liquid, and how much of that belongs to the lightship."""

    name: Label
    shape: ShapeOf
    density_t_per_m3: Density
    contents: ContentsOf
    permeability_ratio: Annotated[float, Field(gt=0, le=1)] = 1.0
    lightship_volume_m3: Annotated[float, Field(ge=0, le=1e7)] = 0.0
    """Part of the liquid that is lightship."""
    sounding_point: SoundingPoint | None = None

    def aboard(self) -> TankAboard:
        """Return it as the engine has it, a fault placed below ``shape``."""
        try:
            tank = self._tank()
        except EngineError as error:
            raise error.at("shape") from error
        return TankAboard(
            tank=tank,
            density_t_per_m3=self.density_t_per_m3.value,
            contents=self.contents.contents(),
            lightship_volume_m3=self.lightship_volume_m3,
        )

    def _tank(self) -> EngineTank:
        if isinstance(self.shape, TableShape):
            return EngineTank.of_table(self.shape.table())
        solid, pipe, point = self.shape.solid(), None, self.sounding_point
        if point is not None:
            low, high = solid.bounds_m[:, 2].tolist()
            pipe = SoundingPipe.vertical(x_m=point.x_m.value, y_m=point.y_m.value, z_min_m=low, z_max_m=high)
        return EngineTank.of_solid(solid, permeability_ratio=self.permeability_ratio, pipe=pipe)
