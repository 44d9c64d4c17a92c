"""Every operation asked at random by its own document; every answer held against it.

    python -m pytest tests/contract/api_fuzz.py              25 examples an operation, as in CI
    EXAMPLES=100 python -m pytest tests/contract/api_fuzz.py

All checks are on. A request that fits the schema may still be refused with 422, as no schema can say what a hull is;
but then never as ``schema``; with 409, where it names a hull by a digest that is not held; with 414. Cells are asked
with ``errors=status``.
"""

import os
from typing import Any

import schemathesis
from hypothesis import HealthCheck, settings
from schemathesis import Case, CheckContext, HookContext, Response
from schemathesis.config import SchemathesisConfig

from service.app import create_app
from service.settings import Settings

EXAMPLES = int(os.environ.get("EXAMPLES", "25"))
CONFIG = {
    "request-timeout": 60.0,
    "generation": {"deterministic": True},
    "checks": {
        "positive_data_acceptance": {"expected-statuses": ["2xx", "409", "414", "422"]},
        "negative_data_rejection": {"expected-statuses": ["4xx"]},
    },
    "operations": [
        {  # any word may stand for a code
            "include-path": "/problems/{code}",
            "checks": {"positive_data_acceptance": {"expected-statuses": ["2xx", "404"]}},
        }
    ],
}


@schemathesis.check
def fits_the_schema(ctx: CheckContext, response: Response, case: Case) -> None:
    """Refuse a refusal as ``schema`` of what was made to fit the schema."""
    made_to_fit = case.meta is not None and case.meta.generation.mode.is_positive
    if made_to_fit and response.status_code == 422:
        assert response.json()["type"] != "/problems/schema", response.text


@schemathesis.hook
def before_call(context: HookContext, case: Case, kwargs: Any) -> None:
    """Have a cell tell its errors by status."""
    cell = case.path.startswith("/v1/cells/") and isinstance(case.query, dict)
    if cell and case.query.get("errors", "text") == "text":
        case.query["errors"] = "status"


app = create_app(Settings(threads=1, work_limit_s=1.0))
schema = schemathesis.openapi.from_asgi("/openapi.json", app, config=SchemathesisConfig.from_dict(CONFIG))


@schema.parametrize()
@settings(max_examples=EXAMPLES, deadline=None, suppress_health_check=list(HealthCheck))
def test_answers_as_documented(case: Case) -> None:
    case.call_and_validate()
