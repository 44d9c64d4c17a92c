"""Where the VCG of a ship comes from that is surveyed and not inclined. Layer: service.schemas."""

from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import Field

from engine.lightship.aggregate import WeightHistory, weight_history
from engine.lightship.particulars import Lightship
from engine.lightship.survey_only import VcgBasis, approved_vcg, calculated_vcg, sister_vcg, tank_vessel_vcg
from engine.lightship.triggers import VcgKind
from engine.survey.ledger import Item as EngineItem
from service.edge.model import Model
from service.schemas.common import each
from service.schemas.comparison import StatedLightship, made
from service.schemas.survey import Item
from service.schemas.tank_vessel import TankVesselOf, assumed_z_m

History = Annotated[tuple[Item, ...], Field(max_length=5000)]


@dataclass(frozen=True)
class VcgCase:
    """A VCG with its clause, and what the survey is then held against."""

    basis: VcgBasis
    rule_sets: tuple[str, ...]
    approved: Lightship | None = None
    sister: Lightship | None = None
    items: tuple[EngineItem, ...] = ()
    tank_vessel: TankVesselOf | None = None


class ApprovedRule(Model):
    """Her own approved VCG stands (SOLAS II-1/5.5)."""

    kind: Literal["approved"]
    approved: StatedLightship

    def case(self) -> VcgCase:
        """Return the VCG and its reference."""
        approved = _known(self.approved, "vcg/approved")
        return VcgCase(approved_vcg(approved_z_m=_z(approved)), ("solas-ii-1-5",), approved=approved)


class CalculatedRule(Model):
    """The VCG calculated from the approved one and the weight history (46 CFR 144.315)."""

    kind: Literal["calculated"]
    approved: StatedLightship
    weight_history: History
    """Changes since the approved lightship."""

    def case(self) -> VcgCase:
        """Return the VCG and its reference."""
        approved = _known(self.approved, "vcg/approved")
        items, history = _history(approved, self.weight_history)
        basis = calculated_vcg(calculated_z_m=_z(history.calculated))
        return VcgCase(basis, ("us-46-cfr-144",), approved=approved, items=items)


class SisterRule(Model):
    """The higher of the lead ship's VCG and the calculated one (MSC/Circ.1158)."""

    kind: Literal["sister"]
    lead: StatedLightship
    """Lightship of the lead ship, by her inclining test."""
    weight_history: History = ()
    """Documented differences of this ship from the lead ship; the calculated VCG is that of the lead with these."""

    def case(self) -> VcgCase:
        """Return the VCG and its reference."""
        lead = _known(self.lead, "vcg/lead")
        items, history = _history(lead, self.weight_history)
        basis = sister_vcg(lead_z_m=_z(lead), calculated_z_m=_z(history.calculated))
        return VcgCase(basis, ("imo-msc-circ-1158",), sister=lead, items=items)


class TankVesselRule(Model):
    """The assumed VCG of a tank vessel (46 CFR 170.200)."""

    kind: Literal["tank_vessel"]
    tank_vessel: TankVesselOf

    def case(self) -> VcgCase:
        """Return the VCG; the section must be known to apply."""
        basis = tank_vessel_vcg(assumed_z_m=assumed_z_m(self.tank_vessel, "vcg/tank_vessel"))
        return VcgCase(basis, ("us-46-cfr-170",), tank_vessel=self.tank_vessel)


VcgRuleOf = Annotated[ApprovedRule | CalculatedRule | SisterRule | TankVesselRule, Field(discriminator="kind")]


class VcgAnswer(Model):
    """The VCG taken, its clause, and whether the survey bears it out."""

    kind: VcgKind
    z_m: float
    outcome: Literal["accepted", "not_accepted", "not_assessed"]
    """Accepted where the survey keeps within every limit beyond which a full test is asked for."""
    title: str
    clause: str
    source: str
    source_status: str
    lead_z_m: float | None = None
    calculated_z_m: float | None = None
    note: str | None = None


def vcg_answer(basis: VcgBasis, outcome: Literal["accepted", "not_accepted", "not_assessed"]) -> VcgAnswer:
    """Return a VCG and its clause as the answer has them."""
    return VcgAnswer(
        kind=basis.rule.kind,
        z_m=basis.z_m,
        outcome=outcome,
        title=basis.rule.title,
        clause=basis.rule.clause,
        source=basis.rule.source,
        source_status=basis.rule.source_status,
        lead_z_m=basis.lead_z_m,
        calculated_z_m=basis.calculated_z_m,
        note=basis.rule.note or None,
    )


def _known(stated: StatedLightship, field: str) -> Lightship:
    lightship = made(stated, field)
    assert lightship is not None
    return lightship


def _z(lightship: Lightship) -> float:
    assert lightship.z_m is not None  # a StatedLightship has one
    return lightship.z_m


def _history(start: Lightship, entries: History) -> tuple[tuple[EngineItem, ...], WeightHistory]:
    items = each(entries, Item.item, "vcg/weight_history")
    return items, weight_history(start=start, items=items)
