"""GET /v1/version. Layer: service.resources."""

import platform
from functools import lru_cache
from importlib.metadata import version as installed

from fastapi import APIRouter, Request

import engine
import service
from service.edge.media import refuse_unknown_query
from service.edge.model import Model

router = APIRouter(tags=["operations"])

LIBRARIES = ("fastapi", "numpy", "pydantic", "scipy", "shapely", "starlette", "trimesh", "uvicorn")


class Version(Model):
    """What is running."""

    service_version: str
    """Version of the HTTP face."""
    engine_version: str
    """Version of the numbers."""
    api_version: str
    """Version in the path."""
    python_version: str
    """Version of the interpreter."""
    libraries: dict[str, str]
    """Version of each library the numbers or the face depend on."""


@router.get("/v1/version", operation_id="get_version", summary="Versions of service, engine and libraries")
async def version(request: Request) -> Version:
    """Return the versions."""
    refuse_unknown_query(request, ())
    return Version(
        service_version=service.__version__,
        engine_version=engine.__version__,
        api_version="v1",
        python_version=platform.python_version(),
        libraries=_libraries(),
    )


@lru_cache(maxsize=1)
def _libraries() -> dict[str, str]:
    return {name: installed(name) for name in LIBRARIES}
