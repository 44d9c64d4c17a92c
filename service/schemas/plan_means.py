"""Other means of heeling her. Layer: service.schemas."""

from typing import Literal

from engine.planning.plan import Plan
from service.edge.model import Model
from service.schemas.plan import PlanRequest


class TransferCondition(Model):
    """One of the ten conditions of a ballast transfer."""

    code: str
    words: str
    outcome: Literal["met", "not_met", "not_known"]


class TransferAnswer(Model):
    """Ballast moved between a pair of tanks, half full each at reading 0."""

    port_tank: str
    starboard_tank: str
    volume_m3: float
    """Each way."""
    moment_tm: float
    heel_deg: float
    conditions: tuple[TransferCondition, ...]
    source: str = "IMO 2008 IS Code, B/Annex 1, 2.3 (from memory)"


class PeopleAnswer(Model):
    """What people walking across do."""

    moment_tm: float
    heel_deg: float
    needed_people_count: int
    """For the least heel."""


class SmallHeelAnswer(Model):
    """A heel below the least at which the instruments still reach their deflection."""

    heel_deg: float
    moment_tm: float
    possible: bool
    """With the weights on hand."""
    source: str = "IMO 2008 IS Code, B/8.2.2.8: large ships, where the deflection is reached"


class PiecesNeeded(Model):
    """How many pieces of one size would reach the least heel."""

    id: str
    pieces_count: int | None = None
    """Absent where that size cannot do it on this deck."""


class OtherMeansAnswer(Model):
    """What lacks, and what else could be done."""

    needed_moment_tm: float | None = None
    """Each side, for the least heel."""
    pieces: tuple[PiecesNeeded, ...] = ()
    ballast_transfers: tuple[TransferAnswer, ...] = ()
    people: PeopleAnswer | None = None
    small_heel: SmallHeelAnswer | None = None


def means_answer(plan: Plan, request: PlanRequest) -> OtherMeansAnswer | None:
    """Return the other means; None where the weights do it."""
    if plan.means == "weights":
        return None
    names = [tank.name for tank in request.tanks]
    return OtherMeansAnswer(
        needed_moment_tm=None if plan.needed is None else plan.needed.moment_tm,
        pieces=()
        if plan.needed is None
        else tuple(
            PiecesNeeded(id=one.id, pieces_count=count or None)
            for one, count in zip(request.weights_on_hand, plan.needed.pieces_count, strict=True)
        ),
        ballast_transfers=tuple(
            TransferAnswer(
                port_tank=names[one.port],
                starboard_tank=names[one.starboard],
                volume_m3=one.volume_m3,
                moment_tm=one.moment_tm,
                heel_deg=one.heel_deg,
                conditions=tuple(
                    TransferCondition(code=c.code, words=c.words, outcome=c.outcome) for c in one.conditions
                ),
            )
            for one in plan.transfers
        ),
        people=None
        if plan.people is None
        else PeopleAnswer(
            moment_tm=plan.people.moment_tm,
            heel_deg=plan.people.heel_deg,
            needed_people_count=plan.people.count_needed,
        ),
        small_heel=None
        if plan.small_heel is None
        else SmallHeelAnswer(
            heel_deg=plan.small_heel.heel_deg,
            moment_tm=plan.small_heel.moment_tm,
            possible=plan.small_heel.possible,
        ),
    )
