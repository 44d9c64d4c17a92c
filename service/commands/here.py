"""Requests answered in this process, with the operator's settings. Layer: service.commands."""

from typing import Any

from service.app import ROUTERS
from service.cases.replay import Ask, in_process
from service.edge.memory import keep_freed_memory
from service.edge.openapi import operations
from service.edge.operation import Operation
from service.edge.shelf import Shelf
from service.schemas.hull import hull_from_json
from service.settings import Settings


def served() -> dict[str, Operation[Any, Any]]:
    """Return every computation by its path."""
    return {one.path: one for one in operations(route for router in ROUTERS for route in router.routes)}


def answered_here(*, crash_is_answer: bool = False) -> Ask:
    """Return who answers as a service with these settings would; its library of hulls is the same."""
    keep_freed_memory()
    settings = Settings()
    shelf = Shelf(limit_bytes=settings.hull_cache_bytes, library=settings.hull_library, read_hull=hull_from_json)
    return in_process(served().values(), shelf=shelf, crash_is_answer=crash_is_answer)
