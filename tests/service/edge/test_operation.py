"""Everything a computation's endpoint does around the computation, seen through HTTP."""

import gzip
import hashlib
import json
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from starlette.testclient import TestClient

from service.edge.problem_texts import texts
from tests.service.edge.small import EXAMPLE, client

JSON = {"Content-Type": "application/json"}


@pytest.fixture(scope="module")
def http() -> Iterator[TestClient]:
    with client(threads=2, body_limit_bytes=2000) as one:
        yield one


def post(http: TestClient, body: bytes | str | dict[str, Any], query: str = "", **headers: str) -> Any:
    content = json.dumps(body) if isinstance(body, dict) else body
    return http.post("/v1/area" + query, content=content, headers={**JSON, **headers})


def refused(answer: Any, status: int, code: str) -> list[tuple[str, str]]:
    """Check a problem document; return the pointers and codes of its faults."""
    document = answer.json()
    assert (answer.status_code, document["type"]) == (status, f"/problems/{code}"), document
    assert answer.headers["content-type"] == "application/problem+json"
    assert answer.headers["cache-control"] == "no-store"
    assert document["status"] == status
    assert document["title"] == texts()[code].title
    assert document["detail"]
    assert document["instance"] == f"urn:uuid:{answer.headers['x-request-id']}"
    return [(fault["pointer"], fault["code"]) for fault in document.get("errors", [])]


def test_answer(http: TestClient) -> None:
    body = json.dumps(EXAMPLE)
    answer = post(http, body)
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "application/json"
    assert answer.headers["cache-control"] == "no-store"
    document = answer.json()
    assert document["area_m2"] == 6.0  # 2 × 3
    assert document["provenance"]["request_sha256"] == hashlib.sha256(body.encode()).hexdigest()
    assert "name" not in document  # absent, not null
    assert document["column"] == [1.0, None]  # but an entry of a table is null


def test_same_body_same_bytes(http: TestClient) -> None:
    assert post(http, EXAMPLE).content == post(http, EXAMPLE).content


def test_gzip_body_counts_and_signs_what_comes_out(http: TestClient) -> None:
    body = json.dumps(EXAMPLE).encode()
    answer = post(http, gzip.compress(body), **{"Content-Encoding": "gzip"})
    assert answer.json()["provenance"]["request_sha256"] == hashlib.sha256(body).hexdigest()
    bomb = gzip.compress(b" " * 100_000_000)
    refused(post(http, bomb[:1000], **{"Content-Encoding": "gzip"}), 413, "body-too-large")
    refused(post(http, body, **{"Content-Encoding": "gzip"}), 400, "content-encoding")
    refused(post(http, gzip.compress(body)[:-4], **{"Content-Encoding": "gzip"}), 400, "content-encoding")
    refused(post(http, body, **{"Content-Encoding": "br"}), 415, "content-encoding")


@pytest.mark.parametrize(
    ("query", "accept", "media_type"),
    [
        ("", "*/*", "application/json"),
        ("", "", "application/json"),
        ("", "text/csv", "text/csv; charset=utf-8; header=present"),
        ("", "text/*", "text/csv; charset=utf-8; header=present"),
        ("", "application/pdf", "application/pdf"),
        ("", "text/plain;q=0.9, text/csv;q=0.8", "text/plain; charset=utf-8"),
        ("?format=txt", "application/json", "text/plain; charset=utf-8"),
        ("", "text/csv;q=0.5, application/json", "application/json"),
        ("", "text/csv, application/json;q=0.5", "text/csv; charset=utf-8; header=present"),
        ("", "text/html, */*;q=0.1", "application/json"),
        ("", "application/json;q=0, */*", "text/csv; charset=utf-8; header=present"),
        ("?format=csv", "application/json", "text/csv; charset=utf-8; header=present"),
        ("?format=json", "text/html", "application/json"),
    ],
)
def test_media_type(http: TestClient, query: str, accept: str, media_type: str) -> None:
    answer = post(http, EXAMPLE, query, Accept=accept)
    assert (answer.status_code, answer.headers["content-type"]) == (200, media_type)


def test_csv_in_units(http: TestClient) -> None:
    assert post(http, EXAMPLE, "?format=csv").text == "area_m2\r\n6.0\r\n"
    assert post(http, EXAMPLE, "?format=csv&units=us").text.startswith("area_ft2")


def test_further_renderings(http: TestClient) -> None:
    """A text goes out as UTF-8, bytes as they are; both are written from the signed answer."""
    assert post(http, EXAMPLE, "?format=txt").content == "6.0 m²".encode()
    digest = hashlib.sha256(json.dumps(EXAMPLE).encode()).hexdigest()
    assert post(http, EXAMPLE, "?format=pdf&units=us").content == f"%PDF 6.0 us {digest}".encode() + b"\xff"


def test_a_rendering_of_request_and_answer(http: TestClient) -> None:
    """One that asks for it is given the request as well: the kind of shape is nowhere in the answer."""
    assert post(http, EXAMPLE, "?format=log&units=us").text == f"{EXAMPLE['shape']['kind']} 6.0 us"


def test_units_only_where_a_form_has_them(http: TestClient) -> None:
    answer = http.post("/v1/area-as-text?units=us", json=EXAMPLE)
    refused(answer, 422, "query")
    assert http.post("/v1/area-as-text?format=txt", json=EXAMPLE).text == "6.0 m²"


def test_renderings_are_documented(http: TestClient) -> None:
    paths = http.get("/openapi.json").json()["paths"]
    content = paths["/v1/area"]["post"]["responses"]["200"]["content"]
    assert list(content) == ["application/json", "text/csv", "text/plain", "application/pdf", "text/x-log"]
    assert content["application/pdf"]["schema"] == {"type": "string", "format": "binary"}
    assert content["text/plain"]["schema"] == {"type": "string"}
    choices = {one["name"]: one["schema"]["enum"] for one in paths["/v1/area"]["post"]["parameters"]}
    assert choices == {"format": ["json", "csv", "txt", "pdf", "log"], "units": ["si", "us"]}
    bare = paths["/v1/area-as-text"]["post"]["parameters"]
    assert [(one["name"], one["schema"]["enum"]) for one in bare] == [("format", ["json", "txt"])]


@pytest.mark.parametrize(("query", "accept"), [("", "text/html"), ("?format=docx", "*/*"), ("", "nonsense;q=x")])
def test_format_not_available(http: TestClient, query: str, accept: str) -> None:
    refused(post(http, EXAMPLE, query, Accept=accept), 406, "not-acceptable")


@pytest.mark.parametrize("query", ["?colour=red", "?format=json&format=json", "?units=imperial", "?Format=json"])
def test_query_refused(http: TestClient, query: str) -> None:
    refused(post(http, EXAMPLE, query), 422, "query")


@pytest.mark.parametrize(
    "media_type", ["", "text/plain", "application/x-www-form-urlencoded", "application/json; charset=latin-1"]
)
def test_media_type_refused(http: TestClient, media_type: str) -> None:
    refused(http.post("/v1/area", content=b"{}", headers={"Content-Type": media_type}), 415, "media-type")


@pytest.mark.parametrize("media_type", ["application/json; charset=UTF-8", "APPLICATION/JSON", "application/x+json"])
def test_media_type_taken(http: TestClient, media_type: str) -> None:
    answer = http.post("/v1/area", content=json.dumps(EXAMPLE), headers={"Content-Type": media_type})
    assert answer.status_code == 200


def test_body_too_large_by_its_own_word(http: TestClient) -> None:
    refused(post(http, b" " * 2001), 413, "body-too-large")


def test_body_too_large_while_streaming(http: TestClient) -> None:
    """Without Content-Length the service stops reading as soon as it has too much."""
    refused(post(http, (b" " * 500 for _ in range(10))), 413, "body-too-large")  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"{",
        b"{'a': 1}",
        b'{"name": "\\ud800"}',
        b'{"name": "\xff"}',
        b"\xef\xbb\xbf{}",
        b'{"a": 1} x',
        b'{"a": 1,}',
        b'{"a": +1}',
    ],
)
def test_not_json(http: TestClient, body: bytes) -> None:
    assert refused(post(http, body), 400, "json") == [("#", "json")]


def test_nested_too_deeply(http: TestClient) -> None:
    refused(post(http, b"[" * 300 + b"]" * 300), 400, "json-nesting")


@pytest.mark.parametrize(
    "body",
    [
        '{"name": "a", "name": "b"}',
        '{"name": "a", "n\\u0061me": "b"}',
        '{"shape": {"kind": "box", "kind": "box"}, "name": "{"}',
        '[{"a": {"x": 1}, "b": 1, "a": 2}]',
        '{"unknown": 1, "unknown": 2}',
    ],
)
def test_name_given_twice(http: TestClient, body: str) -> None:
    refused(post(http, body), 400, "json-repeated-name")


def test_same_name_in_different_objects_is_fine(http: TestClient) -> None:
    answer = post(http, {**EXAMPLE, "name": 'kind": {"', "free": {"name": 1.0, "shape": 2.0}})
    assert answer.json()["name"] == 'kind": {"'


BOX = {"kind": "box", "length_m": 2.0, "breadth_m": 3.0}


@pytest.mark.parametrize(
    ("body", "faults"),
    [
        ({}, [("#/shape", "missing-field")]),
        ({"shape": {}}, [("#/shape", "missing-field")]),
        ({"shape": {"kind": "ball"}}, [("#/shape", "unknown-kind")]),
        ({"shape": {"kind": "disc"}}, [("#/shape/radius_m", "missing-field")]),
        ({"shape": BOX | {"breadth_m": 101}}, [("#/shape/breadth_m", "out-of-bounds")]),
        ({"shape": BOX | {"breadth_m": 0}}, [("#/shape/breadth_m", "out-of-bounds")]),
        ({"shape": BOX | {"breadth_m": "3"}}, [("#/shape/breadth_m", "wrong-type")]),
        ({"shape": BOX | {"breadth_m": True}}, [("#/shape/breadth_m", "wrong-type")]),
        ({"shape": BOX | {"lenght_m": 1}}, [("#/shape", "unknown-field")]),
        ({"shape": BOX, "marks": [[1.0]]}, [("#/marks/0/1", "missing-field")]),
        ({"shape": BOX, "marks": [[1, 2, 3]]}, [("#/marks/0", "wrong-count")]),
        ({"shape": BOX, "marks": 5}, [("#/marks", "wrong-type")]),
        ({"shape": BOX, "name": "x" * 21}, [("#/name", "wrong-text")]),
        ({"shape": BOX, "name": None}, [("#/name", "wrong-type")]),
        ({"shape": BOX, "number_count": 1.5}, [("#/number_count", "wrong-type")]),
        ({"shape": BOX, "act": "dance"}, [("#/act", "not-a-choice")]),
        ({"shape": BOX, "free": {"secret/key~": "v"}}, [("#/free", "wrong-type")]),
        (
            {"shape": BOX | {"length_m": -1, "breadth_m": -1}, "x": 1, "marks": [[1, "a"], [2, 2], ["b", 1]]},
            [
                ("#/shape/length_m", "out-of-bounds"),
                ("#/shape/breadth_m", "out-of-bounds"),
                ("#/marks/0/1", "wrong-type"),
                ("#/marks/2/0", "wrong-type"),
                ("#", "unknown-field"),
            ],
        ),
    ],
)
def test_schema_faults(http: TestClient, body: dict[str, Any], faults: list[tuple[str, str]]) -> None:
    assert refused(post(http, body), 422, "schema") == faults


@pytest.mark.parametrize("body", ["5", "null", "[]", '"text"'])
def test_not_an_object(http: TestClient, body: str) -> None:
    assert refused(post(http, body), 422, "schema") == [("#", "wrong-type")]


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-Infinity", "1e999", "-1e999", "9" * 400])
def test_not_finite(http: TestClient, number: str) -> None:
    body = f'{{"shape": {{"kind": "disc", "radius_m": {number}}}}}'
    assert refused(post(http, body), 422, "not-finite") == [("#/shape/radius_m", "not-finite")]


def test_many_faults_are_capped_and_counted(http: TestClient) -> None:
    answer = post(http, {"shape": BOX, "marks": [["a", "b"]] * 60})
    assert len(refused(answer, 422, "schema")) == 50
    assert "70 more" in answer.json()["detail"]  # 60 × 2 − 50


def test_a_long_array_stops_at_its_first_fault(http: TestClient) -> None:
    """A fault costs hundreds of bytes; an array without end must not gather millions of them."""
    answer = post(http, {"shape": BOX, "many": [1, "a", "b", "c"], "name": 5})
    assert refused(answer, 422, "schema") == [("#/many/1", "wrong-type"), ("#/name", "wrong-type")]


def test_too_many_faults_are_only_counted() -> None:
    with client() as http:
        answer = post(http, {"shape": BOX, "table": [["a"] * 50] * 50})  # 50 × 50 = 2500 faults, over 2000
    assert refused(answer, 422, "schema") == [("#", "too-many-faults")]
    assert "2500" in answer.json()["detail"]


def test_an_object_of_too_many_names() -> None:
    with client() as http:
        answer = post(http, {f"n{i}": i for i in range(1001)})
    assert refused(answer, 400, "json-many-names") == [("#", "json-many-names")]


@pytest.mark.parametrize(
    ("act", "code", "faults"),
    [
        ("limit", "too-many-triangles", [("#/marks/1/0", "too-many-triangles")]),
        ("undetermined", "sinks", [("#/shape/length_m", "sinks")]),
        ("input", "not-positive", [("#", "not-positive")]),  # a place that the request does not have
        ("several", "input", [("#/marks/0", "not-positive"), ("#/marks/1", "no-length")]),
    ],
)
def test_errors_of_the_engine(http: TestClient, act: str, code: str, faults: list[tuple[str, str]]) -> None:
    assert refused(post(http, {**EXAMPLE, "act": act}), 422, code) == faults


@pytest.mark.parametrize("act", ["nan", "crash"])
def test_a_fault_of_ours_tells_nothing_but_its_name(http: TestClient, act: str) -> None:
    answer = post(http, {**EXAMPLE, "act": act})
    assert refused(answer, 500, "internal") == []
    assert "secret" not in answer.text


def test_a_name_that_reads_nan_is_no_number(http: TestClient) -> None:
    assert post(http, {**EXAMPLE, "name": "NaN Infinity"}).json()["name"] == "NaN Infinity"


leaves = st.none() | st.booleans() | st.integers() | st.floats() | st.just("QQZQ")
keys = st.sampled_from(["shape", "kind", "length_m", "marks", "free", "act", "QQZQ", "name"])
trees = st.recursive(leaves, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(keys, inner, max_size=4))


@given(tree=trees)
def test_no_string_of_the_request_comes_back(http: TestClient, tree: object) -> None:
    """And whatever is sent, a pointer resolves in it, but for its last part where a field is missing."""
    body = json.dumps({"shape": tree, "name": "QQZQ", "free": tree, "QQZQ": tree})
    answer = post(http, body)
    assert answer.status_code in (400, 422)
    assert "QQZQ" not in answer.text
    for fault in answer.json()["errors"]:
        here: Any = json.loads(body)
        parts = fault["pointer"].split("/")[1:]
        for rank, part in enumerate(parts):
            if fault["code"] == "missing-field" and rank == len(parts) - 1:
                break
            here = here[int(part)] if isinstance(here, list) else here[part]
