"""Solids and the planes that cut them: one question, one answer."""

from engine.geometry.cut import Cuts, Solid
from engine.geometry.offsets_input import OffsetsInput, OffsetStation, solid_from_offsets
from engine.geometry.plane import Planes
from engine.geometry.section_solid import SectionSolid
from engine.geometry.surface_solid import SurfaceSolid

__all__ = [
    "Cuts",
    "OffsetStation",
    "OffsetsInput",
    "Planes",
    "SectionSolid",
    "Solid",
    "SurfaceSolid",
    "solid_from_offsets",
]
