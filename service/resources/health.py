"""GET /health/live and /health/ready. Layer: service.resources."""

from typing import Literal

from fastapi import APIRouter, Request, Response

from service.edge.media import refuse_unknown_query
from service.edge.model import Model
from service.edge.openapi import problem_answer
from service.edge.workers import Workers

router = APIRouter(tags=["operations"])


class Health(Model):
    """How the service is."""

    status: Literal["live", "ready"]
    """`live`: the process answers. `ready`: its workers answer too."""


@router.get("/health/live", operation_id="get_liveness", summary="Whether the process answers")
async def live(request: Request, response: Response) -> Health:
    """Return at once."""
    refuse_unknown_query(request, ())
    response.headers["Cache-Control"] = "no-store"
    return Health(status="live")


@router.get(
    "/health/ready",
    operation_id="get_readiness",
    summary="Whether the workers answer",
    responses={503: problem_answer("The workers are taken and the queue is full.", retry=True)},
)
async def ready(request: Request, response: Response) -> Health:
    """Have a worker do nothing, and return once it has."""
    refuse_unknown_query(request, ())
    workers: Workers = request.app.state.workers
    response.headers["Cache-Control"] = "no-store"
    return await workers.run(lambda: Health(status="ready"))
