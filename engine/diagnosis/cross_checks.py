"""One part of a record against another. Layer: engine.diagnosis.

Each check is a difference beside the limit it should keep, and the verdict takes one beyond it as evidence of an error.
So the limit is a normal deviate for all differences of a kind together (our choice; no standard gives a number):
``OF_RECORD`` = 3 where the record is held against itself, ``OF_PREDICTION`` = 2 against what was expected of the ship;
Student's factor where the uncertainty comes from the readings' own scatter. A check that cannot be made is left out.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from engine.checks import Floats
from engine.diagnosis.survey_displacement import Loaded
from engine.diagnosis.survey_heights import COMMON_FREEBOARD_M, covariance_m2
from engine.survey.waterline import Heights
from engine.uncertainty.coverage import coverage_factor

COVERAGE = 2.0
OF_RECORD, OF_PREDICTION = 3.0, 2.0
"""Normal deviates passed by chance, on either side, in 0.27 % and 4.6 % of sound tests, by any check of the kind."""
SAME_MOMENT_RATIO = 0.02
"""Readings whose moments differ from that of reading 0 by less than this share of the largest are zeros."""


class CrossCheck(NamedTuple):
    """One difference.

    Attributes
    ----------
    name : str
        Kebab-case.
    value, limit : float
        The difference, and what its size should keep to.
    unit : str
        Of both.
    agrees : bool
        abs(value) <= limit.
    message : str
        What is compared.
    instrument : int or None
        Which one, where it is about one.
    """

    name: str
    value: float
    limit: float
    unit: str
    agrees: bool
    message: str
    instrument: int | None = None


def _check(name: str, value: float, limit: float, unit: str, message: str, instrument: int | None = None) -> CrossCheck:
    return CrossCheck(name, float(value), float(limit), unit, bool(abs(value) <= limit), message, instrument)


def shared_coverage_percent(deviate: float, count: int) -> float:
    """Return the coverage of each of so many checks that together are passed as seldom as one normal deviate.

    Examples
    --------
    >>> print(f"{shared_coverage_percent(2.0, 1):.2f} {shared_coverage_percent(2.0, 3):.2f}")
    95.45 98.46
    """
    from scipy.special import ndtr

    return 100.0 * float((1.0 - 2.0 * ndtr(-deviate)) ** (1.0 / count))


def marks_against_freeboards(
    *, heights: Heights, length_bp_m: float, common_standard_uncertainty_m: float = COMMON_FREEBOARD_M
) -> tuple[CrossCheck, ...]:
    """Return how much higher the marks show the water than the freeboards do; nothing without both."""
    marks = heights.plumb_m == 0
    if marks.sum() < 1 or (~marks).sum() < 3:
        return ()
    station = heights.x_m / length_bp_m
    design = np.stack([np.ones_like(station), 0.5 - station, -heights.y_m, marks.astype(np.float64)], axis=1)
    scaled = design / np.maximum(np.linalg.norm(design, axis=0), 1e-300)
    if np.linalg.matrix_rank(scaled, tol=1e-8) < 4:
        return ()
    weight = np.linalg.inv(covariance_m2(heights, common_standard_uncertainty_m))
    information = design.T @ weight @ design
    found = np.linalg.solve(information, design.T @ weight @ heights.at(1.0))[3]
    spread = np.sqrt(np.linalg.inv(information)[3, 3])
    message = "water by the draft marks less water by the freeboards"
    return (_check("marks-against-freeboards", found, OF_RECORD * spread, "m", message),)


class Height(NamedTuple):
    """A VCG with its standard uncertainty. [m]"""

    vcg_m: float
    vcg_standard_uncertainty_m: float


def surveyed_against_predicted(
    *, surveyed: Loaded, predicted: Loaded, derived: Height | None = None, expected: Height | None = None
) -> tuple[CrossCheck, ...]:
    """Return displacement, LCG and, where both are known, the lightship's VCG, each as found less as predicted."""
    height = derived is not None and expected is not None
    factor = coverage_factor(np.inf, coverage_percent=shared_coverage_percent(OF_PREDICTION, 3 if height else 2))
    mass = np.hypot(surveyed.mass_standard_uncertainty_t, predicted.mass_standard_uncertainty_t)
    lcg = np.hypot(surveyed.lcg_standard_uncertainty_m, predicted.lcg_standard_uncertainty_m)
    found = [
        _check("displacement-against-predicted", surveyed.mass_t - predicted.mass_t, factor * mass, "t",
               "surveyed displacement less predicted"),
        _check("lcg-against-predicted", surveyed.lcg_m - predicted.lcg_m, factor * lcg, "m",
               "surveyed LCG less predicted"),
    ]  # fmt: skip
    if derived is not None and expected is not None:
        spread = np.hypot(derived.vcg_standard_uncertainty_m, expected.vcg_standard_uncertainty_m)
        found.append(
            _check("vcg-against-predicted", derived.vcg_m - expected.vcg_m, factor * spread, "m",
                   "VCG of the lightship less predicted")
        )  # fmt: skip
    return tuple(found)


def regression_against_geometric_fit(
    *, gm_regression_m: float, gm_geometric_m: float, gm_of_model_m: float, standard_uncertainty_m: float
) -> CrossCheck:
    """Return by how much the two GMs differ beyond what the hull's form explains.

    Parameters
    ----------
    gm_regression_m, gm_geometric_m : float
        Of the readings. [m]
    gm_of_model_m : float
        By regression of the geometric fit's own tangents at the same moments. [m]
    standard_uncertainty_m : float
        Of GM by the regression, scatter alone. [m]
    """
    explained = gm_of_model_m - gm_geometric_m
    return _check(
        "regression-against-geometric-fit",
        gm_regression_m - gm_geometric_m - explained,
        COVERAGE * standard_uncertainty_m,
        "m",
        f"GM by regression less GM by the geometric fit, less {explained:.6g} m that the hull's form explains",
    )


LEAST_SLOPE_RATIO = 1e-3
"""Slopes nearer than this agree, however well the readings happen to: no length is known better (our choice)."""


def instruments_against_each_other(*, moment_tm: Floats, tangents: Sequence[Floats]) -> tuple[CrossCheck, ...]:
    """Return each instrument's slope over that of the others, less 1; gusts are common and cancel."""
    table = np.stack([np.asarray(t, dtype=np.float64) for t in tangents])
    moment = np.asarray(moment_tm, dtype=np.float64)
    found = []
    of_two = len(table) == 2  # one difference, told twice
    coverage = shared_coverage_percent(OF_RECORD, 1 if of_two else max(len(table), 1))
    for i in range(len(table)):
        others = np.delete(table, i, axis=0)
        use = np.isfinite(table[i]) & np.isfinite(others).all(axis=0) & (len(others) > 0)
        if use.sum() < 3 or np.ptp(moment[use]) == 0:
            continue
        m = moment[use] - moment[use].mean()
        rest = others[:, use].mean(axis=0)
        apart = table[i, use] - rest
        slope = float(m @ rest / (m @ m))
        if slope == 0:
            continue
        off = float(m @ apart / (m @ m))
        residual = apart - apart.mean() - off * m
        freedom = float(use.sum() - 2)
        spread = float(np.sqrt(residual @ residual / freedom / (m @ m)))
        limit = max(coverage_factor(freedom, coverage_percent=coverage) * spread / abs(slope), LEAST_SLOPE_RATIO)
        found.append(_check("instrument-against-the-others", off / slope, limit, "1",
                            "its slope over the others' slope, less 1", i))  # fmt: skip
    return tuple(found)


def zeros(*, moment_tm: Floats, residual_ratio: Floats) -> tuple[CrossCheck, ...]:
    """Return how far the readings at the moment of reading 0 lie apart; nothing with fewer than two of them.

    Parameters
    ----------
    moment_tm : (n,) float64
        [t·m]
    residual_ratio : (p, n) float64
        Of the pooled fit, NaN where missed.
    """
    moment = np.asarray(moment_tm, dtype=np.float64)
    known = np.isfinite(residual_ratio)
    mean = np.where(known, residual_ratio, 0.0).sum(axis=0) / np.where(known.any(axis=0), known.sum(axis=0), np.nan)
    taken = np.isfinite(mean)
    at_zero = taken & (np.abs(moment - moment[0]) <= SAME_MOMENT_RATIO * max(float(np.abs(moment).max()), 1e-300))
    if at_zero.sum() < 2 or taken.sum() - at_zero.sum() < 3:
        return ()
    # scatter of the other readings about a line of their own: a walking zero must not hide in its own limit
    others = taken & ~at_zero
    design = np.stack([np.ones(others.sum()), moment[others]], axis=1)
    line, _, rank, _ = np.linalg.lstsq(design, mean[others], rcond=None)
    left = mean[others] - design @ line
    freedom = float(len(left) - rank)
    spread = float(np.sqrt(2 * np.sum(left**2) / freedom))
    zero_count = int(at_zero.sum())
    message = f"largest less smallest residual of {zero_count} zeros, as a tangent"
    coverage = shared_coverage_percent(OF_RECORD, zero_count * (zero_count - 1) // 2)  # the largest of so many pairs
    factor = coverage_factor(freedom, coverage_percent=coverage)
    return (_check("zeros", float(np.ptp(mean[at_zero])), factor * spread, "1", message),)
