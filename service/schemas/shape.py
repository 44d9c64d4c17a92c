"""Shapes of tanks and appendages. Layer: service.schemas."""

from typing import Annotated, Literal

import numpy as np
from pydantic import Field

from engine.geometry import Solid, solid_from_arrays
from engine.geometry.shapes import Box, Cylinder, Prism, PrismSection
from engine.liquids.sounding_table import SoundingTable
from service.edge.axes import FACES, XYZ, YZ, X, Y
from service.edge.model import Model

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

    def solid(self) -> Solid:
        """Return it as the engine has it."""
        sides = {name: getattr(self, name) for name in BoxShape.model_fields if name != "kind"}
        return Box(**sides).solid()


class Frame(Model):
    """A frame of a prism: a closed polygon of y and z."""

    x_m: Annotated[Bound, X]
    points_m: Annotated[tuple[tuple[Bound, Bound], ...], Field(min_length=3, max_length=500), YZ]


class PrismShape(Model):
    """A body between frames, ruled from point to point."""

    kind: Literal["prism"]
    frames: Annotated[tuple[Frame, ...], Field(min_length=2, max_length=200)]

    def solid(self) -> Solid:
        """Return it as the engine has it."""
        ordered = sorted(self.frames, key=lambda frame: frame.x_m)
        return Prism(tuple(PrismSection(f.x_m, np.array(f.points_m)) for f in ordered)).solid()


class CylinderShape(Model):
    """A circular cylinder about its middle."""

    kind: Literal["cylinder"]
    axis: Literal["x", "y", "z"]
    radius_m: Annotated[float, Field(ge=1e-3, le=1e3)]
    length_m: Annotated[float, Field(ge=1e-3, le=1e3)]
    x_m: Annotated[Bound, X]
    y_m: Annotated[Bound, Y]
    z_m: Bound

    def solid(self) -> Solid:
        """Return it as the engine has it."""
        return Cylinder(self.axis, self.radius_m, self.length_m, self.x_m, self.y_m, self.z_m).solid()


class MeshShape(Model):
    """A closed triangle mesh."""

    kind: Literal["mesh"]
    vertices_m: Annotated[tuple[tuple[Bound, Bound, Bound], ...], Field(max_length=50_000), XYZ]
    faces: Annotated[tuple[tuple[int, int, int], ...], Field(max_length=50_000), FACES]

    def solid(self) -> Solid:
        """Return it as the engine has it."""
        return solid_from_arrays(vertices_m=np.array(self.vertices_m), faces=np.array(self.faces)).solid


class TableShape(Model):
    """A sounding table, where no shape is known; volumes are net of permeability."""

    kind: Literal["table"]
    sounding_m: Annotated[tuple[float, ...], Field(min_length=2, max_length=10_000)]
    volume_m3: Annotated[tuple[float, ...], Field(min_length=2, max_length=10_000)]
    x_m: Annotated[tuple[float, ...], Field(min_length=2, max_length=10_000), X]
    y_m: Annotated[tuple[float, ...], Field(min_length=2, max_length=10_000), Y]
    z_m: Annotated[tuple[float, ...], Field(min_length=2, max_length=10_000)]
    free_surface_moment_m4: Annotated[tuple[float, ...], Field(min_length=2, max_length=10_000)]

    def table(self) -> SoundingTable:
        """Return it as the engine has it."""
        columns = {name: getattr(self, name) for name in TableShape.model_fields if name != "kind"}
        return SoundingTable.from_columns(**columns)


BodyOf = Annotated[BoxShape | PrismShape | CylinderShape | MeshShape, Field(discriminator="kind")]
ShapeOf = Annotated[BoxShape | PrismShape | CylinderShape | MeshShape | TableShape, Field(discriminator="kind")]
