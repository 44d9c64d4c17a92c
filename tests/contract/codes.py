"""Finds every code the source can send: texts passed as, or put into, something named ``code``."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[2]
KEBAB = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*")


def all_codes() -> dict[str, str]:
    """Return code → file and line of one place that sends it."""
    found: dict[str, str] = {}
    for package in ("engine", "service"):
        for path in sorted((ROOT / package).rglob("*.py")):
            tree = ast.parse(path.read_text(encoding="utf-8"))
            for code, line in _codes(tree):
                found.setdefault(code, f"{path.relative_to(ROOT)}:{line}")
    return found


def _codes(tree: ast.Module) -> Iterator[tuple[str, int]]:
    place_of_code = {"ProblemError": 0, "Finding": 0, "Fault": 1, "fault": 0}
    for node in ast.walk(tree):
        if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef)):
            names = [argument.arg for argument in node.args.args]
            if "code" in names and node.name != "__init__":
                place_of_code[node.name] = names.index("code")
    for node in ast.walk(tree):
        if isinstance(node, ast.Assign) and any(getattr(target, "id", "") == "code" for target in node.targets):
            yield from ((constant, node.lineno) for constant in _choices(node.value) if KEBAB.fullmatch(constant))
        if not isinstance(node, ast.Call):
            continue
        called = getattr(node.func, "id", getattr(node.func, "attr", ""))
        given = [keyword.value for keyword in node.keywords if keyword.arg == "code"]
        place = place_of_code.get(called)
        if place is not None and place < len(node.args):
            given.append(node.args[place])
        for value in given:
            for constant in _choices(value):
                if KEBAB.fullmatch(constant):
                    yield constant, node.lineno


def _choices(value: ast.expr) -> Iterator[str]:
    if isinstance(value, ast.Constant) and isinstance(value.value, str):
        yield value.value
    elif isinstance(value, ast.IfExp):
        yield from _choices(value.body)
        yield from _choices(value.orelse)
    elif isinstance(value, ast.BoolOp):
        for one in value.values:
            yield from _choices(one)
