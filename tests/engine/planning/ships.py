"""Ships the planning tests share: a box of 60 × 12 × 8 m, whose numbers have closed forms, and what goes with it."""

import numpy as np

from engine.geometry import OffsetStation, solid_from_offsets
from engine.geometry.shapes import Box
from engine.lightship.derivation import Mass
from engine.liquids import Liquid, Tank
from engine.planning.deck import Deck, Lane, Stock
from engine.planning.expected_rows import Spread
from engine.planning.instruments import Place
from engine.planning.outline import Outline
from engine.planning.predicted import PlannedShip, PlannedTank

LENGTH_M, BREADTH_M, DEPTH_M = 60.0, 12.0, 8.0
DENSITY = 1.025
SECTION = [(0.0, 0.0), (6.0, 0.0), (6.0, 8.0)]
HULL = solid_from_offsets(
    [OffsetStation(x_m=x, points_m=SECTION, knuckles=(), loops_m=()) for x in (0.0, LENGTH_M)],
    between_points="straight",
).solid


def box_ship(*, mass_t=1500.0, centre=(30.0, 0.0, 4.6), tanks=(), items=()):
    return PlannedShip(HULL, LENGTH_M, DENSITY, Mass(mass_t, np.array(centre)), tuple(items), tuple(tanks))


def box_tank(x, y, z, *, fill=0.5, density=1.0, position="deep", use=""):
    tank = Tank.of_solid(Box(*x, *y, *z).solid())
    return PlannedTank(Liquid(tank, fill * tank.capacity_m3, density), position=position, use=use)


def lane(x=20.0, *, half=5.5, length=3.0, limit=5.0):
    return Lane(x, DEPTH_M, -half, half, length, limit)


BLOCKS = Stock(2.5, 16, 1.2, 1.0, 0.8)
TWO_LANES = Deck((lane(20.0), lane(40.0)))
PLACES = (Place(head_room_m=4.4), Place(head_room_m=4.1), Place(head_room_m=2.2, spread_m=9.0))
SPREAD = Spread(
    freeboard_m=0.005,
    freeboard_common_m=0.002,
    reading_m=0.0005,
    weight_percent=0.25,
    arm_m=0.005,
    length_m=0.003,
    density_t_per_m3=0.0003,
    hull_volume_percent=0.2,
    tank_volume_percent=2.0,
    ledger_mass_percent=5.0,
    ledger_centre_m=0.1,
)


def outline(ship=None, **change):
    given = {"stock": (BLOCKS,), "deck": TWO_LANES, "places": PLACES}
    return Outline(box_ship() if ship is None else ship, **(given | change))
