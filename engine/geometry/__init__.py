"""Solids and the planes that cut them: one question, one answer."""

from engine.geometry.cut import Cuts, Solid
from engine.geometry.plane import Planes
from engine.geometry.surface_solid import SurfaceSolid

__all__ = ["Cuts", "Planes", "Solid", "SurfaceSolid"]
