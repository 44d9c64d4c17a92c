"""The record of a stability test. Layer: service.schemas."""

from collections import Counter
from collections.abc import Callable, Sequence
from typing import Annotated, Literal, TypeVar

from pydantic import Field

from engine.errors import EngineError, InputError
from engine.findings import Finding
from engine.record.record import Record
from service.edge.axes import Axes, Y, to_ship_frame
from service.edge.model import Model
from service.schemas.common import Label, Length, LengthBP, Mass, PositionX
from service.schemas.hull import Hull, solid_of
from service.schemas.incline import InstrumentOf, Move, Weight
from service.schemas.survey import DraftMark, Freeboard, Item, SurveyDifference, Water, heights
from service.schemas.tank import TankOf

Noun = TypeVar("Noun")
Made = TypeVar("Made")


class Vessel(Model):
    """Whose test it is."""

    name: Label
    length_bp_m: LengthBP | None = None
    """Repeats the hull's, which rules; a difference is refused."""


class Particulars(Model):
    """A lightship somebody stated: approved or predicted."""

    mass_t: Mass
    x_m: PositionX
    y_m: Annotated[float, Field(ge=-1e4, le=1e4), Y] | None = None
    z_m: Length


class StabilityTest(Model):
    """A whole test, from hull to readings."""

    vessel: Vessel | None = None
    axes: Axes | None = None
    hull: Hull
    water: Water
    freeboards: Annotated[tuple[Freeboard, ...], Field(max_length=500)] = ()
    draft_marks: Annotated[tuple[DraftMark, ...], Field(max_length=500)] = ()
    survey_differences: Annotated[tuple[SurveyDifference, ...], Field(max_length=500)] = ()
    tanks: Annotated[tuple[TankOf, ...], Field(max_length=500)] = ()
    weights: Annotated[tuple[Weight, ...], Field(min_length=1, max_length=200)]
    moves: Annotated[tuple[Move, ...], Field(max_length=199)]
    instruments: Annotated[tuple[InstrumentOf, ...], Field(min_length=1, max_length=50)]
    items: Annotated[tuple[Item, ...], Field(max_length=5000)] = ()
    approved: Particulars | None = None
    predicted: Particulars | None = None
    deflection: Literal["auto", "apply", "ignore"] = "auto"

    def record(self) -> tuple[Record, tuple[Finding, ...]]:
        """Return the record as the engine has it, and what was noticed of the hull."""
        self._check_lengths()
        self._check_names()
        turned = to_ship_frame(self, self.axes, length_bp_m=self.hull.length_bp_m)
        return turned._record()

    def _record(self) -> tuple[Record, tuple[Finding, ...]]:
        solid, found = solid_of(self.hull)
        return (
            Record(
                hull=solid,
                length_bp_m=self.hull.length_bp_m,
                density_t_per_m3=self.water.density(),
                heights=heights(self.freeboards, self.draft_marks),
                weights={weight.id: weight.weight() for weight in self.weights},
                moves=tuple(move.move() for move in self.moves),
                instruments=each(self.instruments, lambda one: one.instrument(), "instruments"),
                survey_differences=tuple(one.mass() for one in self.survey_differences),
                tanks=each(self.tanks, TankOf.aboard, "tanks"),
                items=each(self.items, Item.item, "items"),
                deflection=self.deflection,
            ),
            found,
        )

    def _check_lengths(self) -> None:
        stated = self.vessel.length_bp_m if self.vessel else None
        if stated is not None and stated != self.hull.length_bp_m:
            raise InputError(
                f"the hull states {self.hull.length_bp_m:.6g} m, the vessel {stated:.6g} m",
                code="length-mismatch",
                field="vessel/length_bp_m",
                value=stated,
                limit=self.hull.length_bp_m,
            )
        if not self.freeboards and not self.draft_marks:
            raise InputError("freeboards or draft marks are needed", code="no-heights", field="freeboards")

    def _check_names(self) -> None:
        for noun, names in (
            ("weights", [one.id for one in self.weights]),
            ("instruments", [one.id for one in self.instruments]),
        ):
            repeated = [i for i, name in enumerate(names) if Counter(names[: i + 1])[name] > 1]
            if repeated:
                raise InputError("this id is taken already", code="duplicate-id", field=f"{noun}/{repeated[0]}/id")


def each(nouns: Sequence[Noun], make: Callable[[Noun], Made], field: str) -> tuple[Made, ...]:
    """Make each, a fault placed at its number."""
    made = []
    for i, noun in enumerate(nouns):
        try:
            made.append(make(noun))
        except EngineError as error:
            raise error.at(f"{field}/{i}") from error
    return tuple(made)
