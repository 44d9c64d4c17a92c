"""Puts the service together; nothing happens until ``create_app`` is called. Layer: service.app."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from itertools import chain
from typing import Any

from fastapi import APIRouter, FastAPI
from fastapi_offline import FastAPIOffline
from starlette.exceptions import HTTPException

import service
from service.cells import routes as cells
from service.demo import example_library
from service.edge import openapi
from service.edge.access import AccessKey
from service.edge.by_path import ByPath
from service.edge.context import RequestContext, http_handler, problem_handler
from service.edge.memory import keep_freed_memory
from service.edge.problems import ProblemError
from service.edge.rule_folder import read_rule_sets
from service.edge.shelf import Shelf
from service.edge.telemetry import Metrics
from service.edge.workers import Workers
from service.resources import (
    archived_cases,
    comparison,
    cross_curves,
    deadweight,
    flotation,
    health,
    hulls,
    hydrostatics,
    incline,
    landing,
    library,
    lightship,
    metrics,
    plan,
    problems,
    procedure,
    readiness,
    record_schema,
    requirement,
    righting_arms,
    rule_sets,
    schedule,
    stability_tests,
    survey_only,
    swing,
    tanks,
    vcg_limits,
    version,
    waterline,
)
from service.schemas.hull import hull_from_json
from service.settings import Settings

ROUTERS: tuple[APIRouter, ...] = (
    landing.router,
    health.router,
    metrics.router,
    version.router,
    problems.router,
    hydrostatics.router,
    flotation.router,
    righting_arms.router,
    cross_curves.router,
    hulls.router,
    library.router,
    tanks.router,
    vcg_limits.router,
    rule_sets.router,
    stability_tests.router,
    deadweight.router,
    waterline.router,
    incline.router,
    swing.router,
    lightship.router,
    survey_only.router,
    comparison.router,
    requirement.router,
    schedule.router,
    readiness.router,
    procedure.router,
    plan.router,
    record_schema.router,
    *cells.ROUTERS,
)
ROUTERS += (archived_cases.router_of(openapi.operations(chain.from_iterable(one.routes for one in ROUTERS))),)

DESCRIPTION = """\
Every POST is a pure computation: the body holds everything, nothing is kept, so any request may be sent again.
Physical names end in their unit. x forward from the aft perpendicular, y to port, z up from the moulded base line;
heel and heeling moment positive to starboard, trim by the stern. Errors are RFC 9457 problem documents; each code is
explained at `/problems/{code}`.

Results are preliminary until reviewed by a licensed naval architect and accepted by the authority; local codes
prevail."""


def create_app(
    settings: Settings | None = None, *, routers: tuple[APIRouter, ...] = ROUTERS, figures: Metrics | None = None
) -> FastAPI:
    """Return a new, independent service; it goes on counting in the figures given."""
    chosen = settings or Settings()

    @asynccontextmanager
    async def lifespan(app: FastAPI) -> AsyncIterator[None]:
        keep_freed_memory()
        app.state.workers = Workers(
            threads=chosen.threads,
            queue_limit=chosen.queue_limit,
            work_limit_s=chosen.work_limit_s,
            deadline_s=chosen.deadline_s,
            bodies_limit_bytes=chosen.bodies_limit_bytes,
        )
        try:
            yield
        finally:
            app.state.workers.close()
            app.state.metrics.close()

    app: FastAPI = FastAPIOffline(
        title="Stability Test Service",
        summary="Ship hydrostatics and stability tests, computed.",
        description=DESCRIPTION,
        version=service.__version__,
        lifespan=lifespan,
        redoc_url=None,
        redirect_slashes=False,
        telemetry={"tracing": False, "metrics": False, "logs": False},  # a trace holds the query, and so a cell's key
    )
    app.state.settings = chosen
    app.state.rule_sets = read_rule_sets(chosen.rule_sets)
    app.state.metrics = figures or Metrics()
    app.state.shelf = Shelf(
        limit_bytes=chosen.hull_cache_bytes, library=chosen.hull_library or example_library(), read_hull=hull_from_json
    )
    app.add_exception_handler(ProblemError, problem_handler)
    app.add_exception_handler(HTTPException, http_handler)
    for router in routers:  # as they are: including a router anew costs every request a look at every router
        app.router.routes.extend(router.routes)
    app.router.routes.insert(0, ByPath(app.router.routes))
    if chosen.api_key is not None:
        app.add_middleware(AccessKey, key=chosen.api_key)
    app.add_middleware(RequestContext, routes=lambda: app.router.routes, metrics=app.state.metrics)
    served = openapi.operations(chain.from_iterable(router.routes for router in routers))
    _describe(app, served)
    return app


def _describe(app: FastAPI, served: list[Any]) -> None:
    """Have the app make its OpenAPI document once, when first asked."""

    def document() -> dict[str, Any]:
        if app.openapi_schema is None:
            app.openapi_schema = openapi.document(app, served)
        return app.openapi_schema

    app.openapi = document  # type: ignore[method-assign]
