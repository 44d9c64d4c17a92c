"""GET /v1/record-schema and /v1/record-example. Layer: service.resources."""

import json
from functools import lru_cache
from typing import Any

from fastapi import APIRouter, Request, Response

from service.demo import demo_record
from service.edge.etag import cached
from service.edge.media import refuse_unknown_query
from service.edge.openapi import problem_answer
from service.schemas.record import StabilityTest

router = APIRouter(tags=["stability tests"])

REFUSED: dict[int | str, dict[str, Any]] = {
    304: {"description": "As the client has it."},
    422: problem_answer("An unknown query parameter."),
}
OBJECT: dict[str, Any] = {"schema": {"type": "object", "additionalProperties": True}}
SCHEMA_TYPE = "application/schema+json"


@lru_cache(maxsize=1)
def schema_text() -> bytes:
    """Return the JSON Schema (2020-12) of a record, complete in itself."""
    schema = StabilityTest.model_json_schema()
    head = {"$schema": "https://json-schema.org/draft/2020-12/schema", "$id": "/v1/record-schema"}
    return json.dumps({**head, **schema}, indent=1).encode()


@lru_cache(maxsize=1)
def example_text() -> bytes:
    """Return the record of the invented demonstration test."""
    return json.dumps(demo_record(), indent=1).encode()


@router.get(
    "/v1/record-schema",
    operation_id="get_record_schema",
    summary="The record of a stability test as JSON Schema",
    response_class=Response,
    responses={200: {"content": {SCHEMA_TYPE: OBJECT}}, **REFUSED},
)
async def record_schema(request: Request) -> Response:
    """Return the schema that `POST /v1/stability-tests` checks its body by."""
    refuse_unknown_query(request, ())
    return cached(request, schema_text(), SCHEMA_TYPE)


@router.get(
    "/v1/record-example",
    operation_id="get_record_example",
    summary="A filled record",
    response_class=Response,
    responses={200: {"content": {"application/json": OBJECT}}, **REFUSED},
)
async def record_example(request: Request) -> Response:
    """Return the record of an invented vessel, ready to be sent to `POST /v1/stability-tests`."""
    refuse_unknown_query(request, ())
    return cached(request, example_text(), "application/json")
