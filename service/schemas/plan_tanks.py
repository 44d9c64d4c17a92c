"""The tanks of a plan. Layer: service.schemas."""

from typing import Literal

from engine.planning.optimise import VCG
from engine.planning.plan import Plan
from engine.planning.tank_plan import Proposal
from engine.uncertainty import Budget
from service.edge.model import Model
from service.schemas.plan import PlanRequest

Broken = Literal[
    "fill-out-of-range",
    "pocketing",
    "bottom-exposed",
    "surface-not-regular",
    "too-many-slack",
    "nearly-full",
    "nearly-empty",
]


class ProposalAnswer(Model):
    """What would mend a tank."""

    fill_percent: float
    """To bring it to: 0 empty, 100 pressed full."""
    volume_change_m3: float
    """Liquid to take aboard (+) or to pump out (−)."""
    with_tank: str | None = None
    """A tank of the same liquid that can take it or give it and keep the rules itself."""


class PlannedTankAnswer(Model):
    """One tank held against the rules."""

    name: str
    state: Literal["empty", "full", "slack"]
    fill_percent: float
    least_fill_percent: float
    most_fill_percent: float
    """Limits while it is slack."""
    free_surface_moment_tm: float
    free_surface_share_percent: float
    """Of the ship's whole free-surface moment."""
    virtual_rise_m: float
    pockets: bool | None = None
    """Whether the liquid meets the tank's top at some heel of the test; absent where the shape is not known."""
    exposes_bottom: bool | None = None
    vcg_uncertainty_share_percent: float | None = None
    """Share of what the tank holds in the variance expected of the lightship's VCG."""
    shift_deviation_percent: float | None = None
    """True shift at the largest heel against that of vertical sides."""
    breaks: tuple[Broken, ...]
    proposal: ProposalAnswer | None = None


def tanks_answer(plan: Plan, request: PlanRequest, budget: Budget | None) -> tuple[PlannedTankAnswer, ...]:
    """Return the tanks in order, with their shares of the expected uncertainty where there is a budget."""
    names = [tank.name for tank in request.tanks]
    shares = {} if budget is None else {row.name: row.share_percent for row in budget.outputs[VCG].rows}
    return tuple(
        PlannedTankAnswer.model_validate(
            {
                "name": name,
                "state": row.state,
                "fill_percent": row.fill_percent,
                "least_fill_percent": row.least_fill_percent,
                "most_fill_percent": row.most_fill_percent,
                "free_surface_moment_tm": row.free_surface_moment_tm,
                "free_surface_share_percent": row.share_percent,
                "virtual_rise_m": row.rise_m,
                "pockets": row.pockets,
                "exposes_bottom": row.exposes_bottom,
                "vcg_uncertainty_share_percent": shares.get(f"tanks/{number}/volume"),
                "shift_deviation_percent": row.shift_deviation_percent,
                "breaks": row.breaks,
                "proposal": _proposal(row.proposal, names),
            }
        )
        for number, (name, row) in enumerate(zip(names, plan.tanks, strict=True))
    )


def _proposal(made: Proposal | None, names: list[str]) -> ProposalAnswer | None:
    if made is None:
        return None
    return ProposalAnswer(
        fill_percent=made.fill_percent,
        volume_change_m3=made.volume_change_m3,
        with_tank=None if made.with_tank is None else names[made.with_tank],
    )
