"""POST /v1/stability-tests: a whole record. Layer: service.resources."""

import json
from importlib.resources import files
from typing import Annotated, Any

import numpy as np
from fastapi import APIRouter

from engine.record.solve import Solution, solve
from service.edge.axes import Axes, X, Y, from_ship_frame
from service.edge.model import Model
from service.edge.operation import operation
from service.edge.provenance import Provenance
from service.schemas.common import CAUTIONS, Finding, findings
from service.schemas.record import StabilityTest

router = APIRouter()


class WaterlineAnswer(Model):
    """The floating plane as the heights were read."""

    draft_m: float
    trim_m: float
    heel_deg: float
    sag_m: float
    residual_m: tuple[float, ...]
    """Reading less fit, up +: freeboards first, then marks."""


class AsInclined(Model):
    """The state at reading 0: all aboard, weights in their places, liquids where they lie."""

    displacement_t: float
    draft_m: float
    trim_m: float
    heel_deg: float
    density_t_per_m3: float
    km_transverse_m: float
    lcg_m: Annotated[float, X]
    tcg_m: Annotated[float, Y]
    vcg_m: float
    vcg_fluid_m: float


class InstrumentAnswer(Model):
    """One instrument by itself."""

    id: str
    slope_per_tm: float | None = None
    intercept_ratio: float | None = None
    residual_standard_deviation_ratio: float | None = None


class PointAnswer(Model):
    """One reading of one instrument."""

    move: int
    instrument: str
    moment_tm: float
    tangent_ratio: float
    residual_ratio: float


class InclineAnswer(Model):
    """GM by pooled regression of the tangents on the moments."""

    gm_fluid_m: float
    gm_solid_m: float
    slope_per_tm: float
    intercept_ratio: float
    r_squared_ratio: float
    instruments: tuple[InstrumentAnswer, ...]
    points: tuple[PointAnswer, ...]


class LightshipAnswer(Model):
    """The lightship."""

    method: str
    mass_t: float
    x_m: Annotated[float, X]
    y_m: Annotated[float, Y]
    z_m: float


class StabilityTestAnswer(Model):
    """Every step of the test."""

    waterline: WaterlineAnswer
    as_inclined: AsInclined
    incline: InclineAnswer
    lightship: LightshipAnswer
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...] = CAUTIONS
    provenance: Provenance = Provenance()


def demo_record() -> dict[str, Any]:
    """Return the record of the invented demonstration test."""
    record: dict[str, Any] = json.loads(files("service.demo").joinpath("record.json").read_text(encoding="utf-8"))
    return record


@operation(
    router,
    "/v1/stability-tests",
    request=StabilityTest,
    response=StabilityTestAnswer,
    operation_id="compute_stability_test",
    summary="A whole stability test: from hull and readings to the lightship",
    example=demo_record(),
    tag="stability tests",
)
def compute(request: StabilityTest) -> StabilityTestAnswer:
    """Return the floating position, GM and the lightship of a test."""
    record, found = request.record()
    solved = solve(record)
    answer = StabilityTestAnswer(
        waterline=_waterline(solved),
        as_inclined=_as_inclined(solved, record.density_t_per_m3, request.hull.length_bp_m),
        incline=_incline(solved, [one.id for one in record.instruments]),
        lightship=_lightship(solved),
        findings=findings(found),
    )
    axes: Axes | None = request.axes
    return from_ship_frame(answer, axes, length_bp_m=request.hull.length_bp_m)


def _waterline(solved: Solution) -> WaterlineAnswer:
    fit = solved.waterline
    return WaterlineAnswer(
        draft_m=fit.draft_m,
        trim_m=fit.trim_m,
        heel_deg=fit.heel_deg,
        sag_m=fit.sag_m,
        residual_m=tuple(fit.residual_m.tolist()),
    )


def _as_inclined(solved: Solution, density: float, length: float) -> AsInclined:
    at = solved.as_inclined
    x, y, z = solved.centre_m.tolist()
    return AsInclined(
        displacement_t=at.displacement_t,
        draft_m=float(at.plane.draft_m(length_bp_m=length)[0]),
        trim_m=float(at.plane.trim_m(length_bp_m=length)[0]),
        heel_deg=at.heel_deg,
        density_t_per_m3=density,
        km_transverse_m=float(at.hydrostatics.km_transverse_m[0]),
        lcg_m=x,
        tcg_m=y,
        vcg_m=z,
        vcg_fluid_m=z + at.free_surface_correction_m * float(at.plane.normals[0, 2]),
    )


def _incline(solved: Solution, names: list[str]) -> InclineAnswer:
    fit = solved.regression
    moment = solved.plateaus.moment_tm
    return InclineAnswer(
        gm_fluid_m=fit.gm_fluid_m,
        gm_solid_m=solved.gm_solid_m,
        slope_per_tm=fit.slope_per_tm,
        intercept_ratio=fit.intercept_ratio,
        r_squared_ratio=fit.r_squared_ratio,
        instruments=tuple(
            InstrumentAnswer(
                id=name,
                slope_per_tm=_finite(line.slope_per_tm),
                intercept_ratio=_finite(line.intercept_ratio),
                residual_standard_deviation_ratio=_finite(line.residual_standard_deviation_ratio),
            )
            for name, line in zip(names, fit.lines, strict=True)
        ),
        points=tuple(
            PointAnswer(
                move=k,
                instrument=name,
                moment_tm=float(moment[k]) + 0.0,
                tangent_ratio=float(solved.tangents[j, k]),
                residual_ratio=float(fit.residual_ratio[j, k]),
            )
            for j, name in enumerate(names)
            for k in range(len(moment))
            if np.isfinite(solved.tangents[j, k])
        ),
    )


def _lightship(solved: Solution) -> LightshipAnswer:
    lightship = solved.derivation.lightship
    x, y, z = lightship.centre_m.tolist()
    return LightshipAnswer(method="regression", mass_t=lightship.mass_t, x_m=x, y_m=y, z_m=z)


def _finite(value: float) -> float | None:
    return value if np.isfinite(value) else None
