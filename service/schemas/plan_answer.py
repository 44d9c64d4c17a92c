"""What a plan of a test says. Layer: service.schemas."""

from typing import Annotated, Any, Literal

from engine.planning.plan import Plan
from engine.planning.predicted import Condition
from engine.planning.stations import Station
from engine.planning.weights import WeightSet
from service.edge.axes import X, Y
from service.edge.model import Model
from service.edge.provenance import Provenance
from service.schemas.budget import BudgetAnswer
from service.schemas.common import CAUTIONS, Finding
from service.schemas.plan import PlanRequest
from service.schemas.plan_means import OtherMeansAnswer
from service.schemas.plan_tanks import PlannedTankAnswer
from service.schemas.plan_uncertainty import ExpectedUncertainty, OptimumAnswer


class PredictedAnswer(Model):
    """Where she is expected to float, and her metacentric heights."""

    displacement_t: float
    draft_m: float
    draft_aft_m: float
    draft_forward_m: float
    trim_m: float
    trim_percent: float
    """Of the length between perpendiculars."""
    heel_deg: float
    gm_solid_m: float
    gm_fluid_m: float
    gm_longitudinal_m: float
    free_surface_moment_tm: float
    km_transverse_m: float
    immersion_t_per_cm: float
    moment_to_trim_tm_per_cm: float
    lcg_m: Annotated[float, X]
    tcg_m: Annotated[float, Y]
    vcg_m: float


class GroupAnswer(Model):
    """Pieces moved together, as one weight of the record."""

    id: str
    mass_t: float
    pieces_t: tuple[float, ...]
    """Mass of each."""
    lane: str
    x_m: Annotated[float, X]
    y_m: Annotated[float, Y]
    z_m: float
    """Centre at reading 0."""
    arm_m: float
    """Length of its whole way across."""


class WeightsAnswer(Model):
    """The set and the heel it gives, each side of reading 0."""

    mass_t: float
    moment_tm: float
    """Largest, each side."""
    starboard_heel_deg: float
    port_heel_deg: float
    groups: tuple[GroupAnswer, ...]


class MoveAnswer(Model):
    """A move, and the state it leaves."""

    move: int
    weight: str | None = None
    """Absent at reading 0."""
    from_y_m: Annotated[float, Y] | None = None
    to_y_m: Annotated[float, Y] | None = None
    moment_tm: float
    tangent_ratio: float
    heel_deg: float
    draft_m: float
    trim_m: float


class PlannedInstrument(Model):
    """An instrument with what it is expected to show."""

    id: str
    kind: Literal["pendulum", "u_tube"]
    length_m: float
    """Pivot to batten, or spread of the legs."""
    least_length_m: float
    """At which the deflection wanted is just reached, margin included."""
    scale_length_m: float
    """Batten, or the least height of each leg's scale."""
    starboard_deflection_m: float
    port_deflection_m: float
    enough: bool
    deflections_m: tuple[float, ...]
    """At each reading, to starboard +; of a U-tube the difference of level."""


class StationAnswer(Model):
    """Where a freeboard is read."""

    x_m: Annotated[float, X]
    y_m: Annotated[float, Y]
    reference_z_m: float
    freeboard_m: float
    from_deck_edge: bool
    """False: the point is the hull's own edge, to be measured on board."""


class DepthAnswer(Model):
    """Water needed under her."""

    upright_depth_m: float
    """Of the deepest point at reading 0."""
    deepest_depth_m: float
    """Of the deepest point at the largest heel."""
    margin_m: float
    needed_depth_m: float


class LevellingWeightAnswer(Model):
    """A mass at the end of a lane that would bring her upright."""

    lane: str
    mass_t: float
    y_m: Annotated[float, Y]


class LevellingLiquidAnswer(Model):
    """Liquid put into (+) or taken out of (−) a tank, to first order."""

    tank: str
    volume_m3: float
    fill_percent: float


class LevellingAnswer(Model):
    """What would bring her upright."""

    list_deg: float
    moment_tm: float
    """Heeling moment needed, to starboard +."""
    weights: tuple[LevellingWeightAnswer, ...]
    liquids: tuple[LevellingLiquidAnswer, ...]


class PlanAnswer(Model):
    """The plan; where something is impossible, it is the nearest one that can be done."""

    possible: bool
    means: Literal["weights", "weights_below_least_heel", "none"]
    """How she is heeled within the limits."""
    impossible: tuple[Finding, ...]
    predicted: PredictedAnswer
    """At reading 0, weights aboard."""
    without_weights: PredictedAnswer
    aimed_heel_deg: float
    weights: WeightsAnswer | None = None
    moves: tuple[MoveAnswer, ...] = ()
    instruments: tuple[PlannedInstrument, ...]
    freeboards: tuple[StationAnswer, ...]
    water_depth: DepthAnswer
    levelling: LevellingAnswer | None = None
    """Where the initial list is beyond its limit."""
    tanks: tuple[PlannedTankAnswer, ...]
    other_means: OtherMeansAnswer | None = None
    """Where the weights do not do it."""
    expected_uncertainty: ExpectedUncertainty | None = None
    expected_as_after_the_test: BudgetAnswer | None = None
    """The same budget as after the test, of the test rehearsed without error; readings as assumed."""
    optimum: OptimumAnswer | None = None
    rehearsal: dict[str, Any] | None = None
    """A record for `/v1/stability-tests`, with the readings expected."""
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...] = CAUTIONS
    provenance: Provenance = Provenance()


def predicted(at: Condition) -> PredictedAnswer:
    """Return a condition as the answer has it."""
    x, y, z = at.position.centre_m[0].tolist()
    return PredictedAnswer(
        displacement_t=at.displacement_t,
        draft_m=at.draft_m,
        draft_aft_m=at.draft_m + at.trim_m / 2,
        draft_forward_m=at.draft_m - at.trim_m / 2,
        trim_m=at.trim_m + 0.0,
        trim_percent=100 * at.trim_m / at.length_bp_m + 0.0,
        heel_deg=at.heel_deg + 0.0,
        gm_solid_m=at.gm_solid_m,
        gm_fluid_m=at.gm_fluid_m,
        gm_longitudinal_m=float(at.position.gm_longitudinal_m[0]),
        free_surface_moment_tm=at.free_surface_tm,
        km_transverse_m=float(at.hydrostatics.km_transverse_m[0]),
        immersion_t_per_cm=float(at.hydrostatics.immersion_t_per_cm[0]),
        moment_to_trim_tm_per_cm=float(at.hydrostatics.moment_to_trim_tm_per_cm[0]),
        lcg_m=x,
        tcg_m=y + 0.0,
        vcg_m=z,
    )


def weights_answer(found: WeightSet, request: PlanRequest) -> WeightsAnswer:
    """Return a set of weights as the answer has it."""
    starboard, port = found.expected.sides_deg
    return WeightsAnswer(
        mass_t=found.mass_t,
        moment_tm=float(abs(found.expected.plateaus.moment_tm).max()),
        starboard_heel_deg=starboard,
        port_heel_deg=port,
        groups=tuple(
            GroupAnswer(
                id=group.id,
                mass_t=group.mass_t,
                pieces_t=group.pieces_t,
                lane=request.deck.lanes[group.lane].id,
                x_m=float(group.home_m[0]),
                y_m=float(group.home_m[1]),
                z_m=float(group.home_m[2]),
                arm_m=abs(group.arm_m),
            )
            for group in found.groups
        ),
    )


def moves_answer(found: WeightSet) -> tuple[MoveAnswer, ...]:
    """Return readings 0 … m: what was moved, and where she then floats."""
    expected = found.expected
    length = found.condition.length_bp_m
    places = {group.id: float(group.home_m[1]) for group in found.groups}
    drafts = expected.positions.planes.draft_m(length_bp_m=length)
    trims = expected.positions.planes.trim_m(length_bp_m=length)
    rows = []
    for k in range(len(expected.tangent_ratio)):
        made: dict[str, Any] = {}
        if k:
            move = found.moves[k - 1]
            made = {"weight": move.weight, "from_y_m": places[move.weight], "to_y_m": move.to_y_m}
            places[move.weight] = move.to_y_m
        rows.append(
            MoveAnswer(
                move=k,
                **made,
                moment_tm=float(expected.plateaus.moment_tm[k]) + 0.0,
                tangent_ratio=float(expected.tangent_ratio[k]),
                heel_deg=float(expected.heel_deg[k]),
                draft_m=float(drafts[k]),
                trim_m=float(trims[k]) + 0.0,
            )
        )
    return tuple(rows)


def instruments_answer(plan: Plan, request: PlanRequest) -> tuple[PlannedInstrument, ...]:
    """Return the instruments with the places' ids."""
    found = plan.search.found
    if found is None:
        return ()
    return tuple(
        PlannedInstrument(
            id=request.instrument_places[one.place].id,
            kind=one.kind,
            length_m=one.length_m,
            least_length_m=one.least_length_m,
            scale_length_m=one.scale_length_m,
            starboard_deflection_m=one.starboard_deflection_m,
            port_deflection_m=one.port_deflection_m,
            enough=one.enough,
            deflections_m=tuple((found.expected.change_ratio * one.length_m + 0.0).tolist()),
        )
        for one in plan.instruments
    )


def stations_answer(stations: tuple[Station, ...]) -> tuple[StationAnswer, ...]:
    """Return the freeboard stations."""
    return tuple(
        StationAnswer(
            x_m=one.x_m,
            y_m=one.y_m,
            reference_z_m=one.z_m,
            freeboard_m=one.freeboard_m,
            from_deck_edge=one.from_deck_edge,
        )
        for one in stations
    )


def depth_answer(plan: Plan) -> DepthAnswer:
    """Return the water needed."""
    return DepthAnswer(
        upright_depth_m=plan.depth.upright_m,
        deepest_depth_m=plan.depth.deepest_m,
        margin_m=plan.depth.margin_m,
        needed_depth_m=plan.depth.needed_m,
    )


def levelling_answer(plan: Plan, request: PlanRequest) -> LevellingAnswer | None:
    """Return what would bring her upright."""
    level = plan.levelling
    if level is None:
        return None
    return LevellingAnswer(
        list_deg=level.list_deg,
        moment_tm=level.moment_tm,
        weights=tuple(
            LevellingWeightAnswer(lane=request.deck.lanes[one.lane].id, mass_t=one.mass_t, y_m=one.y_m)
            for one in level.weights
        ),
        liquids=tuple(
            LevellingLiquidAnswer(
                tank=request.tanks[one.tank].name, volume_m3=one.volume_m3, fill_percent=one.fill_percent
            )
            for one in level.liquids
        ),
    )
