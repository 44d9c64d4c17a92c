"""The whole plan of a test. Layer: engine.planning.

What cannot be done is told in ``impossible``, and the plan is then the nearest one that can.
"""

from dataclasses import dataclass, replace

import numpy as np

from engine.findings import Finding
from engine.geometry.plane import Planes
from engine.planning.depth import WaterDepth, water_depth
from engine.planning.instruments import Chosen, choose_instruments, least_tangent_ratio
from engine.planning.levelling import Levelling, levelling
from engine.planning.moves import weights_of
from engine.planning.other_means import (
    BallastTransfer,
    PeopleMoved,
    SmallHeel,
    ballast_transfers,
    people_moved,
    small_heel,
)
from engine.planning.outline import Outline
from engine.planning.predicted import Condition, PlannedShip, predict
from engine.planning.shortcomings import Means, Needed, impossible_of, needed_of, noticed_of
from engine.planning.stations import Station, freeboard_stations
from engine.planning.tank_plan import TankRow, plan_tanks
from engine.planning.weights import HeelRange, Search, choose_weights

PRACTICE_HEEL_DEG = 2.0
"""Heel aimed at where none is asked for, unless the instruments need more: practice is 2 to 4 degrees."""
LEAST_INSTRUMENTS = 2
"""IMO 2008 IS Code, B/8.2.2.9: three are recommended, two the minimum."""


@dataclass(frozen=True, eq=False)
class Plan:
    """The plan.

    Attributes
    ----------
    ship : PlannedShip
        As given.
    bare : Condition
        Without weights.
    heel : HeelRange
        As used, the heel aimed at filled in.
    search : Search
        The weights and their moves.
    means : {"weights", "weights_below_least_heel", "none"}
        How she is heeled.
    needed : Needed or None
        Where the weights do not do it.
    instruments, stations, tanks : tuples
        In the order of their places, of the stations, of the tanks.
    depth : WaterDepth
        At the largest heel, with GM at the lower end of its margin.
    levelling : Levelling or None
        Where the list is beyond its limit.
    transfers, people, small_heel
        Other means; looked at where the weights do not do it.
    impossible, findings : tuple of Finding
        What cannot be done; what else was noticed.
    """

    ship: PlannedShip
    bare: Condition
    heel: HeelRange
    search: Search
    means: Means
    needed: Needed | None
    instruments: tuple[Chosen, ...]
    stations: tuple[Station, ...]
    tanks: tuple[TankRow, ...]
    depth: WaterDepth
    levelling: Levelling | None
    transfers: tuple[BallastTransfer, ...]
    people: PeopleMoved | None
    small_heel: SmallHeel | None
    impossible: tuple[Finding, ...]
    findings: tuple[Finding, ...]

    @property
    def tank_volumes_m3(self) -> tuple[float, ...]:
        """Liquid in each tank. [m³]"""
        return tuple(liquid.volume_m3 for liquid in self.ship.liquids)

    @property
    def at_zero(self) -> Condition:
        """Reading 0: with the weights aboard, or without where there are none."""
        return self.bare if self.search.found is None else self.search.found.condition


def plan_test(outline: Outline) -> Plan:
    """Plan a test.

    Raises
    ------
    NotDeterminedError
        As ``predict``: she sinks, or finds no stable position, without the weights.
    InputError
        As the parts.
    """
    ship = outline.ship
    needs = replace(outline.needs, gm_margin_percent=outline.heel.gm_margin_percent)
    bare = predict(ship)
    notes: list[Finding] = []
    least = least_tangent_ratio(outline.places, needs)
    if needs.count > LEAST_INSTRUMENTS and least > outline.heel.high_ratio:
        fewer = least_tangent_ratio(outline.places, replace(needs, count=LEAST_INSTRUMENTS))
        if fewer <= outline.heel.high_ratio:
            least, needs = fewer, replace(needs, count=LEAST_INSTRUMENTS)
            notes.append(
                Finding("two-instruments", f"only {LEAST_INSTRUMENTS} instruments reach {needs.deflection_m:.6g} m")
            )
    heel = outline.heel if outline.heel_is_asked else _aimed(outline.heel, least)
    search = choose_weights(ship, stock=outline.stock, deck=outline.deck, heel=heel)
    means: Means = "weights" if search.within else "none"
    below = None
    if means == "none" and _too_little(search, heel):
        moment = 0.0 if search.found is None else float(np.abs(search.found.expected.plateaus.moment_tm).max())
        at = bare if search.found is None else search.found.condition
        below = small_heel(
            at=at, least_tangent_ratio=least, least_ratio=np.tan(np.radians(heel.least_deg)), moment_tm=moment
        )
        if below is not None and below.possible:
            without_margin = np.arctan(least / (1 + heel.gm_margin_percent / 100))
            lower = replace(heel, least_deg=float(np.degrees(without_margin)), wanted_deg=below.heel_deg)
            again = choose_weights(ship, stock=outline.stock, deck=outline.deck, heel=lower)
            if again.within:
                search, heel, means = again, lower, "weights_below_least_heel"
    found = search.found
    at_zero = bare if found is None else found.condition
    planes = _planes(search, heel, at_zero)
    instruments = (
        () if found is None else choose_instruments(outline.places, sides_ratio=found.expected.sides_ratio, needs=needs)
    )
    tanks = plan_tanks(ship.tanks, planes=planes, displacement_t=at_zero.displacement_t)
    level = levelling(
        ship,
        at=at_zero,
        weights=() if found is None else tuple(weights_of(found.groups).values()),
        deck=outline.deck,
    )
    wanting = means == "none"
    return Plan(
        ship=ship,
        bare=bare,
        heel=heel,
        search=search,
        means=means,
        needed=needed_of(outline, bare, heel) if wanting else None,
        instruments=instruments,
        stations=freeboard_stations(
            hull=ship.hull,
            plane=at_zero.position.planes,
            count=outline.station_count,
            deck_edge_m=outline.deck_edge_m,
        ),
        tanks=tanks,
        depth=water_depth(
            hull=ship.hull, planes=planes, margin_m=outline.depth_margin_m, projections_m=outline.projections_m
        ),
        levelling=level,
        transfers=ballast_transfers(ship.tanks, at=bare) if wanting else (),
        people=people_moved(outline.people, at=bare, least_ratio=np.tan(np.radians(heel.least_deg)))
        if wanting and outline.people is not None
        else None,
        small_heel=below,
        impossible=tuple(impossible_of(outline, search, heel, means, instruments, needs)),
        findings=(*notes, *noticed_of(at_zero, tanks, search, means, heel)),
    )


def _aimed(heel: HeelRange, least_ratio: float) -> HeelRange:
    """Return the limits with the heel aimed at: the practice's, or what the instruments need."""
    needed = float(np.degrees(np.arctan(least_ratio))) if np.isfinite(least_ratio) else 0.0
    return replace(heel, wanted_deg=max(PRACTICE_HEEL_DEG, needed))


def _too_little(search: Search, heel: HeelRange) -> bool:
    return search.found is None or min(search.found.expected.sides_ratio) < heel.low_ratio


def _planes(search: Search, heel: HeelRange, at: Condition) -> Planes:
    """Return reading 0, the plateaus, and both extremes with GM at the lower end of its margin, level where unknown."""
    zero = at.position.planes
    if search.found is None:
        reach = np.tan(np.radians(heel.most_deg)) * np.array([-1.0, 1.0])
        rest = zero
    else:
        rest = search.found.expected.positions.planes
        starboard, port = search.found.expected.sides_ratio
        reach = np.array([-port, starboard]) / (1 - heel.gm_margin_percent / 100)
    tangent = np.tan(np.radians(at.heel_deg)) + reach
    far = Planes.from_waterplanes(
        draft_m=at.draft_m, trim_m=at.trim_m, heel_deg=np.degrees(np.arctan(tangent)), length_bp_m=at.length_bp_m
    )
    return Planes(
        np.concatenate([zero.normals, rest.normals, far.normals]),
        np.concatenate([zero.offsets_m, rest.offsets_m, far.offsets_m]),
    )
