"""Makes the OpenAPI document say what the operations really do. Layer: service.edge."""

import json
from collections.abc import Iterable, Mapping
from typing import Any

from fastapi import FastAPI
from fastapi.openapi.utils import get_openapi
from pydantic.json_schema import models_json_schema
from starlette.routing import BaseRoute

from service.edge import media
from service.edge.access import CELLS, GUARDED, HEADER, PARAMETER
from service.edge.operation import Operation
from service.edge.problems import MEDIA_TYPE, Problem

REF = "#/components/schemas/{model}"

REFUSALS: Mapping[str, str] = {
    "400": "The body is not JSON, or gives a name twice.",
    "401": "The service asks a key, and the request gave none or another one.",
    "406": "The answer cannot be had in the format asked for.",
    "408": "The body did not arrive in time.",
    "409": "The hull referred to by its digest is not held: send it in full.",
    "413": "The body is over the limit.",
    "415": "The body is not JSON in UTF-8, or is encoded in an unknown way.",
    "422": "The request does not fit the schema, its data cannot mean a ship or a test, they do not fix the answer, "
    "or the work is over a limit. The same request is refused again.",
    "503": "The service is busy or was too slow. Try again after `Retry-After` seconds.",
}


KEYS: Mapping[str, dict[str, str]] = {
    "apiKey": {"type": "apiKey", "in": "header", "name": HEADER, "description": "Asked where the operator set one."},
    "apiKeyInQuery": {"type": "apiKey", "in": "query", "name": PARAMETER, "description": "The same, for cells."},
}


def _security(path: str) -> list[dict[str, list[str]]]:
    """Return how a path may be asked: below /v1 without a key or with it, elsewhere without."""
    if path.startswith(CELLS):
        return [{}, {"apiKey": []}, {"apiKeyInQuery": []}]
    return [{}, {"apiKey": []}] if path.startswith(GUARDED) else [{}]


def problem_answer(description: str, *, retry: bool = False) -> dict[str, Any]:
    """Return the OpenAPI response object of a problem document."""
    answer: dict[str, Any] = {
        "description": description,
        "content": {MEDIA_TYPE: {"schema": {"$ref": REF.format(model="Problem")}}},
    }
    if retry:
        answer["headers"] = {"Retry-After": {"description": "Seconds to wait.", "schema": {"type": "integer"}}}
    return answer


def operations(routes: Iterable[BaseRoute]) -> list[Operation[Any, Any]]:
    """Return the POST computations among ``routes``."""
    found = (getattr(getattr(route, "endpoint", None), "operation", None) for route in routes)
    return [served for served in found if isinstance(served, Operation)]


def document(app: FastAPI, served: list[Operation[Any, Any]]) -> dict[str, Any]:
    """Return the whole document; the same code gives the same one."""
    whole = get_openapi(
        title=app.title,
        version=app.version,
        summary=app.summary,
        description=app.description,
        license_info=app.license_info,
        routes=app.routes,
    )
    models: list[tuple[Any, Any]] = [(one.request, "validation") for one in served]
    models += [(one.response, "serialization") for one in served] + [(Problem, "serialization")]
    refs, definitions = models_json_schema(models, ref_template=REF)
    schemas = whole.setdefault("components", {}).setdefault("schemas", {})
    schemas.update(definitions["$defs"])
    for unused in ("HTTPValidationError", "ValidationError"):
        schemas.pop(unused, None)
    whole["components"]["schemas"] = dict(sorted(schemas.items()))
    whole["components"]["securitySchemes"] = KEYS
    for path, item in whole["paths"].items():
        for operation in item.values():
            operation["security"] = _security(path)
            if path.startswith(GUARDED):
                operation["responses"].setdefault("401", problem_answer(REFUSALS["401"]))
    for one in served:
        whole["paths"][one.path]["post"].update(
            _post(one, refs[(one.request, "validation")], refs[(one.response, "serialization")])
        )
    return _with_own_names(whole)


def _with_own_names(whole: dict[str, Any]) -> dict[str, Any]:
    """Give each schema one name that any language takes, and the same title.

    A noun that is both asked and answered is ``Axes`` and ``AxesAnswered``; of two classes of one name each gets its
    module's before it.
    """
    text = json.dumps(whole)
    for name in whole["components"]["schemas"]:
        own = _own_name(name)
        if own != name:
            text = text.replace(f'schemas/{name}"', f'schemas/{own}"').replace(f'"{name}": {{', f'"{own}": {{')
    named: dict[str, Any] = json.loads(text)
    schemas = named["components"]["schemas"]
    for name, schema in schemas.items():
        schema["title"] = name
    named["components"]["schemas"] = dict(sorted(schemas.items()))
    return named


def _own_name(name: str) -> str:
    *_, module, kind = ("", "", *name.split("__"))
    before = "".join(word.capitalize() for word in module.split("_"))
    return before + kind.removesuffix("-Input").replace("-Output", "Answered")


def _post(one: Operation[Any, Any], request: Any, response: Any) -> dict[str, Any]:
    content: dict[str, Any] = {media.JSON: {"schema": response}}
    for rendering in one.renderings.values():
        schema = {"type": "string", "format": "binary"} if rendering.binary else {"type": "string"}
        content[rendering.media_type] = {"schema": schema}
    described = {
        "format": "Format of the answer; wins over `Accept`.",
        "units": "Units of the forms other than JSON, which is always SI.",
    }
    return {
        "description": one.description,
        "parameters": [
            {
                "name": name,
                "in": "query",
                "required": False,
                "description": described[name],
                "schema": {"type": "string", "enum": choices},
            }
            for name, choices in one.query.items()
        ],
        "requestBody": {
            "required": True,
            "content": {media.JSON: {"schema": request, "example": dict(one.example)}},
        },
        "responses": {
            "200": {"description": "The computed answer.", "content": content},
            **{status: problem_answer(words, retry=status == "503") for status, words in REFUSALS.items()},
        },
    }
