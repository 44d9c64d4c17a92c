"""What is known before a test. Layer: service.schemas."""

from datetime import date
from typing import Annotated

from pydantic import Field

from engine.errors import EngineError, InputError
from engine.planning.berth import Berth, Tide, deepest_point_m
from engine.planning.practice import Responsible
from engine.planning.precondition import DeviationState
from engine.planning.readiness import Certificate, CertificateKind, Deviation, Limited
from engine.planning.who_brings import Kind, Need, NeedChange, Planned
from engine.rules import OBSERVED_DECIMALS
from engine.rules.rule import Level
from service.edge.model import Model
from service.schemas.common import Label

Id = Annotated[str, Field(min_length=1, max_length=80, pattern="^[A-Za-z0-9_./-]+$")]
Metres = Annotated[float, Field(ge=-1000, le=1000)]
PositiveMetres = Annotated[float, Field(ge=0, le=1000)]
Tonnes = Annotated[float, Field(ge=0, le=1e7)]
Count = Annotated[int, Field(ge=0, le=100)]
Minutes = Annotated[float, Field(ge=-1440, le=4320)]


class Statement(Model):
    """What somebody states of a precondition; one left out is not yet known."""

    precondition: Id
    met: bool


class Afloat(Model):
    """How she lies, or is predicted to lie, at reading 0."""

    list_deg: Annotated[float, Field(ge=-45, le=45)] | None = None
    """Initial heel, + to starboard."""
    trim_m: Metres | None = None
    hydrostatics_trim_m: Metres | None = None
    """Trim the hydrostatics in use hold for; left out where they are computed at the actual trim."""
    hydrostatics_at_actual_trim: bool = True
    length_bp_m: Annotated[float, Field(gt=0, le=1000)] | None = None

    def observed(self) -> dict[str, float]:
        """Return the observed quantities of the rules."""
        found = {}
        if self.list_deg is not None:
            found["initial_list_deg"] = abs(self.list_deg)
        if self.trim_m is not None and self.length_bp_m is not None:
            found["trim_over_length_percent"] = 100 * abs(self.trim_m) / self.length_bp_m
            if self.hydrostatics_at_actual_trim:
                found["trim_off_hydrostatics_percent"] = 0.0
            elif self.hydrostatics_trim_m is not None:
                off = abs(self.trim_m - self.hydrostatics_trim_m)
                found["trim_off_hydrostatics_percent"] = 100 * off / self.length_bp_m
        return {name: round(value, OBSERVED_DECIMALS) for name, value in found.items()}


class Deadweight(Model):
    """What the list of items and the tanks add up to, and the lightship it is a share of."""

    lightship_t: Annotated[float, Field(gt=0, le=1e7)]
    surplus_t: Tonnes | None = None
    """Items to remove."""
    missing_t: Tonnes | None = None
    """Items to add."""
    liquids_t: Tonnes | None = None
    """Liquids aboard that are not lightship."""

    def observed(self) -> dict[str, float]:
        """Return the observed quantities of the rules."""
        found = {}
        if self.surplus_t is not None:
            found["surplus_over_lightship_percent"] = self.surplus_t
            if self.liquids_t is not None:
                found["deadweight_over_lightship_percent"] = self.surplus_t + self.liquids_t
        if self.missing_t is not None:
            found["missing_over_lightship_percent"] = self.missing_t
            found["completeness_percent"] = self.lightship_t - self.missing_t
        return {name: round(100 * part / self.lightship_t, OBSERVED_DECIMALS) for name, part in found.items()}


class HeeledHull(Model):
    """The hull at the largest heel of the test, its bottom taken as flat out to `half_breadth_m`."""

    draft_m: PositiveMetres
    trim_m: Metres = 0.0
    heel_deg: Annotated[float, Field(ge=-45, le=45)]
    half_breadth_m: PositiveMetres
    below_base_m: PositiveMetres = 0.0
    """What reaches below the base line: keel plate, dome, thruster."""

    def deepest(self) -> float:
        """Return the depth of its lowest point. [m]"""
        return deepest_point_m(**self.model_dump())


class TideAsked(Model):
    """Height of the water above the datum of the soundings, straight between the times given."""

    time_min: Annotated[tuple[Minutes, ...], Field(max_length=2000)]
    """Minutes after midnight of the test day."""
    height_m: Annotated[tuple[Metres, ...], Field(max_length=2000)]


class BerthAsked(Model):
    """The berth, and the hours of the test."""

    soundings_m: Annotated[tuple[Metres, ...], Field(max_length=2000)] = ()
    """Depths at the datum of the tide where she lies; the least counts."""
    hull: HeeledHull | None = None
    deepest_point_m: PositiveMetres | None = None
    """Where it is known better than by `hull`."""
    margin_m: PositiveMetres | None = None
    """Clear water below her; half a metre unless given (our choice)."""
    tide: TideAsked | None = None
    start_min: Minutes | None = None
    """Minutes after midnight at which the test starts."""
    duration_min: Annotated[float, Field(gt=0, le=2880)] | None = None

    def berth(self) -> Berth:
        """Return it as the engine has it."""
        deepest = self.deepest_point_m
        if deepest is None and self.hull is not None:
            deepest = self.hull.deepest()
        try:
            tide = Tide.of(**self.tide.model_dump()) if self.tide else None
        except EngineError as error:
            raise error.at("tide") from error
        return Berth(
            least_sounding_m=min(self.soundings_m, default=None),
            deepest_point_m=deepest,
            tide=tide,
            start_min=self.start_min,
            duration_min=self.duration_min,
            **({} if self.margin_m is None else {"margin_m": self.margin_m}),
        )


class LimitedAsked(Model):
    """A forecast, and the limit set for this test: no text gives one."""

    forecast_m_per_s: Annotated[float, Field(ge=0, le=100)] | None = None
    limit_m_per_s: Annotated[float, Field(ge=0, le=100)] | None = None

    def limited(self) -> Limited:
        """Return it as the engine has it."""
        return Limited(self.forecast_m_per_s, self.limit_m_per_s)


class CertificateAsked(Model):
    """A certificate or calibration."""

    kind: CertificateKind
    name: Label
    issued: date | None = None
    valid_until: date | None = None
    """The last day of its validity."""

    def certificate(self) -> Certificate:
        """Return it as the engine has it."""
        return Certificate(self.kind, self.name, self.issued, self.valid_until)


class DeviationAsked(Model):
    """A deviation from a precondition, as the representative may allow it (46 CFR 170.190)."""

    precondition: Id
    state: DeviationState

    def deviation(self) -> Deviation:
        """Return it as the engine has it."""
        return Deviation(self.precondition, self.state)


class PlannedCounts(Model):
    """What of the plan decides who and what is needed."""

    pendulums_count: Count = 0
    u_tubes_count: Count = 0
    inclinometers_count: Count = 0
    weights_count: Count = 0
    tank_liquids_count: Count = 0
    """Liquids in tanks whose density is to be measured."""
    ship_crane: bool = False
    shore_crane: bool = False
    tug: bool = False

    def planned(self) -> Planned:
        """Return it as the engine has it."""
        return Planned(
            pendulums=self.pendulums_count,
            u_tubes=self.u_tubes_count,
            inclinometers=self.inclinometers_count,
            weights=self.weights_count,
            tank_liquids=self.tank_liquids_count,
            ship_crane=self.ship_crane,
            shore_crane=self.shore_crane,
            tug=self.tug,
        )

    def observed(self) -> dict[str, float]:
        """Return the observed quantities of the rules."""
        instruments = self.pendulums_count + self.u_tubes_count + self.inclinometers_count
        return {
            "pendulums_count": float(self.pendulums_count),
            "instruments_count": float(instruments),
            "weights_count": float(self.weights_count),
        }


class NeedChangeAsked(Model):
    """What the parties agreed otherwise, or confirmed."""

    need: Id
    party: Responsible | None = None
    need_count: Count | None = None
    confirmed: bool | None = None

    def change(self) -> NeedChange:
        """Return it as the engine has it."""
        return NeedChange(self.need, self.party, self.need_count, self.confirmed)


class ExtraNeed(Model):
    """A thing or a person this test alone needs."""

    id: Id
    kind: Kind
    title: Label
    party: Responsible
    need_count: Count = 1
    level: Level = "advised"
    confirmed: bool | None = None

    def need(self) -> Need:
        """Return it as the engine has it."""
        return Need(
            id=self.id,
            kind=self.kind,
            title=self.title,
            need_count=self.need_count,
            party=self.party,
            level=self.level,
            clause="none",
            source="the request",
            source_status="our choice",
            confirmed=self.confirmed,
        )


def unique(statements: tuple[Statement, ...]) -> dict[str, bool]:
    """Return the statements by precondition; one stated twice is refused."""
    found: dict[str, bool] = {}
    for rank, one in enumerate(statements):
        if one.precondition in found:
            field = f"statements/{rank}/precondition"
            raise InputError("an earlier statement is of the same", code="duplicate-id", field=field)
        found[one.precondition] = one.met
    return found
