"""Write the pages of docs/problems from the table of problems. Layer: service.commands."""

import argparse
from pathlib import Path

from service.edge.problem_texts import markdown, texts

NAME = "problems"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's options."""
    parser.add_argument("--path", type=Path, default=Path("docs/problems"), help="folder to write (docs/problems)")


def run(arguments: argparse.Namespace) -> int:
    """Write a page for every code; remove pages of codes that are gone."""
    folder: Path = arguments.path
    folder.mkdir(parents=True, exist_ok=True)
    for page in folder.glob("*.md"):
        if page.stem not in texts():
            page.unlink()
    for code in texts():
        (folder / f"{code}.md").write_text(markdown(code), encoding="utf-8")
    return 0
