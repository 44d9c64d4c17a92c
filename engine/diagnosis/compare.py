r"""Fault models against the no-fault model, and against one another. Layer: engine.diagnosis.

**Likelihood.** With the variances of the two parts (``modes``) unknown, each with a prior worth ν₀ readings about the
stated one s², integrating them out leaves for the sums of squares Q a model leaves unexplained

.. math:: 2\ell = -\sum_{\text{part}} (\nu_0 + \nu)\ln(\nu_0 s^2 + Q)

and the gain of a candidate is :math:`G = 2\ell_h - 2\ell_0`: with one free number about the square of Student's t, so
"is there a fault?" is a t test for each candidate.

**False alarms.** The family-wise rate asked for is shared out among traces (``SHARES``) and, within one, equally
among its candidates (Bonferroni); a gain counts above
:math:`(\nu_0+\nu)\ln(1 + t^2/(\nu_0+\nu))`, t Student's quantile. A candidate of fixed size at a distance
:math:`E` from no fault passes a gain λ by chance with probability :math:`\Phi(-(\lambda+E)/(2\sqrt E))`.

**Order.** Once there is an alarm every candidate is ranked by :math:`G - \rho`, ρ = 2 ln(candidates of its trace),
plus, where its size θ was fitted, :math:`2\ln(|\theta|/u(\theta))` + ``FREE_PENALTY``: what a free number costs (Bayes
factor under a prior even in ln|θ|; our choice), less 2 ln 2 where it can have one sign only.
"""

from dataclasses import dataclass

import numpy as np

from engine.checks import Floats
from engine.deadline import checkpoint
from engine.diagnosis.modes import Modes
from engine.diagnosis.patterns import Block

PRIOR_DEVICE = 24.0
PRIOR_COMMON = 24.0
"""Weight of the stated variances, in degrees of freedom: our choice."""

FREE_PENALTY = 1.2
SURE_LIMIT = 6.0
"""A fixed candidate must gain at least this much."""

SHARES = {
    "one-reading": 0.20,
    "instrument-length": 0.11,
    "bob-aground": 0.08,
    "restraint": 0.24,
    "one-move": 0.11,
    "after-zero": 0.03,
    "lasting-shift": 0.05,
    "drift": 0.06,
    "direction": 0.005,
    "weight-moment": 0.055,
    "curvature": 0.06,
}
"""Share of the false-alarm rate: most where the fault is hardest to see (our choice). They add up to 1."""

WITH_FIRST_PLACE = {**SHARES, "first-place": 0.02}
"""The same where a first place has a trace of its own: all of them are then divided by their sum (our choice)."""

FIXED_SHARE = 0.2
"""Share of each trace of fixed size: it counts only where that size is near the noise, which no sound test has."""


INDEPENDENT = {
    "one-reading": 0.58,
    "instrument-length": 0.63,
    "bob-aground": 0.43,
    "restraint": 0.67,
    "one-move": 0.56,
    "after-zero": 0.65,
    "lasting-shift": 0.55,
    "drift": 0.72,
    "direction": 0.54,
    "weight-moment": 0.59,
    "curvature": 0.38,
}
"""Independent candidates of a trace over all of them, and how cautious the t test is: 20,000 sound simulated tests of
nine readings by three instruments, seeds from 50,000,000 on (``tests/performance/diagnosis.py --calibrate``)."""


@dataclass(frozen=True, eq=False)
class Comparison:
    """Every candidate against no fault.

    Attributes
    ----------
    gain : (k,) float64
        2ℓ_h − 2ℓ_0.
    limit : (k,) float64
        What the gain must exceed.
    rank : (k,) float64
        G − ρ.
    size_ratio : (k,) float64
        θ of a free candidate, b of a fixed one.
    standard_uncertainty_ratio : (k,) float64
        Of it.
    """

    gain: Floats
    limit: Floats
    rank: Floats
    size_ratio: Floats
    standard_uncertainty_ratio: Floats

    @property
    def alarm(self) -> bool:
        """Whether any candidate passes its limit."""
        return bool((self.gain > self.limit).any())


@dataclass(frozen=True, eq=False)
class _PerBlock:
    """What the limits need of each block: first column, columns, share of the rate for one candidate, penalty."""

    heads: np.ndarray
    sizes: np.ndarray
    share: Floats
    penalty: Floats
    sure: np.ndarray

    @classmethod
    def of(cls, blocks: list[Block]) -> "_PerBlock":
        facts = np.array(
            [
                (
                    block.start,
                    block.stop - block.start,
                    block.searched,
                    0.0 if block.kind == "twin" else WITH_FIRST_PLACE.get(block.name, 0.0),
                    INDEPENDENT.get(block.name, 1.0),
                    block.kind != "free",
                    block.one_sided,
                )
                for block in blocks
            ]
        )
        heads, sizes, count, share, independent, sure, half = facts.T
        tails = np.where(sure + half > 0, 1.0, 0.5)
        share = np.where(share > 0, share / share.sum(), FIXED_SHARE) / np.maximum(count * independent, 1.0) * tails
        penalty = 2 * np.log(count) + FREE_PENALTY * (1 - sure) - 2 * np.log(2) * half
        return cls(heads.astype(int), sizes.astype(int), share, penalty, sure)


class Space:
    """Readings, slope and candidates in device and common coordinates; ``allow`` takes one candidate into account."""

    def __init__(self, *, at: Modes, table: Floats, x: Floats, columns: Floats, blocks: list[Block]) -> None:
        p, n = at.known.shape
        filled = np.where(at.known, table, 0.0)
        both = np.concatenate([filled[:, :, None], np.broadcast_to(x[:, None], (p, n, 1)), columns], axis=2)
        device, common = at.split(both)
        self.y_w, self.d_w = device[:, 0], device[:, 2:]
        self.y_c, self.x_c, self.d_c = common[:, 0], common[:, 1], common[:, 2:]
        self.freedom_w, self.freedom_c = at.device_freedom, at.common_freedom - 1
        self.blocks = blocks
        self.slope = np.zeros(columns.shape[2], dtype=bool)
        self.one_sided = np.zeros(columns.shape[2], dtype=bool)
        self.given = np.full(columns.shape[2], np.nan)
        self.out = np.zeros(columns.shape[2], dtype=bool)
        for block in blocks:
            part = slice(block.start, block.stop)
            if block.kind == "slope":
                self.slope[part] = True
            if block.one_sided:
                self.one_sided[part] = True
            if block.kind == "given" and block.amount is not None:
                self.given[part] = block.amount
            elif block.kind == "copied" and block.amount is not None:
                self.out[part] = np.isnan(block.amount)
            elif block.kind == "twin":
                self.out[part] = True
        self.set = np.isfinite(self.given)
        self.per_block = _PerBlock.of(blocks)
        squares = (at.weight**2).sum(axis=0)
        self.mean_squares = float(squares[squares > 0].mean())

    def allow(self, k: int) -> None:
        """Let candidate ``k`` have any size from now on: take its trace out of both parts."""
        for vectors, response, trace in ((self.d_w, "y_w", self.d_w[:, k]), (self.d_c, "y_c", self.d_c[:, k])):
            size = float(trace @ trace)
            if size <= 1e-18 * max(1.0, float(np.max(np.sum(vectors**2, axis=0)))):
                continue
            unit = trace / np.sqrt(size)
            setattr(self, response, getattr(self, response) - unit * (unit @ getattr(self, response)))
            if response == "y_w":
                self.d_w = vectors - unit[:, None] * (unit @ vectors)
                self.freedom_w -= 1
            else:
                self.d_c = vectors - unit[:, None] * (unit @ vectors)
                self.x_c = self.x_c - unit * (unit @ self.x_c)
                self.freedom_c -= 1
        self.out[k] = True


def compare(space: Space, *, common_variance: float, false_alarm_probability: float) -> Comparison:
    """Weigh every candidate.

    Parameters
    ----------
    space : Space
        Readings and candidates.
    common_variance : float
        σ_c², of the usual unrest, in tangents squared.
    false_alarm_probability : float
        Family-wise.
    """
    checkpoint()
    x_c, spread = space.x_c, float(space.x_c @ space.x_c)
    fixed = space.slope
    along = x_c @ space.d_c
    slope0 = float(x_c @ space.y_c) / spread
    y_c = space.y_c - slope0 * x_c
    # free: θ on the pattern less its slope; fixed: the change of slope on slope plus pattern
    a_w = (space.d_w**2).sum(axis=0)
    b_w = space.y_w @ space.d_w
    norm_c = (space.d_c**2).sum(axis=0)
    apart = np.maximum(norm_c - along**2 / spread, 0.0)
    shift_c = y_c @ space.d_c
    a_c = np.where(fixed, spread + 2 * along + norm_c, apart)
    rest_w, rest_c = float(space.y_w @ space.y_w), float(y_c @ y_c)
    full_w, full_c = rest_w, rest_c + slope0**2 * spread
    b_c = np.where(fixed, slope0 * (spread + along) + shift_c, shift_c)
    start_c = np.where(fixed, full_c, rest_c)
    prior_w = PRIOR_DEVICE
    prior_c = PRIOR_COMMON * (1.0 + common_variance * space.mean_squares)
    total_w = PRIOR_DEVICE + space.freedom_w
    total_c = PRIOR_COMMON + space.freedom_c
    v_w = np.full(len(a_w), (prior_w + full_w) / total_w)
    v_c = np.full(len(a_w), (prior_c + rest_c) / total_c)
    of_its_own = np.where(fixed, 0.0, 1.0)  # a slope a thousand times too steep is no measure for the others
    tiny = 1e-12 * ((of_its_own * a_w).max(initial=0.0) + (of_its_own * a_c).max(initial=0.0)) + 1e-300
    for _ in range(2):
        precision = a_w / v_w + a_c / v_c
        size = np.where(space.set, space.given, (b_w / v_w + b_c / v_c) / np.maximum(precision, tiny))
        left_w = np.maximum(full_w - 2 * size * b_w + size**2 * a_w, 0.0)
        left_c = np.maximum(start_c - 2 * size * b_c + size**2 * a_c, 0.0)
        v_w, v_c = (prior_w + left_w) / total_w, (prior_c + left_c) / total_c
    gain = total_w * np.log((prior_w + full_w) / (prior_w + left_w))
    gain += total_c * np.log((prior_c + rest_c) / (prior_c + left_c))
    visible = fixed | (a_w + a_c > tiny)
    gain = np.where(visible & ~space.out & ~((space.one_sided | fixed) & (size <= 0)), gain, -np.inf)
    limit, penalty = _limits(
        space, false_alarm_probability, size, np.sqrt(precision), a_w / v_w, apart / v_c, total_w, total_c
    )
    return Comparison(gain, limit, gain - penalty, size, 1.0 / np.sqrt(np.maximum(precision, 1e-300)))


def _limits(
    space: Space,
    rate: float,
    size: Floats,
    sharpness: Floats,
    of_device: Floats,
    of_common: Floats,
    total_w: float,
    total_c: float,
) -> tuple[Floats, Floats]:
    """Return each candidate's limit of the gain, and its penalty in the ranking."""
    from scipy.special import ndtri, stdtrit

    own = space.per_block
    heads, chance = own.heads, rate * own.share
    part = of_device[heads] / np.maximum(of_device[heads] + of_common[heads], 1e-300)
    freedom = np.maximum(total_w * part + total_c * (1 - part) - 1.0, 1.0)
    t = -stdtrit(freedom, chance)
    of_block = np.stack([(freedom + 1) * np.log1p(t**2 / freedom), -2 * ndtri(chance), own.penalty, own.sure])
    limit, normal, penalty, sure = np.repeat(of_block, own.sizes, axis=1)
    known_size = space.slope | space.set
    apart = size**2 * (of_device + of_common)
    certain = np.maximum(normal * np.sqrt(apart) - apart, SURE_LIMIT)
    penalty += (1 - sure) * 2 * np.log(np.maximum(np.abs(size) * sharpness, 3.0))
    return np.where(known_size, np.minimum(limit, certain), limit), penalty
