"""GET /problems and /problems/{code}: what an error means and what to do. Layer: service.resources."""

from html import escape
from typing import Any

from fastapi import APIRouter, Request, Response
from fastapi.responses import HTMLResponse, JSONResponse

from service.edge import media
from service.edge.model import Model
from service.edge.openapi import problem_answer
from service.edge.page import page
from service.edge.problem_texts import Text, texts
from service.edge.problems import ProblemError

router = APIRouter(tags=["operations"])

FORMATS = {"html": media.HTML, "json": media.JSON}
REFUSED: dict[int | str, dict[str, Any]] = {
    404: problem_answer("There is no such code."),
    406: problem_answer("The page is HTML or JSON."),
    422: problem_answer("An unknown query parameter."),
}
HTML_TOO: dict[int | str, dict[str, Any]] = {200: {"content": {media.HTML: {"schema": {"type": "string"}}}}}


class ProblemText(Model):
    """What one code means."""

    code: str
    """Stable name, kebab-case."""
    title: str
    """In a few words."""
    meaning: str
    """What it says."""
    cause: str
    """What usually brings it about."""
    cure: str
    """What to do."""
    status: int | None = None
    """HTTP status it is sent with; absent for one that only stands in `findings`."""


@router.get(
    "/problems",
    operation_id="list_problems",
    summary="Every code of a problem or a finding",
    response_model=list[ProblemText],
    responses={**HTML_TOO, 406: REFUSED[406], 422: REFUSED[422]},
)
async def every(request: Request) -> Response:
    """Return the table of problems."""
    media.refuse_unknown_query(request, {"format"})
    if media.choose(request, FORMATS) == "json":
        return JSONResponse([_row(code, text) for code, text in texts().items()])
    rows = "".join(
        f"<tr><td><a href='problems/{code}'>{code}</a></td><td>{text.status or 'finding'}</td>"
        f"<td>{escape(text.title)}</td></tr>"
        for code, text in texts().items()
    )
    return HTMLResponse(page("Problems", f"<table><tr><th>code<th>status<th>title</tr>{rows}</table>"))


@router.get(
    "/problems/{code}",
    operation_id="get_problem",
    summary="What one code means",
    response_model=ProblemText,
    responses={**HTML_TOO, **REFUSED},
    openapi_extra={"parameters": [{"name": "code", "in": "path", "required": True, "schema": {"type": "string"}}]},
)
async def one(request: Request) -> Response:
    """Return meaning, cause and cure of one code."""
    media.refuse_unknown_query(request, {"format"})
    code = request.path_params["code"]
    text = texts().get(code)
    if text is None:
        raise ProblemError("not-found", "there is no such code")
    if media.choose(request, FORMATS) == "json":
        return JSONResponse(_row(code, text))
    status = f"HTTP status {text.status}" if text.status else "A finding: the request was answered."
    return HTMLResponse(
        page(
            text.title,
            f"<p><code>{code}</code> · {status}</p><p>{escape(text.meaning)}</p>"
            f"<h2>Cause</h2><p>{escape(text.cause)}</p><h2>Cure</h2><p>{escape(text.cure)}</p>",
        )
    )


def _row(code: str, text: Text) -> dict[str, object]:
    return ProblemText(code=code, **text._asdict()).model_dump(exclude_none=True)
