r"""GM from tangents and moments by regression. Layer: engine.incline.

Moments are set, tangents are read: the tangent is regressed on the moment, one slope for all instruments and
an intercept for each ("line does not necessarily pass through the origin", IMO 2008 IS Code, B/Annex 1, 4.3).
For a wall-sided ship

.. math:: \Delta\,(GM\tan\varphi + \tfrac12 k\tan^3\varphi) = m + m_0,\qquad k = BM - FSC,

so where k is known the line is fitted to :math:`\tan\varphi + \tfrac{k}{2\,GM}\tan^3\varphi`, which is linear in m.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from engine.checks import Floats, positive
from engine.deadline import checkpoint
from engine.errors import NotDeterminedError


@dataclass(frozen=True, eq=False)
class Line:
    """A straight line of tangent on moment.

    Attributes
    ----------
    slope_per_tm : float
        [1/(t·m)]
    intercept_ratio : float
        Tangent at zero moment, against the heel of reading 0.
    residual_standard_deviation_ratio : float
        With n − 2 degrees of freedom; NaN below three points.
    """

    slope_per_tm: float
    intercept_ratio: float
    residual_standard_deviation_ratio: float


@dataclass(frozen=True, eq=False)
class Regression:
    """The pooled fit.

    Attributes
    ----------
    gm_fluid_m : float
        1/(slope Δ). [m]
    slope_per_tm, intercept_ratio : float
        Pooled slope; mean of the instruments' intercepts.
    r_squared_ratio : float
        Share of the scatter about each instrument's mean that the slope explains.
    lines : tuple of Line
        Each instrument by itself, in the order given.
    residual_ratio : (p, m + 1) float64
        Reading less pooled fit; NaN where missed.
    """

    gm_fluid_m: float
    slope_per_tm: float
    intercept_ratio: float
    r_squared_ratio: float
    lines: tuple[Line, ...]
    residual_ratio: Floats


def regress(
    *, moment_tm: Floats, tangents: Floats | Sequence[Floats], displacement_t: float, stiffening_m: float = 0.0
) -> Regression:
    """Fit GM by pooled regression of the tangents on the moment.

    Parameters
    ----------
    moment_tm : (m + 1,) float64
        Heeling moment at each reading, to starboard +. [t·m]
    tangents : sequence of p (m + 1,) arrays
        Tangent of heel by each instrument, NaN where missed.
    displacement_t : float
        Displacement at reading 0. [t]
    stiffening_m : float
        k = BM − FSC of the wall-sided term; 0 where it is not known. [m]

    Raises
    ------
    NotDeterminedError
        ``too-few-readings``, ``moments-equal`` or ``gm-not-positive``.
    """
    displacement = positive(displacement_t, field="displacement_t", unit="t")
    moment = np.asarray(moment_tm, dtype=np.float64)
    readings = np.array(tangents, dtype=np.float64).reshape(len(tangents), len(moment))
    known = np.isfinite(readings)
    most = int(known.sum(axis=1).max(initial=0))
    if most < 2:
        raise NotDeterminedError(
            f"an instrument needs at least two readings to show a slope, none has more than {most}",
            code="too-few-readings",
            value=most,
            limit=2,
        )
    useful = known & (known.sum(axis=1, keepdims=True) >= 2)
    x = _centred(np.broadcast_to(moment, readings.shape), useful)
    spread = float(np.sum(x**2))
    if spread <= 1e-12 * max(float(np.sum(moment**2)), 1e-300):
        words = f"all moments are equal, {moment[0]:.6g} t·m: two different ones at least show a slope"
        raise NotDeterminedError(words, code="moments-equal", field="moves")
    slope = _slope(x, readings, useful, spread)
    linear = readings
    if stiffening_m:
        for _ in range(50):  # contraction of order k tan²/GM, a few thousandths
            checkpoint()
            linear = readings + 0.5 * stiffening_m * displacement * slope * readings**3
            previous, slope = slope, _slope(x, linear, useful, spread)
            if abs(slope - previous) <= 1e-15 * abs(slope):
                break
    if slope <= 0:
        raise NotDeterminedError(
            f"GM is not positive: she heels against the moments, the tangent by {slope:.6g} per t·m where above 0 is "
            "needed; check the signs",
            code="gm-not-positive",
            field="instruments",
            value=slope,
            limit=0.0,
        )
    intercepts = _means(linear, known) - slope * _means(np.broadcast_to(moment, readings.shape), known)
    residual = np.where(known, linear - intercepts[:, None] - slope * moment, np.nan)
    scatter = float(np.sum(_centred(linear, useful) ** 2))
    return Regression(
        gm_fluid_m=1.0 / (slope * displacement),
        slope_per_tm=slope,
        intercept_ratio=float(np.nanmean(intercepts)),
        r_squared_ratio=1.0 - float(np.nansum(np.where(useful, residual, np.nan) ** 2)) / scatter,
        lines=tuple(_line(moment[k], y[k]) for y, k in zip(linear, known, strict=True)),
        residual_ratio=residual,
    )


def _means(values: Floats, known: Floats) -> Floats:
    count = known.sum(axis=1)
    means: Floats = np.where(known, values, 0.0).sum(axis=1) / np.where(count > 0, count, np.nan)
    return means


def _centred(values: Floats, known: Floats) -> Floats:
    return np.where(known, values - _means(values, known)[:, None], 0.0)


def _slope(x: Floats, readings: Floats, known: Floats, spread: float) -> float:
    return float(np.sum(x * _centred(readings, known))) / spread


def _line(moment: Floats, tangent: Floats) -> Line:
    if len(moment) < 2 or np.ptp(moment) == 0:
        return Line(np.nan, np.nan, np.nan)
    x = moment - moment.mean()
    slope = float(x @ tangent / (x @ x))
    intercept = float(tangent.mean() - slope * moment.mean())
    residual = tangent - intercept - slope * moment
    freedom = len(moment) - 2
    return Line(slope, intercept, float(np.sqrt(residual @ residual / freedom)) if freedom > 0 else np.nan)
