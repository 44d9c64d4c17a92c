"""POST /v1/stability-tests/swing: where a swinging instrument would rest. Layer: service.resources."""

from typing import Annotated, Any

from fastapi import APIRouter
from pydantic import Field

from engine.diagnosis.swing import Rest, rest_from_extremes, rest_from_series
from engine.errors import InputError
from service.edge.model import Model
from service.edge.operation import operation
from service.edge.provenance import Provenance
from service.schemas.common import CAUTIONS

router = APIRouter()

Shown = Annotated[float, Field(ge=-1e6, le=1e6)]


class SwingRequest(Model):
    """One reading of an instrument that will not stand still: its extremes, or a logger's time series."""

    extremes: Annotated[tuple[Shown, ...], Field(max_length=10_000)] | None = None
    """As read, alternately to each side, in the unit of the instrument."""
    series: Annotated[tuple[Shown, ...], Field(max_length=200_000)] | None = None
    """Evenly spaced in time, in the unit of the instrument."""
    step_s: Annotated[float, Field(gt=1e-6, le=60)] | None = None
    """Between two values of the series."""


class SwingAnswer(Model):
    """The reading at rest, to be written into the record as value and standard uncertainty."""

    value: float
    """In the unit of the instrument."""
    standard_uncertainty: float
    """Of it: neighbouring values of a swing are not independent, and are not counted so."""
    degrees_of_freedom_count: float
    effective_count: float
    """Independent readings the mean is worth."""
    period_s: float | None = None
    """Of the roll, by a series of three whole periods or more: `roll_periods` of an incline takes it."""
    period_standard_uncertainty_s: float | None = None
    cautions: tuple[str, ...] = CAUTIONS
    provenance: Provenance = Provenance()


EXAMPLE: dict[str, Any] = {"extremes": [0.412, 0.388, 0.411, 0.389, 0.410, 0.390, 0.4095]}


@operation(
    router,
    "/v1/stability-tests/swing",
    request=SwingRequest,
    response=SwingAnswer,
    operation_id="compute_rest_of_swing",
    summary="Where a swinging pendulum would rest, how well that is known, and the roll period",
    example=EXAMPLE,
    tag="stability tests",
)
def compute(request: SwingRequest) -> SwingAnswer:
    """Return the rest of a swing from its extremes or from a time series, its autocorrelation taken into account."""
    if (request.extremes is None) == (request.series is None):
        raise InputError("give extremes or a series, one of them", code="extremes-or-series", field="extremes")
    if request.extremes is not None:
        return _answer(rest_from_extremes(extremes=request.extremes))
    if request.step_s is None:
        raise InputError("a series needs its step in time", code="missing-field", field="step_s")
    return _answer(rest_from_series(values=request.series or (), step_s=request.step_s))


def _answer(rest: Rest) -> SwingAnswer:
    return SwingAnswer(
        value=rest.value,
        standard_uncertainty=rest.standard_uncertainty,
        degrees_of_freedom_count=rest.degrees_of_freedom,
        effective_count=rest.effective_count,
        period_s=rest.period_s,
        period_standard_uncertainty_s=rest.period_standard_uncertainty_s,
    )
