"""Openings, deck edge and wind, and a criterion held against a ship's arms. Layer: service.schemas."""

from collections.abc import Sequence
from typing import Annotated, Literal

import numpy as np
from pydantic import Field

from engine.errors import EngineError
from engine.flotation.immersion import Opening
from engine.stability import Criterion, StabilityData, WindProfile, statement
from service.edge.model import Model
from service.schemas.check import CheckAnswer, check_answer
from service.schemas.common import Label
from service.schemas.righting_arms import DeckEdge, OpeningOf

Coordinate = Annotated[float, Field(ge=-1e4, le=1e4)]
SetNames = Annotated[tuple[Label, ...], Field(min_length=1, max_length=50)]


class WindProfileOf(Model):
    """What the wind blows on, by draft; one row holds at every draft, more are taken straight between."""

    draft_m: Annotated[tuple[float, ...], Field(min_length=1, max_length=100)]
    """Rising."""
    area_m2: Annotated[tuple[Annotated[float, Field(gt=0, le=1e6)], ...], Field(min_length=1, max_length=100)]
    """Lateral area of ship and deck cargo above the waterline."""
    centroid_z_m: Annotated[tuple[Coordinate, ...], Field(min_length=1, max_length=100)]
    """Height of the centroid of that area above the base line."""

    def profile(self) -> WindProfile:
        """Return it as the engine has it."""
        return WindProfile.from_columns(draft_m=self.draft_m, area_m2=self.area_m2, centroid_z_m=self.centroid_z_m)


Openings = Annotated[tuple[OpeningOf, ...], Field(max_length=500)]


class StabilityDataOf(Model):
    """What criteria need of the ship besides hull and loading; without it those that need it are not assessed."""

    openings: Openings | None = None
    """`[]` says that there are none; left out, nothing is said."""
    deck_edge_m: DeckEdge | None = None
    """Points of the deck edge, both sides."""
    wind: WindProfileOf | None = None
    bilge: Literal["round", "sharp"] = "round"
    bilge_keel_area_m2: Annotated[float, Field(ge=0, le=1e4)] = 0.0
    """Of all bilge keels, or of the bar keel."""

    def data(self) -> StabilityData:
        """Return it as the engine has it, a fault of the wind placed below ``wind``."""
        return StabilityData(
            openings=openings_of(self.openings),
            deck_edge_m=None if self.deck_edge_m is None else np.array(self.deck_edge_m),
            wind=wind_of(self.wind),
            bilge=self.bilge,
            bilge_keel_area_m2=self.bilge_keel_area_m2,
        )


def openings_of(openings: Sequence[OpeningOf] | None) -> tuple[Opening, ...] | None:
    """Return openings as the engine has them."""
    return None if openings is None else tuple(one.opening() for one in openings)


def wind_of(wind: WindProfileOf | None) -> WindProfile | None:
    """Return a profile as the engine has it, a fault placed below ``wind``."""
    try:
        return None if wind is None else wind.profile()
    except EngineError as error:
        raise error.at("wind") from error


class CriterionAnswer(CheckAnswer):
    """A criterion and what came of it on the side on which she fares worse."""

    side: Literal["starboard", "port"]
    standard_uncertainty: float | None = None
    """Of the margin, from that of the lightship; in `unit`."""
    statement: str
    """Whether it is met, the margin, and the margin in standard uncertainties."""


def criterion_answer(criterion: Criterion, *, standard_uncertainty: float | None = None) -> CriterionAnswer:
    """Return a criterion as the answer has it."""
    check = criterion.check
    return CriterionAnswer(
        **dict(check_answer(check)),
        side=criterion.side,
        standard_uncertainty=standard_uncertainty,
        statement=statement(
            check.outcome, margin=check.margin, unit=check.unit, standard_uncertainty=standard_uncertainty
        ),
    )


class GoverningRule(Model):
    """The criterion that sets a limit of VCG."""

    rule_set: str
    rule: str
    clause: str
    side: Literal["starboard", "port"]


def governing(criterion: Criterion) -> GoverningRule:
    """Return the governing criterion as the answer has it."""
    check = criterion.check
    return GoverningRule(rule_set=check.rule_set, rule=check.rule, clause=check.clause, side=criterion.side)
