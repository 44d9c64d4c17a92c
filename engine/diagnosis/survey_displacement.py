r"""The surveyed displacement and LCG against the predicted ones. Layer: engine.diagnosis.

The difference of mass and of first moment lengthwise, :math:`d = (\Delta_s - \Delta_p,\ \Delta_s x_s - \Delta_p x_p)`,
has a covariance V from the uncertainties of both. No fault: d is normal about 0. It is doubted where
:math:`d^T V^{-1} d` exceeds the χ² quantile (two degrees of freedom) at the false-alarm rate. Each cause gives d
another mean, known in size (a named ton, an item's mass and moment), or known but for one number with a prior width
(a share of the displacement, a shift of all heights); they are ranked by

.. math:: -\bigl[(d-\mu)^T V_h^{-1} (d-\mu) + \ln\det V_h + 2\ln K\bigr]

with K the candidates of the class. If even the best leaves a difference beyond the χ² quantile at 1 %, no listed cause
explains it.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from engine.checks import Floats, positive
from engine.diagnosis.result import Alternative
from engine.diagnosis.survey_causes import SURVEY_TRACES, SurveyDiagnosis

TONS = {
    "long-ton-for-tonne": 1.0160469088,
    "short-ton-for-tonne": 0.90718474,
    "short-ton-for-long-ton": 1.12,
}
"""Tonnes in a ton, long tons in a short ton turned over; exact by definition."""
SHARE_WIDTH_RATIO = 0.005
DRAFT_WIDTH_M = 0.015
"""Prior widths of a wrong density and of a common shift of the heights: our choice."""
UNEXPLAINED_PROBABILITY = 0.01


@dataclass(frozen=True, eq=False)
class Loaded:
    """A displacement and its LCG with standard uncertainties. [t, m]"""

    mass_t: float
    lcg_m: float
    mass_standard_uncertainty_t: float
    lcg_standard_uncertainty_m: float

    @property
    def covariance(self) -> Floats:
        """(2, 2) of mass and first moment."""
        by_mass = np.array([1.0, self.lcg_m]) * self.mass_standard_uncertainty_t
        by_place = np.array([0.0, self.mass_t]) * self.lcg_standard_uncertainty_m
        return np.outer(by_mass, by_mass) + np.outer(by_place, by_place)


@dataclass(frozen=True, eq=False)
class Aboard:
    """Something counted in the prediction: negative mass for what was taken off. [t, m]"""

    mass_t: float
    x_m: float


@dataclass(frozen=True, eq=False)
class _Candidate:
    cause: str
    trace: str
    mean: Floats
    width: Floats
    text: str
    items: tuple[int, ...] = ()


def diagnose_displacement(
    *,
    surveyed: Loaded,
    predicted: Loaded,
    length_bp_m: float,
    items: Sequence[Aboard] = (),
    test_weights: Aboard | None = None,
    immersion_t_per_cm: float | None = None,
    lcf_m: float | None = None,
    keel_plate_m: float | None = None,
    false_alarm_probability: float = 0.03,
) -> tuple[SurveyDiagnosis, ...]:
    """Name what explains a surveyed displacement that is not the predicted one.

    Parameters
    ----------
    surveyed, predicted : Loaded
        Both of the ship as the heights were read.
    length_bp_m : float
        [m]
    items : sequence of Aboard
        The entries the prediction counted (ledger, tank contents).
    test_weights : Aboard, optional
        All inclining weights together, which the prediction has aboard.
    immersion_t_per_cm, lcf_m, keel_plate_m : float, optional
        For a common shift of the heights. [t/cm, m, m]
    false_alarm_probability : float
        Of the difference as a whole.

    Returns
    -------
    tuple of SurveyDiagnosis
        Empty, or one, with the others as alternatives.
    """
    from scipy.special import chdtri

    length = positive(length_bp_m, field="length_bp_m", unit="m")
    positive(surveyed.mass_t, field="surveyed/mass_t", unit="t")
    positive(predicted.mass_t, field="predicted/mass_t", unit="t")
    covariance = surveyed.covariance + predicted.covariance + np.diag([1e-12, 1e-12]) * surveyed.mass_t**2
    apart = np.array(
        [
            surveyed.mass_t - predicted.mass_t,
            surveyed.mass_t * surveyed.lcg_m - predicted.mass_t * predicted.lcg_m,
        ]
    )
    none = float(apart @ np.linalg.solve(covariance, apart))
    limit = float(chdtri(2, false_alarm_probability))
    if none <= limit:
        return ()
    candidates = _candidates(surveyed, predicted, length, items, test_weights, immersion_t_per_cm, lcf_m, keel_plate_m)
    traces = Counter(one.trace for one in candidates)
    count = np.array([traces[one.trace] for one in candidates])
    widths = np.stack([one.width for one in candidates])
    widened = covariance + widths[:, :, None] * widths[:, None, :]
    left = apart - np.stack([one.mean for one in candidates])
    rest = np.einsum("ki,ki->k", left, np.linalg.solve(widened, left[:, :, None])[:, :, 0])
    spread = np.linalg.slogdet(widened)[1] - np.linalg.slogdet(covariance)[1]
    rank = none - rest - spread - 2 * np.log(count)
    order = np.argsort(-rank, kind="stable")
    best = int(order[0])
    size = f"surveyed less predicted: {apart[0]:.4g} t, {apart[1]:.4g} t m; "
    gain = none - float(rest[best])
    if rest[best] > float(chdtri(2, UNEXPLAINED_PROBABILITY)):
        unknown = SURVEY_TRACES["unexplained"]
        return (
            SurveyDiagnosis(
                cause="unexplained",
                trace="unexplained",
                members=unknown.members,
                is_fault=True,
                evidence=size
                + f"chi-square {none:.3g}, up to {limit:.3g} would be chance, and no listed cause explains it",
                action=unknown.action,
                separate=unknown.separate,
                mass_t=float(apart[0]),
                gain=none,
                limit=limit,
                alternatives=_alternatives(candidates, rank, order, skip=""),
            ),
        )
    chosen = candidates[best]
    trace = SURVEY_TRACES[chosen.trace]
    return (
        SurveyDiagnosis(
            cause=chosen.cause,
            trace=chosen.trace,
            members=trace.members,
            is_fault=True,
            evidence=size
            + chosen.text
            + f"; chi-square {none:.3g} without it, {rest[best]:.3g} with it; up to {limit:.3g} would be chance",
            action=trace.action,
            separate=trace.separate,
            items=chosen.items,
            mass_t=float(apart[0]),
            share_ratio=float(apart[0] / predicted.mass_t) if chosen.trace in ("displacement", "mass-unit") else None,
            gain=gain,
            limit=limit,
            alternatives=_alternatives(candidates, rank, order, skip=chosen.trace),
        ),
    )


def _candidates(
    surveyed: Loaded,
    predicted: Loaded,
    length: float,
    items: Sequence[Aboard],
    test_weights: Aboard | None,
    immersion_t_per_cm: float | None,
    lcf_m: float | None,
    keel_plate_m: float | None,
) -> list[_Candidate]:
    nothing = np.zeros(2)
    whole = predicted.mass_t * np.array([1.0, predicted.lcg_m])
    found = [
        _Candidate(name, "mass-unit", (factor - 1) * whole, nothing, f"a factor of {factor:.6g} in the prediction")
        for name, tons in TONS.items()
        for factor in (tons, 1 / tons)
    ]
    found.append(
        _Candidate(
            "density-wrong", "displacement", nothing, SHARE_WIDTH_RATIO * whole, "a share of the displacement fits"
        )
    )
    if test_weights is not None and test_weights.mass_t:
        mean = -test_weights.mass_t * np.array([1.0, test_weights.x_m])
        text = f"the test weights are {test_weights.mass_t:.6g} t"
        found.append(_Candidate("weights-not-aboard", "weights-not-aboard", mean, nothing, text))
    for k, item in enumerate(items):
        one = item.mass_t * np.array([1.0, item.x_m])
        text = f"an entry of {item.mass_t:.6g} t at x = {item.x_m:.6g} m"
        found.append(_Candidate("item-counted-twice", "item", -one, nothing, text, (k,)))
        found.append(_Candidate("item-missing", "item", one, nothing, text, (k,)))
    x = predicted.lcg_m
    for cause, other in (
        ("axis-sign", -x),
        ("axis-origin", length - x),
        ("axis-origin", x + length / 2),
        ("axis-origin", x - length / 2),
        ("axis-sign", length / 2 - x),
    ):
        mean = predicted.mass_t * np.array([0.0, other - x])
        found.append(_Candidate(cause, "axis", mean, nothing, f"a predicted LCG of {other:.6g} m, not {x:.6g} m"))
    if immersion_t_per_cm is not None and lcf_m is not None:
        per_m = 100 * immersion_t_per_cm * np.array([1.0, lcf_m])
        if keel_plate_m:
            text = f"a keel plate of {keel_plate_m:.6g} m"
            found += [
                _Candidate("moulded-for-extreme", "displacement", sign * keel_plate_m * per_m, nothing, text)
                for sign in (1.0, -1.0)
            ]
        found.append(_Candidate("draft-shift", "displacement", nothing, DRAFT_WIDTH_M * per_m, "a common shift fits"))
    return found


def _alternatives(
    candidates: list[_Candidate], rank: Floats, order: np.ndarray, *, skip: str
) -> tuple[Alternative, ...]:
    found: dict[str, float] = {}
    for k in order:
        trace = candidates[int(k)].trace
        if trace != skip and trace not in found:
            found[trace] = float(np.exp(0.5 * (rank[k] - rank[order[0]])))
    return tuple(Alternative(trace, value) for trace, value in list(found.items())[:4])
