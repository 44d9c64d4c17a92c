"""Weights, moves and instruments. Layer: service.schemas."""

from typing import Annotated, Literal

import numpy as np
from pydantic import Field

from engine.checks import Floats
from engine.errors import InputError
from engine.incline import instruments as engine
from engine.incline.moments import Move as EngineMove
from engine.incline.moments import Weight as EngineWeight
from service.edge.model import Model
from service.edge.quantities import Measured, MeasuredIn, Repeated, RepeatedIn
from service.schemas.common import Label, Length, PositionX, PositionY, PositiveLength

Positive = Literal["starboard", "port"]
Reading = Annotated[Repeated | None, RepeatedIn("m", ge=-1e3, le=1e3)]
Angle = Annotated[Repeated | None, RepeatedIn("deg", ge=-180, le=180)]
Readings = Annotated[tuple[Reading, ...], Field(max_length=200)]
Angles = Annotated[tuple[Angle, ...], Field(max_length=200)]


class Weight(Model):
    """An inclining weight as placed at reading 0."""

    id: Label
    mass_t: Annotated[Measured, MeasuredIn("t", gt=0, le=1e5)]
    x_m: PositionX
    y_m: PositionY
    z_m: Length
    certificate: Label | None = None
    """Of its weighing: number, date, by whom; told in the report."""

    def weight(self) -> EngineWeight:
        """Return it as the engine has it."""
        return EngineWeight(self.mass_t.value, np.array([self.x_m.value, self.y_m.value, self.z_m.value]))


class Move(Model):
    """One move: which weight, and where its centre then lies."""

    weight: Label
    to_y_m: PositionY
    to_x_m: PositionX | None = None
    to_z_m: Length | None = None

    def move(self) -> EngineMove:
        """Return it as the engine has it."""
        return EngineMove(
            self.weight,
            to_y_m=self.to_y_m.value,
            to_x_m=None if self.to_x_m is None else self.to_x_m.value,
            to_z_m=None if self.to_z_m is None else self.to_z_m.value,
        )


class Pendulum(Model):
    """Pivot to batten; raw batten readings, one a reading: null where missed, a list where repeated."""

    kind: Literal["pendulum"]
    id: Label
    length_m: PositiveLength
    positive: Positive
    deflections_m: Readings

    def instrument(self) -> engine.Instrument:
        """Return it as the engine has it."""
        return engine.Pendulum(self.id, self.length_m.value, self.positive, _row(self.deflections_m))


class UTube(Model):
    """Levels read up each leg; the starboard one rises when she heels to starboard."""

    kind: Literal["u_tube"]
    id: Label
    spread_m: PositiveLength
    port_levels_m: Readings
    starboard_levels_m: Readings

    def instrument(self) -> engine.Instrument:
        """Return it as the engine has it."""
        port_count, starboard_count = len(self.port_levels_m), len(self.starboard_levels_m)
        if port_count != starboard_count:
            words = f"{starboard_count} starboard levels, but {port_count} port levels: both legs need as many"
            raise InputError(words, code="unequal-lengths", field="starboard_levels_m")
        port, starboard = _row(self.port_levels_m), _row(self.starboard_levels_m)
        return engine.UTube(self.id, self.spread_m.value, port, starboard)


class Inclinometer(Model):
    """Angles, one a reading."""

    kind: Literal["inclinometer"]
    id: Label
    positive: Positive
    angles_deg: Angles

    def instrument(self) -> engine.Instrument:
        """Return it as the engine has it."""
        return engine.Inclinometer(self.id, self.positive, _row(self.angles_deg))


InstrumentOf = Annotated[Pendulum | UTube | Inclinometer, Field(discriminator="kind")]


def _row(values: tuple[Repeated | None, ...]) -> Floats:
    """Return the readings, the mean of repeated ones, NaN where missed."""
    return np.array([np.nan if value is None else value.value for value in values], dtype=np.float64)
