"""``python -m service``: the commands. Layer: service.__main__."""

import argparse
import sys
from collections.abc import Sequence

from service.commands import archive, demo, openapi, problems, record_sheet, serve, verify

COMMANDS = (serve, demo, record_sheet, verify, archive, openapi, problems)
"""Each has ``NAME``, a docstring, ``add_arguments(parser)`` and ``run(arguments) -> exit status``."""


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command named in ``argv``; return the exit status."""
    parser = argparse.ArgumentParser(prog="python -m service", description="Ship stability tests computed over HTTP.")
    commands = parser.add_subparsers(dest="command", required=True)
    for command in COMMANDS:
        words = (command.__doc__ or "").split(". Layer")[0]
        one = commands.add_parser(command.NAME, help=words, description=words)
        command.add_arguments(one)
        one.set_defaults(run=command.run)
    arguments = parser.parse_args(argv)
    status: int = arguments.run(arguments)
    return status


if __name__ == "__main__":
    sys.exit(main())
