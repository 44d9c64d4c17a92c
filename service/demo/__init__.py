"""The invented demonstration test, and the library served where the operator mounts none. Layer: service.demo."""

from importlib.resources import as_file, files
from pathlib import Path


def example_library() -> Path:
    """Return the folder of the example library."""
    with as_file(files("service.demo").joinpath("library")) as folder:
        return folder
