"""The hull. Layer: service.schemas."""

import base64
import binascii
from typing import Annotated, Literal

import numpy as np
from pydantic import Field, TypeAdapter

from engine.errors import EngineError, InputError
from engine.findings import Finding
from engine.geometry import (
    Compound,
    OffsetStation,
    Shelled,
    Solid,
    SurfaceSolid,
    read_mesh,
    solid_from_arrays,
    solid_from_offsets,
)
from engine.geometry.sections_of_mesh import sections_of_mesh
from service.edge.axes import FACES, XYZ, YZ, X
from service.edge.model import Model
from service.edge.shelf import kept
from service.schemas.common import LengthBP
from service.schemas.shape import BodyOf

Coordinate = Annotated[float, Field(ge=-1e4, le=1e4)]
Station = tuple[Coordinate, Coordinate]


class OffsetsStation(Model):
    """One station: a line of points from the keel up, mirrored where the hull is given as a half."""

    x_m: Annotated[float, Field(ge=-1e4, le=1e4), X]
    points_m: Annotated[tuple[Station, ...], Field(max_length=2000), YZ] = ()
    """y and z of each point."""
    knuckles: Annotated[tuple[int, ...], Field(max_length=2000)] = ()
    """Numbers of the points, from 0, where a curve breaks."""
    loops_m: Annotated[tuple[tuple[Station, ...], ...], Field(max_length=50), YZ] = ()
    """Closed loops, for hulls off the centreline and openings."""


class Appendage(Model):
    """A body added to the moulded hull, or an opening taken out of it; overlap is searched in hulls/inspection only."""

    shape: BodyOf
    effect: Literal["add", "remove"] = "add"


class HullOf(Model):
    """What every hull may have besides its moulded form."""

    length_bp_m: LengthBP
    appendages: Annotated[tuple[Appendage, ...], Field(max_length=100)] = ()
    shell_mm: Annotated[float, Field(ge=0, le=500)] = 0.0
    """Mean thickness of the shell outside the moulded form."""

    def solid(self) -> tuple[Solid, tuple[Finding, ...]]:
        """Return the moulded solid and what was noticed."""
        raise NotImplementedError


class OffsetsHull(HullOf):
    """A table of offsets."""

    kind: Literal["offsets"]
    between_points: Literal["straight", "curve"] = "straight"
    stations: Annotated[tuple[OffsetsStation, ...], Field(max_length=1000)]

    def solid(self) -> tuple[Solid, tuple[Finding, ...]]:
        """Return the solid and what was noticed; a half section may be that of either side."""
        drawn = [y for s in self.stations for y, _ in s.points_m]
        starboard_half = bool(drawn) and max(drawn) <= 0 and not any(s.loops_m for s in self.stations)
        side = -1.0 if starboard_half else 1.0
        read = solid_from_offsets(
            [
                OffsetStation(
                    x_m=s.x_m,
                    points_m=[(side * y + 0.0, z) for y, z in s.points_m],
                    knuckles=s.knuckles,
                    loops_m=s.loops_m,
                )
                for s in self.stations
            ],
            between_points=self.between_points,
        )
        return read.solid, read.findings


class MeshFileHull(HullOf):
    """A triangle mesh in a file; file unit × scale_ratio = metres."""

    kind: Literal["mesh_file"]
    format: Literal["stl", "obj", "ply", "off"]
    data_base64: str
    scale_ratio: Annotated[float, Field(gt=0, le=1e6)] = 1.0
    symmetry: Literal["full", "half"] = "full"

    def solid(self) -> tuple[SurfaceSolid, tuple[Finding, ...]]:
        """Return the solid and what was noticed."""
        read = read_mesh(self._data(), file_format=self.format, scale_ratio=self.scale_ratio, symmetry=self.symmetry)
        return read.solid, read.findings

    def _data(self) -> bytes:
        try:
            return base64.b64decode(self.data_base64, validate=True)
        except (binascii.Error, ValueError):
            raise InputError("the text is not base64", code="not-base64", field="data_base64") from None


class MeshHull(HullOf):
    """A triangle mesh as arrays, outward normals by the right-hand rule."""

    kind: Literal["mesh"]
    vertices_m: Annotated[tuple[tuple[Coordinate, Coordinate, Coordinate], ...], Field(max_length=200_000), XYZ]
    faces: Annotated[tuple[tuple[int, int, int], ...], Field(max_length=200_000), FACES]
    symmetry: Literal["full", "half"] = "full"

    def solid(self) -> tuple[SurfaceSolid, tuple[Finding, ...]]:
        """Return the solid and what was noticed."""
        read = solid_from_arrays(
            vertices_m=np.array(self.vertices_m), faces=np.array(self.faces), symmetry=self.symmetry
        )
        return read.solid, read.findings


class ReferredHull(Model):
    """A hull that is not in the request; the service puts the hull itself in its place before anything is computed."""

    @property
    def length_bp_m(self) -> float:
        """Raise: the hull itself would know."""
        raise InputError("the hull itself is needed here", code="hull-not-held", field="hull")

    def solid(self) -> tuple[Solid, tuple[Finding, ...]]:
        """Raise: the hull itself would know."""
        raise InputError("the hull itself is needed here", code="hull-not-held")


class LibraryHull(ReferredHull):
    """A hull of the operator's library; `GET /v1/hulls` lists them."""

    kind: Literal["library"]
    name: Annotated[str, Field(pattern="^[a-z0-9][a-z0-9-]{0,59}$")]


class HeldHull(ReferredHull):
    """A hull sent lately, by the `hull_sha256` its answer told; 409 where this process no longer holds it."""

    kind: Literal["held"]
    sha256: Annotated[str, Field(pattern="^[0-9a-f]{64}$")]


GivenHull = OffsetsHull | MeshFileHull | MeshHull
HullModel = GivenHull | LibraryHull | HeldHull
Hull = Annotated[HullModel, Field(discriminator="kind")]

_GIVEN: TypeAdapter[GivenHull] = TypeAdapter(Annotated[GivenHull, Field(discriminator="kind")])


def hull_from_json(data: bytes) -> GivenHull:
    """Return the hull of a library's file."""
    return _GIVEN.validate_json(data)


BOX_BARGE = {
    "kind": "offsets",
    "length_bp_m": 60.0,
    "stations": [
        {"x_m": 0.0, "points_m": [[0, 0], [6, 0], [6, 8]]},
        {"x_m": 60.0, "points_m": [[0, 0], [6, 0], [6, 8]]},
    ],
}
"""The hull of the examples: a box of 60 × 12 × 8 m."""


def solid_of(hull: HullModel) -> tuple[Solid, tuple[Finding, ...]]:
    """Return the hull's solid with appendages and shell, a fault placed below ``hull``."""
    if isinstance(hull, ReferredHull):
        hull.solid()
    assert isinstance(hull, HullOf)
    try:
        moulded, found = kept(hull, "solid", hull.solid)
    except EngineError as error:
        raise error.at("hull") from error
    return finished(hull, moulded), found


def sections_of(hull: HullModel) -> Solid:
    """Return a mesh hull by its transverse sections, the second method, with appendages and shell."""
    assert isinstance(hull, (MeshFileHull, MeshHull))
    try:
        moulded, _ = kept(hull, "solid", hull.solid)
        sections = sections_of_mesh(vertices_m=moulded.vertices_m, faces=moulded.faces)
    except EngineError as error:
        raise error.at("hull") from error
    return finished(hull, sections)


def finished(hull: HullOf, moulded: Solid) -> Solid:
    """Return the moulded form with its shell, appendages added and openings removed."""
    solid = Shelled(moulded, hull.shell_mm / 1000) if hull.shell_mm else moulded
    parts, signs = [solid], [1]
    for i, appendage in enumerate(hull.appendages):
        try:
            parts.append(appendage.shape.solid())
        except EngineError as error:
            raise error.at(f"hull/appendages/{i}/shape") from error
        signs.append(1 if appendage.effect == "add" else -1)
    return Compound.of(parts, signs=signs) if hull.appendages else solid
