"""The invented demonstration test, and the library served where the operator mounts none. Layer: service.demo."""

import json
from importlib.resources import as_file, files
from pathlib import Path
from typing import Any


def demo_record() -> dict[str, Any]:
    """Return the record of the invented demonstration test, the caller's own."""
    record: dict[str, Any] = json.loads(files("service.demo").joinpath("record.json").read_text(encoding="utf-8"))
    return record


def example_library() -> Path:
    """Return the folder of the example library."""
    with as_file(files("service.demo").joinpath("library")) as folder:
        return folder
