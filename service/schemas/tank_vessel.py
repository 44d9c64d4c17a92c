"""A tank vessel that may take an assumed VCG, 46 CFR 170.200. Layer: service.schemas."""

from typing import Annotated, Literal

from pydantic import Field

from engine.errors import EngineError, InputError
from engine.lightship.assumed_vcg import AssumedVcg, TankVessel, assumed_vcg
from service.edge.model import Model
from service.edge.quantities import Survey


class TankVesselOf(Model):
    """Its depth and the conditions of the section; one that is left out is not stated."""

    kind: Literal["tank_ship", "tank_barge"]
    depth_m: Annotated[float, Survey("m", gt=0, le=100)]
    """Moulded depth."""
    gross_tonnage_count: Annotated[float, Field(ge=0, le=1e7)] | None = None
    """150 or more."""
    ordinary_form: bool | None = None
    flush_deck: bool | None = None
    longitudinal_bulkhead: bool | None = None
    """At least one."""
    independent_tanks: bool | None = None
    cargo_above_freeboard_deck: bool | None = None
    special_cargo: bool | None = None
    """A cargo of part 153 table 1 or part 154 table 4."""

    def vessel(self) -> TankVessel:
        """Return it as the engine has it."""
        given = dict(self)
        return TankVessel(gross_tonnage=given.pop("gross_tonnage_count"), **given)


class AssumedVcgAnswer(Model):
    """Whether the section applies, and the VCG where it does."""

    outcome: Literal["applies", "does_not_apply", "not_assessed"]
    z_m: float | None = None
    depth_percent: float
    failed: tuple[str, ...]
    """Conditions not met."""
    not_stated: tuple[str, ...]


def assumed_answer(assumed: AssumedVcg) -> AssumedVcgAnswer:
    """Return it as the answer has it."""
    return AssumedVcgAnswer(**vars(assumed))


def assumed_z_m(vessel: TankVesselOf, field: str) -> float:
    """Return the assumed VCG; refuse a vessel the section is not known to apply to. [m]"""
    try:
        found = assumed_vcg(vessel.vessel())
    except EngineError as error:
        raise error.at(field) from error
    if found.z_m is None:
        raise InputError(
            f"{len(found.failed)} conditions are not met and {len(found.not_stated)} not stated",
            code="vcg-not-assumed",
            field=field,
        )
    return found.z_m
