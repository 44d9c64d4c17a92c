"""A tank and what is in it. Layer: service.schemas."""

from dataclasses import replace
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from engine.errors import EngineError, InputError
from engine.findings import Finding
from engine.geometry import Solid
from engine.liquids.sounding import SoundingPipe
from engine.liquids.tank import Tank as EngineTank
from engine.record.contents import Contents as EngineContents
from engine.record.record import TankAboard
from service.edge.axes import XYZ
from service.edge.model import Model
from service.edge.quantities import Measured, MeasuredIn, Survey
from service.schemas.common import Density, Label, PositionX, PositionY, Volume
from service.schemas.shape import ShapeOf, TableShape

Depth = Annotated[Measured, MeasuredIn("m", ge=0, le=1e3)]


class SoundingPoint(Model):
    """Where a plumb sounding pipe stands, from the tank's lowest level to its highest."""

    x_m: PositionX
    y_m: PositionY


Coordinate = Annotated[float, Survey("m", ge=-1e4, le=1e4)]


class SoundingPipeOf(Model):
    """A sounding pipe that is not plumb: straight from point to point, inclined or bent."""

    points_m: Annotated[tuple[tuple[Coordinate, Coordinate, Coordinate], ...], Field(min_length=2, max_length=100), XYZ]
    """From its foot, where the rod strikes, to its top, each point above the one before."""

    def pipe(self) -> SoundingPipe:
        """Return it as the engine has it."""
        return SoundingPipe.through(self.points_m)


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
    """Of a plumb pipe; one through the middle of the tank's box where neither this nor `sounding_pipe` is given."""
    sounding_pipe: SoundingPipeOf | None = None
    """Of a pipe that is not plumb, in place of `sounding_point`; a tank known by its table takes none."""

    @model_validator(mode="after")
    def _one_pipe(self) -> Self:
        """Refuse two pipes, and a pipe where a table says all."""
        if self.sounding_pipe is None:
            return self
        if self.sounding_point is not None:
            raise InputError("give one of the two, not both", code="sounding-point-or-pipe", field="sounding_pipe")
        if isinstance(self.shape, TableShape):
            raise InputError(
                "a tank known by its table is sounded by the table", code="table-with-pipe", field="sounding_pipe"
            )
        return self

    def aboard(self) -> TankAboard:
        """Return it as the engine has it, a fault placed below ``shape`` or ``sounding_pipe``."""
        pipe = self._pipe_of_points()
        try:
            tank = self._tank(pipe)
        except EngineError as error:
            raise error.at("shape") from error
        return TankAboard(
            tank=tank,
            density_t_per_m3=self.density_t_per_m3.value,
            contents=self.contents.contents(),
            lightship_volume_m3=self.lightship_volume_m3,
        )

    def _pipe_of_points(self) -> SoundingPipe | None:
        if self.sounding_pipe is None:
            return None
        try:
            return self.sounding_pipe.pipe()
        except EngineError as error:
            raise error.at("sounding_pipe") from error

    def _tank(self, pipe: SoundingPipe | None) -> EngineTank:
        if isinstance(self.shape, TableShape):
            tank = EngineTank.of_table(self.shape.table())
            point = () if self.sounding_point is None else (POINT_NOT_USED,)
            ratio = () if self.permeability_ratio == 1.0 else (PERMEABILITY_NOT_USED,)
            return replace(tank, findings=(*tank.findings, *point, *ratio))
        solid = self.shape.solid()
        return EngineTank.of_solid(
            solid, permeability_ratio=self.permeability_ratio, pipe=self._plumb(solid) if pipe is None else pipe
        )

    def _plumb(self, solid: Solid) -> SoundingPipe | None:
        point = self.sounding_point
        if point is None:
            return None
        low, high = solid.bounds_m[:, 2].tolist()
        return SoundingPipe.vertical(x_m=point.x_m.value, y_m=point.y_m.value, z_min_m=low, z_max_m=high)


POINT_NOT_USED = Finding(
    "sounding-point-not-used", "the tank is known by its table: its soundings are the table's, wherever the pipe stands"
)
PERMEABILITY_NOT_USED = Finding(
    "permeability-not-used", "the tank is known by its table, which allows for its permeability: no other is applied"
)
