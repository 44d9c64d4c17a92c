r"""Combined uncertainty of several results from one Jacobian. Layer: engine.uncertainty.

With :math:`J` the derivatives of the results by the raw inputs and :math:`C` the covariance of the inputs
(:math:`C_{ij} = u_i u_j` inside a group, 0 between groups) the covariance of the results is
:math:`J C J^T = S S^T`, where column g of :math:`S` is the signed sum :math:`\sum_{i \in g} J_{\cdot i} u_i`. So C is
never formed, and a group is one entry of the budget (JCGM 100:2008, 5.2.2, equation (16) and the note on r = 1).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from engine.checks import Floats, points
from engine.errors import InputError
from engine.uncertainty.coverage import coverage_factor, effective_degrees_of_freedom
from engine.uncertainty.inputs import Input


class Output(NamedTuple):
    """Name and unit of a result."""

    name: str
    unit: str


@dataclass(frozen=True)
class BudgetRow:
    """One independent source of error in one result.

    Attributes
    ----------
    name : str
        Of the group, or of the lone input.
    category : str
        Of its inputs; "mixed" where they differ.
    value : float
        Signed contribution c u: the error of the result if this source errs by +1 standard uncertainty. [unit]
    unit : str
        The result's.
    share_percent : float
        Of the result's variance.
    degrees_of_freedom : float
        The smallest among the inputs of a group, which is the cautious reading of unequal ones.
    input_count : int
        Inputs in the group; 1 for a lone one.
    largest : str
        Of a row that sums up several by category: the name of the largest; else the row's own.
    """

    name: str
    category: str
    value: float
    unit: str
    share_percent: float
    degrees_of_freedom: float
    input_count: int
    largest: str


class Halving(NamedTuple):
    """What would halve a combined standard uncertainty.

    Attributes
    ----------
    names : tuple of str
        The fewest rows, largest first, that can do it. One name: the dominating row alone. More: it cannot alone,
        for the other rows already hold a quarter of the variance or more.
    factor_ratio : float
        Each named row's uncertainty must be divided by this, above 1.
    alone : bool
        Whether the dominating row suffices.
    """

    names: tuple[str, ...]
    factor_ratio: float
    alone: bool


@dataclass(frozen=True)
class OutputBudget:
    """The budget of one result.

    Attributes
    ----------
    name, unit : str
        As asked for.
    standard_uncertainty, expanded_uncertainty : float
        Combined, and k times that. [unit]
    degrees_of_freedom : float
        Effective (Welch–Satterthwaite), not rounded; may be infinite.
    coverage_factor : float
        Student k at ``coverage_percent``.
    coverage_percent : float
        As asked for.
    rows : tuple of BudgetRow
        Largest share first; equal ones as given.
    dominating : BudgetRow or None
        The first row; None where nothing is uncertain.
    what_would_halve_it : Halving or None
        None where nothing is uncertain.
    """

    name: str
    unit: str
    standard_uncertainty: float
    expanded_uncertainty: float
    degrees_of_freedom: float
    coverage_factor: float
    coverage_percent: float
    rows: tuple[BudgetRow, ...]
    dominating: BudgetRow | None
    what_would_halve_it: Halving | None

    @cached_property
    def by_category(self) -> "OutputBudget":
        """The same budget with its rows summed up by category, as independent errors add.

        Ten freeboards are one row, so that what dominates is a kind of measurement and not one tape reading.
        """
        kinds: dict[str, list[BudgetRow]] = {}
        for row in self.rows:
            kinds.setdefault(row.category, []).append(row)
        values = np.array([row.value for row in self.rows])
        own = np.array([[row.category == category for row in self.rows] for category in kinds])
        freedom = effective_degrees_of_freedom(values * own, [row.degrees_of_freedom for row in self.rows])
        made = []
        for (category, some), nu in zip(kinds.items(), freedom.tolist(), strict=True):
            size = math.hypot(*(row.value for row in some))
            share = sum(row.share_percent for row in some)
            count = sum(row.input_count for row in some)
            made.append(BudgetRow(category, category, size, self.unit, share, nu, count, some[0].largest))
        made.sort(key=lambda row: -round(row.share_percent, _SHARE_DECIMALS))
        shares = np.array([row.share_percent for row in made]) / 100.0
        known = self.standard_uncertainty > 0
        return replace(
            self,
            rows=tuple(made),
            dominating=made[0] if known else None,
            what_would_halve_it=_halving(tuple(made), shares) if known else None,
        )


@dataclass(frozen=True, eq=False)
class Budget:
    """All results with their covariance.

    Attributes
    ----------
    outputs : tuple of OutputBudget
        In the order asked for.
    covariance : (m, m) float64
        Of the results; the diagonal holds the squared standard uncertainties.
    """

    outputs: tuple[OutputBudget, ...]
    covariance: Floats


_SHARE_DECIMALS = 9
"""Shares alike to so many decimals stay in the order given: round-off does not choose between port and starboard."""


class _Entry(NamedTuple):
    name: str
    category: str
    degrees_of_freedom: float
    input_count: int


def propagate(
    *, jacobian: ArrayLike, inputs: Sequence[Input], outputs: Sequence[Output], coverage_percent: float = 95.0
) -> Budget:
    """Propagate the inputs' uncertainties to the results.

    Parameters
    ----------
    jacobian : (m, n) array_like
        Derivative of result i by input j, in their units.
    inputs : sequence of n Input
        Raw inputs.
    outputs : sequence of m Output
        Results.
    coverage_percent : float
        Of the expanded uncertainties.

    Raises
    ------
    InputError
        ``wrong-shape`` where the Jacobian does not fit, ``not-finite``, ``out-of-range``.

    References
    ----------
    .. [1] JCGM 100:2008 (GUM), 5.1.2, 5.2.2, 6.2 and G.4.

    Examples
    --------
    Two lengths by one tape of 1 % and a third by another: the common error of the first two adds up.

    >>> tape = [Input(name=n, value=1, standard_uncertainty=0.01, unit="m", category="length", group=g)
    ...         for n, g in (("a", "tape"), ("b", "tape"), ("c", None))]
    >>> budget = propagate(jacobian=[[1, 1, 1]], inputs=tape, outputs=[Output("sum", "m")])
    >>> print(f"{budget.outputs[0].standard_uncertainty:.6f}", budget.outputs[0].dominating.name)
    0.022361 tape
    """
    derivative = points(jacobian, columns=len(inputs), field="jacobian")
    if len(derivative) != len(outputs):
        raise InputError(f"must have one row for each of {len(outputs)} results", code="wrong-shape", field="jacobian")
    entries, index = _entries(inputs)
    deviation = np.array([i.standard_uncertainty for i in inputs], dtype=np.float64)
    signed = np.zeros((len(entries), len(outputs)))
    np.add.at(signed, index, (derivative * deviation).T)
    contribution = signed.T
    covariance = contribution @ signed
    freedom = effective_degrees_of_freedom(contribution, [e.degrees_of_freedom for e in entries])
    budgets = tuple(
        _budget(output, part, float(nu), entries, coverage_percent)
        for output, part, nu in zip(outputs, contribution, freedom, strict=True)
    )
    return Budget(budgets, covariance)


def _entries(inputs: Sequence[Input]) -> tuple[list[_Entry], list[int]]:
    """Return the independent entries, in order of first appearance, and the entry of each input."""
    places: dict[tuple[str, str | int], int] = {}
    index = []
    members: list[list[Input]] = []
    for number, item in enumerate(inputs):
        key = ("lone", number) if item.group is None else ("group", item.group)
        place = places.setdefault(key, len(members))
        if place == len(members):
            members.append([])
        members[place].append(item)
        index.append(place)
    entries = []
    for block in members:
        categories = {item.category for item in block}
        uncertain = [item.degrees_of_freedom for item in block if item.standard_uncertainty > 0]
        entries.append(
            _Entry(
                block[0].name if block[0].group is None else block[0].group,
                categories.pop() if len(categories) == 1 else "mixed",
                min(uncertain, default=np.inf),
                len(block),
            )
        )
    return entries, index


def _budget(
    output: Output, contribution: Floats, freedom: float, entries: list[_Entry], coverage_percent: float
) -> OutputBudget:
    combined = float(np.linalg.norm(contribution))
    share = (contribution / combined) ** 2 if combined > 0 else np.zeros(len(contribution))
    order = np.argsort(-np.round(share, _SHARE_DECIMALS), kind="stable")
    rows = tuple(
        BudgetRow(
            entries[i].name,
            entries[i].category,
            float(contribution[i]),
            output.unit,
            100.0 * float(share[i]),
            entries[i].degrees_of_freedom,
            entries[i].input_count,
            entries[i].name,
        )
        for i in order
    )
    factor = coverage_factor(freedom, coverage_percent=coverage_percent)
    return OutputBudget(
        name=output.name,
        unit=output.unit,
        standard_uncertainty=combined,
        expanded_uncertainty=factor * combined,
        degrees_of_freedom=freedom,
        coverage_factor=factor,
        coverage_percent=coverage_percent,
        rows=rows,
        dominating=rows[0] if combined > 0 else None,
        what_would_halve_it=_halving(rows, share[order]) if combined > 0 else None,
    )


def _halving(rows: tuple[BudgetRow, ...], share: Floats) -> Halving:
    """Find the fewest rows k for which Σ_k share/f² + rest = 1/4 has a solution f."""
    held = np.cumsum(share)
    rest = held[-1] - held
    count = int(np.argmax(rest < 0.25)) + 1
    factor = float(np.sqrt(held[count - 1] / (0.25 * held[-1] - rest[count - 1])))
    return Halving(tuple(row.name for row in rows[:count]), factor, count == 1)
