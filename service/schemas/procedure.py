"""A procedure as far as it is known, and what of it is missing. Layer: service.schemas.

Every part may be left out, down to a single weight's mass: what is missing is the answer, not a fault.
"""

import math
from collections.abc import Sequence
from datetime import date
from itertools import combinations
from typing import Annotated, Literal

from pydantic import Field

from engine.planning.procedure import Outcome, Part, Regulation
from engine.rules import OBSERVED_DECIMALS
from engine.rules.rule import SourceStatus
from service.edge.axes import Axes
from service.edge.model import Model
from service.edge.provenance import Provenance
from service.edge.quantities import Survey
from service.schemas.check import CheckAnswer
from service.schemas.common import CAUTIONS, Label

Words = Annotated[str, Field(min_length=1, max_length=2000)]
Place = Annotated[float, Survey("m", ge=-1e4, le=1e4)]
Size = Annotated[float, Survey("m", gt=0, le=1e3)]
Mass = Annotated[float, Survey("t", gt=0, le=1e7)]
Heel = Annotated[float, Field(ge=0, le=45)]


class ProcedureVessel(Model):
    """Whose test it is."""

    name: Label | None = None
    hull_number: Label | None = None
    """The yard's."""
    official_number: Label | None = None
    imo_number: Label | None = None
    type: Label | None = None
    flag: Label | None = None
    length_bp_m: Size | None = None


class ProcedureWeight(Model):
    """An inclining weight, in its place at reading 0."""

    id: Label
    kind: Label | None = None
    """What it is: steel block, water bag."""
    mass_t: Mass | None = None
    x_m: Place | None = None
    y_m: Place | None = None
    z_m: Place | None = None
    certificate: Label | None = None


class ProcedureInstrument(Model):
    """A measuring device."""

    id: Label
    kind: Literal["pendulum", "u_tube", "inclinometer"]
    location: Label | None = None
    x_m: Place | None = None
    y_m: Place | None = None
    z_m: Place | None = None
    length_m: Size | None = None
    """Of a pendulum, pivot to batten."""
    spread_m: Size | None = None
    """Of a U-tube."""
    approval: Label | None = None
    calibration: Label | None = None


class ProcedureTank(Model):
    """A tank, as it will be at the test."""

    name: Label
    condition: Literal["empty", "full", "slack"] | None = None
    liquid: Label | None = None
    density_t_per_m3: Annotated[float, Field(gt=0.1, le=20)] | None = None
    fill_percent: Annotated[float, Field(ge=0, le=100)] | None = None
    volume_m3: Annotated[float, Field(ge=0, le=1e7)] | None = None
    sounding_m: Place | None = None
    ullage_m: Place | None = None


class ProcedurePlace(Model):
    """A place in the ship."""

    x_m: Place | None = None
    y_m: Place | None = None
    z_m: Place | None = None


class ProcedureItem(ProcedurePlace):
    """An item to remove, to add or to relocate, as estimated."""

    name: Label
    action: Literal["remove", "add", "relocate"]
    mass_t: Mass | None = None
    to: ProcedurePlace | None = None
    """Where a relocated item belongs."""


class ProcedureEvent(Model):
    """An event of the schedule."""

    event: Label
    day: date | None = None
    time: Label | None = None
    responsible: Label | None = None


class ProcedurePerson(Model):
    """A responsible person."""

    name: Label
    role: Label | None = None
    telephone: Label | None = None
    organisation: Label | None = None


class ProcedureContents(Model):
    """The procedure as far as it is known."""

    axes: Axes | None = None
    """Where x and y of this document point; places come back as they were given."""
    vessel: ProcedureVessel | None = None
    day: date | None = None
    time: Label | None = None
    place: Label | None = None
    lodged: date | None = None
    """The day the procedure goes to the authority."""
    weights: Annotated[tuple[ProcedureWeight, ...], Field(max_length=200)] | None = None
    handling: Words | None = None
    """How the weights are moved."""
    heel_port_deg: Heel | None = None
    """Largest heel expected to port, as a size."""
    heel_starboard_deg: Heel | None = None
    instruments: Annotated[tuple[ProcedureInstrument, ...], Field(max_length=50)] | None = None
    draft_m: Place | None = None
    """Approximate, at midlength."""
    trim_m: Place | None = None
    """Approximate."""
    tanks: Annotated[tuple[ProcedureTank, ...], Field(max_length=500)] | None = None
    """An empty list says that she has none."""
    items: Annotated[tuple[ProcedureItem, ...], Field(max_length=5000)] | None = None
    """An empty list says that there are none."""
    schedule: Annotated[tuple[ProcedureEvent, ...], Field(max_length=500)] | None = None
    persons: Annotated[tuple[ProcedurePerson, ...], Field(max_length=100)] | None = None
    software: Words | None = None

    def observed(self) -> dict[str, float]:
        """Return what the procedure says of the rules' observed quantities."""
        found: dict[str, float] = {}
        heels = [heel for heel in (self.heel_port_deg, self.heel_starboard_deg) if heel is not None]
        if len(heels) == 2:
            found |= {"heel_least_side_deg": min(heels), "heel_largest_side_deg": max(heels)}
        if self.instruments is not None:
            found |= self._of_instruments(self.instruments, math.tan(math.radians(min(heels))) if heels[1:] else None)
        if self.weights is not None:
            found["weights_count"] = float(len(self.weights))
        if self.tanks is not None and all(tank.condition for tank in self.tanks):
            found["slack_tanks_count"] = float(sum(tank.condition == "slack" for tank in self.tanks))
        length = self.vessel.length_bp_m if self.vessel else None
        if self.trim_m is not None and length is not None:
            found["trim_over_length_percent"] = 100 * abs(self.trim_m) / length
        if self.lodged is not None and self.day is not None:
            found["procedure_notice_days"] = float((self.day - self.lodged).days)
        return {name: round(value, OBSERVED_DECIMALS) for name, value in found.items()}

    def _of_instruments(self, instruments: Sequence[ProcedureInstrument], tangent: float | None) -> dict[str, float]:
        pendulums = [one for one in instruments if one.kind == "pendulum"]
        tubes = [one for one in instruments if one.kind == "u_tube"]
        found = {
            "instruments_count": float(len(instruments)),
            "pendulums_count": float(len(pendulums)),
            "u_tubes_count": float(len(tubes)),
        }
        lengths = [one.length_m for one in pendulums if one.length_m is not None]
        spreads = [one.spread_m for one in tubes if one.spread_m is not None]
        if lengths and len(lengths) == len(pendulums):
            found["pendulum_shortest_length_m"] = min(lengths)
            if len(lengths) > 1:
                found["pendulum_least_length_difference_m"] = min(abs(a - b) for a, b in combinations(lengths, 2))
            if tangent is not None:
                found["pendulum_least_side_deflection_m"] = min(lengths) * tangent
        if spreads and len(spreads) == len(tubes) and tangent is not None:
            found["u_tube_least_side_difference_m"] = min(spreads) * tangent
        return found


class MissingFact(Model):
    """A fact that is wanted and not given."""

    pointer: str
    """Where it belongs in the request, a JSON pointer."""
    words: str


class PartRow(Model):
    """A part asked for, and what of it is given."""

    id: str
    regulation: Regulation
    title: str
    clause: str
    source: str
    source_status: SourceStatus
    outcome: Outcome
    missing: tuple[MissingFact, ...]


class ProcedureTotals(Model):
    """Sums over what is given; left out where an entry has no mass."""

    weights_count: int
    weights_t: float | None = None
    instruments_count: int
    tanks_empty_count: int
    tanks_full_count: int
    tanks_slack_count: int
    remove_t: float | None = None
    add_t: float | None = None
    relocate_t: float | None = None


class ProcedureAnswer(Model):
    """The procedure, and what of it is missing."""

    complete: bool
    parts: tuple[PartRow, ...]
    missing: tuple[str, ...]
    """Ids of the parts that are not wholly given."""
    contents: ProcedureContents
    """The procedure as given, in SI units, and what the plan adds."""
    from_plan: tuple[str, ...]
    """Parts to which the plan has added."""
    plan_possible: bool | None = None
    """Whether the plan can be carried out; its own answer says what is impossible."""
    totals: ProcedureTotals
    checks: tuple[CheckAnswer, ...]
    """What the procedure says, held against the rule sets."""
    cautions: tuple[str, ...] = CAUTIONS
    provenance: Provenance = Provenance()


def part_row(part: Part) -> PartRow:
    """Return a part as the answer has it."""
    return PartRow(
        id=part.id,
        regulation=part.regulation,
        title=part.title,
        clause=part.clause,
        source=part.source,
        source_status=part.source_status,
        outcome=part.outcome,
        missing=tuple(MissingFact(pointer=f"#/{one.path}", words=one.words) for one in part.missing),
    )


def totals(given: ProcedureContents) -> ProcedureTotals:
    """Return the sums over what is given."""
    tanks = [tank.condition for tank in given.tanks or ()]
    items = given.items or ()
    return ProcedureTotals(
        weights_count=len(given.weights or ()),
        weights_t=_sum([one.mass_t for one in given.weights or ()]),
        instruments_count=len(given.instruments or ()),
        tanks_empty_count=tanks.count("empty"),
        tanks_full_count=tanks.count("full"),
        tanks_slack_count=tanks.count("slack"),
        remove_t=_sum([one.mass_t for one in items if one.action == "remove"]),
        add_t=_sum([one.mass_t for one in items if one.action == "add"]),
        relocate_t=_sum([one.mass_t for one in items if one.action == "relocate"]),
    )


def _sum(masses: Sequence[float | None]) -> float | None:
    known = [mass for mass in masses if mass is not None]
    return math.fsum(known) if len(known) == len(masses) else None
