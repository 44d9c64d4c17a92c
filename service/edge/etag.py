"""Entity tags of what code and request alone decide: known before computing. Layer: service.edge."""

import hashlib

from starlette.requests import Request
from starlette.responses import Response

import engine
import service

CACHE_CONTROL = "private, max-age=3600"


def tag_of(*facts: str | bytes) -> str:
    """Return a weak entity tag (RFC 9110, 8.8.3) of the versions and some facts."""
    digest = hashlib.sha256()
    for fact in (service.__version__, engine.__version__, *facts):
        data = fact.encode() if isinstance(fact, str) else fact
        digest.update(len(data).to_bytes(8, "big") + data)
    return f'W/"{digest.hexdigest()[:32]}"'


def is_known(request: Request, tag: str) -> bool:
    """Return whether the client has the answer of this tag (If-None-Match, weak comparison)."""
    given = [one.strip().removeprefix("W/") for one in request.headers.get("if-none-match", "").split(",")]
    return "*" in given or tag.removeprefix("W/") in given


def headers_of(tag: str) -> dict[str, str]:
    """Return the headers that let an answer be kept."""
    return {"ETag": tag, "Cache-Control": CACHE_CONTROL, "Vary": "Accept"}


def cached(request: Request, content: bytes, media_type: str) -> Response:
    """Return an answer that is the same for this version of the service, or 304."""
    tag = tag_of(content)
    if is_known(request, tag):
        return Response(status_code=304, headers=headers_of(tag))
    return Response(content, headers={**headers_of(tag), "Content-Type": media_type})
