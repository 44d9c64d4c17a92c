"""The record of a stability test. Layer: service.schemas."""

from dataclasses import replace
from typing import Annotated, Literal, Self

from pydantic import AfterValidator, Field, GetJsonSchemaHandler
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema

from engine.errors import InputError
from engine.findings import Finding
from engine.flotation.tables import HydrostaticTables
from engine.geometry import Solid
from engine.record.assumed import Assumed, Stated
from engine.record.record import Record
from service.edge.axes import Axes, to_ship_frame
from service.edge.model import Model
from service.edge.quantities import stated_values
from service.schemas.common import Label, LengthBP, each, unique
from service.schemas.comparison import ShipKind, ShipLength, StatedLightship
from service.schemas.conduct import Conduct
from service.schemas.incline import InstrumentOf, Move, Weight
from service.schemas.loading import LoadingConditionOf, StabilityBasis
from service.schemas.survey import DraftMark, Freeboard, Item, SurveyDifference, Water, heights
from service.schemas.table_hull import HullOrTables, solid_or_tables
from service.schemas.tank import TankOf


class Vessel(Model):
    """Whose test it is."""

    name: Label
    length_bp_m: LengthBP | None = None
    """Repeats the hull's, which rules; a difference is refused."""


Spread = Annotated[float, Field(ge=0, le=1e3)]
Share = Annotated[float, Field(ge=0, le=100)]


class Uncertainties(Model):
    """Standard uncertainties of what states none of its own; 0 takes a value as exact."""

    freeboard_m: Spread = Assumed.freeboard_m
    freeboard_common_m: Spread | None = None
    """Common to all freeboards and marks; without it 0.4 of ``freeboard_m``."""
    reading_m: Spread = Assumed.reading_m
    reading_deg: Spread = Assumed.reading_deg
    weight_percent: Share = Assumed.weight_percent
    arm_m: Spread = Assumed.arm_m
    length_m: Spread = Assumed.length_m
    density_t_per_m3: Annotated[float, Field(ge=0, le=1)] = Assumed.density_t_per_m3
    hull_volume_percent: Share = Assumed.hull_volume_percent
    tank_volume_percent: Share = Assumed.tank_volume_percent
    ledger_mass_percent: Share = Assumed.ledger_mass_percent
    ledger_centre_m: Spread = Assumed.ledger_centre_m

    def assumed(self) -> Assumed:
        """Return them as the engine has them."""
        return Assumed(**dict(self))


class SurveyedShip(Model):
    """A hull and the heights of the water read on it."""

    vessel: Vessel | None = None
    axes: Axes | None = None
    hull: HullOrTables
    """Its geometry, or its approved tables (kind `tables`): then GM comes from the regression alone."""
    water: Water
    freeboards: Annotated[tuple[Freeboard, ...], Field(max_length=500)] = ()
    draft_marks: Annotated[tuple[DraftMark, ...], Field(max_length=500)] = ()
    deflection: Literal["auto", "apply", "ignore"] = "auto"
    uncertainty: Uncertainties | None = None

    def record(self) -> tuple[Record, tuple[Finding, ...]]:
        """Return the record as the engine has it, and what was noticed of the hull and the water."""
        self._check()
        turned = self.in_ship_frame()
        hull, found = solid_or_tables(turned.hull)
        return turned._record(hull), (*found, *self.water.noticed())

    def in_ship_frame(self) -> Self:
        """Return the same document in the ship's own axes."""
        return to_ship_frame(self, self.axes, length_bp_m=self.hull.length_bp_m)

    def _check(self) -> None:
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

    def _record(self, hull: Solid | HydrostaticTables) -> Record:
        assumed = (self.uncertainty or Uncertainties()).assumed()
        return Record(
            hull=hull,
            length_bp_m=self.hull.length_bp_m,
            samples=self.water.read(),
            heights=heights(self.freeboards, self.draft_marks, assumed_m=assumed.freeboard_m),
            freeboard_count=len(self.freeboards),
            deflection=self.deflection,
            assumed=assumed,
            stated=stated_in(self),
        )


def _inclined(weights: tuple[Weight, ...]) -> tuple[Weight, ...]:
    """Refuse a test without weights, and say where a survey goes."""
    if not weights:
        raise InputError(
            "1 weight at least, not 0: a survey without an incline goes to POST /v1/stability-tests/survey",
            code="wrong-count",
        )
    return weights


Weights = Annotated[
    tuple[Weight, ...],
    Field(max_length=200, json_schema_extra={"minItems": 1}),
    AfterValidator(_inclined),
]


class StabilityTest(SurveyedShip):
    """A whole test, from hull to readings."""

    survey_differences: Annotated[tuple[SurveyDifference, ...], Field(max_length=500)] = ()
    tanks: Annotated[tuple[TankOf, ...], Field(max_length=500)] = ()
    weights: Weights = Field(default=(), validate_default=True)
    moves: Annotated[tuple[Move, ...], Field(max_length=199)]
    instruments: Annotated[tuple[InstrumentOf, ...], Field(max_length=50)]
    items: Annotated[tuple[Item, ...], Field(max_length=5000)] = ()
    approved: StatedLightship | None = None
    predicted: StatedLightship | None = None
    """Expected before the test: what the survey finds is held against it."""
    sister: StatedLightship | None = None
    ship_kind: ShipKind | None = None
    """Whose triggers the comparison takes; those of both where left out."""
    load_line_length_m: ShipLength | None = None
    loading_conditions: Annotated[tuple[LoadingConditionOf, ...], Field(max_length=100)] = ()
    stability: StabilityBasis | None = None
    """What the loading conditions are judged with: openings, wind profile, rule sets."""
    conduct: Conduct | None = None
    """Day, place, weather, mooring, persons, documents: for the report alone."""
    rules: Annotated[tuple[Label, ...], Field(min_length=1, max_length=50)] | None = None
    """Names of the rule sets to hold the test against; all that come with the service where left out."""

    @classmethod
    def __get_pydantic_json_schema__(cls, core_schema: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        """Return the schema, in which the weights are required: their default is only there to be refused in words."""
        schema = super().__get_pydantic_json_schema__(core_schema, handler)
        resolved = handler.resolve_ref_schema(schema)
        resolved["properties"]["weights"].pop("default", None)
        names = {*resolved["required"], "weights"}
        resolved["required"] = [name for name in resolved["properties"] if name in names]
        return schema

    def _check(self) -> None:
        super()._check()
        unique("weights", [one.id for one in self.weights])
        unique("instruments", [one.id for one in self.instruments])

    def _record(self, hull: Solid | HydrostaticTables) -> Record:
        return replace(
            super()._record(hull),
            weights={weight.id: weight.weight() for weight in self.weights},
            moves=tuple(move.move() for move in self.moves),
            instruments=each(self.instruments, lambda one: one.instrument(), "instruments"),
            survey_differences=tuple(one.mass() for one in self.survey_differences),
            tanks=each(self.tanks, TankOf.aboard, "tanks"),
            items=each(self.items, Item.item, "items"),
        )


def stated_in(document: Model) -> dict[str, Stated]:
    """Return the standard uncertainties and groups a document states, by their places."""
    return {
        path: Stated(value.standard_uncertainty, getattr(value, "group", None))
        for path, value in stated_values(document)
    }
