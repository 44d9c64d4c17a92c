"""Lightships that are compared, and the triggers they are held against. Layer: service.schemas."""

from typing import Annotated, Literal

from pydantic import Field

from engine.errors import EngineError, InputError
from engine.lightship.aggregate import WeightHistory
from engine.lightship.deviation import Deviation, Lengths, deviation, deviation_uncertainty
from engine.lightship.particulars import Lightship, Spread
from engine.lightship.trigger_rows import TriggerRow, next_trigger
from service.edge.axes import X_DIFFERENCE, Y_DIFFERENCE, X, Y
from service.edge.model import Model
from service.edge.quantities import Measured, MeasuredIn, Survey
from service.schemas.common import Label, Length, PositionX, PositionY

ShipKind = Literal["passenger", "cargo"]
Against = Literal["approved", "sister", "predicted"]
ShipLength = Annotated[float, Survey("m", ge=0.1, le=1000)]
LightMass = Annotated[Measured, MeasuredIn("t", ge=0.001, le=1e7)]
Uncertainty = Annotated[float, Field(ge=0, le=1e7)]
RuleNames = Annotated[tuple[Label, ...], Field(min_length=1, max_length=50)]


class LightshipUncertainty(Model):
    """Standard uncertainties of a lightship, as a test's answer states them."""

    mass_t: Uncertainty | None = None
    x_m: Uncertainty | None = None
    y_m: Uncertainty | None = None
    z_m: Uncertainty | None = None


class StatedLightship(Model):
    """A lightship somebody states; its uncertainties in ``standard_uncertainty`` or with the values themselves."""

    mass_t: LightMass
    x_m: PositionX
    y_m: PositionY | None = None
    z_m: Length
    standard_uncertainty: LightshipUncertainty | None = None

    def lightship(self) -> Lightship:
        """Return it as the engine has it; an uncertainty stated twice is refused."""
        return _lightship(self, self.z_m)


class SurveyedLightship(Model):
    """What a lightweight survey found: VCG only where it is known otherwise."""

    mass_t: LightMass
    x_m: PositionX
    y_m: PositionY | None = None
    z_m: Length | None = None
    standard_uncertainty: LightshipUncertainty | None = None

    def lightship(self) -> Lightship:
        """Return it as the engine has it; an uncertainty stated twice is refused."""
        return _lightship(self, self.z_m)


def _lightship(stated: StatedLightship | SurveyedLightship, z: Measured | None) -> Lightship:
    given = {"mass_t": stated.mass_t, "x_m": stated.x_m, "y_m": stated.y_m, "z_m": z}
    apart = stated.standard_uncertainty or LightshipUncertainty()
    spread: dict[str, float] = {}
    for name, measured in given.items():
        one, other = getattr(apart, name), None if measured is None else measured.standard_uncertainty
        if one is not None and other is not None:
            raise InputError(
                "the uncertainty is stated with the value and apart from it",
                code="uncertainty-stated-twice",
                field=f"standard_uncertainty/{name}",
            )
        if one is not None or other is not None:
            spread[name] = one if one is not None else other  # type: ignore[assignment]
    return Lightship(
        mass_t=stated.mass_t.value,
        x_m=stated.x_m.value,
        y_m=None if stated.y_m is None else stated.y_m.value,
        z_m=None if z is None else z.value,
        spread=Spread(**spread) if spread else None,
    )


def made(stated: StatedLightship | SurveyedLightship | None, field: str) -> Lightship | None:
    """Return a lightship as the engine has it, a fault placed below ``field``."""
    if stated is None:
        return None
    try:
        return stated.lightship().checked()
    except EngineError as error:
        raise error.at(field) from error


class DeviationAnswer(Model):
    """Derived less reference; what one of the two does not state is left out."""

    mass_t: float
    mass_percent: float
    """Of the reference's mass."""
    x_m: Annotated[float, X_DIFFERENCE]
    x_over_length_bp_percent: Annotated[float, X_DIFFERENCE]
    x_over_load_line_length_percent: Annotated[float, X_DIFFERENCE] | None = None
    y_m: Annotated[float, Y_DIFFERENCE] | None = None
    z_m: float | None = None
    z_percent: float | None = None
    """Of the reference's VCG above the moulded base line."""


class DeviationUncertainty(Model):
    """Standard uncertainty of each deviation."""

    mass_t: float
    mass_percent: float
    x_m: float
    x_over_length_bp_percent: float
    x_over_load_line_length_percent: float | None = None
    y_m: float | None = None
    z_m: float | None = None
    z_percent: float | None = None


class TriggerAnswer(Model):
    """What came of one trigger: size of a deviation against its limit; the limit itself is within."""

    rule_set: str
    rule: str
    title: str
    against: Against
    clause: str
    source: str
    source_status: str
    quantity: str
    """What is compared, and of what it is a percentage."""
    value: float | None = None
    limit: float | None = None
    unit: Literal["%"] = "%"
    outcome: Literal["within", "exceeded", "not_assessed"]
    action: Literal["amended_information", "survey_only", "full_test"]
    """What it asks for when exceeded."""
    value_t: float | None = None
    limit_t: float | None = None
    value_m: float | None = None
    limit_m: float | None = None
    length: Literal["length_bp_m", "load_line_length_m"] | None = None
    """The length the percentage or the limit is of."""
    allowance_t: float | None = None
    """Mass still to be changed before this trigger."""
    standard_uncertainty: float | None = None
    """Of the value, in its unit."""
    exceedance_ratio: float | None = None
    """(Value − limit) over its standard uncertainty."""
    certainty: Literal["beyond_uncertainty", "within_uncertainty"] | None = None
    """Whether value and limit are more than two standard uncertainties apart."""
    reason: str | None = None
    note: str | None = None


class NextTrigger(Model):
    """The trigger a change of mass comes to first."""

    rule_set: str
    rule: str
    clause: str
    action: Literal["amended_information", "survey_only", "full_test"]
    allowance_t: float


class ComparisonAnswerOf(Model):
    """Against one reference."""

    against: Against
    deviation: DeviationAnswer
    deviation_uncertainty: DeviationUncertainty | None = None
    rows: tuple[TriggerAnswer, ...]
    next_trigger: NextTrigger | None = None


class CalculatedLightship(Model):
    """A lightship by calculation; what its start does not state is left out."""

    mass_t: float
    x_m: Annotated[float, X]
    y_m: Annotated[float, Y] | None = None
    z_m: float | None = None


class HistoryAnswer(Model):
    """Absolute totals of a weight history, and the lightship it leads to."""

    added_t: float
    removed_t: float
    relocated_t: float
    aggregate_t: float
    aggregate_percent: float
    calculated: CalculatedLightship


def history_answer(history: WeightHistory) -> HistoryAnswer:
    """Return a weight history as the answer has it."""
    new = history.calculated
    return HistoryAnswer(
        added_t=history.added_t,
        removed_t=history.removed_t,
        relocated_t=history.relocated_t,
        aggregate_t=history.aggregate_t,
        aggregate_percent=history.aggregate_percent,
        calculated=CalculatedLightship(mass_t=new.mass_t, x_m=new.x_m, y_m=new.y_m, z_m=new.z_m),
    )


def trigger_answer(row: TriggerRow) -> TriggerAnswer:
    """Return a row as the answer has it."""
    fields = {name: getattr(row, name) for name in TriggerAnswer.model_fields if name != "unit"}
    return TriggerAnswer(**{**fields, "reason": row.reason or None, "note": row.note or None})


def next_of(rows: tuple[TriggerRow, ...]) -> NextTrigger | None:
    """Return the trigger a change of mass comes to first."""
    row = next_trigger(rows)
    if row is None or row.allowance_t is None:
        return None
    return NextTrigger(
        rule_set=row.rule_set, rule=row.rule, clause=row.clause, action=row.action, allowance_t=row.allowance_t
    )


def comparison_of(
    against: Against, derived: Lightship, reference: Lightship, lengths: Lengths, rows: tuple[TriggerRow, ...]
) -> ComparisonAnswerOf:
    """Return deviations, their uncertainties and the triggers against one reference."""
    off = deviation(derived=derived, reference=reference, lengths=lengths)
    spread = deviation_uncertainty(derived=derived, reference=reference, lengths=lengths)
    return ComparisonAnswerOf(
        against=against,
        deviation=DeviationAnswer(**_numbers(off)),
        deviation_uncertainty=None if spread is None else DeviationUncertainty(**_numbers(spread)),
        rows=tuple(trigger_answer(row) for row in rows),
        next_trigger=next_of(rows),
    )


def _numbers(of: Deviation) -> dict[str, float]:
    return {name: value + 0.0 for name, value in vars(of).items() if value is not None}
