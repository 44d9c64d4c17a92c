"""Cells that turn feet, inches and eighths into metres and back. Layer: service.cells."""

from fractions import Fraction
from typing import Annotated

from fastapi import APIRouter
from pydantic import Field

from service.cells.cell import cell
from service.edge import units
from service.edge.model import Model
from service.edge.problems import ProblemError
from service.edge.quantities import unreadable_words
from service.edge.shelf import Shelf

router = APIRouter()

EIGHTH_M = Fraction(254, 10_000) / 8


class QuantityParameters(Model):
    """A length as it stands on the sheet, with its unit."""

    length: Annotated[str, Field(min_length=1, max_length=40)]
    """`12 ft 6 3/8 in`, `12-06-3 ft`, `148.5 mm`, `3,81 m`."""


class FeetParameters(Model):
    """A length in metres."""

    length_m: Annotated[float, Field(ge=-10_000, le=10_000)]


@cell(
    router,
    "metres",
    parameters=QuantityParameters,
    operation_id="compute_cell_metres",
    summary="A length with its unit, in metres [m]",
    example={"length": "12-06-3 ft"},
)
def metres(given: QuantityParameters, _: Shelf) -> float:
    """Return the length in metres; feet-inches-eighths too."""
    text = given.length
    if text.count(",") == 1 and "." not in text:
        text = text.replace(",", ".")
    try:
        return units.read(text, unit="m")
    except units.UnreadableError as error:
        raise ProblemError(error.code, unreadable_words(error.code, dimension="length")) from None


@cell(
    router,
    "feet-inches-eighths",
    parameters=FeetParameters,
    operation_id="compute_cell_feet_inches_eighths",
    summary="Metres as feet-inches-eighths, to the nearest eighth of an inch",
    example={"length_m": "3.8195"},
    gives="text",
)
def feet_inches_eighths(given: FeetParameters, _: Shelf) -> str:
    """Return feet, inches and eighths with dashes between, as `12-06-3`; a half eighth is rounded to the even one."""
    eighths = round(Fraction(abs(given.length_m)) / EIGHTH_M)
    feet, rest = divmod(eighths, 96)
    inches, eighths = divmod(rest, 8)
    sign = "-" if given.length_m < 0 and (feet or inches or eighths) else ""
    return f"{sign}{feet}-{inches:02d}-{eighths}"
