"""Hulls kept by digest, and the library."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from service.app import create_app
from service.edge.shelf import Shelf, at_hand, kept
from service.schemas.hull import BOX_BARGE, hull_from_json, solid_of
from service.settings import Settings


def barge(length_bp_m: float = 60.0) -> bytes:
    return json.dumps({**BOX_BARGE, "length_bp_m": length_bp_m}).encode()


def body(hull: dict[str, Any], **more: Any) -> dict[str, Any]:
    return {"hull": hull, "density_t_per_m3": 1.025, "waterplanes": [{"draft_m": 3.5}], **more}


@pytest.fixture
def http(tmp_path: Path) -> Iterator[TestClient]:
    (tmp_path / "barge-1.json").write_bytes(barge())
    (tmp_path / "Not a name.json").write_bytes(barge())
    with TestClient(create_app(Settings(hull_library=tmp_path))) as one:
        yield one


def test_a_held_hull_gives_the_same(http: TestClient) -> None:
    full = http.post("/v1/hydrostatics", json=body(BOX_BARGE)).json()
    held = {"kind": "held", "sha256": full["provenance"]["hull_sha256"]}
    for axes in (None, {"y": "starboard"}, {"x": "aft_from_fp"}):
        more = {} if axes is None else {"axes": axes}
        sent = http.post("/v1/hydrostatics", json=body(BOX_BARGE, **more)).json()
        again = http.post("/v1/hydrostatics", json=body(held, **more)).json()
        assert again["columns"] == sent["columns"]
        assert again["provenance"]["hull_sha256"] == held["sha256"]


def test_not_held(http: TestClient) -> None:
    answer = http.post("/v1/hydrostatics", json=body({"kind": "held", "sha256": "0" * 64}))
    assert (answer.status_code, answer.json()["type"]) == (409, "/problems/hull-not-held")
    assert answer.json()["errors"][0]["pointer"] == "#/hull"


def test_library(http: TestClient) -> None:
    by_name = http.post("/v1/hydrostatics", json=body({"kind": "library", "name": "barge-1"})).json()
    full = http.post("/v1/hydrostatics", json=body(BOX_BARGE)).json()
    assert by_name["columns"] == full["columns"]
    assert by_name["provenance"]["hull_sha256"] == full["provenance"]["hull_sha256"]
    answer = http.post("/v1/hydrostatics", json=body({"kind": "library", "name": "barge-2"}))
    assert (answer.status_code, answer.json()["type"]) == (422, "/problems/hull-unknown")


@pytest.mark.parametrize("name", ["../barge-1", "barge-1/", "", ".", "BARGE-1", "barge-1\n"])
def test_a_name_is_never_a_path(http: TestClient, name: str) -> None:
    answer = http.post("/v1/hydrostatics", json=body({"kind": "library", "name": name}))
    assert (answer.status_code, answer.json()["type"]) == (422, "/problems/schema")


def test_a_fault_of_a_referred_hull_points_at_the_reference(http: TestClient, tmp_path: Path) -> None:
    broken = {**BOX_BARGE, "stations": BOX_BARGE["stations"][:1]}  # type: ignore[index]
    (tmp_path / "broken.json").write_text(json.dumps(broken))
    answer = http.post("/v1/hydrostatics", json=body({"kind": "library", "name": "broken"}))
    assert (answer.status_code, answer.json()["type"]) == (422, "/problems/too-few-stations")
    assert answer.json()["errors"][0]["pointer"] == "#/hull"


def test_a_changed_file_is_read_anew(tmp_path: Path) -> None:
    shelf = Shelf(limit_bytes=10**6, library=tmp_path, read_hull=hull_from_json)
    (tmp_path / "one.json").write_bytes(barge())
    first, digest = shelf.named("one")
    assert shelf.named("one") == (first, digest)
    assert shelf.named("one")[0] is first
    (tmp_path / "one.json").write_bytes(barge(100.0) + b" ")
    second, other = shelf.named("one")
    assert second.length_bp_m == 100.0  # type: ignore[attr-defined]
    assert other != digest


def test_bounded_and_the_longest_unused_goes_first() -> None:
    hulls = [hull_from_json(barge(length)) for length in (10.0, 20.0, 30.0)]
    size = 8 * len(hulls[0].model_dump_json())
    shelf = Shelf(limit_bytes=2 * size)
    digests = [shelf.whole(hull)[1] for hull in hulls[:2]]
    assert shelf.whole(hulls[0]) == (hulls[0], digests[0])  # used again
    shelf.whole(hulls[2])
    assert shelf.size_bytes == 2 * size
    assert shelf._find(digests[0]) is not None
    assert shelf._find(digests[1]) is None
    nothing = Shelf(limit_bytes=0)
    assert nothing.whole(hulls[0])[0] is hulls[0]
    assert nothing.size_bytes == 0


def test_built_once() -> None:
    shelf = Shelf(limit_bytes=10**6)
    first, _ = shelf.whole(hull_from_json(barge()))
    second, _ = shelf.whole(hull_from_json(barge()))
    assert second is first
    with at_hand(shelf):
        assert kept(first, "x", lambda: [1]) is kept(first, "x", lambda: [2])
        one, other = solid_of(first)[0], solid_of(second)[0]  # type: ignore[arg-type]
        assert one is other
    assert kept(first, "x", lambda: [3]) == [3]  # without a shelf
