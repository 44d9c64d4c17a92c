"""GET /v1/record-schema and /v1/record-example"""

import pytest
from jsonschema import Draft202012Validator, ValidationError
from starlette.testclient import TestClient


def test_the_example_fits_the_schema_and_is_answered(plain_http: TestClient) -> None:
    schema, example = plain_http.get("/v1/record-schema"), plain_http.get("/v1/record-example")
    assert schema.headers["content-type"] == "application/schema+json"
    Draft202012Validator.check_schema(schema.json())
    validator = Draft202012Validator(schema.json())
    validator.validate(example.json())
    with pytest.raises(ValidationError):
        validator.validate({**example.json(), "colour": "red"})
    headers = {"Content-Type": "application/json"}
    assert plain_http.post("/v1/stability-tests", content=example.content, headers=headers).status_code == 200


@pytest.mark.parametrize("page", ["/v1/record-schema", "/v1/record-example"])
def test_kept_by_its_tag(plain_http: TestClient, page: str) -> None:
    first = plain_http.get(page)
    for given in (first.headers["etag"], f'"other", {first.headers["etag"]}', "*"):
        again = plain_http.get(page, headers={"If-None-Match": given})
        assert (again.status_code, again.content, again.headers["etag"]) == (304, b"", first.headers["etag"])
    assert plain_http.get(page, headers={"If-None-Match": '"other"'}).status_code == 200


@pytest.mark.parametrize("page", ["/v1/record-schema", "/v1/record-example"])
def test_unknown_parameter(plain_http: TestClient, page: str) -> None:
    answer = plain_http.get(page + "?colour=red")
    assert (answer.status_code, answer.json()["type"]) == (422, "/problems/query")
