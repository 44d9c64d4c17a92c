"""The short way to a route leads where the long one does."""

from typing import Any

import pytest
from starlette.routing import Match

from service.app import ROUTERS, create_app
from service.edge.by_path import ByPath
from service.settings import Settings


def scope(method: str, path: str) -> dict[str, Any]:
    return {"type": "http", "method": method, "path": path, "root_path": "", "headers": []}


ROUTES = [route for router in ROUTERS for route in router.routes]
NOWHERE = ("/nowhere", "/problems/busy", "/v1/version/")
PATHS = [*sorted({getattr(route, "path", "") for route in ROUTES}), *NOWHERE]


@pytest.mark.parametrize("method", ["GET", "POST", "PUT"])
def test_same_route_as_one_after_the_other(method: str) -> None:
    short = ByPath(ROUTES)
    found = 0
    for path in PATHS:
        tried = [(route, *route.matches(scope(method, path))) for route in ROUTES]
        whole = [(match, child) for _, match, child in tried if match is Match.FULL]
        match, child = short.matches(scope(method, path))
        if "{" in path or path in NOWHERE:
            assert match is Match.NONE
        elif whole:
            assert (match, child["route"]) == (Match.FULL, whole[0][1]["route"])
            found += 1
        else:
            assert match is Match.PARTIAL
    assert (found > 0) == (method != "PUT")


def test_only_requests_have_a_route() -> None:
    assert ByPath(ROUTES).matches({"type": "websocket", "path": "/v1/version"}) == (Match.NONE, {})


def test_it_stands_before_the_others() -> None:
    assert isinstance(create_app(Settings()).router.routes[0], ByPath)
