"""GET /metrics. Layer: service.resources."""

from fastapi import APIRouter, Request, Response

from service.edge.media import refuse_unknown_query
from service.edge.telemetry import Metrics
from service.edge.workers import Workers

router = APIRouter(tags=["operations"])

CONTENT_TYPE = "text/plain; version=0.0.4; charset=utf-8"


@router.get(
    "/metrics",
    operation_id="get_metrics",
    summary="Figures for a Prometheus server",
    response_class=Response,
    responses={200: {"content": {"text/plain": {"schema": {"type": "string"}}}}},
)
async def figures(request: Request) -> Response:
    """Return the figures of every process of this service."""
    refuse_unknown_query(request, ())
    metrics: Metrics = request.app.state.metrics
    workers: Workers = request.app.state.workers
    metrics.pending.set(workers.pending)
    metrics.held_bytes.set(workers.held_bytes)
    return Response(metrics.text(), headers={"Content-Type": CONTENT_TYPE, "Cache-Control": "no-store"})
