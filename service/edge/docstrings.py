"""What stands below the fields of a class, read from its source when a schema is asked for. Layer: service.edge.

The validation library can read them while it makes each class, which was a third of what it took to import the service.
"""

import ast
import inspect
import sys
from collections.abc import Iterator
from functools import cache


def words_below(cls: type, field: str) -> str | None:
    """Return the text below a field, in the class that declares the field; None where there is none."""
    declares = next((one for one in cls.__mro__ if field in inspect.get_annotations(one)), cls)
    return _of_module(declares.__module__).get(declares.__qualname__, {}).get(field)


@cache
def _of_module(name: str) -> dict[str, dict[str, str]]:
    """Return the texts of a module's classes: qualified name of the class → field → text."""
    try:
        source = inspect.getsource(sys.modules[name])
    except (OSError, TypeError, KeyError):  # a class made where there is no file
        return {}
    return dict(_of_classes(ast.parse(source), ""))


def _of_classes(node: ast.AST, prefix: str) -> Iterator[tuple[str, dict[str, str]]]:
    for below in ast.iter_child_nodes(node):
        if isinstance(below, ast.ClassDef):
            yield prefix + below.name, dict(_of_fields(below))
            yield from _of_classes(below, f"{prefix}{below.name}.")
        elif isinstance(below, (ast.FunctionDef, ast.AsyncFunctionDef)):
            yield from _of_classes(below, f"{prefix}{below.name}.<locals>.")
        else:
            yield from _of_classes(below, prefix)


def _of_fields(made: ast.ClassDef) -> Iterator[tuple[str, str]]:
    for field, after in zip(made.body, made.body[1:], strict=False):
        if (
            isinstance(field, ast.AnnAssign)
            and isinstance(field.target, ast.Name)
            and isinstance(after, ast.Expr)
            and isinstance(after.value, ast.Constant)
            and isinstance(after.value.value, str)
        ):
            yield field.target.id, inspect.cleandoc(after.value.value)
