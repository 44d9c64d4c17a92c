"""What the operator may set, from environment variables. Layer: service.settings."""

from pathlib import Path

from pydantic import Field
from pydantic_settings import BaseSettings, SettingsConfigDict


class Settings(BaseSettings):
    """Limits and folders. Each is read from ``STS_<NAME>``, but for the two folders, which keep their plain names."""

    model_config = SettingsConfigDict(env_prefix="STS_", frozen=True, extra="ignore", populate_by_name=True)

    body_limit_bytes: int = Field(default=64 * 1024 * 1024, ge=1024, description="Largest request body, decoded.")
    threads: int = Field(default=2, ge=1, le=256, description="Computations at once in one process.")
    queue_limit: int = Field(default=32, ge=0, description="Computations that may wait for a thread; more get 503.")
    work_limit_s: float = Field(default=30.0, gt=0, description="Processor time of one computation; more gets 422.")
    deadline_s: float = Field(default=60.0, gt=0, description="From a body's arrival to its answer; later gets 503.")
    graceful_s: int = Field(default=70, ge=0, description="How long a server that is told to stop finishes its work.")
    hull_library: Path | None = Field(
        default=None, validation_alias="HULL_LIBRARY", description="Folder of hulls that requests may name."
    )
    rule_sets: Path | None = Field(
        default=None, validation_alias="RULE_SETS", description="Folder of further rule sets."
    )
