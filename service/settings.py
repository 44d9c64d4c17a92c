"""What the operator may set, from environment variables. Layer: service.settings."""

from pathlib import Path
from typing import Literal

from pydantic import Field, SecretStr
from pydantic_settings import BaseSettings, SettingsConfigDict


class Settings(BaseSettings):
    """Limits, folders, key. Each is read from ``STS_<NAME>``, but for the two folders, which keep their plain names."""

    model_config = SettingsConfigDict(env_prefix="STS_", frozen=True, extra="ignore", populate_by_name=True)

    body_limit_bytes: int = Field(default=64 * 1024 * 1024, ge=1024, description="Largest request body, decoded.")
    bodies_limit_bytes: int = Field(
        default=256 * 1024 * 1024, ge=1024, description="All bodies held by one process at once; more get 503."
    )
    body_s: float = Field(default=60.0, gt=0, description="From a request's headers to the end of its body; then 408.")
    threads: int = Field(default=2, ge=1, le=256, description="Computations at once in one process.")
    queue_limit: int = Field(default=32, ge=0, description="Requests that may wait for a thread; more get 503.")
    work_limit_s: float = Field(default=30.0, gt=0, description="Processor time of one computation; more gets 422.")
    deadline_s: float = Field(default=60.0, gt=0, description="From a body's arrival to its answer; later gets 503.")
    ready_s: float = Field(
        default=5.0, gt=0, description="Within which a worker must answer for the service to be ready."
    )
    graceful_s: int = Field(default=70, ge=0, description="How long a server that is told to stop finishes its work.")
    hull_cache_bytes: int = Field(
        default=128 * 1024 * 1024, ge=0, description="Memory for hulls that a process keeps read, by their digest."
    )
    api_key: SecretStr | None = Field(
        default=None, min_length=16, description="Asked of every request below /v1; without it none is asked."
    )
    log_level: Literal["debug", "info", "warning", "error"] = Field(
        default="info", description="Least level that is logged; a request is logged at info."
    )
    hull_library: Path | None = Field(
        default=None,
        validation_alias="HULL_LIBRARY",
        description="Folder of hulls that requests may name; without it an example.",
    )
    rule_sets: Path | None = Field(
        default=None, validation_alias="RULE_SETS", description="Folder of further rule sets."
    )
