"""POST /v1/archived-cases/replay. Layer: service.resources."""

from collections.abc import Iterable
from typing import Any

from fastapi import APIRouter

from service.cases.case import ArchivedCase, MadeWith
from service.cases.compare import Deviation
from service.cases.replay import Outcome, ReplayProblem, in_process, replay
from service.edge.model import Model
from service.edge.operation import Operation, operation
from service.edge.provenance import Provenance
from service.schemas.common import CAUTIONS

EXAMPLE = {
    "format_version": "1",
    "name": "box afloat",
    "made_with": {"service_version": "0.1.0", "engine_version": "0.1.0"},
    "request": {
        "path": "/v1/tanks/free-surface",
        "body": {
            "length_bp_m": 60.0,
            "tank": {
                "name": "fuel",
                "shape": {
                    "kind": "box",
                    "x_min_m": 20,
                    "x_max_m": 30,
                    "y_min_m": -2,
                    "y_max_m": 2,
                    "z_min_m": 0,
                    "z_max_m": 2,
                },
                "density_t_per_m3": 0.9,
                "contents": {"kind": "volume", "volume_m3": 40.0},
            },
        },
    },
    "expected": [
        {
            "pointer": "/free_surface_moment_tm",
            "value": 48.0,
            "tolerance": {"relative": 1e-9},
            "origin": "closed form: density × length × breadth³ / 12",
        }
    ],
}


class ReplayAnswer(Model):
    """Every expected value, what was found in its place, and whether that is within the tolerance."""

    name: str
    outcome: Outcome
    """same; deviates: a value is out of tolerance; not_comparable: a value or the answer is not what it was."""
    deviations: tuple[Deviation, ...]
    problem: ReplayProblem | None = None
    """Given where the archived request is refused."""
    made_with: MadeWith
    """What made the case; ``provenance`` has what replayed it."""
    cautions: tuple[str, ...] = CAUTIONS
    provenance: Provenance = Provenance()


def router_of(operations: Iterable[Operation[Any, Any]]) -> APIRouter:
    """Return the route that replays cases of these operations."""
    router = APIRouter()
    ask = in_process(operations)

    @operation(
        router,
        "/v1/archived-cases/replay",
        request=ArchivedCase,
        response=ReplayAnswer,
        operation_id="replay_archived_case",
        summary="Ask an archived request again and compare with what is expected",
        example=EXAMPLE,
        tag="archived cases",
    )
    def compute(request: ArchivedCase) -> ReplayAnswer:
        """Return the deviation of every expected value; a refusal of the archived request is an answer, too."""
        replayed = replay(request, ask)
        return ReplayAnswer(
            name=request.name,
            outcome=replayed.outcome,
            deviations=replayed.deviations,
            problem=replayed.problem,
            made_with=request.made_with,
        )

    return router
