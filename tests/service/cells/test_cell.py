"""What every cell does, whatever it computes."""

import re
import threading
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any
from urllib.parse import urlencode
from xml.etree import ElementTree

import pytest
from pydantic import SecretStr
from starlette.testclient import TestClient

from service.app import create_app
from service.cells.cell import Cell
from service.cells.routes import cells
from service.demo import example_library
from service.settings import Settings

KEY = "Quartz-0123456789-Basalt"
EVERY = pytest.mark.parametrize("one", cells(), ids=lambda one: one.path.rsplit("/")[-1])
LIST = "/v1/cells/list?heeling_moment_tm=40&displacement_t=2000&gm_m=1.25"


def url(one: Cell[Any], **more: str) -> str:
    return f"{one.path}?{urlencode({**one.example, **more})}"


@EVERY
def test_example_is_answered_and_can_be_kept(http: TestClient, one: Cell[Any]) -> None:
    answer = http.get(url(one))
    assert answer.status_code == 200, answer.text
    assert not answer.text.startswith("#")
    if one.gives == "number":
        assert re.fullmatch(r"-?[0-9]+\.[0-9]+(e-[0-9]+)?", answer.text)
        float(answer.text)
    if one.gives == "table":
        assert answer.headers["content-type"].startswith("text/csv")
    else:
        assert answer.headers["content-type"] == "text/plain; charset=utf-8"
        assert "\n" not in answer.text
    again = http.get(url(one), headers={"If-None-Match": answer.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")
    assert http.get(url(one, errors="status")).content == answer.content


@EVERY
def test_a_missing_parameter_is_said(http: TestClient, one: Cell[Any]) -> None:
    name = next(name for name, field in one.parameters.model_fields.items() if field.is_required())
    query = urlencode({key: text for key, text in one.example.items() if key != name})
    shown = http.get(f"{one.path}?{query}")
    assert (shown.status_code, shown.text) == (200, f"#ERR query: {name} is missing")
    assert shown.headers["content-type"] == "text/plain; charset=utf-8"
    assert "etag" not in shown.headers
    refused = http.get(f"{one.path}?{query}&errors=status")
    assert (refused.status_code, refused.json()["type"]) == (422, "/problems/query")


@EVERY
def test_head_computes_nothing(http: TestClient, one: Cell[Any], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(one.__dict__, "compute", lambda *_: pytest.fail("was computed"))
    head = http.head(url(one))
    assert (head.status_code, head.content) == (200, b"")
    assert head.headers["etag"]
    monkeypatch.undo()
    assert http.get(url(one)).headers["etag"] == head.headers["etag"]


@EVERY
def test_a_known_tag_computes_nothing(http: TestClient, one: Cell[Any], monkeypatch: pytest.MonkeyPatch) -> None:
    tag = http.head(url(one)).headers["etag"]
    monkeypatch.setitem(one.__dict__, "compute", lambda *_: pytest.fail("was computed"))
    assert http.get(url(one), headers={"If-None-Match": tag}).status_code == 304


@EVERY
def test_options(http: TestClient, one: Cell[Any]) -> None:
    answer = http.options(url(one))
    assert (answer.status_code, answer.headers["allow"], answer.content) == (204, "GET, HEAD, OPTIONS", b"")


def test_the_tag_tells_query_from_query_but_not_how_it_is_written(http: TestClient) -> None:
    def tag(query: str) -> str:
        return http.head("/v1/cells/list?" + query).headers["etag"]

    first = tag("heeling_moment_tm=40&displacement_t=2000&gm_m=1.25")
    assert tag("gm_m=1,25&displacement_t=2000.0&heeling_moment_tm=%2B40&errors=text") == first
    assert tag("heeling_moment_tm=40&displacement_t=2000&gm_m=1.26") != first


def test_the_tag_changes_with_the_library(tmp_path: Path) -> None:
    for path in example_library().glob("*.json"):
        (tmp_path / path.name).write_bytes(path.read_bytes())
    ask = "/v1/cells/hydrostatic?hull=example-barge&quantity=volume_m3&draft_m=3"
    with TestClient(create_app(Settings(hull_library=tmp_path))) as http:
        before = http.get(ask)
        longer = (tmp_path / "example-barge.json").read_text().replace("60.0", "80.00")
        (tmp_path / "example-barge.json").write_text(longer)
        after = http.get(ask, headers={"If-None-Match": before.headers["etag"]})
    assert [float(before.text), float(after.text)] == pytest.approx([60 * 12 * 3, 80 * 12 * 3], rel=1e-14)  # a box


@pytest.mark.parametrize(
    ("query", "code"),
    [
        ("&colour=red", "query"),
        ("&gm_m=2", "query"),
        ("&" + "x" * 2000 + "=1", "url-too-long"),
    ],
)
def test_a_bad_query(http: TestClient, query: str, code: str) -> None:
    assert http.get(LIST + query).text.startswith(f"#ERR {code}: ")


def test_an_unknown_way_to_tell_errors_is_told_by_status(http: TestClient) -> None:
    answer = http.get(LIST + "&errors=loud")
    assert (answer.status_code, answer.json()["type"]) == (422, "/problems/query")


def test_the_longest_url(http: TestClient) -> None:
    room = 2000 - len(LIST.replace("?", ""))
    gm = "1.25".ljust(4 + 10, "0")
    long = LIST.replace("1.25", gm) + "&errors=text"
    assert len(long) < 2000 < len(LIST) + room + 1
    assert http.get(long).status_code == 200
    answer = http.get(LIST + "&errors=status&" + "x" * 2000 + "=1")
    assert (answer.status_code, answer.json()["type"]) == (414, "/problems/url-too-long")


def test_an_error_of_the_engine_is_shown(http: TestClient) -> None:
    ask = "/v1/cells/gm?moments=-10;0;10&tangents=0.01;0;-0.01&displacement_t=1000"
    words = "GM is not positive: she heels against the moments, the tangent by -0.001 per t·m where above 0 is needed; "
    assert http.get(ask).text == f"#ERR gm-not-positive: {words}check the signs"
    refused = http.get(ask + "&errors=status")
    assert (refused.status_code, refused.json()["type"]) == (422, "/problems/gm-not-positive")


def test_what_is_not_defined_is_said(http: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    one = next(one for one in cells() if one.path.endswith("/list"))
    monkeypatch.setitem(one.__dict__, "compute", lambda *_: float("nan"))
    assert http.get(LIST).text.startswith("#ERR not-defined-here: ")


def test_a_string_of_the_request_is_never_shown(http: TestClient) -> None:
    for ask in (
        LIST + "&NobodyShallReadThis=1",
        LIST.replace("1.25", "NobodyShallReadThis"),
        "/v1/cells/hydrostatic?hull=nobody-shall-read-this&quantity=volume_m3&draft_m=3",
        "/v1/cells/metres?length=NobodyShallReadThis",
    ):
        text = http.get(ask).text
        assert text.startswith("#ERR ")
        assert "nobody" not in text.lower()


def test_tables(http: TestClient) -> None:
    ask = "/v1/cells/hydrostatic-table?hull=example-barge&drafts=3;3,5;9"
    rows = http.get(ask).text.splitlines()
    assert rows[0].startswith("draft_m,volume_m3,")
    volumes = [row.split(",")[1] for row in rows[1:]]
    assert [float(one) for one in volumes[:2]] == pytest.approx([2160.0, 2520.0], rel=1e-14)
    assert volumes[2] == ""
    feet = http.get(ask + "&units=us").text.splitlines()
    assert feet[0].startswith("draft_ft,volume_ft3,")
    assert float(feet[1].split(",")[0]) == pytest.approx(3 / 0.3048, rel=1e-15)
    answer = http.get(ask + "&format=xml")
    assert answer.headers["content-type"] == "application/xml; charset=utf-8"
    tree = ElementTree.fromstring(answer.content)
    assert [one.text or "" for one in tree.findall("./row/volume_m3")] == volumes
    assert http.get(ask, headers={"Accept": "application/xml"}).content == answer.content
    assert http.get(ask + "&format=pdf").text.startswith("#ERR not-acceptable: ")
    assert http.get(ask + "&format=pdf&errors=status").status_code == 406


@pytest.fixture
def locked() -> Iterator[TestClient]:
    with TestClient(create_app(Settings(api_key=SecretStr(KEY)))) as one:
        yield one


def test_the_key_in_the_url_or_the_header(locked: TestClient) -> None:
    assert locked.get(LIST).text.startswith("#ERR api-key: ")
    assert locked.get(LIST + "&errors=status").status_code == 401
    assert locked.get(LIST + "&key=wrong").text.startswith("#ERR api-key: ")
    right = locked.get(f"{LIST}&key={KEY}")
    assert float(right.text) == float(locked.get(LIST, headers={"X-API-Key": KEY}).text)
    assert locked.head(f"{LIST}&key={KEY}&errors=status").status_code == 200
    assert locked.head(LIST + "&errors=status").status_code == 401


def test_busy(monkeypatch: pytest.MonkeyPatch) -> None:
    """The one thread is taken: a hull's cell says so, a cheap one is still answered."""
    begun, gate = threading.Event(), threading.Event()
    one = next(one for one in cells() if one.path.endswith("/hydrostatic"))

    def slow(*_: object) -> float:
        begun.set()
        gate.wait(30)
        return 1.0

    monkeypatch.setitem(one.__dict__, "compute", slow)
    with TestClient(create_app(Settings(threads=1, queue_limit=0))) as http, ThreadPoolExecutor(1) as pool:
        try:
            first = pool.submit(http.get, url(one))
            assert begun.wait(30)
            assert http.get(url(one)).text.startswith("#ERR busy: ")
            refused = http.get(url(one, errors="status"))
            assert (refused.status_code, refused.headers["retry-after"]) == (503, "2")
            assert float(http.get(LIST).text) > 0
        finally:
            gate.set()
        assert first.result(30).text == "1.0"
