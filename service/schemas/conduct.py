"""How a test was conducted: told in its report, and no number depends on it. Layer: service.schemas."""

from datetime import date
from typing import Annotated

from pydantic import Field

from service.edge.model import Model
from service.edge.quantities import Survey
from service.schemas.common import Label

Prose = Annotated[str, Field(min_length=1, max_length=2000)]
Clock = Annotated[str, Field(pattern="^([01][0-9]|2[0-3]):[0-5][0-9](:[0-5][0-9])?$")]
Speed = Annotated[float, Survey("m/s", ge=0, le=100)]


class PersonPresent(Model):
    """Who was there, and as what."""

    role: Label
    """In what capacity: for the authority, for the yard, reads the bridge pendulum."""
    name: Label | None = None


class DocumentUsed(Model):
    """A drawing, table or book the test rests on."""

    title: Label
    reference: Label | None = None
    """Number, revision, date, stamp of approval."""


class Conduct(Model):
    """The circumstances a report states; every one may be left out, and the report then says that it is not stated."""

    day: date | None = None
    """Day of the test, or the first of several."""
    start_time: Clock | None = None
    """Of reading 0, local."""
    end_time: Clock | None = None
    """Of the last reading, local."""
    place: Label | None = None
    """Port, yard, berth."""
    weather: Label | None = None
    """Sky, rain, visibility."""
    air_temperature_c: Annotated[float, Survey("°C", ge=-90, le=70)] | None = None
    wind_speed_m_per_s: Speed | None = None
    wind_direction: Label | None = None
    """Where it comes from, steady or in gusts."""
    sea: Label | None = None
    """Sea state, swell, wash of passing traffic."""
    current_speed_m_per_s: Speed | None = None
    current_direction: Label | None = None
    """Where it sets, and the tide."""
    water_depth_m: Annotated[float, Survey("m", gt=0, le=1.2e4)] | None = None
    mooring: Prose | None = None
    """Lines, fenders, and how free she was to heel at each reading."""
    vessel_condition: Prose | None = None
    """How complete, bilges and decks dry, what was still aboard."""
    persons: Annotated[tuple[PersonPresent, ...], Field(max_length=100)] | None = None
    documents: Annotated[tuple[DocumentUsed, ...], Field(max_length=200)] | None = None
    remarks: Prose | None = None
