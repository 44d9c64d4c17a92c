"""A running service as the one who answers. Layer: service.cases."""

import json
import time
import urllib.error
import urllib.request
from urllib.parse import urlsplit

from service.cases.replay import Answered, Ask
from service.edge.access import HEADER

TIMEOUT_S = 300.0
"""Longest wait for one answer."""
ATTEMPTS = 5
"""Times a case is sent at most to a service that says it is busy."""
LONGEST_PAUSE_S = 30.0


class NoAnswerError(Exception):
    """The service cannot be reached, or what came is no answer of it."""


def over_http(url: str, *, api_key: str | None = None) -> Ask:
    """Return who answers by POST to the service at ``url``.

    429 and 503 are what a busy service says: after the time it names in Retry-After the same body is sent again, a few
    times. Every POST of the service is a pure computation, so that does no harm.

    Raises
    ------
    NoAnswerError
        ``url`` is no address of a service.
    """
    parts = urlsplit(url)
    if parts.scheme not in ("http", "https") or not parts.hostname:
        raise NoAnswerError("the address of the service must be http://… or https://…")
    base = url.rstrip("/")

    def ask(path: str, body: bytes) -> Answered:
        headers = {"Content-Type": "application/json", "Accept": "application/json"}
        if api_key is not None:
            headers[HEADER] = api_key
        for attempt in range(ATTEMPTS):
            status, content, pause_s = _post(urllib.request.Request(base + path, body, headers, method="POST"))
            if status not in (429, 503) or attempt == ATTEMPTS - 1:
                break
            time.sleep(pause_s)
        try:
            return Answered(status, json.loads(content))
        except ValueError:
            raise NoAnswerError(f"HTTP status {status} with a content that is no JSON") from None

    return ask


def _post(request: urllib.request.Request) -> tuple[int, bytes, float]:
    """Return status, content, and how long to wait before another attempt. [s]"""
    try:
        with urllib.request.urlopen(request, timeout=TIMEOUT_S) as reply:
            return reply.status, reply.read(), 0.0
    except urllib.error.HTTPError as refused:
        asked = refused.headers.get("Retry-After", "")
        pause = min(float(asked), LONGEST_PAUSE_S) if asked.isascii() and asked.isdigit() else 1.0
        with refused:
            return refused.code, refused.read(), pause
    except (urllib.error.URLError, OSError) as error:
        raise NoAnswerError(f"no answer from the service: {getattr(error, 'reason', error)}") from error
