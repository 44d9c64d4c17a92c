"""The deadweight: what is aboard and not lightship, what is lightship and not aboard. Layer: service.schemas."""

from collections.abc import Sequence
from typing import Protocol

import numpy as np

from engine.geometry.plane import Planes
from engine.liquids.running import Liquid
from engine.record.record import Parts
from engine.record.solve import entries
from service.edge.model import Model
from service.schemas.incline import Weight
from service.schemas.ledger_table import LedgerLine, LedgerSums, LiquidAnswer, lines, liquid_answers, sums
from service.schemas.survey import Item
from service.schemas.tank import TankOf

UPRIGHT = Planes(normals=np.array([[0.0, 0.0, 1.0]]), offsets_m=np.zeros(1))
"""An upright ship; the offset does not matter to liquids."""


class Named(Protocol):
    """A document with named items, weights and tanks."""

    @property
    def items(self) -> Sequence[Item]: ...  # noqa: D102
    @property
    def weights(self) -> Sequence[Weight]: ...  # noqa: D102
    @property
    def tanks(self) -> Sequence[TankOf]: ...  # noqa: D102


class DeadweightAnswer(Model):
    """The ledger summed up, and how every liquid lies."""

    table: tuple[LedgerLine, ...]
    sums: LedgerSums
    liquids: tuple[LiquidAnswer, ...]
    deadweight_over_lightship_percent: float | None = None
    """Left out where no mass of the lightship is known."""


def deadweight_answer(
    parts: Parts, liquids: Sequence[Liquid], plane: Planes, named: Named, *, lightship_mass_t: float | None
) -> DeadweightAnswer:
    """Return the deadweight at one plane."""
    found = entries(parts, liquids, normal=plane.normals[0])
    total = sums(found)
    tanks = [one.name for one in named.tanks]
    share = None if lightship_mass_t is None else 100.0 * total.deadweight_mass_t / lightship_mass_t
    return DeadweightAnswer(
        table=lines(
            found,
            items=[one.name for one in named.items],
            weights=[one.id for one in named.weights],
            tanks=tanks,
        ),
        sums=total,
        liquids=liquid_answers(parts.tanks, liquids, plane, names=tanks),
        deadweight_over_lightship_percent=share,
    )
