"""The optional key that every request below /v1 needs. Layer: service.edge."""

import hashlib
import hmac
from dataclasses import dataclass

from pydantic import SecretStr
from starlette._utils import get_route_path
from starlette.requests import Request
from starlette.types import ASGIApp, Receive, Scope, Send

from service.edge.problems import ProblemError, instance_of, respond

HEADER = "X-API-Key"
PARAMETER = "key"
"""Query parameter of the cells, as a spreadsheet's formula cannot send a header."""
GUARDED = "/v1/"
CELLS = "/v1/cells/"
"""Below this the endpoints ask for the key themselves, as they tell their errors in a way of their own."""


@dataclass(frozen=True)
class AccessKey:
    """Refuses what is asked without the key."""

    app: ASGIApp
    key: SecretStr

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request, or refuse it."""
        if scope["type"] == "http":
            path = get_route_path(scope)
            request = Request(scope)
            if path.startswith(GUARDED) and not path.startswith(CELLS):
                try:
                    require(self.key, request.headers.get(HEADER))
                except ProblemError as problem:
                    await respond(problem, instance=instance_of(request))(scope, receive, send)
                    return
        await self.app(scope, receive, send)


def require(key: SecretStr | None, given: str | None) -> None:
    """Raise unless ``given`` is the key, or none is set; the time taken does not tell how much of it was right."""
    if key is None:
        return
    wanted = hashlib.sha256(key.get_secret_value().encode()).digest()
    if not hmac.compare_digest(wanted, hashlib.sha256((given or "").encode()).digest()):
        raise ProblemError("api-key", headers={"WWW-Authenticate": 'ApiKey realm="v1"'})
