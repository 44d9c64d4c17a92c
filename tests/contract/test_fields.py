"""Every number of the interface says its unit in its name and in ``x-unit``."""

import re
from collections.abc import Iterator
from typing import Any

import pytest

from engine.quantities import SUFFIX_UNITS, unit_of
from service.app import create_app
from service.settings import Settings

BARE = {
    "status": "HTTP status",
    "value": "of a check, a budget row or a measured value, beside its unit",
    "limit": "of a check, beside its unit",
    "upper_limit": "of a check, beside its unit",
    "margin": "of a check, beside its unit",
    "expanded_uncertainty": "of a result named in its row, beside its unit",
    "standard_uncertainty": "of a measured value, in the unit of its field",
    "faces": "numbers of vertices",
    "knuckles": "numbers of points",
    "row": "number of a row",
    "rows": "numbers of rows",
    "index": "number of an entry",
    "other_index": "number of an entry",
    "move": "number of a move",
    "extremes": "in the unit of the instrument that swings",
    "series": "in the unit of the instrument that swings",
    "line": "number of a line",
    "readings": "numbers of readings",
    "moves": "numbers of moves",
    "heights": "numbers of freeboards and marks",
    "items": "numbers of entries",
    "seed": "of a generator of random numbers",
    "difference": "of a deviation, in the unit of its value",
    "tolerance": "of a deviation, in the unit of its value",
    "absolute": "tolerance of an expected value, in the unit of that value",
    "relative": "tolerance of an expected value, as a share of it",
    "coverage_factor": "number of standard uncertainties",
}
"""Names of numbers without a unit, and why they have none."""


def _is_number(schema: dict[str, Any]) -> bool:
    if schema.get("type") in ("number", "integer"):
        return True
    below = [*schema.get("anyOf", ()), *schema.get("prefixItems", ())]
    if isinstance(schema.get("items"), dict):
        below.append(schema["items"])
    return any(_is_number(one) for one in below)


def _fields(node: object, place: str) -> Iterator[tuple[str, str, dict[str, Any]]]:
    if isinstance(node, dict):
        properties = node.get("properties", {})
        for name, schema in properties.items():
            yield place, name, schema
        for key, below in node.items():
            yield from _fields(below, f"{place}/{key}")
    elif isinstance(node, list):
        for below in node:
            yield from _fields(below, place)


FIELDS = list(_fields(create_app(Settings()).openapi()["components"]["schemas"], ""))


def test_there_are_fields() -> None:
    assert any(_is_number(schema) for _, _, schema in FIELDS)


@pytest.mark.parametrize(("place", "name", "schema"), FIELDS, ids=lambda one: one if isinstance(one, str) else "")
def test_number_tells_its_unit(place: str, name: str, schema: dict[str, Any]) -> None:
    if not _is_number(schema) or name in BARE:
        return
    unit = unit_of(name)
    assert unit is not None, f"{place}: {name} ends in no unit of engine.quantities"
    if unit != "1":
        assert schema.get("x-unit") == unit, f"{place}: {name}"


@pytest.mark.parametrize(("place", "name", "schema"), FIELDS, ids=lambda one: one if isinstance(one, str) else "")
def test_names_are_plain(place: str, name: str, schema: dict[str, Any]) -> None:
    """Lower snake case, no underscore before a digit alone: both ``area_m_2`` and ``area_m2`` would be ``areaM2``."""
    assert re.fullmatch("[a-z][a-z0-9]*(_[a-z][a-z0-9]*)*", name), f"{place}: {name}"
    assert "_t_m" not in name, f"{place}: write _tm"


def test_longer_endings_come_first() -> None:
    endings = list(SUFFIX_UNITS)
    for i, ending in enumerate(endings):
        assert not any(ending.endswith(earlier) for earlier in endings[:i]), ending
