"""Small cases for the tests, written to files."""

import copy
import json
from pathlib import Path
from typing import Any

from service.resources.archived_cases import EXAMPLE


def small_case(name: str, *, value: Any = 48.0, pointer: str = "/free_surface_moment_tm", **changes: Any) -> Any:
    """Return a case of a box tank; 48 t·m is ρ l b³ / 12, closed form."""
    case = copy.deepcopy(EXAMPLE) | {"name": name}
    case["expected"][0] |= {"value": value, "pointer": pointer}  # type: ignore[index]
    return case | changes


def write(folder: Path, name: str, case: Any) -> Path:
    """Write one case, or whatever it is, as JSON."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"{name}.json"
    path.write_text(case if isinstance(case, str) else json.dumps(case), encoding="utf-8")
    return path


def mixed(folder: Path) -> None:
    """Write five files: same twice, deviating, not comparable, unreadable."""
    write(folder, "a_same", small_case("a same"))
    write(folder / "below", "b_same", small_case("b same"))
    write(folder / "below", "c_deviates", small_case("c deviates", value=48.5))
    write(folder, "d_renamed", small_case("d renamed", pointer="/free_surface_tm"))
    write(folder, "e_unreadable", small_case("e") | {"tolerance": 1})
