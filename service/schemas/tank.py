"""A tank and what is in it. Layer: service.schemas."""

from typing import Annotated, Literal

import numpy as np
from pydantic import Field

from engine.checks import Floats
from engine.errors import EngineError
from engine.geometry import solid_from_arrays
from engine.geometry.shapes import Box, Cylinder, Prism, PrismSection
from engine.liquids.sounding import SoundingPipe
from engine.liquids.sounding_table import SoundingTable
from engine.liquids.tank import Tank as EngineTank
from engine.record.contents import Contents as EngineContents
from engine.record.record import TankAboard
from service.edge.axes import FACES, XYZ, YZ, X, Y
from service.edge.model import Model
from service.edge.quantities import Measured, MeasuredIn
from service.schemas.common import Density, Label, PositionX, PositionY, Volume

Bound = Annotated[float, Field(ge=-1e4, le=1e4)]
Depth = Annotated[Measured, MeasuredIn("m", ge=0, le=1e3)]


class BoxShape(Model):
    """A box along the ship's axes."""

    kind: Literal["box"]
    x_min_m: Annotated[Bound, X]
    x_max_m: Annotated[Bound, X]
    y_min_m: Annotated[Bound, Y]
    y_max_m: Annotated[Bound, Y]
    z_min_m: Bound
    z_max_m: Bound

    def tank(self, permeability: float, point: "SoundingPoint | None") -> EngineTank:
        """Return it as the engine has it."""
        sides = {name: getattr(self, name) for name in BoxShape.model_fields if name != "kind"}
        return _tank(Box(**sides), permeability, point)


class Frame(Model):
    """A frame of a prism: a closed polygon of y and z."""

    x_m: Annotated[Bound, X]
    points_m: Annotated[tuple[tuple[Bound, Bound], ...], Field(min_length=3, max_length=500), YZ]


class PrismShape(Model):
    """A body between frames, ruled from point to point."""

    kind: Literal["prism"]
    frames: Annotated[tuple[Frame, ...], Field(min_length=2, max_length=200)]

    def tank(self, permeability: float, point: "SoundingPoint | None") -> EngineTank:
        """Return it as the engine has it."""
        ordered = sorted(self.frames, key=lambda frame: frame.x_m)
        return _tank(Prism(tuple(PrismSection(f.x_m, np.array(f.points_m)) for f in ordered)), permeability, point)


class CylinderShape(Model):
    """A circular cylinder about its middle."""

    kind: Literal["cylinder"]
    axis: Literal["x", "y", "z"]
    radius_m: Annotated[float, Field(gt=0, le=1e3)]
    length_m: Annotated[float, Field(gt=0, le=1e3)]
    x_m: Annotated[Bound, X]
    y_m: Annotated[Bound, Y]
    z_m: Bound

    def tank(self, permeability: float, point: "SoundingPoint | None") -> EngineTank:
        """Return it as the engine has it."""
        return _tank(
            Cylinder(self.axis, self.radius_m, self.length_m, self.x_m, self.y_m, self.z_m), permeability, point
        )


class MeshShape(Model):
    """A closed triangle mesh."""

    kind: Literal["mesh"]
    vertices_m: Annotated[tuple[tuple[Bound, Bound, Bound], ...], Field(max_length=50_000), XYZ]
    faces: Annotated[tuple[tuple[int, int, int], ...], Field(max_length=50_000), FACES]

    def tank(self, permeability: float, point: "SoundingPoint | None") -> EngineTank:
        """Return it as the engine has it."""
        solid = solid_from_arrays(vertices_m=np.array(self.vertices_m), faces=np.array(self.faces)).solid
        return EngineTank.of_solid(solid, permeability_ratio=permeability, pipe=_pipe(solid.bounds_m, point))


class TableShape(Model):
    """A sounding table, where no shape is known; volumes are net of permeability."""

    kind: Literal["table"]
    sounding_m: Annotated[tuple[float, ...], Field(min_length=2, max_length=10_000)]
    volume_m3: Annotated[tuple[float, ...], Field(min_length=2, max_length=10_000)]
    x_m: Annotated[tuple[float, ...], Field(min_length=2, max_length=10_000), X]
    y_m: Annotated[tuple[float, ...], Field(min_length=2, max_length=10_000), Y]
    z_m: Annotated[tuple[float, ...], Field(min_length=2, max_length=10_000)]
    free_surface_moment_m4: Annotated[tuple[float, ...], Field(min_length=2, max_length=10_000)]

    def tank(self, permeability: float, point: "SoundingPoint | None") -> EngineTank:
        """Return it as the engine has it."""
        columns = {name: getattr(self, name) for name in TableShape.model_fields if name != "kind"}
        return EngineTank.of_table(SoundingTable.from_columns(**columns))


ShapeOf = Annotated[BoxShape | PrismShape | CylinderShape | MeshShape | TableShape, Field(discriminator="kind")]


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
            tank = self.shape.tank(self.permeability_ratio, self.sounding_point)
        except EngineError as error:
            raise error.at("shape") from error
        return TankAboard(
            tank=tank,
            density_t_per_m3=self.density_t_per_m3.value,
            contents=self.contents.contents(),
            lightship_volume_m3=self.lightship_volume_m3,
        )


def _tank(shape: Box | Prism | Cylinder, permeability: float, point: SoundingPoint | None) -> EngineTank:
    solid = shape.solid()
    return EngineTank.of_solid(solid, permeability_ratio=permeability, pipe=_pipe(solid.bounds_m, point))


def _pipe(bounds_m: Floats, point: SoundingPoint | None) -> SoundingPipe | None:
    if point is None:
        return None
    low, high = float(bounds_m[0, 2]), float(bounds_m[1, 2])
    return SoundingPipe.vertical(x_m=point.x_m.value, y_m=point.y_m.value, z_min_m=low, z_max_m=high)
