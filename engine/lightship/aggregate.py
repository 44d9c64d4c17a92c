r"""Weight and moment history: what became of an approved lightship. Layer: engine.lightship.

The aggregate is the absolute total of all additions, removals and relocations (46 CFR 144.315(a)), each relocated item
once:

.. math:: A = \sum|w_\mathrm{add}| + \sum|w_\mathrm{remove}| + \sum|w_\mathrm{relocate}|

so 5 t put on and 5 t taken off are 10 t, though the mass is what it was.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from engine.errors import NotDeterminedError
from engine.lightship.particulars import Lightship
from engine.survey.ledger import Item, change_by, total


@dataclass(frozen=True)
class WeightHistory:
    """The sums of a history and the lightship it leads to.

    Attributes
    ----------
    added_t, removed_t, relocated_t, aggregate_t : float
        Absolute totals. [t]
    aggregate_percent : float
        Of the lightship it starts from. [%]
    calculated : Lightship
        The lightship after the changes; y and z only where the first one states them. Its spread is that of the first:
        no uncertainty of the history is carried.
    """

    added_t: float
    removed_t: float
    relocated_t: float
    aggregate_t: float
    aggregate_percent: float
    calculated: Lightship


def weight_history(*, start: Lightship, items: Sequence[Item]) -> WeightHistory:
    """Carry a lightship through its history.

    Parameters
    ----------
    start : Lightship
        The approved lightship, or a sister's.
    items : sequence of engine.survey.ledger.Item
        In any order; a relocated item has its old place in ``centre_m``, the new one in ``to_m``.

    Raises
    ------
    InputError
        Of ``start``.
    NotDeterminedError
        ``lightship-not-positive``: the history takes off more than there is.
    """
    start.checked()
    sums = {action: sum(item.mass_t for item in items if item.action == action) for action in _ACTIONS}
    aggregate = float(sum(sums.values()))
    change = total(change_by(item) for item in items)
    mass = start.mass_t + change.mass_t
    if mass <= 0:
        raise NotDeterminedError(
            f"of {start.mass_t:.6g} t the history leaves {mass:.6g} t",
            code="lightship-not-positive",
            field="weight_history",
            value=mass,
            limit=0.0,
        )
    moment_x, moment_y, moment_z = change.moment_tm.tolist()
    return WeightHistory(
        added_t=float(sums["add"]),
        removed_t=float(sums["remove"]),
        relocated_t=float(sums["relocate"]),
        aggregate_t=aggregate,
        aggregate_percent=100.0 * aggregate / start.mass_t,
        calculated=replace(
            start,
            mass_t=float(mass),
            x_m=(start.mass_t * start.x_m + moment_x) / mass,
            y_m=None if start.y_m is None else (start.mass_t * start.y_m + moment_y) / mass,
            z_m=None if start.z_m is None else (start.mass_t * start.z_m + moment_z) / mass,
        ),
    )


_ACTIONS = ("add", "remove", "relocate")
