"""GET /v1/rule-sets. Layer: service.resources."""

from typing import Literal

from fastapi import APIRouter, Request

from engine.quantities import Quantity
from engine.rules import NAMES_BY_SUBJECT, OBSERVABLES, Requirement, Rule, RuleSet
from service.edge.media import refuse_unknown_query
from service.edge.model import Model
from service.edge.rule_folder import RuleSets

router = APIRouter(tags=["rules"])

SubjectName = Literal["test", "stability"]


class RequirementOf(Model):
    """A quantity and its limit; the limit itself passes."""

    quantity: str
    comparison: Literal["at_least", "at_most", "within"]
    limit: float
    """In the quantity's unit; with `limit_quantity` the constant part."""
    upper_limit: float | None = None
    """Only where the comparison is `within`."""
    limit_quantity: str | None = None
    """The limit moves with this quantity: `limit` + `limit_slope_ratio` × its value."""
    limit_slope_ratio: float | None = None
    unit: str


class RuleOf(RequirementOf):
    """One rule."""

    id: str
    title: str
    clause: str
    source: str
    source_status: Literal["published", "from memory", "common practice, no source", "our choice"]
    level: Literal["required", "advised"]
    applies_when: tuple[RequirementOf, ...]
    """All must hold for the rule to apply."""
    alternative: tuple[RequirementOf, ...]
    """Where there are any: the rule is also met if all of these hold."""
    note: str | None = None


class RuleSetOf(Model):
    """Rules under one name."""

    name: str
    title: str
    version: str
    subject: SubjectName
    """What they judge: a stability test, or stability in a loading condition."""
    origin: Literal["built_in", "mounted"]
    """Whether it comes with the service or from the operator's folder."""
    rules: tuple[RuleOf, ...]


class ObservableOf(Model):
    """A quantity a rule can be about."""

    name: str
    unit: str
    sign: str
    definition: str
    subjects: tuple[SubjectName, ...]


class RuleSetsOffered(Model):
    """Every set of this service, and every quantity a set of one's own may use."""

    rule_sets: tuple[RuleSetOf, ...]
    quantities: tuple[ObservableOf, ...]


@router.get(
    "/v1/rule-sets",
    operation_id="list_rule_sets",
    summary="Rule sets and what their rules can be about",
    response_model_exclude_none=True,
)
async def rule_sets(request: Request) -> RuleSetsOffered:
    """Return the sets that come with the service, then those of the operator's folder."""
    refuse_unknown_query(request, ())
    sets: RuleSets = request.app.state.rule_sets
    return RuleSetsOffered(
        rule_sets=(
            *(_set(one, "built_in") for one in sets.built_in),
            *(_set(one, "mounted") for one in sets.mounted),
        ),
        quantities=tuple(_observable(one) for one in OBSERVABLES),
    )


def _set(of: RuleSet, origin: Literal["built_in", "mounted"]) -> RuleSetOf:
    return RuleSetOf(
        name=of.name,
        title=of.title,
        version=of.version,
        subject=of.subject,
        origin=origin,
        rules=tuple(_rule(rule) for rule in of.rules),
    )


def _rule(of: Rule) -> RuleOf:
    return RuleOf(
        **dict(_requirement(of.requirement)),
        id=of.id,
        title=of.title,
        clause=of.clause,
        source=of.source,
        source_status=of.source_status,
        level=of.level,
        applies_when=tuple(_requirement(one) for one in of.applies_when),
        alternative=tuple(_requirement(one) for one in of.alternative),
        note=of.note or None,
    )


def _requirement(of: Requirement) -> RequirementOf:
    moves = of.limit_quantity is not None
    return RequirementOf(
        quantity=of.quantity,
        comparison=of.comparison,
        limit=of.limit,
        upper_limit=of.upper_limit,
        limit_quantity=of.limit_quantity,
        limit_slope_ratio=of.limit_slope if moves else None,
        unit=of.unit,
    )


def _observable(of: Quantity) -> ObservableOf:
    subjects: tuple[SubjectName, ...] = ("test", "stability")
    return ObservableOf(
        name=of.name,
        unit=of.unit,
        sign=of.sign,
        definition=of.definition,
        subjects=tuple(one for one in subjects if of.name in NAMES_BY_SUBJECT[one]),
    )
