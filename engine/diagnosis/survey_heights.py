r"""What is wrong among the heights of a survey. Layer: engine.diagnosis.

No fault: the heights of the water lie on a plane, and a parabola of hog or sag where they fix one, each with its
stated standard uncertainty and the freeboards with one in common. Each fault adds a pattern: free in size, or of a
size that the readings themselves give (two sides exchanged). Likelihood, limits and order as in ``compare``, with one
variance.
"""

from collections import Counter
from dataclasses import dataclass

import numpy as np

from engine.checks import Floats, positive
from engine.deadline import checkpoint
from engine.diagnosis.context import criterion
from engine.diagnosis.result import Alternative
from engine.diagnosis.survey_causes import SURVEY_TRACES, SurveyDiagnosis
from engine.survey.waterline import Heights

FOOT_M, INCH_M = 0.3048, 0.0254
COMMON_FREEBOARD_M = 0.002
LEAST_M = 1e-3
"""A smaller stated uncertainty counts as this."""
PRIOR = 24.0
FREE_PENALTY = 1.2
ROUNDS = 3
SHARES = {"one-height": 0.5, "sides-swapped": 0.15, "mark-misplaced": 0.2, "marks-offset": 0.15}
"""Share of the false-alarm rate (our choice)."""


@dataclass(frozen=True, eq=False)
class _Candidate:
    trace: str
    pattern: Floats
    given_m: float | None
    heights: tuple[int, ...]


def diagnose_heights(
    *,
    heights: Heights,
    length_bp_m: float,
    keel_plate_m: float | None = None,
    common_standard_uncertainty_m: float = COMMON_FREEBOARD_M,
    false_alarm_probability: float = 0.03,
) -> tuple[SurveyDiagnosis, ...]:
    """Name what the residuals of the heights show to be wrong, the likeliest first.

    Parameters
    ----------
    heights : Heights
        Freeboards and marks; a standard uncertainty of 0 counts as a millimetre.
    length_bp_m : float
        [m]
    keel_plate_m : float, optional
        Thickness by which extreme drafts exceed moulded ones. [m]
    common_standard_uncertainty_m : float
        Common to all freeboards. [m]
    false_alarm_probability : float
        Family-wise.

    Returns
    -------
    tuple of SurveyDiagnosis
        Empty where nothing is found, or fewer than two heights are over after the plane is fitted.
    """
    length = positive(length_bp_m, field="length_bp_m", unit="m")
    z = heights.at(1.0)
    uncertainty = np.maximum(heights.standard_uncertainty_m, LEAST_M)
    marks = heights.plumb_m == 0
    covariance = covariance_m2(heights, common_standard_uncertainty_m)
    whiten: Floats = np.asarray(np.linalg.inv(np.linalg.cholesky(covariance)), dtype=np.float64)
    design = _design(heights, length)
    candidates = _candidates(heights, marks)
    found: list[SurveyDiagnosis] = []
    basis = np.linalg.qr(whiten @ design)[0]
    clean = z.copy()
    for _ in range(ROUNDS):
        checkpoint()
        freedom = len(z) - basis.shape[1]
        if freedom < 2 or not candidates:
            break
        best = _best(whiten, basis, z, candidates, freedom, false_alarm_probability)
        if best is None:
            break
        k, size, gain, limit, alternatives = best
        chosen = candidates[k]
        clean = clean - size * chosen.pattern
        with_, without = _plane(design, whiten, z), _plane(design, whiten, clean)
        found.append(
            _written(chosen, size, gain, limit, alternatives, heights, uncertainty, keel_plate_m, with_, without)
        )
        extra = whiten @ chosen.pattern
        basis = np.linalg.qr(np.column_stack([basis, extra]))[0]
    return tuple(found)


def covariance_m2(heights: Heights, common_standard_uncertainty_m: float) -> Floats:
    """Return the (n, n) covariance of the heights: their own, and one error that all freeboards share."""
    marks = heights.plumb_m == 0
    covariance = np.diag(np.maximum(heights.standard_uncertainty_m, LEAST_M) ** 2)
    if marks.any() and not marks.all():
        covariance = covariance + common_standard_uncertainty_m**2 * np.outer(~marks, ~marks)
    return covariance


def _design(heights: Heights, length: float) -> Floats:
    station = heights.x_m / length
    columns = [np.ones_like(station), 0.5 - station, -heights.y_m]
    bent = 1 - (2 * station - 1) ** 2
    whole = np.stack([*columns, bent], axis=1)
    scaled = whole / np.maximum(np.linalg.norm(whole, axis=0), 1e-300)
    if len(station) >= 6 and np.linalg.matrix_rank(scaled, tol=1e-8) == 4:
        return whole
    return np.stack(columns, axis=1)


def _candidates(heights: Heights, marks: np.ndarray) -> list[_Candidate]:
    n = len(heights.x_m)
    eye = np.eye(n)
    found = [_Candidate("one-height", eye[k], None, (k,)) for k in range(n)]
    exchange = np.zeros(n)
    pairs = _pairs(heights, marks)
    for a, b in pairs:
        # exchanged readings: the water at a was written from b's, so z_a is off by the difference of the readings
        given = float((heights.up_m[a] - heights.plumb_m[a]) - (heights.up_m[b] - heights.plumb_m[b]))
        if abs(given) > 1e-6:
            found.append(_Candidate("sides-swapped", eye[a] - eye[b], given, (a, b)))
            if not marks[a]:
                exchange += given * (eye[a] - eye[b])
    touched = np.flatnonzero(exchange)
    if marks.any() and len(touched) > 2:
        found.append(_Candidate("sides-swapped", exchange, 1.0, tuple(int(k) for k in touched)))
    rows = np.flatnonzero(marks)
    for x in np.unique(np.round(heights.x_m[rows], 3)):
        group = rows[np.abs(heights.x_m[rows] - x) < 2e-3]
        if len(group) >= 2:
            found.append(_Candidate("mark-misplaced", eye[group].sum(axis=0), None, tuple(int(k) for k in group)))
    if 2 <= len(rows) < n:
        found.append(_Candidate("marks-offset", marks.astype(np.float64), None, tuple(int(k) for k in rows)))
    return found


def _pairs(heights: Heights, marks: np.ndarray) -> list[tuple[int, int]]:
    found = []
    for a in np.flatnonzero(heights.y_m > 0):
        for b in np.flatnonzero((heights.y_m < 0) & (marks == marks[a])):
            if abs(heights.x_m[a] - heights.x_m[b]) < 0.05 and abs(heights.y_m[a] + heights.y_m[b]) < 0.05:
                found.append((int(a), int(b)))
                break
    return found


def _best(
    whiten: Floats, basis: Floats, z: Floats, candidates: list[_Candidate], freedom: int, rate: float
) -> tuple[int, float, float, float, tuple[Alternative, ...]] | None:
    from scipy.special import stdtrit

    def left(values: Floats) -> Floats:
        return values - basis @ (basis.T @ values)

    y = left(whiten @ z)
    d = left(whiten @ np.stack([one.pattern for one in candidates], axis=1))
    a, b = np.sum(d**2, axis=0), y @ d
    seen = a > 1e-6  # else the plane takes it up
    given = np.array([np.nan if one.given_m is None else one.given_m for one in candidates])
    size = np.where(np.isfinite(given), given, b / np.where(seen, a, 1.0))
    rest = float(y @ y)
    after = np.maximum(rest - 2 * size * b + size**2 * a, 0.0)
    gain = np.where(seen, (PRIOR + freedom) * np.log((PRIOR + rest) / (PRIOR + after)), -np.inf)
    traces = [one.trace for one in candidates]
    counted = Counter(traces)
    count = np.array([counted[trace] for trace in traces])
    share = sum(SHARES[trace] for trace in set(traces))
    chance = rate * np.array([SHARES[trace] for trace in traces]) / share / count / 2
    dof = PRIOR + freedom - 1
    limit = (dof + 1) * np.log1p(stdtrit(dof, chance) ** 2 / dof)
    if not (gain > limit).any():
        return None
    variance = (PRIOR + after) / (PRIOR + freedom)
    sharp = np.maximum(np.abs(size) * np.sqrt(a / variance), 3.0)
    rank = gain - 2 * np.log(count) - np.where(np.isfinite(given), 0.0, FREE_PENALTY + 2 * np.log(sharp))
    k = int(np.argmax(rank))
    best_of: dict[str, float] = {}
    for trace, value in zip(traces, rank, strict=True):
        best_of[trace] = max(float(value), best_of.get(trace, -np.inf))
    others = sorted((trace for trace in best_of if trace != traces[k]), key=lambda trace: -best_of[trace])
    alternatives = tuple(Alternative(trace, float(np.exp(0.5 * (best_of[trace] - rank[k])))) for trace in others)
    return k, float(size[k]), float(gain[k]), float(limit[k]), alternatives


def _plane(design: Floats, whiten: Floats, z: Floats) -> Floats:
    return np.asarray(np.linalg.lstsq(whiten @ design, whiten @ z, rcond=None)[0])


def _written(
    chosen: _Candidate,
    size: float,
    gain: float,
    limit: float,
    alternatives: tuple[Alternative, ...],
    heights: Heights,
    uncertainty: Floats,
    keel_plate_m: float | None,
    with_: Floats,
    without: Floats,
) -> SurveyDiagnosis:
    trace = SURVEY_TRACES[chosen.trace]
    cause, at = trace.members[0], chosen.heights[0]
    allowed = 2.5 * float(uncertainty[at])
    if chosen.trace == "one-height":
        cause, said = _one_height(heights, at, size, allowed)
        text = f"the water at {_place(heights, at)} stands {_level(size)} the plane of the others{said}"
    elif chosen.trace == "sides-swapped":
        cause = trace.members[0] if len(chosen.heights) == 2 else trace.members[1]
        told = " and ".join(_place(heights, k) for k in chosen.heights)
        text = f"{told} fit the others when port and starboard are exchanged"
    elif chosen.trace == "mark-misplaced":
        told = " and ".join(_place(heights, k) for k in chosen.heights)
        text = f"the water at {told} stands {_level(size)} the plane of the others"
    else:
        text = f"the marks show the water {_level(size)} where the freeboards have it"
        if keel_plate_m and abs(abs(size) - keel_plate_m) <= allowed:
            text += f": the keel plate is {keel_plate_m:.3f} m"
    return SurveyDiagnosis(
        cause=cause,
        trace=chosen.trace,
        members=trace.members,
        is_fault=True,
        evidence=f"{text}; {criterion(gain, limit)}",
        action=trace.action,
        separate=trace.separate,
        heights=chosen.heights,
        size_m=size,
        gain=gain,
        limit=limit,
        alternatives=alternatives,
        draft_with_m=float(with_[0]),
        draft_without_m=float(without[0]),
        trim_with_m=float(with_[1]),
        trim_without_m=float(without[1]),
        heel_with_deg=float(np.degrees(np.arctan(with_[2]))),
        heel_without_deg=float(np.degrees(np.arctan(without[2]))),
    )


def _level(size_m: float) -> str:
    """Return a signed height as a length to the millimetre, above or below."""
    return f"{abs(size_m):.3f} m {'above' if size_m > 0 else 'below'}"


def _place(heights: Heights, k: int) -> str:
    """Return which height this is, counted from 1, with its place in the record."""
    marks = heights.plumb_m == 0
    word, name = ("draft mark", "draft_marks") if marks[k] else ("freeboard", "freeboards")
    number = int(np.sum(marks[:k] == marks[k]))
    return f"{word} {number + 1} ({name}/{number})"


def _one_height(heights: Heights, k: int, size: float, allowed: float) -> tuple[str, str]:
    written = heights.plumb_m[k] if heights.plumb_m[k] else heights.up_m[k]
    way = -1.0 if heights.plumb_m[k] else 1.0  # a freeboard written too long puts the water too low
    named = [
        ("height-foot", np.copysign(FOOT_M, size), "a foot"),
        ("height-inch", np.copysign(INCH_M, size), "an inch"),
    ]
    eighths = eighths_as_decimals_m(float(written))
    if eighths is not None and abs(eighths) > allowed / 2.5:
        named.append(("height-eighths", way * eighths, "feet, inches and eighths written as decimals"))
    cause, amount, words = min(named, key=lambda one: abs(size - one[1]))
    if abs(size - amount) > allowed:
        return "height-misread", ""
    return cause, f": {words} would give {abs(amount):.3f} m {'too high' if amount > 0 else 'too low'}"


def eighths_as_decimals_m(written_m: float) -> float | None:
    """Return what a height is too much by if its decimals of a foot are inches and eighths; None where they cannot be.

    Examples
    --------
    >>> round(eighths_as_decimals_m(7.34 * 0.3048) / 0.3048, 6)  # 7-3-4 is 7.291667 ft
    0.048333
    """
    feet = written_m / FOOT_M
    hundredths = round(abs(feet) * 100)
    if abs(abs(feet) * 100 - hundredths) > 0.02 or hundredths % 10 > 7:
        return None
    whole, inches, eighths = hundredths // 100, hundredths // 10 % 10, hundredths % 10
    true = whole + (inches + eighths / 8) / 12
    return float(np.sign(feet) * (abs(feet) - true) * FOOT_M)
