"""What is written for people holds no name of a field and no code: the trade's terms and units stand in their place."""

import copy
import html
import json
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from engine.rules.observables import OBSERVABLE_BY_NAME
from service.app import create_app
from service.demo import demo_record
from service.edge.problem_texts import texts
from service.schemas.terms import in_terms, label, term
from tests.contract.test_axes import EVERY

Record = dict[str, Any]
CASES = sorted((Path(__file__).parents[2] / "fixtures" / "cases").glob("*.json"))
WHOLE = "/v1/stability-tests"
MACHINE = ("code", "cause", "trace", "members", "rule")
"""Fields whose values are names, and stay so; none of them may stand in a text."""
SNAKE = re.compile(r"(?<![\w/#])[A-Za-z][A-Za-z0-9]*_[A-Za-z0-9_]*[A-Za-z0-9](?![\w/])")
"""A name with underscores; one within a place, with strokes, is a place."""
KEBAB = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)+")
CODES = frozenset(code for code in texts() if "-" in code)


@pytest.fixture(scope="module")
def client() -> Iterator[TestClient]:
    with TestClient(create_app()) as one:
        yield one


def strings(node: Any, name: str = "") -> Iterator[tuple[str, str]]:
    if isinstance(node, dict):
        for key, below in node.items():
            yield from strings(below, key)
    elif isinstance(node, list):
        for below in node:
            yield from strings(below, name)
    elif isinstance(node, str):
        yield name, node


def names_in(text: str, codes: frozenset[str]) -> list[str]:
    """Return the names of fields and the codes in a text."""
    return [*SNAKE.findall(text), *(one for one in KEBAB.findall(text) if one in codes)]


def codes_of(answer: Any) -> frozenset[str]:
    found = {value for name, value in strings(answer) if name in MACHINE and KEBAB.fullmatch(value)}
    return CODES | found


def in_answer(answer: Any) -> list[str]:
    """Return the names in every text of an answer: whatever has a space in it."""
    codes = codes_of(answer)
    return [f"{one}: {text}" for _, text in strings(answer) if " " in text for one in names_in(text, codes)]


def in_page(page: str, answer: Any) -> list[str]:
    """Return the names in what an HTML page shows, the places of the appendix left out."""
    codes = codes_of(answer)
    shown = re.sub(r"<(style|script).*?</\1>|<title>.*?</title>", "", page, flags=re.DOTALL)
    said = [html.unescape(one).replace("\u200b", "").strip() for one in re.split(r"<[^>]+>", shown)]
    return [f"{one}: {text}" for text in said if " " in text or text in codes for one in names_in(text, codes)]


def told(client: TestClient, path: str, body: Any, *, status: int = 200) -> list[str]:
    """Return the names in the answer and in its page, where it has one."""
    answered = client.post(path, json=body)
    assert answered.status_code == status, answered.text
    page = client.post(f"{path}?format=html", json=body)
    found = in_answer(answered.json())
    return found + in_page(page.text, answered.json()) if page.status_code == 200 else found


@pytest.mark.parametrize("path", CASES, ids=lambda one: one.stem)
def test_cases(client: TestClient, path: Path) -> None:
    case = json.loads(path.read_text(encoding="utf-8"))
    status = case.get("problem", {"status": 200})["status"]
    assert told(client, case["request"]["path"], case["request"]["body"], status=status) == []


@pytest.mark.parametrize("served", EVERY, ids=lambda one: one.operation_id)
def test_examples(client: TestClient, served: Any) -> None:
    assert told(client, served.path, copy.deepcopy(served.example)) == []


def wrong_side(record: Record) -> None:
    record["moves"][1]["to_y_m"] *= -1


def kilograms(record: Record) -> None:
    record["weights"][0]["mass_t"] *= 1000


def feet(record: Record) -> None:
    record["freeboards"][2]["freeboard_m"] *= 3.28


def one_reading(record: Record) -> None:
    for one in record["instruments"]:
        for name in one.keys() & {"deflections_m", "port_levels_m", "starboard_levels_m", "angles_deg"}:
            one[name] = one[name][:1]


def a_slip_of_reading(record: Record) -> None:
    record["instruments"][0]["deflections_m"][3] += 0.1


def fallen_back(record: Record) -> None:
    record["instruments"][0]["positive"] = "port"


def coarse(record: Record) -> None:
    read = record["instruments"][0]["deflections_m"]
    record["instruments"][0]["deflections_m"] = [0.02 * round(one / 0.02) for one in read]


def few_freeboards(record: Record) -> None:
    record["freeboards"] = record["freeboards"][:2]


def without_openings(record: Record) -> None:
    for name in ("openings", "deck_edge_m", "wind"):
        record["stability"].pop(name, None)


def heavy_ledger(record: Record) -> None:
    record["items"][0].update(action="remove", mass_t=1e5)


def no_length(record: Record) -> None:
    record.pop("load_line_length_m", None)


def salt(record: Record) -> None:
    record["water"]["samples"] = [{"density_t_per_m3": 1.0}, {"density_t_per_m3": 1.03}]


def stated(record: Record) -> None:
    record["uncertainty"] = {"hull_volume_percent": 0, "weight_percent": 5}


def high(record: Record) -> None:
    record["loading_conditions"][0]["items"].append(
        {"name": "crane", "mass_t": 60.0, "x_m": 20.0, "y_m": 0.0, "z_m": 30.0}
    )


CHANGES = [wrong_side, kilograms, feet, one_reading, a_slip_of_reading, fallen_back, coarse, few_freeboards]
CHANGES += [without_openings, heavy_ledger, no_length, salt, stated, high]


@pytest.mark.parametrize("change", CHANGES, ids=lambda one: one.__name__)
def test_a_record_with_a_fault(client: TestClient, change: Callable[[Record], None]) -> None:
    record = demo_record()
    change(record)
    assert told(client, WHOLE, record) == []


def test_the_finder_finds() -> None:
    """A text with a name, a page with a code; a place, a number and a word with a hyphen are none."""
    answer = {"code": "gm-not-positive", "message": "gm_fluid_m of weights/0/mass_t is off (gm-not-positive)"}
    assert [one.partition(":")[0] for one in in_answer(answer)] == ["gm_fluid_m", "gm-not-positive"]
    assert in_answer({"message": "tanks/0/sounding_pipe/points_m lies off the centre-line, 1.5e-3 m"}) == []
    page = "<p>GM is 1 m</p><td>gm-not-positive</td><td>displacement_t is</td><td>vessel/length_bp_m</td>"
    assert [one.partition(":")[0] for one in in_page(page, answer)] == ["gm-not-positive", "displacement_t"]


def test_terms() -> None:
    """Every quantity a rule can be about has a term without a name in it; only names of ours are replaced."""
    for name in OBSERVABLE_BY_NAME:
        assert not names_in(term(name), CODES), name
        assert term(name)
    assert in_terms("not known: initial_list_deg, gm_fluid_m") == (
        "not known: size of the heel at reading 0, before any move, GM fluid"
    )
    assert in_terms("instrument crew_2 of tanks/0/mass_t") == "instrument crew_2 of tanks/0/mass_t"
    assert label("load_line_length_m") == "load-line length"
