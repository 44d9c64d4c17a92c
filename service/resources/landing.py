"""GET /: where everything is. Layer: service.resources."""

from html import escape

from fastapi import APIRouter, Request, Response
from fastapi.responses import HTMLResponse, JSONResponse

from service.edge import media
from service.edge.model import Model
from service.edge.openapi import problem_answer
from service.edge.page import page

router = APIRouter(tags=["operations"])

FORMATS = {"html": media.HTML, "json": media.JSON}

LINKS = {
    "docs": "Every operation with an example, to try out",
    "openapi.json": "The interface as OpenAPI 3.1",
    "problems": "What each error and finding means",
    "v1/hulls": "The hulls of the library",
    "v1/rule-sets": "The rules a test is checked against",
    "v1/record-schema": "The record of a stability test as JSON Schema",
    "v1/record-example": "A filled record",
    "v1/version": "What is running",
    "v1/cells/hydrostatic?hull=example-barge&quantity=km_transverse_m&draft_m=3.5": "A cell for spreadsheets",
    "health/ready": "Whether it can work",
    "metrics": "Figures for a Prometheus server",
}


class Link(Model):
    """One place to go."""

    href: str
    """Relative to this page."""
    title: str
    """What is there."""


class Landing(Model):
    """The service and its places."""

    title: str
    """Name of the service."""
    version: str
    """Version of the service."""
    links: tuple[Link, ...]
    """Where to go on."""


@router.get(
    "/",
    operation_id="get_landing",
    summary="Where everything is",
    response_model=Landing,
    responses={
        200: {"content": {media.HTML: {"schema": {"type": "string"}}}},
        406: problem_answer("The page is HTML or JSON."),
        422: problem_answer("An unknown query parameter."),
    },
)
async def landing(request: Request) -> Response:
    """Return links, as a page or as JSON."""
    media.refuse_unknown_query(request, {"format"})
    app = request.app
    links = tuple(Link(href=href, title=title) for href, title in LINKS.items())
    if media.choose(request, FORMATS) == "json":
        return JSONResponse(Landing(title=app.title, version=app.version, links=links).model_dump())
    rows = "".join(
        f"<tr><td><a href='{escape(link.href)}'>/{escape(link.href)}</a></td><td>{link.title}</td></tr>"
        for link in links
    )
    words = f"<p>{escape(app.summary or '')} Version {escape(app.version)}.</p>"
    return HTMLResponse(page(app.title, words + f"<table>{rows}</table>"))
