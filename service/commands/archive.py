"""Make an archived case from a record: its answer of today, kept with tolerances. Layer: service.commands."""

import argparse
import json
import sys
from pathlib import Path
from typing import Any

from service.cases.anonymise import anonymised
from service.cases.case import ArchivedCase, read_case, text_of
from service.cases.make import NotTheSameError, check_same_numbers, make_case
from service.commands.here import answered_here, served
from service.edge.problems import ProblemError

NAME = "archive"
PATH = "/v1/stability-tests"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's options."""
    parser.epilog = "A record that is refused becomes a case that expects this refusal. --anonymise cannot see names "
    parser.epilog += "inside a mesh file (data_base64): look there yourself."
    parser.add_argument("record", type=Path, metavar="RECORD", help="a request body as JSON")
    parser.add_argument("--path", default=PATH, help=f"where the body goes by POST ({PATH})")
    parser.add_argument("--output", type=Path, metavar="FILE", help="file to write; without it the case is printed")
    parser.add_argument("--name", help="name of the case; without it the name of the output or record file")
    parser.add_argument("--anonymise", action="store_true", help="replace names and ids by labels, and drop prose")


def run(arguments: argparse.Namespace) -> int:
    """Compute and write; return 2 if the record cannot be read or the case cannot be written."""
    try:
        body = _object(arguments.record)
        case = _case(arguments, body)
    except OSError as error:
        return _failed(f"{arguments.record}: {error.strerror}")
    except NotTheSameError as error:
        return _failed(f"{arguments.record}: {error}")
    except ValueError:
        return _failed(f"{arguments.record}: not a JSON object")
    except ProblemError as problem:
        told = "".join(f"\n  {fault.pointer} {fault.code}: {fault.detail}" for fault in problem.faults)
        return _failed(f"{arguments.record}: this makes no case: {problem.code} {problem.detail}{told}")
    text = text_of(case)
    if arguments.output is None:
        print(text, end="")
        return 0
    try:
        arguments.output.write_text(text, encoding="utf-8")
    except OSError as error:
        return _failed(f"{arguments.output}: {error.strerror}")
    refused = f", refused with {case.problem.status} {case.problem.code}" if case.problem else ""
    print(f"wrote {arguments.output}: {len(case.expected)} values{refused}", file=sys.stderr)
    return 0


def _case(arguments: argparse.Namespace, body: dict[str, Any]) -> ArchivedCase:
    """Return the case, read back from its own text."""
    operations = served()
    if arguments.path not in operations:
        raise ProblemError("not-found", "nothing is computed at this path")
    ask = answered_here()
    named = arguments.output or arguments.record
    if arguments.anonymise:
        plain, body = body, anonymised(body, operations[arguments.path].request)
        check_same_numbers(ask, arguments.path, plain, body)
        named = arguments.output or Path("anonymous test")
    case = make_case(ask, name=arguments.name or named.stem, path=arguments.path, body=body)
    return read_case(text_of(case).encode())


def _object(path: Path) -> dict[str, Any]:
    """Return the JSON object in a file."""
    body = json.loads(path.read_bytes())
    if not isinstance(body, dict):
        raise ValueError("not an object")
    return body


def _failed(words: str) -> int:
    print(words, file=sys.stderr)
    return 2
