"""Solids and the planes that cut them: one question, one answer."""

from engine.geometry.compound import Compound, Shelled
from engine.geometry.cut import Cuts, Solid
from engine.geometry.level import level
from engine.geometry.mesh_input import MeshInput, read_mesh, solid_from_arrays
from engine.geometry.offsets_input import OffsetsInput, OffsetStation, solid_from_offsets
from engine.geometry.plane import Planes
from engine.geometry.section_solid import SectionSolid
from engine.geometry.sections_of_mesh import sections_of_mesh
from engine.geometry.surface_solid import SurfaceSolid

__all__ = [
    "Compound",
    "Cuts",
    "MeshInput",
    "OffsetStation",
    "OffsetsInput",
    "Planes",
    "SectionSolid",
    "Shelled",
    "Solid",
    "SurfaceSolid",
    "level",
    "read_mesh",
    "sections_of_mesh",
    "solid_from_arrays",
    "solid_from_offsets",
]
