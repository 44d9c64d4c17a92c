"""GET /health/live and /health/ready. Layer: service.resources."""

import asyncio
from typing import Literal

from fastapi import APIRouter, Request, Response

from service.edge.loading import live
from service.edge.media import refuse_unknown_query
from service.edge.model import Model
from service.edge.openapi import problem_answer
from service.edge.problems import ProblemError
from service.edge.workers import Workers

router = APIRouter(tags=["operations"])


class Health(Model):
    """How the service is."""

    status: Literal["live", "ready"]
    """`live`: the process answers. `ready`: its workers answer too."""


router.add_api_route(
    "/health/live",
    live,
    methods=["GET"],
    response_model=Health,
    operation_id="get_liveness",
    summary="Whether the process answers",
)


@router.get(
    "/health/ready",
    operation_id="get_readiness",
    summary="Whether the workers answer",
    responses={503: problem_answer("No worker answered in time, or the queue is full.", retry=True)},
)
async def ready(request: Request, response: Response) -> Health:
    """Have a worker do nothing, and return once it has."""
    refuse_unknown_query(request, ())
    workers: Workers = request.app.state.workers
    within_s: float = request.app.state.settings.ready_s
    response.headers["Cache-Control"] = "no-store"
    try:
        async with asyncio.timeout(within_s):
            return await workers.run(lambda: Health(status="ready"))
    except TimeoutError:
        raise ProblemError(
            "busy", f"no worker answered within {within_s:.6g} s", headers={"Retry-After": "2"}
        ) from None
