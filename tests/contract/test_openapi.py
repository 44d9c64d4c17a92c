"""The OpenAPI document: committed as served, and true."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from starlette.testclient import TestClient

from service.app import ROUTERS, create_app
from service.commands.openapi import text
from service.edge.openapi import operations
from service.edge.operation import Operation
from service.settings import Settings
from tests.service.edge import small

COMMITTED = Path(__file__).parents[2] / "openapi" / "openapi.json"


@pytest.fixture(scope="module")
def http() -> Iterator[TestClient]:
    with TestClient(create_app(Settings(), routers=(*ROUTERS, small.router))) as one:
        yield one


@pytest.fixture(scope="module")
def document(http: TestClient) -> dict[str, Any]:
    whole: dict[str, Any] = http.get("/openapi.json").json()
    return whole


def _validator(document: dict[str, Any], schema: dict[str, Any]) -> Draft202012Validator:
    return Draft202012Validator({**schema, "components": document["components"]})


SERVED = operations(route for router in (*ROUTERS, small.router) for route in router.routes)


def test_committed_is_what_is_served() -> None:
    assert COMMITTED.read_text(encoding="utf-8") == text(), "run: python -m service openapi"


def test_same_every_time() -> None:
    assert text() == text()


def test_schemas_are_schemas(document: dict[str, Any]) -> None:
    for schema in document["components"]["schemas"].values():
        Draft202012Validator.check_schema(schema)


def test_every_reference_leads_somewhere(document: dict[str, Any]) -> None:
    def references(node: object) -> Iterator[str]:
        if isinstance(node, dict):
            if isinstance(node.get("$ref"), str):
                yield node["$ref"]
            for below in node.values():
                yield from references(below)
        elif isinstance(node, list):
            for below in node:
                yield from references(below)

    found = set(references(document))
    assert found
    for reference in found:
        assert reference.removeprefix("#/components/schemas/") in document["components"]["schemas"], reference


VERBS = {"assess", "check", "compare", "compute", "decide", "find", "get", "inspect", "list", "plan", "replay", "run"}


def test_operation_ids_are_unique_and_begin_with_a_verb(document: dict[str, Any]) -> None:
    ids = [one["operationId"] for path in document["paths"].values() for one in path.values()]
    assert len(ids) == len(set(ids))
    assert {one.split("_")[0] for one in ids} <= VERBS


def test_every_refusal_is_a_problem_document(document: dict[str, Any]) -> None:
    for path in document["paths"].values():
        for operation in path.values():
            for status, answer in operation["responses"].items():
                if int(status) >= 400:
                    assert list(answer["content"]) == ["application/problem+json"]


@pytest.mark.parametrize("served", SERVED, ids=lambda one: one.operation_id)
def test_example_fits_its_schema_and_is_answered_as_said(
    served: Operation[Any, Any], http: TestClient, document: dict[str, Any]
) -> None:
    post = document["paths"][served.path]["post"]
    body = post["requestBody"]["content"]["application/json"]
    _validator(document, body["schema"]).validate(body["example"])
    answer = http.post(served.path, json=body["example"])
    assert answer.status_code == 200, answer.text
    _validator(document, post["responses"]["200"]["content"]["application/json"]["schema"]).validate(answer.json())
    for name, media_type in served.formats.items():
        other = http.post(served.path + f"?format={name}", json=body["example"])
        assert other.headers["content-type"].split(";")[0] == media_type
        assert media_type in post["responses"]["200"]["content"]


@pytest.mark.parametrize("served", SERVED, ids=lambda one: one.operation_id)
def test_refusals_are_as_said(served: Operation[Any, Any], http: TestClient, document: dict[str, Any]) -> None:
    problem = _validator(document, {"$ref": "#/components/schemas/Problem"})
    json_type = {"Content-Type": "application/json"}
    for status, sent in {
        400: {"content": b"{", "headers": json_type},
        406: {"content": b"{}", "headers": {**json_type, "Accept": "image/png"}},
        413: {"content": b" ", "headers": {**json_type, "Content-Length": "99999999999"}},
        415: {"content": b"{}"},
        422: {"content": b'{"QQZQ": 1}', "headers": json_type},
    }.items():
        answer = http.post(served.path, **sent)  # type: ignore[arg-type]
        assert answer.status_code == status, answer.text
        problem.validate(answer.json())
        assert str(status) in document["paths"][served.path]["post"]["responses"]


def test_committed_is_json_without_other_hosts() -> None:
    committed = COMMITTED.read_text(encoding="utf-8")
    assert json.loads(committed)["openapi"].startswith("3.1")
    assert "://" not in committed
