"""The operator's folder of rule sets: read at the start, used by name, a fault stops the start with file and line."""

import json
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from service.__main__ import main
from service.app import create_app
from service.edge.rule_folder import RuleFolderError, built_in, rule_sets
from service.resources.vcg_limits import EXAMPLE
from service.settings import Settings

HOUSE = {
    "name": "house-stability",
    "title": "House rules",
    "version": "3",
    "subject": "stability",
    "rules": [
        {
            "id": "gm",
            "title": "Half a metre of GM",
            "quantity": "gm_fluid_m",
            "comparison": "at_least",
            "limit": 0.5,
            "unit": "m",
            "clause": "2.1",
            "source": "House manual",
            "source_status": "our choice",
            "level": "required",
        }
    ],
}


def write(folder: Path, change=None, name="house.json"):
    (folder / name).write_text(json.dumps({**HOUSE, **(change or {})}, indent=1), encoding="utf-8")


def started(folder: Path):
    return TestClient(create_app(Settings(rule_sets=folder)))


def test_a_mounted_set_is_listed_and_used(tmp_path):
    write(tmp_path)
    (tmp_path / "readme.txt").write_text("not a set", encoding="utf-8")
    with started(tmp_path) as http:
        listed = http.get("/v1/rule-sets").json()["rule_sets"]
        assert [(one["name"], one["version"]) for one in listed if one["origin"] == "mounted"] == [
            ("house-stability", "3")
        ]
        found = http.post("/v1/vcg-limits", json={**EXAMPLE, "rules": ["house-stability"]}).json()
    assert found["columns"]["governing_rule_set"] == ["house-stability"] * 4
    # T/2 + B²/12T − 0.5 m (closed form)
    assert found["columns"]["vcg_limit_m"][2] == pytest.approx(1.75 + 144 / 42 - 0.5, abs=1e-8)
    assert found["provenance"]["rule_sets"] == ["house-stability 3"]


def test_one_services_sets_are_not_anothers(tmp_path):
    write(tmp_path)
    with started(tmp_path), TestClient(create_app(Settings())) as other:
        answer = other.post("/v1/vcg-limits", json={**EXAMPLE, "rules": ["house-stability"]})
    assert answer.json()["errors"][0]["code"] == "rule-set-unknown"
    assert rule_sets() is built_in()


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (json.dumps(HOUSE, indent=1).replace("gm_fluid_m", "gm_solid_m"), ["house.json: line 10", "quantity-unknown"]),
        (json.dumps(HOUSE, indent=1).replace('"limit": 0.5', '"limit": "x"'), ["house.json: line 12", "limit"]),
        (json.dumps(HOUSE, indent=1)[:-2], ["house.json: line", "rule-set-not-json"]),
        (json.dumps(HOUSE, indent=1).replace("stability", "paint"), ["house.json: line 5", "subject"]),
        (json.dumps({**HOUSE, "name": "our-choices"}), ["house.json", "another set has this name"]),
    ],
)
def test_a_file_that_is_no_rule_set_stops_the_start(tmp_path, text, words):
    (tmp_path / "house.json").write_text(text, encoding="utf-8")
    with pytest.raises(RuleFolderError) as caught:
        create_app(Settings(rule_sets=tmp_path))
    for word in words:
        assert word in str(caught.value)


@pytest.mark.parametrize("workers", ["1", "2"])
def test_the_server_does_not_start_and_says_where(tmp_path, monkeypatch, capsys, workers):
    write(tmp_path, {"rules": [{**HOUSE["rules"][0], "quantity": "gm_m"}]})
    monkeypatch.setenv("RULE_SETS", str(tmp_path))
    assert main(["serve", "--port", "0", "--workers", workers]) == 1
    assert "rule sets: house.json: line 10: is not an observed quantity" in capsys.readouterr().err


def test_two_files_of_one_name_stop_the_start(tmp_path):
    write(tmp_path)
    write(tmp_path, name="again.json")
    with pytest.raises(RuleFolderError, match=r"house\.json: another set"):
        create_app(Settings(rule_sets=tmp_path))


def test_a_folder_that_is_not_there_stops_the_start(tmp_path):
    with pytest.raises(RuleFolderError, match="RULE_SETS"):
        create_app(Settings(rule_sets=tmp_path / "nowhere"))
