"""GET /v1/hulls: the library. Layer: service.resources."""

from fastapi import APIRouter, Request, Response

from service.edge.media import refuse_unknown_query
from service.edge.model import Model
from service.edge.openapi import problem_answer
from service.edge.shelf import Shelf
from service.edge.workers import Workers
from service.schemas.library import LibraryEntry, listing

router = APIRouter()


class Library(Model):
    """What requests may name."""

    hulls: tuple[LibraryEntry, ...]
    """In the order of their names."""


@router.get(
    "/v1/hulls",
    operation_id="list_hulls",
    summary="The hulls of the library",
    tags=["hulls"],
    responses={
        422: problem_answer("An unknown query parameter."),
        503: problem_answer("The service is busy. Try again after `Retry-After` seconds.", retry=True),
    },
)
async def hulls(request: Request, response: Response) -> Library:
    """Return every hull and its tanks; an example where the operator mounted no library."""
    refuse_unknown_query(request, ())
    workers: Workers = request.app.state.workers
    shelf: Shelf = request.app.state.shelf
    response.headers["Cache-Control"] = "no-store"
    return Library(hulls=await workers.run(lambda: listing(shelf)))
