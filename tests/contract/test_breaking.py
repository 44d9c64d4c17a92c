"""The check for breaks finds each kind of break, and nothing else."""

import copy
import json
from pathlib import Path
from typing import Any

import pytest

from tests.contract.breaking import Comparison

RELEASED = Path(__file__).parents[2] / "openapi" / "released" / "v1.json"
CURRENT = Path(__file__).parents[2] / "openapi" / "openapi.json"

SMALL: dict[str, Any] = {
    "paths": {
        "/a": {
            "post": {
                "operationId": "compute_a",
                "parameters": [
                    {"name": "format", "in": "query", "schema": {"type": "string", "enum": ["json", "csv"]}}
                ],
                "requestBody": {"content": {"application/json": {"schema": {"$ref": "#/components/schemas/Ask"}}}},
                "responses": {
                    "200": {"content": {"application/json": {"schema": {"$ref": "#/components/schemas/Got"}}}}
                },
                "security": [{}],
            }
        }
    },
    "components": {
        "schemas": {
            "Ask": {
                "type": "object",
                "required": ["a_m"],
                "properties": {
                    "a_m": {"type": "number", "minimum": 0, "x-unit": "m"},
                    "b": {"type": "array", "items": {"type": "integer"}, "maxItems": 9},
                    "c": {"anyOf": [{"type": "number"}, {"type": "string", "pattern": "^x$"}]},
                    "below": {"$ref": "#/components/schemas/Ask"},
                },
            },
            "Got": {
                "type": "object",
                "required": ["v_m"],
                "properties": {"v_m": {"type": "number"}, "w": {"type": "string", "enum": ["x"]}},
            },
        }
    },
}


def changed(*path: Any, to: Any = None) -> list[str]:
    """Return the breaks after one change; ``to=None`` removes."""
    new = copy.deepcopy(SMALL)
    node: Any = new
    for part in path[:-1]:
        node = node[part]
    if to is None:
        del node[path[-1]]
    else:
        node[path[-1]] = to
    return list(Comparison(SMALL, new).breaks())


POST = ("paths", "/a", "post")
ASK = ("components", "schemas", "Ask")
GOT = ("components", "schemas", "Got")


@pytest.mark.parametrize(
    ("path", "to", "said"),
    [
        (("paths", "/a"), None, "gone"),
        ((*POST, "operationId"), "other", "operationId"),
        ((*POST, "parameters"), [], "parameter format gone"),
        ((*POST, "parameters", 0, "required"), True, "newly required"),
        ((*POST, "parameters", 0, "schema", "enum"), ["json"], "no longer taken"),
        ((*POST, "security"), [{"apiKey": []}], "newly needed"),
        ((*POST, "responses", "200", "content"), {}, "200 as application/json gone"),
        ((*ASK, "required"), ["a_m", "b"], "b: newly required"),
        ((*ASK, "properties", "b"), None, "b: gone"),
        ((*ASK, "properties", "a_m", "minimum"), 1, "drawn closer"),
        ((*ASK, "properties", "a_m", "exclusiveMaximum"), 5, "drawn closer"),
        ((*ASK, "properties", "a_m", "x-unit"), "mm", "unit changed"),
        ((*ASK, "properties", "a_m", "type"), "string", "type changed"),
        ((*ASK, "properties", "b", "maxItems"), 8, "drawn closer"),
        ((*ASK, "properties", "b", "items", "type"), "string", "type changed"),
        ((*ASK, "properties", "c", "anyOf"), [{"type": "number"}], "string no longer taken"),
        ((*ASK, "properties", "c", "anyOf", 1, "pattern"), "^y$", "pattern changed"),
        ((*GOT, "required"), [], "v_m: no longer always there"),
        ((*GOT, "properties", "v_m"), None, "v_m: gone"),
        ((*GOT, "properties", "v_m", "type"), "string", "type changed"),
        ((*GOT, "properties", "w", "enum"), ["x", "y"], "newly given"),
    ],
)
def test_a_break(path: tuple[Any, ...], to: Any, said: str) -> None:
    found = changed(*path, to=to)
    assert len(found) == 1, found
    assert said in found[0]


@pytest.mark.parametrize(
    ("path", "to"),
    [
        (("paths", "/b"), {"get": {"operationId": "get_b", "responses": {}}}),
        ((*POST, "parameters", 0, "schema", "enum"), ["json", "csv", "xml"]),
        ((*ASK, "required"), []),
        ((*ASK, "properties", "new"), {"type": "string"}),
        ((*ASK, "properties", "a_m", "minimum"), -1),
        ((*ASK, "properties", "b", "items", "type"), "number"),
        ((*GOT, "required"), ["v_m", "w"]),
        ((*GOT, "properties", "new"), {"type": "string"}),
    ],
)
def test_no_break(path: tuple[Any, ...], to: Any) -> None:
    assert changed(*path, to=to) == []


def test_the_release_is_kept() -> None:
    old, new = (json.loads(path.read_text(encoding="utf-8")) for path in (RELEASED, CURRENT))
    assert list(Comparison(old, new).breaks()) == []
