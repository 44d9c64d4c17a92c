"""What an answer was made by and from. Layer: service.edge."""

from typing import Annotated

from pydantic import Field

import engine
import service
from service.edge.model import Model


class Provenance(Model):
    """Versions and the body's digest: the same ones give the same digits."""

    service_version: str = service.__version__
    """Version of the HTTP face."""
    engine_version: str = engine.__version__
    """Version of the numbers."""
    rule_sets: tuple[str, ...] = ()
    """Rule sets applied, name and edition."""
    request_sha256: Annotated[str, Field(pattern="^[0-9a-f]{64}$")] = "0" * 64
    """SHA-256 of the decoded body; the service fills it in."""
    hull_sha256: Annotated[str, Field(pattern="^[0-9a-f]{64}$")] | None = None
    """Digest of the hull, by which a later request may refer to it (kind `held`)."""
