"""Finds a route by its whole path, where the router would try one after the other. Layer: service.edge."""

from collections.abc import Iterable

from fastapi.routing import APIRoute
from starlette._utils import get_route_path
from starlette.routing import BaseRoute, Match
from starlette.types import Receive, Scope, Send


class ByPath(BaseRoute):
    """Stands before the routes it is made of, and answers for those whose path has no variable part."""

    def __init__(self, routes: Iterable[BaseRoute]) -> None:
        self._routes: dict[str, list[APIRoute]] = {}
        for route in routes:
            if isinstance(route, APIRoute) and not route.param_convertors:
                self._routes.setdefault(route.path, []).append(route)

    def matches(self, scope: Scope) -> tuple[Match, Scope]:
        """Return the match of the route that takes the path and the method, or else of one that takes the path."""
        best: tuple[Match, Scope] = Match.NONE, {}
        for route in self._routes.get(get_route_path(scope), ()) if scope["type"] == "http" else ():
            found = route.matches(scope)
            if found[0] is Match.FULL:
                return found
            best = found
        return best

    async def handle(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Have the route that matched answer."""
        await scope["route"].handle(scope, receive, send)
