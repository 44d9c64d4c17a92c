"""GM two ways, with every reading's residual. Layer: service.schemas."""

from collections.abc import Sequence
from typing import Annotated

import numpy as np

from engine.checks import Floats
from engine.incline.geometric_fit import GeometricFit
from engine.incline.regression import Regression
from engine.record.solve import Inclined
from service.edge.axes import X, Y
from service.edge.model import Model
from service.schemas.diagnosis import Diagnosis
from service.schemas.waterline import number


class InstrumentAnswer(Model):
    """One instrument by itself."""

    id: str
    slope_per_tm: float | None = None
    intercept_ratio: float | None = None
    residual_standard_deviation_ratio: float | None = None
    """About its own line, with two degrees of freedom less than it has readings."""


class PointAnswer(Model):
    """One reading of one instrument."""

    move: int
    instrument: str
    moment_tm: float
    tangent_ratio: float
    residual_ratio: float
    """Tangent read, made linear with the moment, less the pooled line."""
    geometric_residual_ratio: float | None = None
    """Tangent read less that of the fitted ship and the instrument's zero."""


class ZeroAnswer(Model):
    """What an instrument's tangents are off by, against the fitted ship."""

    instrument: str
    zero_ratio: float


class GeometricFitAnswer(Model):
    """The real hull floated at every reading, her centre of gravity fitted to the tangents."""

    gm_fluid_m: float
    """At reading 0."""
    lcg_m: Annotated[float, X]
    tcg_m: Annotated[float, Y]
    vcg_m: float
    """Of everything aboard at reading 0, liquids where they lie."""
    residual_standard_deviation_ratio: float | None = None
    zeros: tuple[ZeroAnswer, ...]
    methods_difference_ratio: float | None = None
    """Regression against this fit, beyond what regressing its own tangents predicts, in standard uncertainties."""


class InclineAnswer(Model):
    """GM by pooled regression of the tangents on the moments, and by the geometric fit where there is a hull."""

    displacement_t: float
    gm_fluid_m: float
    gm_solid_m: float
    gm_standard_uncertainty_m: float | None = None
    free_surface_correction_m: float
    slope_per_tm: float
    intercept_ratio: float
    r_squared_ratio: float
    instruments: tuple[InstrumentAnswer, ...]
    points: tuple[PointAnswer, ...]
    geometric_fit: GeometricFitAnswer | None = None
    diagnoses: tuple[Diagnosis, ...] = ()
    """What the readings show to be wrong, the likeliest first; no reading is dropped."""


def incline_answer(
    *,
    inclined: Inclined,
    moment_tm: Floats,
    names: Sequence[str],
    gm_standard_uncertainty_m: float | None = None,
    methods_difference_ratio: float | None = None,
    diagnoses: tuple[Diagnosis, ...] = (),
) -> InclineAnswer:
    """Return the incline of a whole record as the answer has it."""
    at = inclined.by_method["regression"].afloat
    fitted = None
    if inclined.fit is not None:
        fitted = _geometric(inclined.fit, names, methods_difference_ratio)
    return regression_answer(
        regression=inclined.regression,
        tangents=inclined.tangents,
        moment_tm=moment_tm,
        names=names,
        displacement_t=at.displacement_t,
        free_surface_correction_m=at.free_surface_correction_m,
        gm_standard_uncertainty_m=gm_standard_uncertainty_m,
        fit=inclined.fit,
    ).model_copy(update={"geometric_fit": fitted, "diagnoses": diagnoses})


def regression_answer(
    *,
    regression: Regression,
    tangents: Floats,
    moment_tm: Floats,
    names: Sequence[str],
    displacement_t: float,
    free_surface_correction_m: float,
    gm_standard_uncertainty_m: float | None = None,
    fit: GeometricFit | None = None,
) -> InclineAnswer:
    """Return what the regression alone gives."""
    return InclineAnswer(
        displacement_t=displacement_t,
        gm_fluid_m=regression.gm_fluid_m,
        gm_solid_m=regression.gm_fluid_m + free_surface_correction_m,
        gm_standard_uncertainty_m=gm_standard_uncertainty_m,
        free_surface_correction_m=free_surface_correction_m,
        slope_per_tm=regression.slope_per_tm,
        intercept_ratio=regression.intercept_ratio,
        r_squared_ratio=regression.r_squared_ratio,
        instruments=tuple(
            InstrumentAnswer(
                id=name,
                slope_per_tm=number(line.slope_per_tm),
                intercept_ratio=number(line.intercept_ratio),
                residual_standard_deviation_ratio=number(line.residual_standard_deviation_ratio),
            )
            for name, line in zip(names, regression.lines, strict=True)
        ),
        points=tuple(
            PointAnswer(
                move=k,
                instrument=name,
                moment_tm=float(moment_tm[k]) + 0.0,
                tangent_ratio=float(tangents[j, k]),
                residual_ratio=float(regression.residual_ratio[j, k]),
                geometric_residual_ratio=None if fit is None else float(fit.residual_ratio[j, k]),
            )
            for j, name in enumerate(names)
            for k in range(len(moment_tm))
            if np.isfinite(tangents[j, k])
        ),
    )


def _geometric(fit: GeometricFit, names: Sequence[str], difference: float | None) -> GeometricFitAnswer:
    x, y, z = fit.centre_m.tolist()
    known = np.isfinite(fit.residual_ratio)
    freedom = int(known.sum()) - int(known.any(axis=1).sum()) - 1
    return GeometricFitAnswer(
        gm_fluid_m=fit.gm_fluid_m,
        lcg_m=x,
        tcg_m=y,
        vcg_m=z,
        residual_standard_deviation_ratio=(
            float(np.sqrt(np.nansum(fit.residual_ratio**2) / freedom)) if freedom > 0 else None
        ),
        zeros=tuple(
            ZeroAnswer(instrument=name, zero_ratio=float(zero))
            for name, zero in zip(names, fit.zero_ratio, strict=True)
            if np.isfinite(zero)
        ),
        methods_difference_ratio=difference,
    )
