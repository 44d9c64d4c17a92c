"""Write the interface as OpenAPI, or check the written one. Layer: service.commands."""

import argparse
import json
import sys
from pathlib import Path

from service.app import create_app
from service.settings import Settings

NAME = "openapi"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's options."""
    parser.add_argument("--path", type=Path, default=Path("openapi/openapi.json"), help="file to write or check")
    parser.add_argument("--check", action="store_true", help="write nothing; fail if the file is not up to date")


def run(arguments: argparse.Namespace) -> int:
    """Write or check the file."""
    path: Path = arguments.path
    wanted = text()
    if not arguments.check:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(wanted, encoding="utf-8")
        return 0
    if path.is_file() and path.read_text(encoding="utf-8") == wanted:
        return 0
    print(f"{path} is not what the code serves: run `python -m service openapi`", file=sys.stderr)
    return 1


def text() -> str:
    """Return the document as it is committed: the same code gives the same bytes."""
    return json.dumps(create_app(Settings()).openapi(), indent=1, ensure_ascii=False) + "\n"
