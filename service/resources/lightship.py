"""POST /v1/stability-tests/lightship: from the ship as inclined to the lightship. Layer: service.resources."""

from typing import Annotated, Any

import numpy as np
from fastapi import APIRouter
from pydantic import Field

from engine.errors import InputError
from engine.geometry.plane import Planes
from engine.record.as_inclined import free_surface_tm
from engine.record.record import Parts
from engine.record.regression_only import Number, lightship_alone
from engine.record.solve import entries
from service.demo import demo_record
from service.edge.axes import Axes, from_ship_frame, to_ship_frame
from service.edge.model import Model
from service.edge.operation import operation
from service.edge.provenance import Provenance
from service.edge.quantities import Measured, MeasuredIn
from service.schemas.budget import (
    BudgetRow,
    BudgetSummary,
    Expanded,
    LightshipSpread,
    expanded,
    rows,
    spread,
    summaries,
)
from service.schemas.common import CAUTIONS, Finding, Length, LengthBP, PositionX, PositionY, each, findings, unique
from service.schemas.incline import Weight
from service.schemas.ledger_table import LedgerLine, lines
from service.schemas.lightship import MassAndCentre, mass_and_centre
from service.schemas.record import Uncertainties, stated_in
from service.schemas.survey import Item
from service.schemas.tank import TankOf

router = APIRouter()


class AsInclinedGiven(Model):
    """The ship at reading 0 as numbers: her solid centre, or KM and GM instead of its height."""

    displacement_t: Annotated[Measured, MeasuredIn("t", gt=0, le=1e7)]
    heel_deg: Annotated[float, Field(ge=-30, le=30)] = 0.0
    """For how the liquids lie."""
    trim_m: Annotated[float, Field(ge=-100, le=100)] = 0.0
    lcg_m: PositionX
    tcg_m: PositionY = Measured(0.0)
    vcg_m: Length | None = None
    """Solid: free surfaces left out."""
    km_transverse_m: Length | None = None
    gm_fluid_m: Length | None = None
    """With KM, instead of `vcg_m`: the free surfaces of the tanks given are taken into account."""

    def height(self, correction_m: float) -> Number:
        """Return the solid VCG."""
        if self.vcg_m is not None:
            if self.km_transverse_m is not None or self.gm_fluid_m is not None:
                raise InputError("give vcg_m, or KM and GM, not both", code="vcg-or-km", field="as_inclined/vcg_m")
            return _number(self.vcg_m)
        if self.km_transverse_m is None or self.gm_fluid_m is None:
            raise InputError("give vcg_m, or both KM and GM", code="vcg-or-km", field="as_inclined/vcg_m")
        km, gm = _number(self.km_transverse_m), _number(self.gm_fluid_m)
        return Number(
            km.value - gm.value - correction_m, float(np.hypot(km.standard_uncertainty, gm.standard_uncertainty))
        )


def _number(given: Measured) -> Number:
    return Number(given.value, given.standard_uncertainty or 0.0)


class LightshipRequest(Model):
    """The ship as inclined and everything between her and the lightship."""

    axes: Axes | None = None
    length_bp_m: LengthBP | None = None
    """Needed where axes or a trim are stated."""
    as_inclined: AsInclinedGiven
    weights: Annotated[tuple[Weight, ...], Field(max_length=200)] = ()
    tanks: Annotated[tuple[TankOf, ...], Field(max_length=500)] = ()
    items: Annotated[tuple[Item, ...], Field(max_length=5000)] = ()
    uncertainty: Uncertainties | None = None


class LightshipAlone(MassAndCentre):
    """The lightship."""

    standard_uncertainty: LightshipSpread
    """From the uncertainties stated for the ship as inclined, and from the ledger."""
    expanded: Expanded
    budget: tuple[BudgetRow, ...]
    budget_summary: tuple[BudgetSummary, ...]
    table: tuple[LedgerLine, ...]


class LightshipStepAnswer(Model):
    """The lightship from numbers."""

    lightship: LightshipAlone
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...] = CAUTIONS
    provenance: Provenance = Provenance()


def example() -> dict[str, Any]:
    """Return the demo's ledger with round figures of the ship as inclined."""
    record = demo_record()
    at = {
        "displacement_t": {"value": 1228.2, "standard_uncertainty": 3.0},
        "heel_deg": 0.19,
        "lcg_m": {"value": 24.19, "standard_uncertainty": 0.01},
        "km_transverse_m": {"value": 6.675, "standard_uncertainty": 0.005},
        "gm_fluid_m": {"value": 1.602, "standard_uncertainty": 0.006},
    }
    return {"as_inclined": at} | {name: record[name] for name in ("weights", "tanks", "items")}


@operation(
    router,
    "/v1/stability-tests/lightship",
    request=LightshipRequest,
    response=LightshipStepAnswer,
    operation_id="compute_lightship",
    summary="From the ship as inclined to the lightship, line by line",
    example=example,
    tag="stability tests",
)
def compute(request: LightshipRequest) -> LightshipStepAnswer:
    """Return the lightship where displacement and centre, or KM and GM, are known from elsewhere."""
    length = request.length_bp_m
    if length is None and (request.axes is not None or request.as_inclined.trim_m):
        raise InputError("axes and trim need the length", code="length-missing", field="length_bp_m")
    unique("weights", [one.id for one in request.weights])
    turned = to_ship_frame(request, request.axes, length_bp_m=length or 1.0)
    parts = Parts(
        weights={one.id: one.weight() for one in turned.weights},
        tanks=each(turned.tanks, TankOf.aboard, "tanks"),
        items=each(turned.items, Item.item, "items"),
        assumed=(request.uncertainty or Uncertainties()).assumed(),
        stated=stated_in(turned),
    )
    at = turned.as_inclined
    plane = Planes.from_waterplanes(draft_m=0.0, heel_deg=at.heel_deg, trim_m=at.trim_m, length_bp_m=length or 1.0)
    liquids = parts.liquids(normals=plane.normals)
    displacement = _number(at.displacement_t)
    found = lightship_alone(
        parts,
        displacement_t=displacement,
        centre_m=(
            _number(at.lcg_m),
            _number(at.tcg_m),
            at.height(free_surface_tm(liquids, plane) / displacement.value),
        ),
        entries=entries(parts, liquids, normal=plane.normals[0]),
    )
    answer = LightshipStepAnswer(
        lightship=LightshipAlone(
            **dict(mass_and_centre(found.derivation)),
            standard_uncertainty=spread(found.budget),
            expanded=expanded(found.budget),
            budget=rows(found.budget),
            budget_summary=summaries(found.budget),
            table=lines(
                found.derivation.entries,
                items=[one.name for one in request.items],
                weights=[one.id for one in request.weights],
                tanks=[one.name for one in request.tanks],
            ),
        ),
        findings=findings(tuple(one for aboard in parts.tanks for one in aboard.tank.findings)),
    )
    return from_ship_frame(answer, request.axes, length_bp_m=length or 1.0)
