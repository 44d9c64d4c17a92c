"""POST /v1/stability-tests/deadweight: what is aboard and not lightship. Layer: service.resources."""

from typing import Annotated, Any

from fastapi import APIRouter
from pydantic import Field

from engine.errors import InputError
from engine.flotation.tables import HydrostaticTables
from engine.geometry import Solid
from engine.geometry.plane import Planes
from engine.planning.ledger_review import LedgerReview, review, ship_bounds_m
from engine.record.record import Parts
from service.demo import demo_record
from service.edge.axes import Axes, from_ship_frame, to_ship_frame
from service.edge.model import Model
from service.edge.operation import operation
from service.edge.provenance import Provenance
from service.schemas.check import CheckAnswer, check_answer
from service.schemas.common import CAUTIONS, Finding, LengthBP, each, findings, unique
from service.schemas.deadweight import DeadweightAnswer, deadweight_answer
from service.schemas.incline import Weight
from service.schemas.survey import Item
from service.schemas.table_hull import HullOrTables, solid_or_tables
from service.schemas.tank import TankOf

router = APIRouter()


class DeadweightRequest(Model):
    """The ledger, the tanks and the inclining weights; how she floats, for the liquids."""

    axes: Axes | None = None
    hull: HullOrTables | None = None
    """Where given, entries that lie outside it are looked at, but for tables; its length rules."""
    length_bp_m: LengthBP | None = None
    """Needed where axes or a trim are stated without a hull."""
    heel_deg: Annotated[float, Field(ge=-30, le=30)] = 0.0
    trim_m: Annotated[float, Field(ge=-100, le=100)] = 0.0
    items: Annotated[tuple[Item, ...], Field(max_length=5000)] = ()
    tanks: Annotated[tuple[TankOf, ...], Field(max_length=500)] = ()
    weights: Annotated[tuple[Weight, ...], Field(max_length=200)] = ()
    lightship_mass_t: Annotated[float, Field(gt=0, le=1e7)] | None = None
    """Approved or predicted: the shares are of it."""
    lightship_vcg_m: Annotated[float, Field(ge=-1e3, le=1e3)] | None = None


class SharesAnswer(Model):
    """The ledger over the lightship."""

    surplus_percent: float
    missing_percent: float
    completeness_percent: float
    deadweight_percent: float | None = None
    aggregate_percent: float
    """Items to remove, add and relocate, each once."""


class ToLandAnswer(Model):
    """An item to land, the heaviest first."""

    index: int
    """Its number in the list, from 0."""
    name: str
    mass_t: float
    share_percent: float
    remaining_percent: float
    """Deadweight over the lightship once this and all before it are ashore."""
    needed: bool
    """Whether it has to go, in this order, before the deadweight is within practice."""
    vcg_standard_uncertainty_m: float | None = None
    """What this entry alone puts on the lightship's VCG."""


class SuspicionAnswer(Model):
    """An entry that looks wrong."""

    code: str
    index: int
    """Its number in the list, from 0."""
    name: str
    message: str
    other_index: int | None = None
    """The entry it is held against."""


class ReviewAnswer(Model):
    """The ledger reviewed before anybody relies on it; nothing is repaired."""

    shares: SharesAnswer
    checks: tuple[CheckAnswer, ...]
    to_land: tuple[ToLandAnswer, ...]
    suspicions: tuple[SuspicionAnswer, ...]


class DeadweightStepAnswer(Model):
    """The ledger summed up and reviewed."""

    deadweight: DeadweightAnswer
    review: ReviewAnswer | None = None
    """Left out where no mass of the lightship is given."""
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...] = CAUTIONS
    provenance: Provenance = Provenance()


def example() -> dict[str, Any]:
    """Return the demo's ledger."""
    record = demo_record()
    return {name: record[name] for name in ("items", "tanks", "weights")} | {"lightship_mass_t": 1160.0}


@operation(
    router,
    "/v1/stability-tests/deadweight",
    request=DeadweightRequest,
    response=DeadweightStepAnswer,
    operation_id="compute_deadweight",
    summary="The deadweight survey: ledger, liquids, shares, what to land, what looks wrong",
    example=example,
    tag="stability tests",
)
def compute(request: DeadweightRequest) -> DeadweightStepAnswer:
    """Return every line between the ship as surveyed and the lightship, the sums, and a review of the ledger."""
    length = request.length_bp_m if request.hull is None else request.hull.length_bp_m
    if length is None and (request.axes is not None or request.trim_m):
        raise InputError("axes and trim need the length", code="length-missing", field="length_bp_m")
    unique("weights", [one.id for one in request.weights])
    turned = to_ship_frame(request, request.axes, length_bp_m=length or 1.0)
    parts = Parts(
        weights={one.id: one.weight() for one in turned.weights},
        tanks=each(turned.tanks, TankOf.aboard, "tanks"),
        items=each(turned.items, Item.item, "items"),
    )
    solid, found = (None, ()) if turned.hull is None else solid_or_tables(turned.hull)
    plane = Planes.from_waterplanes(
        draft_m=0.0, heel_deg=request.heel_deg, trim_m=request.trim_m, length_bp_m=length or 1.0
    )
    liquids = parts.liquids(normals=plane.normals)
    mass = request.lightship_mass_t
    summed = deadweight_answer(parts, liquids, plane, request, lightship_mass_t=mass)
    answer = DeadweightStepAnswer(
        deadweight=summed,
        review=None if mass is None else _review(parts, request, mass, summed.sums.liquids_mass_t, solid),
        findings=findings((*found, *(one for aboard in parts.tanks for one in aboard.tank.findings))),
    )
    return from_ship_frame(answer, request.axes, length_bp_m=length or 1.0)


def _review(
    parts: Parts, request: DeadweightRequest, mass_t: float, liquids_t: float, hull: Solid | HydrostaticTables | None
) -> ReviewAnswer:
    names = [one.name for one in request.items]
    found: LedgerReview = review(
        items=parts.items,
        names=names,
        lightship_mass_t=mass_t,
        bounds_m=None if hull is None or isinstance(hull, HydrostaticTables) else ship_bounds_m(hull),
        liquids_mass_t=max(liquids_t, 0.0),
        lightship_vcg_m=request.lightship_vcg_m,
    )
    shares = found.shares
    return ReviewAnswer(
        shares=SharesAnswer(
            surplus_percent=shares.surplus_percent,
            missing_percent=shares.missing_percent,
            completeness_percent=shares.completeness_percent,
            deadweight_percent=shares.deadweight_percent,
            aggregate_percent=shares.aggregate_percent,
        ),
        checks=tuple(check_answer(one) for one in found.checks),
        to_land=tuple(
            ToLandAnswer(
                index=one.item,
                name=names[one.item],
                mass_t=one.mass_t,
                share_percent=one.share_percent,
                remaining_percent=one.remaining_percent,
                needed=one.needed,
                vcg_standard_uncertainty_m=one.vcg_standard_uncertainty_m,
            )
            for one in found.to_land
        ),
        suspicions=tuple(
            SuspicionAnswer(
                code=one.code, index=one.item, name=names[one.item], message=one.message, other_index=one.other_item
            )
            for one in found.suspicions
        ),
    )
