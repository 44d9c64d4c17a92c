r"""Guidance while the test runs: what the readings so far say, what the next ones should be, when to stop.

**Next reading.** See ``prediction``.

**Another pair** of readings, at the largest moments to each side, changes :math:`u(b) = \sigma_m/\sqrt{S_{xx}}` by
the root of the ratio of the :math:`S_{xx}`, and Student's factor by its degrees of freedom.

**Stop rule** (IMO 2008 IS Code, B/8.4.1.2): eight distinct movements; complete after the zero and six where they
lie on a straight line, the eighth (a zero) may be left out where straight after seven; points off the line are
repeated or explained. "Straight" here: ``incline.diagnose`` finds no fault. Layer: engine.diagnosis.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from engine.checks import Floats, positive
from engine.diagnosis.prediction import Expected, Line, from_gm, from_line
from engine.diagnosis.result import Diagnosis
from engine.errors import InputError, NotDeterminedError
from engine.incline.instruments import Instrument
from engine.incline.regression import Regression, regress
from engine.uncertainty import plateaus_of
from engine.uncertainty.coverage import coverage_factor

Basis = Literal["scatter", "stated", "expected_gm"]
Stop = Literal["go_on", "may_stop", "complete", "explain"]
ENOUGH_MOVES, USUAL_MOVES = 6, 8


@dataclass(frozen=True, kw_only=True)
class Guidance:
    """What can be said on deck.

    Attributes
    ----------
    readings_count, moves_count : int
        Readings taken (by any instrument), moves among them that changed the moment.
    cannot_say : tuple of str
        What cannot be known yet.
    gm_fluid_m, gm_standard_uncertainty_m, gm_expanded_m : float or None
        So far; the scatter alone. [m]
    slope_per_tm, slope_standard_uncertainty_per_tm : float or None
        [1/(t·m)]
    coverage_percent : float
        Of intervals and the expanded uncertainty.
    next_moment_tm : float or None
        What the prediction is for. [t·m]
    expected : tuple of Expected
        One an instrument.
    basis : {"scatter", "stated", "expected_gm"} or None
        What the width of the interval rests on.
    pair_uncertainty_ratio, pair_expanded_ratio : float or None
        u(slope), and its expanded uncertainty, after another pair over that now.
    stop : {"go_on", "may_stop", "complete", "explain"}
        By the stop rule.
    straight : bool or None
        None below four readings.
    reason : str
        In words.
    """

    readings_count: int
    moves_count: int
    cannot_say: tuple[str, ...]
    coverage_percent: float
    stop: Stop
    reason: str
    straight: bool | None = None
    gm_fluid_m: float | None = None
    gm_standard_uncertainty_m: float | None = None
    gm_expanded_m: float | None = None
    slope_per_tm: float | None = None
    slope_standard_uncertainty_per_tm: float | None = None
    next_moment_tm: float | None = None
    expected: tuple[Expected, ...] = ()
    basis: Basis | None = None
    pair_uncertainty_ratio: float | None = None
    pair_expanded_ratio: float | None = None


def guidance(
    *,
    moment_tm: Floats,
    tangents: Sequence[Floats],
    displacement_t: float,
    next_moment_tm: float | None = None,
    stiffening_m: float = 0.0,
    reading_standard_uncertainty_ratio: Floats | None = None,
    instruments: Sequence[Instrument] = (),
    diagnoses: Sequence[Diagnosis] = (),
    regression: Regression | None = None,
    expected_gm_m: float | None = None,
    expected_gm_standard_uncertainty_m: float = 0.0,
    coverage_percent: float = 95.0,
) -> Guidance:
    """Say what a test still running shows.

    Parameters
    ----------
    moment_tm : (n,) float64
        Heeling moment at each reading taken or planned, to starboard +. [t·m]
    tangents : sequence of p (n,) arrays
        NaN where missed or not yet read; none at all is allowed.
    displacement_t : float
        [t]
    next_moment_tm : float, optional
        Moment at the next reading; without it that of the first reading planned after the last one taken. [t·m]
    stiffening_m : float
        k = BM − FSC of the wall-sided term. [m]
    reading_standard_uncertainty_ratio : (p,) float64, optional
        Stated, of one reading, as a tangent.
    instruments : sequence of p Instrument
        For the readings as shown.
    diagnoses : sequence of Diagnosis
        Of the same readings; a fault among them says that the line is not straight.
    regression : Regression, optional
        The pooled fit of the same readings; made here without it.
    expected_gm_m, expected_gm_standard_uncertainty_m : float
        Predicted, for the first moves. [m]

    Raises
    ------
    InputError
        ``wrong-shape``, ``not-positive``.
    """
    displacement = positive(displacement_t, field="displacement_t", unit="t")
    moment = np.asarray(moment_tm, dtype=np.float64)
    table = (
        np.stack([np.asarray(t, dtype=np.float64) for t in tangents]) if len(tangents) else np.zeros((0, len(moment)))
    )
    if moment.ndim != 1 or table.shape[1:] != moment.shape:
        raise InputError("must have a column for each moment", code="wrong-shape", field="tangents")
    known = np.isfinite(table)
    taken = np.flatnonzero(known.any(axis=0))
    if next_moment_tm is None:
        after = int(taken[-1]) + 1 if len(taken) else 0
        next_moment_tm = float(moment[after]) if after < len(moment) else None
    faults = [one for one in diagnoses if one.is_fault]
    straight = None if len(taken) < 4 else not faults
    moved = moment[taken][np.diff(plateaus_of(moment[taken]), prepend=-1) > 0]  # those repeated at one moment once
    stop, reason = _stop(len(moved), straight, moved)
    so_far = regression or _fit(moment, table, taken, displacement, stiffening_m)
    start = Guidance(
        readings_count=len(taken),
        moves_count=max(len(moved) - 1, 0),
        cannot_say=(),
        coverage_percent=coverage_percent,
        stop=stop,
        reason=reason,
        straight=straight,
        next_moment_tm=next_moment_tm,
    )
    expected: tuple[Expected, ...] = ()
    basis: Basis | None = None
    stated = _stated(reading_standard_uncertainty_ratio, len(table))
    if so_far is None:
        if next_moment_tm is not None and len(taken) and expected_gm_m is not None and stated is not None:
            expected = from_gm(
                table, moment, next_moment_tm, displacement, expected_gm_m, expected_gm_standard_uncertainty_m,
                stated, instruments, coverage_percent,
            )  # fmt: skip
            basis = "expected_gm" if expected else None
        said = _cannot_say(len(moved), moment[taken], basis)
        if len(taken) > 1 and np.ptp(moment[taken]) > 0:
            said = ("GM: she heels against the moments as they are logged; check sides and signs", *said)
        return replace(start, cannot_say=said, expected=expected, basis=basis)
    line = Line.of(so_far, moment, table, taken, stated)
    basis = None if line is None else "scatter" if line.from_scatter else "stated"
    if next_moment_tm is not None and line is not None:
        expected = from_line(line, so_far, table, moment, next_moment_tm, displacement, stiffening_m, instruments,
                              coverage_percent)  # fmt: skip
    pair = _pair(moved, coverage_percent)
    uncertainty = None if line is None else float(np.sqrt(line.mean_variance / line.spread))
    k = None if line is None else coverage_factor(line.mean_freedom, coverage_percent=coverage_percent)
    gm = so_far.gm_fluid_m
    relative = None if uncertainty is None else uncertainty / so_far.slope_per_tm
    return replace(
        start,
        cannot_say=_cannot_say(len(moved), moment[taken], basis),
        gm_fluid_m=gm,
        gm_standard_uncertainty_m=None if relative is None else gm * relative,
        gm_expanded_m=None if relative is None or k is None else gm * relative * k,
        slope_per_tm=so_far.slope_per_tm,
        slope_standard_uncertainty_per_tm=uncertainty,
        expected=expected,
        basis=basis,
        pair_uncertainty_ratio=pair[0],
        pair_expanded_ratio=pair[1],
    )


def _fit(
    moment: Floats, table: Floats, taken: np.ndarray, displacement: float, stiffening_m: float
) -> Regression | None:
    if len(taken) < 2:
        return None
    try:
        return regress(moment_tm=moment, tangents=list(table), displacement_t=displacement, stiffening_m=stiffening_m)
    except NotDeterminedError:
        return None


def _stated(given: Floats | None, p: int) -> Floats | None:
    return None if given is None or p == 0 else np.broadcast_to(np.asarray(given, dtype=np.float64), (p,))


def _pair(moment: Floats, coverage_percent: float) -> tuple[float | None, float | None]:
    """Return how another pair at the largest moments to each side changes u(slope), and its expanded uncertainty."""
    if len(moment) < 2 or np.ptp(moment) == 0:
        return None, None
    largest = float(np.abs(moment).max())
    more = np.concatenate([moment, [largest, -largest]])
    ratio = float(np.sqrt(np.sum((moment - moment.mean()) ** 2) / np.sum((more - more.mean()) ** 2)))
    if len(moment) < 3:
        return ratio, None
    now = coverage_factor(len(moment) - 2.0, coverage_percent=coverage_percent)
    return ratio, ratio * coverage_factor(float(len(moment)), coverage_percent=coverage_percent) / now


def _stop(readings: int, straight: bool | None, moment: Floats) -> tuple[Stop, str]:
    moves = readings - 1
    if readings == 0:
        return "go_on", "read all instruments before any move: that is reading 0"
    if moves < ENOUGH_MOVES:
        return "go_on", f"{moves} of {ENOUGH_MOVES} moves read; the least is the zero and six on a straight line"
    if (moment > 0).any() != (moment < 0).any():
        return "go_on", "all moments lie to one side: move weights to the other side too"
    if straight and moves < USUAL_MOVES:
        return "may_stop", f"the zero and {moves} moves lie on a straight line"
    if straight:
        return "complete", f"the zero and {moves} moves lie on a straight line"
    if moves < USUAL_MOVES:
        return "go_on", "the line is not straight: make moves seven and eight, and see the diagnoses"
    return "explain", "readings off the line are repeated or explained before the test is complete"


def _cannot_say(readings: int, moment: Floats, basis: Basis | None) -> tuple[str, ...]:
    """Say it by the readings at one moment after another, and of the moments read."""
    if readings == 0:
        said = ["nothing yet: no reading has been taken", "the heel at rest, GM, its uncertainty, any fault"]
    elif len(moment) == 1:
        said = ["GM: one reading shows the heel at rest, no change of it with a moment"]
        said.append("whether an instrument's sign or length is right: it shows from the first move on")
    elif np.ptp(moment) == 0:
        said = ["GM: the moment has not changed between the readings"]
    elif readings == 2:
        said = ["the uncertainty of GM: any two readings lie on a line", "whether the line is straight"]
        said.append("which of two instruments is wrong where they differ")
    elif readings == 3:
        said = ["whether the line is straight: three readings leave one degree of freedom, a fault cannot be named"]
    else:
        said = []
    if basis == "stated":
        said.append("the scatter of the readings: the interval rests on the uncertainties stated")
    if basis is None and 0 < readings < 3:
        said.append("how far the next reading may lie off: state the uncertainty of a reading for that")
    return tuple(said)
