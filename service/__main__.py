"""``python -m service``: the commands. Layer: service.__main__."""

import argparse
import sys
from collections.abc import Sequence
from importlib import import_module

COMMANDS = ("serve", "demo", "record_sheet", "verify", "archive", "openapi", "problems")
"""Modules of ``service.commands``, each with ``NAME``, a docstring, ``add_arguments(parser)`` and
``run(arguments) -> exit status``."""


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command named in ``argv``; return the exit status."""
    given = list(sys.argv[1:] if argv is None else argv)
    parser = argparse.ArgumentParser(prog="python -m service", description="Ship stability tests computed over HTTP.")
    commands = parser.add_subparsers(dest="command", required=True)
    for module in given[:1] if given and given[0] in COMMANDS else COMMANDS:  # to import the others takes time
        command = import_module(f"service.commands.{module}")
        words = (command.__doc__ or "").split(". Layer")[0]
        one = commands.add_parser(command.NAME, help=words, description=words)
        command.add_arguments(one)
        one.set_defaults(run=command.run)
    arguments = parser.parse_args(given)
    status: int = arguments.run(arguments)
    return status


if __name__ == "__main__":
    sys.exit(main())
