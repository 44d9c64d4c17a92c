"""Cells of free surfaces of simple shape. Layer: service.cells."""

from typing import Annotated

from fastapi import APIRouter
from pydantic import Field

from engine.liquids import free_surface
from service.cells.cell import cell
from service.edge.model import Model
from service.edge.shelf import Shelf

router = APIRouter()

Side = Annotated[float, Field(ge=1e-3, le=1000)]


class Liquid(Model):
    """What every form has besides its lengths."""

    density_t_per_m3: Annotated[float, Field(ge=0.1, le=20)] = 1.0


class LengthAndBreadth(Liquid):
    """Along the ship and athwart."""

    length_m: Side
    breadth_m: Side


class Trapezoid(Liquid):
    """Symmetric about the fore-and-aft axis."""

    length_m: Side
    breadth_aft_m: Side
    breadth_forward_m: Side


class Circle(Liquid):
    """A standing cylinder."""

    radius_m: Side


class LyingCylinder(Liquid):
    """A cylinder along the ship, filled to a depth."""

    length_m: Side
    radius_m: Side
    depth_m: Side


BOX = {"length_m": "10", "breadth_m": "4", "density_t_per_m3": "0.86"}


@cell(
    router,
    "free-surface-rectangle",
    parameters=LengthAndBreadth,
    operation_id="compute_cell_free_surface_rectangle",
    summary="Free-surface moment of a rectangle, ρ L b³/12 [t·m]",
    example=BOX,
)
def rectangle(given: LengthAndBreadth, _: Shelf) -> float:
    """Return the density times the transverse second moment."""
    return given.density_t_per_m3 * free_surface.rectangle_m4(length_m=given.length_m, breadth_m=given.breadth_m)


@cell(
    router,
    "free-surface-isosceles-triangle",
    parameters=LengthAndBreadth,
    operation_id="compute_cell_free_surface_isosceles_triangle",
    summary="Free-surface moment of a triangle with its base athwart, symmetric about the fore-and-aft axis [t·m]",
    example=BOX,
)
def isosceles(given: LengthAndBreadth, _: Shelf) -> float:
    """Return ρ L b³/48."""
    moment = free_surface.isosceles_triangle_m4(length_m=given.length_m, breadth_m=given.breadth_m)
    return given.density_t_per_m3 * moment


@cell(
    router,
    "free-surface-right-triangle",
    parameters=LengthAndBreadth,
    operation_id="compute_cell_free_surface_right_triangle",
    summary="Free-surface moment of a triangle with one leg along the ship and one athwart [t·m]",
    example=BOX,
)
def right(given: LengthAndBreadth, _: Shelf) -> float:
    """Return ρ L b³/36."""
    moment = free_surface.right_triangle_m4(length_m=given.length_m, breadth_m=given.breadth_m)
    return given.density_t_per_m3 * moment


@cell(
    router,
    "free-surface-trapezoid",
    parameters=Trapezoid,
    operation_id="compute_cell_free_surface_trapezoid",
    summary="Free-surface moment of a trapezoid symmetric about the fore-and-aft axis [t·m]",
    example={"length_m": "10", "breadth_aft_m": "4", "breadth_forward_m": "2"},
)
def trapezoid(given: Trapezoid, _: Shelf) -> float:
    """Return ρ L (b₁ + b₂)(b₁² + b₂²)/48."""
    return given.density_t_per_m3 * free_surface.trapezoid_m4(
        length_m=given.length_m, breadth_aft_m=given.breadth_aft_m, breadth_forward_m=given.breadth_forward_m
    )


@cell(
    router,
    "free-surface-circle",
    parameters=Circle,
    operation_id="compute_cell_free_surface_circle",
    summary="Free-surface moment of a circle, ρ π r⁴/4 [t·m]",
    example={"radius_m": "2"},
)
def circle(given: Circle, _: Shelf) -> float:
    """Return the density times the second moment."""
    return given.density_t_per_m3 * free_surface.circle_m4(radius_m=given.radius_m)


@cell(
    router,
    "free-surface-lying-cylinder",
    parameters=LyingCylinder,
    operation_id="compute_cell_free_surface_lying_cylinder",
    summary="Free-surface moment in a cylinder along the ship, filled to a depth [t·m]",
    example={"length_m": "10", "radius_m": "2", "depth_m": "1"},
)
def lying_cylinder(given: LyingCylinder, _: Shelf) -> float:
    """Return that of the rectangle its surface is."""
    return given.density_t_per_m3 * free_surface.lying_cylinder_m4(
        length_m=given.length_m, radius_m=given.radius_m, depth_m=given.depth_m
    )
