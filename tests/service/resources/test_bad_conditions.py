"""Criteria without their data, a hull without reserve and a limit that does not exist: told over HTTP, not hidden."""

import json

import pytest
from starlette.testclient import TestClient

from service.app import create_app
from service.demo import demo_record
from service.resources.vcg_limits import EXAMPLE
from service.settings import Settings

DECK_EDGE = {
    "name": "house-deck",
    "title": "House rules",
    "version": "1",
    "subject": "stability",
    "rules": [
        {
            "id": "deck-edge",
            "title": "Deck edge dry to one degree",
            "quantity": "deck_edge_angle_deg",
            "comparison": "at_least",
            "limit": 1.0,
            "unit": "deg",
            "clause": "2.1",
            "source": "House manual",
            "source_status": "our choice",
            "level": "required",
        }
    ],
}
"""Where the deck edge goes under does not hang on the height of the centre of gravity: no largest VCG follows."""
STORES = {"name": "stores", "mass_t": 20, "x_m": 20, "y_m": 0, "z_m": 6.5}
DEPARTURE = {"name": "departure", "items": [STORES]}
DEEP = {"name": "deep", "items": [{**STORES, "mass_t": 9000}]}


@pytest.fixture(scope="module")
def http(tmp_path_factory):
    folder = tmp_path_factory.mktemp("rules")
    (folder / "house.json").write_text(json.dumps(DECK_EDGE), encoding="utf-8")
    with TestClient(create_app(Settings(rule_sets=folder))) as one:
        yield one


def whole_test(http, *conditions, **stability):
    body = {**demo_record(), "loading_conditions": list(conditions), "stability": stability}
    reply = http.post("/v1/stability-tests", json=body)
    assert reply.status_code == 200, reply.text
    found = reply.json()
    return found["loading_conditions"], found["verdict"]["conditions_meet_criteria"]


def test_wind_criteria_without_a_wind_profile_and_a_condition_that_sinks(http):
    found, verdict = whole_test(http, DEPARTURE, DEEP, rules=["imo-2008-is-code-a-2-2", "imo-2008-is-code-a-2-3"])
    blown = {one["rule"]: one for one in found[0]["criteria"] if one["rule_set"] == "imo-2008-is-code-a-2-3"}
    assert {one["outcome"] for one in blown.values()} == {"not_assessed"}
    assert all(one["reason"] and "value" not in one for one in blown.values())
    assert found[0]["outcome"] == "not_assessed"
    assert (found[1]["outcome"], found[1]["findings"][0]["code"]) == ("not_determined", "sinks")
    assert verdict["answer"] == "not_known"
    assert verdict["statement"] == "Not known: 2 of 2 conditions could not be judged in full."
    assert "wind" in verdict["evidence"][0]


def test_a_criterion_that_sets_no_limit_of_vcg(http):
    edge = [[0, 5, 5.6], [56, 5, 5.6], [0, -5, 5.6], [56, -5, 5.6]]
    found, verdict = whole_test(http, DEPARTURE, rules=["house-deck"], deck_edge_m=edge)
    assert found[0]["outcome"] == "met"
    assert "vcg_limit_m" not in found[0]
    assert "no-upper-vcg-limit" in [one["code"] for one in found[0]["findings"]]
    assert verdict["statement"] == "Met in the one condition given; no criterion limits VCG."
    assert "nearest to its limit: Deck edge dry to one degree: met, " in verdict["evidence"][0]  # never a bare pass


def test_a_table_of_limits_where_none_exists(http):
    edge = [[0, 6, 8], [60, 6, 8], [0, -6, 8], [60, -6, 8]]
    body = {**EXAMPLE, "trim_m": [0.0], "rules": ["house-deck"], "stability": {"deck_edge_m": edge}}
    found = http.post("/v1/vcg-limits", json=body).json()
    assert set(found["columns"]["vcg_limit_m"]) == {None}
    assert {one["code"] for one in found["column_notes"]} == {"no-upper-vcg-limit"}
