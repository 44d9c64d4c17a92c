"""What a plan of a test is made from. Layer: service.schemas."""

from typing import Annotated, Literal

import numpy as np
from pydantic import Field

from engine.errors import EngineError, InputError
from engine.findings import Finding
from engine.lightship.derivation import UPRIGHT
from engine.lightship.derivation import Mass as EngineMass
from engine.planning import rehearsal
from engine.planning.deck import Crane, Deck, Lane, Stock
from engine.planning.depth import MARGIN_M
from engine.planning.expected_rows import Spread
from engine.planning.instruments import Needs, Place
from engine.planning.other_means import PERSON_T, People
from engine.planning.outline import Outline
from engine.planning.predicted import PlannedShip, PlannedTank
from engine.planning.weights import HeelRange
from service.edge.axes import XYZ, Axes, X, Y
from service.edge.model import Model
from service.edge.quantities import Measured, Survey
from service.schemas.common import Label, Length, Mass, PositionX, PositionY, each, unique
from service.schemas.hull import Hull, solid_of
from service.schemas.record import Uncertainties, Vessel
from service.schemas.survey import Item
from service.schemas.tank import TankOf

Coordinate = Annotated[float, Survey("m", ge=-1e4, le=1e4)]
Size = Annotated[float, Survey("m", gt=0, le=100)]
Room = Annotated[float, Survey("m", ge=0, le=200)]
Point = tuple[Coordinate, Coordinate, Coordinate]
Points = Annotated[tuple[Point, ...], Field(max_length=500), XYZ]


class Estimate(Model):
    """The lightship as estimated."""

    mass_t: Mass
    x_m: PositionX
    y_m: PositionY = Measured(0.0)
    z_m: Length

    def mass(self) -> EngineMass:
        """Return it as the engine has it."""
        return EngineMass(self.mass_t.value, np.array([self.x_m.value, self.y_m.value, self.z_m.value]))


class PlannedTankOf(TankOf):
    """A tank as it shall be on the day; soundings are those of the upright ship."""

    position: Literal["deep", "double_bottom"] = "deep"
    """Sets the fills at which it may be slack."""
    use: Label | None = None
    """Of one use at most one tank on the centreline, or one pair, may be slack."""

    def planned(self) -> PlannedTank:
        """Return it as the engine has it."""
        aboard = self.aboard()
        liquid = aboard.liquid(normals=UPRIGHT)
        return PlannedTank(liquid, aboard.lightship_volume_m3, self.position, self.use or "")


class WeightsOnHand(Model):
    """Equal pieces: mass and size of one."""

    id: Label
    mass_t: Annotated[float, Survey("t", gt=0, le=1e4)]
    pieces_count: Annotated[int, Field(ge=1, le=1000)]
    length_m: Size
    """Along the ship."""
    breadth_m: Size
    height_m: Size

    def stock(self) -> Stock:
        """Return it as the engine has it."""
        return Stock(self.mass_t, self.pieces_count, self.length_m, self.breadth_m, self.height_m)


class DeckLane(Model):
    """A strip of deck across the ship along which weights are moved."""

    id: Label
    x_m: Annotated[Coordinate, X]
    z_m: Coordinate
    """Height of the deck."""
    y_min_m: Annotated[Coordinate, Y]
    y_max_m: Annotated[Coordinate, Y]
    """No part of a weight goes beyond these."""
    length_m: Size
    """Along the ship."""
    load_limit_t_per_m2: Annotated[float, Field(gt=0, le=1e4)] | None = None

    def lane(self) -> Lane:
        """Return it as the engine has it."""
        limit = np.inf if self.load_limit_t_per_m2 is None else self.load_limit_t_per_m2
        return Lane(self.x_m, self.z_m, self.y_min_m, self.y_max_m, self.length_m, limit)


class CraneOf(Model):
    """What lifts the weights."""

    x_m: Annotated[Coordinate, X]
    y_m: Annotated[Coordinate, Y]
    reach_m: Size
    """From where it stands to the middle of a weight."""
    lift_t: Annotated[float, Survey("t", gt=0, le=1e4)] | None = None
    """The heaviest piece it lifts."""

    def crane(self) -> Crane:
        """Return it as the engine has it."""
        return Crane(self.x_m, self.y_m, self.reach_m, np.inf if self.lift_t is None else self.lift_t)


class DeckOf(Model):
    """Where the weights can go."""

    lanes: Annotated[tuple[DeckLane, ...], Field(max_length=50)] = ()
    crane: CraneOf | None = None

    def deck(self) -> Deck:
        """Return it as the engine has it."""
        lanes = each(self.lanes, DeckLane.lane, "deck/lanes")
        return Deck(lanes, None if self.crane is None else self.crane.crane())


class InstrumentPlace(Model):
    """Where a pendulum can hang or a U-tube can stand."""

    id: Label
    head_room_m: Room = 0.0
    """The longest pendulum that fits, pivot to batten."""
    spread_m: Room = 0.0
    """The widest U-tube that fits, athwart."""

    def place(self) -> Place:
        """Return it as the engine has it."""
        return Place(self.head_room_m, self.spread_m)


class HeelAsked(Model):
    """Limits of the heel each side, and what is aimed at."""

    least_deg: Annotated[float, Field(ge=0.01, le=10)] = HeelRange.least_deg
    most_deg: Annotated[float, Field(ge=0.01, le=20)] = HeelRange.most_deg
    wanted_deg: Annotated[float, Field(ge=0.01, le=20)] | None = None
    """Without it 2 degrees, or more where the instruments need it."""
    gm_margin_percent: Annotated[float, Field(ge=0, le=50)] = HeelRange.gm_margin_percent
    """The limits hold even where GM is this much off the prediction."""

    def heel(self) -> HeelRange:
        """Return it as the engine has it."""
        return HeelRange(self.least_deg, self.most_deg, self.wanted_deg or HeelRange.wanted_deg, self.gm_margin_percent)


class InstrumentNeeds(Model):
    """What is asked of the instruments."""

    deflection_m: Annotated[float, Survey("m", ge=1e-4, le=10)] = Needs.deflection_m
    """Each side."""
    instruments_count: Annotated[int, Field(ge=1, le=50)] = Needs.count
    longest_pendulum_m: Size = Needs.longest_m

    def needs(self) -> Needs:
        """Return it as the engine has it."""
        return Needs(self.deflection_m, self.instruments_count, self.longest_pendulum_m)


class FreeboardsAsked(Model):
    """How many freeboards, and from where."""

    side_count: Annotated[int, Field(ge=2, le=100)] = 5
    deck_edge_m: Points = ()
    """Points of one side's deck edge: the other side is its mirror image. Without them the hull's own edge."""

    def edge(self) -> tuple[Point, ...]:
        """Return the port edge, from aft."""
        return tuple(sorted((x, abs(y), z) for x, y, z in self.deck_edge_m))


class DepthAsked(Model):
    """Clear water wanted, and what stands out of the moulded hull."""

    margin_m: Annotated[float, Survey("m", ge=0, le=100)] = MARGIN_M
    projections_m: Points = ()
    """Points below the moulded hull: keel plate, thruster, dome."""


class PeopleAboard(Model):
    """People who could walk from the centreline to one side and the other."""

    people_count: Annotated[int, Field(ge=1, le=10_000)]
    arm_m: Annotated[float, Survey("m", ge=0.01, le=100)]
    """From the centreline to where they stand."""
    mass_t: Annotated[float, Survey("t", ge=0.001, le=1)] = PERSON_T
    """Of one."""

    def people(self) -> People:
        """Return it as the engine has it."""
        return People(self.people_count, self.arm_m, self.mass_t)


class RehearsalAsked(Model):
    """Standard deviations of what is written down; all zero gives the readings expected."""

    seed: Annotated[int, Field(ge=0, lt=2**63)] = 0
    """One seed, one set of sheets."""
    reading_m: Annotated[float, Field(ge=0, le=1)] = 0.0
    gust_ratio: Annotated[float, Field(ge=0, le=1)] = 0.0
    """On the tangent of heel, common to all instruments at one reading."""
    freeboard_m: Annotated[float, Field(ge=0, le=1)] = 0.0
    freeboard_common_m: Annotated[float, Field(ge=0, le=1)] = 0.0

    def noise(self) -> rehearsal.Noise:
        """Return it as the engine has it."""
        return rehearsal.Noise(
            reading_m=self.reading_m,
            gust_ratio=self.gust_ratio,
            freeboard_m=self.freeboard_m,
            freeboard_common_m=self.freeboard_common_m,
            seed=self.seed,
        )


class OptimiseAsked(Model):
    """The smallest set of weights that reaches a standard uncertainty of the lightship's VCG."""

    vcg_standard_uncertainty_m: Annotated[float, Field(ge=1e-4, le=100)]


class PlanRequest(Model):
    """From hull, lightship estimate and what is on hand to a plan; tanks and items as they shall be on the day."""

    vessel: Vessel | None = None
    axes: Axes | None = None
    hull: Hull
    density_t_per_m3: Annotated[float, Survey("t/m³", ge=0.95, le=1.1)] = 1.025
    """Of the water at the berth."""
    lightship: Estimate
    items: Annotated[tuple[Item, ...], Field(max_length=5000)] = ()
    tanks: Annotated[tuple[PlannedTankOf, ...], Field(max_length=500)] = ()
    weights_on_hand: Annotated[tuple[WeightsOnHand, ...], Field(max_length=100)] = ()
    deck: DeckOf = DeckOf()
    instrument_places: Annotated[tuple[InstrumentPlace, ...], Field(max_length=50)] = ()
    heel: HeelAsked = HeelAsked()
    instruments: InstrumentNeeds = InstrumentNeeds()
    freeboards: FreeboardsAsked = FreeboardsAsked()
    depth: DepthAsked = DepthAsked()
    people: PeopleAboard | None = None
    uncertainty: Uncertainties = Uncertainties()
    optimise: OptimiseAsked | None = None
    rehearsal: RehearsalAsked | None = None

    def outline(self) -> tuple[Outline, tuple[Finding, ...]]:
        """Return it as the engine has it, the request being in the ship's frame, and what was noticed of the hull."""
        self._check()
        solid, found = solid_of(self.hull)
        ship = PlannedShip(
            hull=solid,
            length_bp_m=self.hull.length_bp_m,
            density_t_per_m3=self.density_t_per_m3,
            lightship=self.lightship.mass(),
            items=each(self.items, Item.item, "items"),
            tanks=each(self.tanks, PlannedTankOf.planned, "tanks"),
        )
        try:
            heel = self.heel.heel()
        except EngineError as error:
            raise error.at("heel") from error
        of_tanks = (one for tank in ship.tanks for one in tank.liquid.tank.findings)
        return (
            Outline(
                ship=ship,
                stock=tuple(one.stock() for one in self.weights_on_hand),
                deck=self.deck.deck(),
                places=tuple(one.place() for one in self.instrument_places),
                heel=heel,
                heel_is_asked=self.heel.wanted_deg is not None,
                needs=self.instruments.needs(),
                station_count=self.freeboards.side_count,
                deck_edge_m=self.freeboards.edge(),
                depth_margin_m=self.depth.margin_m,
                projections_m=self.depth.projections_m,
                people=None if self.people is None else self.people.people(),
            ),
            (*found, *of_tanks),
        )

    def _check(self) -> None:
        """Refuse what the rehearsed record would be refused for."""
        stated = self.vessel.length_bp_m if self.vessel else None
        if stated is not None and stated != self.hull.length_bp_m:
            raise InputError(
                f"the hull states {self.hull.length_bp_m:.6g} m, the vessel {stated:.6g} m",
                code="length-mismatch",
                field="vessel/length_bp_m",
                value=stated,
                limit=self.hull.length_bp_m,
            )
        for noun, ids in (
            ("weights_on_hand", [one.id for one in self.weights_on_hand]),
            ("deck/lanes", [one.id for one in self.deck.lanes]),
            ("instrument_places", [one.id for one in self.instrument_places]),
        ):
            unique(noun, ids)

    def spread(self) -> Spread:
        """Return the uncertainties as the plan's budget takes them."""
        given = self.uncertainty.assumed()
        return Spread(
            freeboard_m=given.freeboard_m,
            freeboard_common_m=given.heights_common_m,
            reading_m=given.reading_m,
            weight_percent=given.weight_percent,
            arm_m=given.arm_m,
            length_m=given.length_m,
            density_t_per_m3=given.density_t_per_m3,
            hull_volume_percent=given.hull_volume_percent,
            tank_volume_percent=given.tank_volume_percent,
            ledger_mass_percent=given.ledger_mass_percent,
            ledger_centre_m=given.ledger_centre_m,
        )
