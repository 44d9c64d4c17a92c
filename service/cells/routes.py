"""All families of cells. Layer: service.cells."""

from typing import Any

from service.cells import hulls, incline, lengths, surfaces, tanks, water
from service.cells.cell import Cell

ROUTERS = tuple(family.router for family in (water, incline, surfaces, lengths, hulls, tanks))


def cells() -> list[Cell[Any]]:
    """Return every cell served."""
    return [route.endpoint.cell for router in ROUTERS for route in router.routes]
