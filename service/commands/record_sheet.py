"""Turn a filled workbook or CSV into the record of a stability test. Layer: service.commands."""

import argparse
import json
import sys
from pathlib import Path

from service.commands.sheet_record import record_of
from service.commands.sheet_tables import SheetError, read_tables

NAME = "record"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's options."""
    parser.add_argument(
        "sheet", type=Path, help="a workbook (.xlsx) or a CSV file; docs/spreadsheets.md says how filled"
    )


def run(arguments: argparse.Namespace) -> int:
    """Print the record, or each fault with its sheet and cell."""
    try:
        record = record_of(read_tables(arguments.sheet))
    except FileNotFoundError:
        print("there is no such file", file=sys.stderr)
        return 1
    except SheetError as error:
        print(error, file=sys.stderr)
        return 1
    print(json.dumps(record, indent=1, ensure_ascii=False))
    return 0
