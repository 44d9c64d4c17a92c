"""Which media type an answer gets, which a body has, which query parameters are known. Layer: service.edge."""

from collections.abc import Collection, Mapping, Sequence
from typing import TypeVar

from starlette.requests import Request

from service.edge.problems import ProblemError

C = TypeVar("C", bound=str)

JSON = "application/json"
CSV = "text/csv"
HTML = "text/html"


def refuse_unknown_query(request: Request, known: Collection[str]) -> None:
    """Refuse a query parameter that is not in ``known``, or one given twice."""
    names = [name for name, _ in request.query_params.multi_items()] if request.scope["query_string"] else []
    if any(name not in known for name in names):
        allowed = ", ".join(sorted(known)) or "none"
        raise ProblemError("query", f"a query parameter is not known here; known: {allowed}")
    if len(set(names)) < len(names):
        raise ProblemError("query", "a query parameter is given twice")


def _asked(request: Request, name: str) -> str | None:
    return request.query_params.get(name) if request.scope["query_string"] else None


def one_of(request: Request, name: str, choices: Sequence[C]) -> C:
    """Return a query parameter that has a few choices, the first by default."""
    asked = _asked(request, name)
    if asked is None:
        return choices[0]
    chosen = next((choice for choice in choices if choice == asked), None)
    if chosen is None:
        raise ProblemError("query", f"{name} must be one of {', '.join(choices)}")
    return chosen


def choose(request: Request, offered: Mapping[str, str]) -> str:
    """Return the format of the answer: ``?format=`` wins, then ``Accept``, then the first of ``offered``.

    Parameters
    ----------
    offered : mapping
        Name of the format → media type, the service's preference first.
    """
    asked = _asked(request, "format")
    if asked is not None:
        if asked in offered:
            return asked
        raise _refusal(offered)
    accept = ",".join(request.headers.getlist("accept"))
    if not accept.strip():
        return next(iter(offered))
    chosen = best(accept, list(offered.values()))
    if chosen is None:
        raise _refusal(offered)
    return next(name for name, media_type in offered.items() if media_type == chosen)


def _refusal(offered: Mapping[str, str]) -> ProblemError:
    return ProblemError("not-acceptable", "the answer can be had as " + ", ".join(offered.values()))


def best(accept: str, media_types: Sequence[str]) -> str | None:
    """Return the media type an Accept header prefers (RFC 9110, 12.5.1), None if it accepts none."""
    ranges = [_range(part) for part in accept.split(",") if part.strip()]
    weights = {}
    for media_type in media_types:
        matching = [(specific, q) for name, specific, q in ranges if _matches(name, media_type)]
        weights[media_type] = max(matching)[1] if matching else 0.0
    heaviest = max(weights.values(), default=0.0)
    return next((m for m in media_types if weights[m] == heaviest), None) if heaviest > 0 else None


def _range(part: str) -> tuple[str, int, float]:
    """Return one media range: name, how specific, weight."""
    name, *parameters = (piece.strip().lower() for piece in part.split(";"))
    quality = 1.0
    for parameter in parameters:
        key, _, value = parameter.partition("=")
        if key.strip() == "q":
            try:
                quality = min(max(float(value), 0.0), 1.0)
            except ValueError:
                quality = 0.0
    return name, 0 if name == "*/*" else 1 if name.endswith("/*") else 2, quality


def _matches(name: str, media_type: str) -> bool:
    return name in ("*/*", media_type) or (name.endswith("/*") and media_type.startswith(name[:-1]))


def require_json(request: Request) -> None:
    """Refuse a body that is not declared to be JSON in UTF-8."""
    given = request.headers.get("content-type", "")
    if given == JSON:
        return
    name, *parameters = (piece.strip().lower() for piece in given.split(";"))
    charsets = [
        value.strip('" ') for key, _, value in (p.partition("=") for p in parameters) if key.strip() == "charset"
    ]
    is_json = name == JSON or (name.startswith("application/") and name.endswith("+json"))
    if not is_json or any(charset not in ("utf-8", "utf8", "us-ascii") for charset in charsets):
        raise ProblemError("media-type", "the body must be application/json in UTF-8", headers={"Accept-Post": JSON})
